"""From a tank whose glass is settled to its pieces of glass, and from them to panels for the plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..cut_shape import CutShape
from ..errors import InvalidOutline
from ..glass import glass_key
from ..offsets import offset_rectangle
from ..outlines import Outline
from ..panels import Panel
from ..shop import Shop
from ..text import tr
from ..tips import Tip
from .covers import cover_pieces
from .cut import piece_shape
from .drilled import with_openings
from .interiors import interior_pieces
from .made import Edges, TankPiece
from .shell import base_piece, wall_pieces
from .tank import Tank
from .tops import cross_pieces, rim_pieces
from .vessel import InvalidTank, Vessel, vessel_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A tank in pieces.

    Parameters
    ----------
    tank
        As ordered, its glass settled.
    vessel
        Its faces.
    pieces
        Base, walls, braces, interior panels, covers; those of one tank.
    """

    tank: Tank
    vessel: Vessel
    pieces: tuple[TankPiece, ...]

    def piece(self, name: str) -> TankPiece:
        """The piece of this name; raises KeyError."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(name)


def build(tank: Tank, edges: Edges) -> Built:
    """A tank in pieces.

    Raises
    ------
    InvalidTank
        Where it cannot be built so.
    """
    vessel = vessel_of(tank)
    pieces = [base_piece(tank, vessel, edges), *wall_pieces(tank, vessel, edges)]
    if tank.top.rim is not None:
        pieces += rim_pieces(tank, vessel, tank.top.rim, edges)
    pieces += cross_pieces(tank, vessel, edges)
    pieces += interior_pieces(tank, vessel, edges)
    loose = 1
    for cover in tank.top.covers:
        pieces += cover_pieces(tank, vessel, cover, loose, edges)
        loose += cover.count
    pieces = [edges.to_the_mark(piece) for piece in with_openings(pieces, tank.openings)]
    return Built(tank=tank, vessel=vessel, pieces=tuple(pieces))


def panels_of(built: Built, shop: Shop, numbers: Counter[str]) -> Iterator[Panel]:
    """The panels of all equal tanks of an order, piece by piece.

    Parameters
    ----------
    built
        The tank in pieces.
    shop
        Turns, mirror and allowances.
    numbers
        How many panels of an order and name there are already; the running numbers go on from there.

    Raises
    ------
    InvalidTank
        Where edgework leaves no cut outline.
    """
    tank = built.tank
    cuts: dict[tuple[str, Outline, tuple[int, ...]], CutShape] = {}
    for piece in built.pieces:
        key = glass_key(piece.kind, piece.thickness)
        kind = shop.kinds[piece.kind]
        name = f"{tank.name} {piece.name}" if tank.name else piece.name
        allowances = tuple([edge.allowance for edge in piece.edges])
        cut = offset_rectangle(piece.finished, allowances)
        tips: tuple[Tip, ...] = ()
        same = (key, piece.finished, allowances)
        try:
            if cut is None:
                shape = cuts[same] = cuts.get(same) or piece_shape(piece, shop, tank.tips)
                cut, tips = shape.outline, shape.tips
        except InvalidOutline as error:
            raise InvalidTank(
                "shape",
                tr("panel {name}: {reason}", name=piece.name, reason=error.reason),
                error.remedy,
            ) from None
        text = f"{tank.order}/{name}"
        for _ in range(tank.quantity):
            number = numbers[text] = numbers.get(text, 0) + 1
            yield Panel(
                id=f"{text}/{number}",
                order=tank.order,
                name=name,
                due=tank.due,
                glass=key,
                thickness=piece.thickness,
                finished=piece.finished,
                cut=cut,
                edges=piece.edges,
                turn=kind.turn,
                mirror=kind.mirror,
                note=tank.note,
                openings=piece.openings,
                tips=tips,
            )


def all_panels(builts: Iterable[Built], shop: Shop) -> list[Panel]:
    """The panels of several tanks, with running numbers that go on from one to the next."""
    numbers: Counter[str] = Counter()
    return [panel for built in builts for panel in panels_of(built, shop, numbers)]
