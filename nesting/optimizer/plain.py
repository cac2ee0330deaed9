"""Rectangles without a shop: panels, stock and rules of the plain problems in papers."""

from __future__ import annotations

from ..outlines import rectangle
from ..panels import Panel, Turn
from ..rules import Rules
from ..stock import StockPiece

GLASS = "plain"


def plain_panel(width: int, height: int, name: str, *, turn: bool) -> Panel:
    """A rectangle without edgework; `turn` lets it turn a quarter. [any unit]"""
    outline = rectangle(width, height)
    return Panel(
        id=name,
        order="",
        name="",
        glass=GLASS,
        thickness=1,
        finished=outline,
        cut=outline,
        edges=(),
        turn=Turn.ANY if turn else Turn.NONE,
    )


def plain_sheet(width: int, height: int) -> StockPiece:
    """A sheet without trims that costs 1 and never runs out. [same unit]"""
    return StockPiece(name="sheet", glass=GLASS, width=width, height=height, cost=1, buyable=True)


def plain_rules(width: int, height: int, levels: int | None) -> Rules:
    """No break-out distance; nothing smaller than a sheet is worth keeping."""
    return Rules(break_out=0, levels=levels, corner_depth=0, least_offcut=(width, height))
