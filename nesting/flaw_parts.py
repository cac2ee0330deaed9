"""Flaws of a part of a sheet, and of a piece that turned out smaller than planned."""

from __future__ import annotations

from collections.abc import Iterable

from .flaws import Flaw


def within(flaws: Iterable[Flaw], box: tuple[int, int, int, int]) -> tuple[Flaw, ...]:
    """The flaws in a box (left, bottom, right, top), clipped to it, from its own lower left corner. [nm]

    One that only touches a side of the box is not in it; a scratch or a point along a side is.
    """
    out = []
    for f in flaws:
        x0, x1 = max(f.x, box[0]), min(f.x + f.width, box[2])
        y0, y1 = max(f.y, box[1]), min(f.y + f.height, box[3])
        if x1 < x0 or y1 < y0 or (x1 == x0 and f.width) or (y1 == y0 and f.height):
            continue
        out.append(Flaw(x0 - box[0], y0 - box[1], x1 - x0, y1 - y0, f.kind))
    return tuple(out)


def on_smaller(
    flaws: Iterable[Flaw], planned: tuple[int, int], measured: tuple[int, int]
) -> tuple[Flaw, ...]:
    """The flaws of a piece that was measured smaller than planned. [nm]

    Nobody knows at which side it is short: each flaw reaches from where it lies if the near side is short to where
    it lies if the far one is.
    """
    short = [max(0, p - m) for p, m in zip(planned, measured, strict=True)]
    wide = []
    for f in flaws:
        x, y = max(0, f.x - short[0]), max(0, f.y - short[1])
        wide.append(Flaw(x, y, f.x + f.width - x, f.y + f.height - y, f.kind))
    return tuple(sorted(within(wide, (0, 0, *measured))))
