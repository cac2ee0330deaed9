"""Openings of a tank as they are ordered, put into the frames of their panels."""

from __future__ import annotations

from collections.abc import Sequence

from ..openings import CutOut, Hole, Opening, misplaced, usual_radius
from ..outlines import box, rectangle
from ..text import tr
from .made import TankPiece
from .tank import OpeningKind, OpeningWish, Role
from .vessel import InvalidTank


def with_openings(pieces: Sequence[TankPiece], wishes: Sequence[OpeningWish]) -> list[TankPiece]:
    """The pieces with what is to be drilled or cut out of them.

    Raises
    ------
    InvalidTank
        For a panel that the tank does not have, and an opening that leaves its panel or meets another.
    """
    if not wishes:
        return list(pieces)
    names = [piece.name for piece in pieces]
    found: dict[str, list[Opening]] = {}
    for wish in wishes:
        if wish.panel not in names:
            raise InvalidTank(
                "openings",
                tr("this tank has no panel {name}", name=wish.panel),
                tr("its panels are {names}", names=", ".join(names)),
            )
        piece = pieces[names.index(wish.panel)]
        found.setdefault(wish.panel, []).extend(_openings(wish, piece))
    out = []
    for piece in pieces:
        openings = tuple(found.get(piece.name, ()))
        for fault in misplaced(piece.finished, openings):
            raise InvalidTank(
                "openings",
                tr("{name}: {reason}", name=piece.name, reason=fault.reason),
                tr(
                    "move it: walls count from the left end and the top edge down, the base from the front up"
                ),
            )
        out.append(piece._replace(openings=openings) if openings else piece)
    return out


def _openings(wish: OpeningWish, piece: TankPiece) -> list[Opening]:
    _, _, wide, high = box(piece.finished)
    upright = piece.role in (Role.WALL, Role.INSIDE)
    out: list[Opening] = []
    for k in range(wish.count):
        x = wish.x + k * wish.pitch
        if wish.kind is OpeningKind.HOLE:
            y = high - wish.y if upright else wish.y
            r = wish.width // 2
            low, top, left, right = y - r, y + r, x - r, x + r
            out.append(Hole(center=(x, y), diameter=wish.width))
        else:
            below = wish.height + (0 if wish.kind is OpeningKind.NOTCH else wish.y)
            y = high - below if upright else wish.y
            low, top, left, right = y, y + wish.height, x, x + wish.width
            outline = rectangle(wish.width, wish.height, x, y)
            radius = usual_radius(outline, piece.thickness) if wish.radius is None else wish.radius
            out.append(CutOut(outline=outline, corner_radius=radius))
        open_top = wish.kind is OpeningKind.NOTCH
        if left <= 0 or right >= wide or low <= 0 or top > high or (top == high and not open_top):
            raise InvalidTank(
                "openings",
                tr("an opening of {name} does not lie within the panel", name=wish.panel),
                tr("count from its left end, and from the top edge down")
                if upright
                else tr("count from its left end, and from its front up"),
            )
        if open_top and not upright:
            raise InvalidTank(
                "openings",
                tr("only an upright panel has a notch"),
                tr("order a slot for {name}", name=wish.panel),
            )
    return out
