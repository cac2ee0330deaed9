"""The panels of a week without what no plan needs: each shape once, with its number.

Names, edges, days and notes of panels are most of what travels to another process. The same shapes give
the same plan in whatever order the lists had them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from ..demand.book import BookedOrder
from ..outlines import Outline, box, rectangle
from ..panels import Panel, Turn


class Kind(NamedTuple):
    """Panels that are cut alike: cut outline with its least corner at 0, freedom, and how many panels. [nm]"""

    cut: Outline
    turn: str
    mirror: bool
    narrow: bool
    from_stock: str
    panels: int


def panels_in(orders: Iterable[BookedOrder | Panel], glass: str) -> list[Panel]:
    """The panels of one glass that orders hold; panels themselves are taken as they are."""
    found: list[Panel] = []
    for one in orders:
        found += one.panels if isinstance(one, BookedOrder) else (one,)
    return [p for p in found if p.glass == glass]


def kinds_of(panels: Iterable[Panel], stock: Iterable[str] = ()) -> tuple[Kind, ...]:
    """The kinds of these panels, sorted.

    Parameters
    ----------
    panels
        All of one glass.
    stock
        Names of the stock at hand. A panel that was bound to another piece, an offcut of long ago, is free.
    """
    names = set(stock)
    counts: dict[tuple[Outline, str, bool, bool, str], int] = {}
    for p in panels:
        bound = p.from_stock if p.from_stock in names else None
        key = (_laid(p), p.turn.value, p.mirror, p.narrow, bound or "")
        counts[key] = counts.get(key, 0) + 1
    return tuple(Kind(*key, counts[key]) for key in sorted(counts))


def joined(parts: Iterable[Sequence[Kind]]) -> tuple[Kind, ...]:
    """The kinds of several orders together, as `kinds_of` gives them of all their panels."""
    counts: dict[tuple[Outline, str, bool, bool, str], int] = {}
    for part in parts:
        for kind in part:
            counts[kind[:-1]] = counts.get(kind[:-1], 0) + kind.panels
    return tuple(Kind(*key, counts[key]) for key in sorted(counts))


def _laid(panel: Panel) -> Outline:
    x0, y0, x1, y1 = box(panel.cut)
    if panel.is_rectangle:
        width, height = x1 - x0, y1 - y0
        return (
            rectangle(max(width, height), min(width, height))
            if panel.turn.by_quarter
            else rectangle(width, height)
        )
    first = min(range(len(panel.cut)), key=lambda i: panel.cut[i])
    return tuple((x - x0, y - y0) for x, y in panel.cut[first:] + panel.cut[:first])


def panels_of(kinds: Sequence[Kind], glass: str, thickness: int) -> list[Panel]:
    """Panels of these kinds, numbered. Thickness in [nm]."""
    return [
        Panel(
            id=f"{k:05d}/{i:05d}",
            order=f"{k:05d}",
            name=f"{i:05d}",
            glass=glass,
            thickness=thickness,
            finished=kind.cut,
            cut=kind.cut,
            edges=(),
            turn=Turn(kind.turn),
            mirror=kind.mirror,
            narrow=kind.narrow,
            from_stock=kind.from_stock or None,
        )
        for k, kind in enumerate(kinds)
        for i in range(kind.panels)
    ]
