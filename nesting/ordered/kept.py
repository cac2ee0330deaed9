"""Strips of a sheet that stay when the others are filled anew: closed up to the near side, clear of its flaws."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from .laid import Laid, Span


def kept(pattern: Laid, stay: Collection[int], flaws: Any, length: int) -> tuple[Span, ...]:
    """The strips that stay, one beside the other from the near side on.

    A strip stays only where no flaw lies in its new place, if that is another one, and not if it ended at the
    far side: its cuts may be closer to the side than they may be to a cut.

    Parameters
    ----------
    pattern
        Of the sheet.
    stay
        Which of its strips are to stay, by their place in the pattern.
    flaws
        (F, 5) x0, y0, x1, y1 in the pattern's frame and a kind. [search units]
    length
        Of the sheet in this frame. [search units]
    """
    out: list[Span] = []
    at = near = 0
    for k, strip in enumerate(pattern.strips):
        x, near = near, strip.end
        if strip.is_waste or k not in stay or strip.end == length:
            continue
        end = at + strip.end - x
        if x == at:
            out.append(strip)
        elif not any(f[0] < end and f[2] > at for f in flaws):
            out.append(Span(end, parts=tuple(_moved(row, at - x) for row in strip.parts)))
        else:
            continue
        at = end
    return tuple(out)


def _moved(row: Span, by: int) -> Span:
    return Span(row.end, row.rect, tuple(Span(c.end + by, c.rect, c.parts) for c in row.parts))
