"""Sheets of glasses in any order and sheets in an order, together: what is due first comes first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ..assemble import CutSheet


def merged(loose: Sequence[CutSheet], ordered: Sequence[CutSheet]) -> list[CutSheet]:
    """Both rows of sheets in one, each in its own order.

    A row goes on as long as something that it still holds is due no later than all of the other; the first row
    where both are equal.
    """
    rows = [list(loose), *([s for s in ordered if s.job == j] for j in sorted({s.job for s in ordered}))]
    # the first due day of each sheet or of one after it
    urgent = [_urgent(row) for row in rows]
    at = [0] * len(rows)
    out = []
    while any(at[r] < len(row) for r, row in enumerate(rows)):
        r = min((r for r in range(len(rows)) if at[r] < len(rows[r])), key=lambda r: (urgent[r][at[r]], r))
        out.append(rows[r][at[r]])
        at[r] += 1
    return out


def _urgent(row: Sequence[CutSheet]) -> list[date]:
    found: list[date] = []
    soon = date.max
    for sheet in reversed(row):
        types = sheet.instance.types
        dues = [p.due for kind in sheet.pattern.uses(sheet.instance) for p in types[kind].panels if p.due]
        soon = min([soon, *dues])
        found.append(soon)
    return found[::-1]
