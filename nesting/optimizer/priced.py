"""From priced patterns to patterns that can be cut, and their clipping to what is still wanted."""

from __future__ import annotations

from collections.abc import Sequence

from ..lp.grid import Frame
from ..lp.pricing import Priced, RowUse, StripUse
from .instance import Instance
from .pattern import Column, Item, Pattern, Row, Staged, Strip


def to_pattern(priced: Priced, frame: Frame, break_out: int) -> Staged | None:
    """The pattern of an exact grid; None for an empty one.

    A rest too narrow to be broken off at a cut far side goes to a row, or strip, that ends with waste
    anyway (that it can is what the pricing has seen to).
    """
    strips = [
        Strip(s.width, s.open, _rows(s, frame, break_out))
        for s in priced.strips
        if any(r.items for r in s.rows)
    ]
    if not strips:
        return None
    rest = frame.length - sum(s.width for s in strips)
    if 0 < rest < break_out and not frame.raw_x:
        for i, s in enumerate(strips):
            if all(r.length <= s.width - break_out for r in s.rows):
                strips[i] = Strip(s.width + rest, s.open, s.rows)
                break
        else:
            return None
    return Staged(priced.sheet, priced.frame, tuple(strips))


def _rows(strip: StripUse, frame: Frame, break_out: int) -> tuple[Row, ...]:
    rows = [_row(r, frame) for r in strip.rows if r.items]
    rest = frame.depth - sum(r.height for r in rows)
    if 0 < rest < break_out and not frame.raw_y:
        for i, r in enumerate(rows):
            if all(c.items[0].height <= r.height - break_out for c in r.columns):
                rows[i] = Row(r.height + rest, r.open, r.columns)
                break
    return tuple(rows)


def _row(row: RowUse, frame: Frame) -> Row:
    columns = []
    for i in row.items:
        o = frame.items[i]
        columns.append(Column(o.true[0], (Item(o.rect, *o.true),)))
    return Row(row.height, row.open, tuple(columns))


def clipped(pattern: Pattern, rest: Sequence[int], instance: Instance) -> Staged | None:
    """The pattern without the panels of which more are cut than `rest` asks for; None if nothing stays.

    What is taken out leaves waste wide enough to be broken off, since every side of a panel is; where
    one is narrower, the pattern is given up.
    """
    if not isinstance(pattern, Staged):
        return None
    left = list(rest)
    strips = []
    for s in pattern.strips:
        rows = []
        for r in s.rows:
            columns = []
            for c in r.columns:
                items = []
                for item in c.items:
                    uses = instance.rect(item.rect).uses
                    if all(left[t] >= n for t, n in uses):
                        for t, n in uses:
                            left[t] -= n
                        items.append(item)
                    elif min(item.width, item.height) < instance.break_out:
                        return None
                if items and items[0].width == c.width:
                    columns.append(Column(c.width, tuple(items)))
                elif items:
                    return None
            if columns:
                rows.append(Row(r.height, r.open, tuple(columns)))
        if rows:
            strips.append(Strip(s.width, s.open, tuple(rows)))
    return Staged(pattern.sheet, pattern.frame, tuple(strips)) if strips else None
