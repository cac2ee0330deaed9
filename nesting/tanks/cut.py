"""The cut outline of a piece of a tank."""

from __future__ import annotations

from ..cut_shape import CutShape, cut_shape
from ..glass import glass_key
from ..offsets import offset_rectangle
from ..shop import Shop
from ..tips import TipRule
from .made import TankPiece


def piece_shape(piece: TankPiece, shop: Shop, tips: TipRule) -> CutShape:
    """The cut outline of a piece, by the rules of its glass; raises InvalidOutline (see `cut_shape`)."""
    if moved := offset_rectangle(piece.finished, [edge.allowance for edge in piece.edges]):
        return CutShape(moved)
    rules = shop.rules(glass_key(piece.kind, piece.thickness))
    return cut_shape(piece.finished, piece.edges, rules, shop.kinds[piece.kind].turn, tips)
