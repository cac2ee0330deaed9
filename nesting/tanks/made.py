"""What a tank is made into: its pieces of glass, each with its place, and what is to be said about them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from ..edgework import Edge, Work
from ..glass import glass_key
from ..openings import Opening
from ..outlines import Outline
from ..shop import Shop
from ..to_the_mark import to_the_mark
from .tank import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something worth knowing about a panel of a tank.

    Parameters
    ----------
    panel
        Its name, or several set apart by commas; empty for the whole tank.
    words, remedy
        Worded for the user; the remedy may be empty.
    loud
        A warning rather than a note.
    """

    panel: str
    words: str
    remedy: str = ""
    loud: bool = False

    @property
    def said(self) -> str:
        """The words, behind the panel's name."""
        return f"{self.panel}: {self.words}" if self.panel else self.words

    def __str__(self) -> str:
        return f"{self.said} ({self.remedy})" if self.remedy else self.said


class TankPiece(NamedTuple):
    """One piece of glass of a tank.

    Parameters
    ----------
    name
        Unique in the tank.
    role
        What it does.
    wall
        Index of the wall that it is, or at which it lies; None for others.
    kind, thickness
        Its glass. [nm]
    finished
        Finished outline, lower left at 0, 0: a wall seen from outside, a base, brace or cover from
        above, an interior panel from the left or from the front. [nm]
    edges
        One an edge of the outline.
    place
        Where it lies. [nm] A wall: where its finished outline begins along the wall from the inner corner
        at its left, 0, and the height of its foot. A base: its lower left seen from above, and 0. A
        brace: along its wall from the corner of the opening that rim braces leave (a cross brace: along the
        front), minus its width or 0, and its height. A divider: the middle of its glass from the inner face
        at the left, its front end, and its foot. A box: where the box begins along its first wall, 0,
        and its foot. A cover: 0, 0 and its height.
    bonded
        Indexes of the edges that are bonded to other panels: of braces and interior panels.
    openings
        In its frame.
    """

    name: str
    role: Role
    kind: str
    thickness: int
    finished: Outline
    edges: tuple[Edge, ...]
    wall: int | None = None
    place: tuple[int, int, int] = (0, 0, 0)
    bonded: tuple[int, ...] = ()
    openings: tuple[Opening, ...] = ()


@dataclass(slots=True)
class Edges:
    """Makes edges with the allowances of a shop; equal ones are made once."""

    shop: Shop
    _made: dict[tuple[int, int, int, str | None], Edge] = field(default_factory=dict)
    _steps: dict[tuple[str, int], int | None] = field(default_factory=dict)

    def of(self, work: Work, thickness: int, mitre: int = 0, small_face: str | None = None) -> Edge:
        """An edge of this work on glass of this thickness [nm]; mitre in [1/1000 degree]."""
        # members of an enum are hashed slowly, their identity is not
        key = (id(work), thickness, mitre, small_face)
        edge = self._made.get(key)
        if edge is None:
            edge = Edge(
                work=work,
                allowance=self.shop.allowance(work, thickness, mitre),
                mitre=mitre,
                small_face=small_face,
            )
            self._made[key] = edge
        return edge

    def to_the_mark(self, piece: TankPiece) -> TankPiece:
        """The piece with the allowances that bring its cut size to the mark, where the shop wants that."""
        if not self.shop.work.to_the_mark:
            return piece
        key = (piece.kind, piece.thickness)
        if key not in self._steps:
            self._steps[key] = self.shop.tape_step(glass_key(*key))
        return piece._replace(edges=to_the_mark(piece.finished, piece.edges, self._steps[key]))
