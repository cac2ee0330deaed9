"""Exact staged pricing: the pattern worth most on each stock size, for given values of the panels.

Three levels and a last cut: strips of rows of panels, each freed from waste beside it in its row by the
last cut. Row heights are those of the panels and those plus the break-out distance (a row in which
panels of nearly equal height stand must leave that much above the highest); strip widths are the sums
of panel widths and those plus the break-out distance. With two levels a strip is one panel wide.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np

from .grid import Frame, Grid
from .strip_rows import items_of_row, rows_of_strip
from .tables import NONE, ended, exact_rows, prefixes, reachable, sheet_value, strips_cut, strips_raw, wasted

I32 = np.int32
GOOD = 150
"""Strip widths remembered by an exact pricing, for the quick ones after it."""
CELLS_A_NODE = 10_000
"""Cells of the tables that are filled in the time of one node of the tree search."""
LESS = 32
"""A strip used once is worth this part less in the next pattern, so that patterns differ."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowUse:
    """A row of a priced pattern: its height, whether it runs to the raw side, and its items' numbers."""

    height: int
    open: bool
    items: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripUse:
    """A strip of a priced pattern: its width, whether it runs to the raw side, and its rows."""

    width: int
    open: bool
    rows: tuple[RowUse, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """The best pattern of one frame: its value and its strips (items are numbers in `Frame.items`)."""

    sheet: int
    frame: int
    value: int
    strips: tuple[StripUse, ...]

    def rects(self, frame: Frame) -> Counter[int]:
        """How often each rectangle is cut."""
        return Counter(frame.items[i].rect for s in self.strips for r in s.rows for i in r.items)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Rows that a frame allows: heights [grid], the items of each (all below `low`, and a run), kinds."""

    heights: Any
    grown: Any
    low: Any
    begin: Any
    end: Any
    ends: Any
    top_heights: Any


class Pricer:
    """Prices one frame.

    Parameters
    ----------
    grid
        Of all frames.
    frame
        The one priced here.
    last_cut
        Whether a cut below the last level may free a panel from waste.
    """

    def __init__(self, grid: Grid, frame: Frame, *, last_cut: bool) -> None:
        self.grid, self.frame = grid, frame
        self.last_cut = last_cut
        self.widths = np.array([o.width for o in frame.items], np.int64)
        self.heights = np.array([o.height for o in frame.items], np.int64)
        self._variants = self._with_slack()
        self._worth = np.zeros(len(frame.items), np.int64)
        self.good = np.zeros(0, np.int64)
        self._rows = self._row_kinds()
        self.sums = (
            reachable(np.unique(self.widths), frame.length) if len(self.widths) else np.zeros(1, np.int64)
        )

    def effort(self, widths: int) -> int:
        """Nodes of the tree search that take about as long as pricing over so many strip widths."""
        rows = len(self._rows.heights)
        return 300 + rows * (widths * self.frame.depth + 20 * self.frame.length) // CELLS_A_NODE

    # ------------------------------------------------------------------ rows

    def _with_slack(self) -> tuple[Any, Any]:
        """Sizes along the rows and the item of each; on a rounded grid also one unit longer."""
        n = len(self.widths)
        if self.grid.exact or self.grid.true_distance == 0:
            return self.widths, np.arange(n)
        sizes = np.empty(2 * n, np.int64)
        sizes[0::2], sizes[1::2] = self.widths, self.widths + 1
        return sizes, np.repeat(np.arange(n), 2)

    def _row_kinds(self) -> _Rows:
        """Rows by rising height: tight ones, and those grown by the break-out distance."""
        items, distance = self.frame.items, self.grid.true_distance
        unit = self.grid.unit
        copies = len(self._variants[0]) // max(1, len(items))
        heights = sorted({o.true[1] for o in items})
        true = np.array([o.true[1] for o in items], np.int64)
        first = {h: int(np.searchsorted(true, h, "left")) * copies for h in heights}
        last = {h: int(np.searchsorted(true, h, "right")) * copies for h in heights}
        rows = []
        for h in heights:
            low = int(np.searchsorted(np.array(heights), h - distance, "right")) if self.last_cut else 0
            if distance == 0 and self.last_cut:
                low = heights.index(h)
            rows.append((h // unit, False, low, first[h], last[h]))
            close = any(h - distance < o < h for o in heights)
            if self.last_cut and distance and close and h + distance <= self.frame.true_depth:
                rows.append(((h + distance) // unit, True, heights.index(h) + 1, 0, 0))
        rows.sort()
        return _Rows(
            np.array([r[0] for r in rows], np.int64),
            np.array([r[1] for r in rows], np.bool_),
            np.array([r[2] for r in rows], np.int64),
            np.array([r[3] for r in rows], np.int64),
            np.array([r[4] for r in rows], np.int64),
            np.array([last[h] for h in heights], np.int64),
            np.array([h // unit for h in heights], np.int64),
        )

    def _tables(self, values: Any) -> tuple[Any, Any]:
        """Exact-fill tables along a row: one a row kind, one a set of all items up to a height."""
        sizes, of = self._variants
        worth = values[of].astype(np.int32)
        self._worth = values
        upto = prefixes(sizes, worth, self._rows.ends, self.frame.length)
        return exact_rows(upto, sizes, worth, self._rows.low, self._rows.begin, self._rows.end), upto[1:]

    # ---------------------------------------------------------------- levels

    def best(self, values: Any, widths: Any | None = None, more: int = 0) -> list[Priced]:
        """The pattern worth most, and up to `more` others near it, the best first.

        Parameters
        ----------
        values
            Of the items of the frame, whole numbers (at most `tables.MOST` a sheet).
        widths
            Strip widths tried; None for all, which is exact.
        more
            Others, each with the strips of those before it taken at a little less than their worth.
        """
        frame, distance = self.frame, self.grid.distance
        if not frame.items:
            return [Priced(sheet=frame.sheet, frame=frame.frame, value=0, strips=())]
        exact, upto = self._tables(values)
        some = np.arange(1, frame.length + 1) if widths is None else widths
        closed = self._strips(ended(exact, distance)[:, some], ended(upto, distance)[:, some])
        opened = stretched = np.zeros(0, np.int32)
        if frame.raw_x and distance > 0 and widths is None:
            rows = np.maximum.accumulate(exact, axis=1)
            opened = self._strips(rows, np.maximum.accumulate(upto, axis=1))
        elif not frame.raw_x and distance > 0:
            stretched = self._strips(wasted(exact, distance)[:, some], wasted(upto, distance)[:, some])
        out = []
        known: dict[tuple[int, int], StripUse] = {}
        for turn in range(1 + more):
            value, trace = sheet_value(
                some, closed, opened, stretched, frame.length, distance, frame.raw_x or distance == 0
            )
            if widths is None and turn == 0:
                self._remember(closed, int(value))
            keys = [(int(at), int(kind)) for at, kind in trace]
            for key in keys:
                if key not in known:
                    known[key] = self._strip(*key, some, exact, upto)
            out.append(
                Priced(
                    sheet=frame.sheet,
                    frame=frame.frame,
                    value=int(value),
                    strips=tuple(known[k] for k in keys),
                )
            )
            for at, kind in set(keys):
                table = (closed, opened, stretched)[kind]
                table[at] -= table[at] // LESS
        return out

    def _remember(self, closed: Any, value: int) -> None:
        """The strip widths that come nearest to the best pattern's worth for their width."""
        short = closed.astype(np.int64) * self.frame.length - value * np.arange(1, self.frame.length + 1)
        self.good = np.sort(np.argsort(-short, kind="stable")[:GOOD] + 1)

    def best_of_two(self, values: Any) -> Priced:
        """The pattern worth most with two levels: one strip across the sheet, so that its rows come first."""
        frame, distance = self.frame, self.grid.distance
        if not frame.items:
            return Priced(sheet=frame.sheet, frame=frame.frame, value=0, strips=())
        exact, upto = self._tables(values)
        kind = 1 if frame.raw_x or distance == 0 else 0
        rows, tops = (self._at_width(t, frame.length, kind)[:, None] for t in (exact, upto))
        value = int(self._strips(rows, tops)[0])
        strip = self._strip(frame.length if kind else 0, kind, np.array([frame.length]), exact, upto)
        return Priced(sheet=frame.sheet, frame=frame.frame, value=value, strips=(strip,))

    def _strips(self, rows: Any, tops: Any) -> Any:
        r = self._rows
        rows, tops = np.ascontiguousarray(rows), np.ascontiguousarray(tops)
        if self.frame.raw_y or self.grid.distance == 0:
            if not self.last_cut:
                tops = tops[:0]
            return strips_raw(rows, r.heights, r.grown, tops, r.top_heights, self.frame.depth)
        if not self.grid.exact:  # rounded heights never fill a depth exactly: any rest is allowed
            return strips_raw(rows, r.heights, r.grown, tops[:0], r.top_heights, self.frame.depth)
        return strips_cut(rows, r.heights, r.grown, self.frame.depth, self.grid.distance)

    # ------------------------------------------------------------- trace back

    def _strip(
        self, at: int, kind: int, some: Any, exact: Any, upto: Any, depth: int | None = None
    ) -> StripUse:
        """The rows of one strip, found again for its width alone; `depth` where it is not that of the frame."""
        frame, distance, r = self.frame, self.grid.distance, self._rows
        depth = frame.depth if depth is None else depth
        width = at if kind == 1 else int(some[at])
        closed, tops = (self._at_width(t, width, kind).astype(np.int64) for t in (exact, upto))
        loose_end = frame.raw_y or distance == 0
        if not (loose_end and self.last_cut):
            tops = tops[:0]
        trace = rows_of_strip(
            closed, r.heights, r.grown, tops, r.top_heights, depth, distance,
            not loose_end and self.grid.exact,
        )  # fmt: skip
        rows = [
            RowUse(height=int(r.heights[i]), open=False, items=self._row(int(i), width, kind, exact))
            for i in trace[::-1]
            if i >= 0
        ]
        if len(trace) and trace[0] < 0:
            rest = depth - sum(x.height for x in rows)
            rows.append(
                RowUse(height=rest, open=True, items=self._top(-1 - int(trace[0]), width, kind, upto))
            )
        return StripUse(width=width, open=kind == 1, rows=tuple(rows))

    def _at_width(self, tables: Any, width: int, kind: int) -> Any:
        """Value of every row in a strip of this width; kinds as in `tables.sheet_value`."""
        least = 0 if kind == 1 else self.grid.distance
        if kind == 0:
            return np.maximum(tables[:, width], self._short_of(tables, width - least))
        return self._short_of(tables, width - least)

    @staticmethod
    def _short_of(tables: Any, length: int) -> Any:
        """The most value up to a length."""
        return (
            tables[:, : length + 1].max(axis=1, initial=NONE) if length >= 0 else np.full(len(tables), NONE)
        )

    def _row(self, i: int, width: int, kind: int, exact: Any) -> tuple[int, ...]:
        r = self._rows
        low = int(r.ends[r.low[i] - 1]) if r.low[i] else 0
        return self._filled(exact[i], low, int(r.begin[i]), int(r.end[i]), width, kind)

    def _top(self, j: int, width: int, kind: int, upto: Any) -> tuple[int, ...]:
        return self._filled(upto[j], int(self._rows.ends[j]), 0, 0, width, kind)

    def _filled(self, table: Any, low: int, begin: int, end: int, width: int, kind: int) -> tuple[int, ...]:
        """The items of a row of this width whose table is given: those below `low`, and of a run."""
        least = 0 if kind == 1 else self.grid.distance
        sizes, of = self._variants
        found = items_of_row(table, sizes, self._worth[of], low, begin, end, width, least, kind == 0)
        if len(found) and found[-1] < 0:
            raise ArithmeticError("a row cannot be found again from its table")
        return tuple(int(of[k]) for k in found)
