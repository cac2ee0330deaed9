"""Exact staged pricing of many stock sizes at once, all as bought: one table serves every size.

The sizes share their panels, and a sheet's far sides are raw. So the strips of all sizes, and of both
directions of the first cut where every panel may be turned, come from one table (see `strips_many`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..optimizer.instance import Instance
from .grid import Frame, Grid, grid_of
from .pricing import LESS, Priced, Pricer, StripUse
from .strips_many import last_open, rising, side_by_side, strips_many
from .tables import MOST, ended

SAMPLE = 80
"""Strip widths of a quick round, besides those that proved good."""
GOOD = 12
"""Strip widths of a sheet that an exact round hands on to the quick ones, at most."""
MOST_GOOD = 240


@dataclass(frozen=True, slots=True, kw_only=True)
class _Family:
    """Frames that share one table, and the largest frame that stands for all of them."""

    frames: tuple[Frame, ...]
    pricer: Pricer


@dataclass(frozen=True, slots=True)
class Found:
    """A good pattern: its stock size (index in the instance), its worth, and how often it holds each rectangle."""

    sheet: int
    worth: int
    rects: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """What a round of pricing gives.

    Parameters
    ----------
    best
        Worth of the best pattern by stock size, of every size that was looked at.
    exact
        Whether no pattern is worth more; else `best` is what was found.
    patterns
        Of these sizes, the best first.
    """

    best: dict[int, int]
    exact: bool
    patterns: tuple[Found, ...]


class ManySizes:
    """Prices the stock sizes of an instance together.

    Parameters
    ----------
    instance
        With two or three levels, and sheets that are raw all round.
    """

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        keys = list(range(len(instance.sheets)))
        self.grid = grid_of(instance, keys)
        longest = instance.rules.longest_cut
        usable = [
            f
            for f in self.grid.frames
            # a first cut along the depth is as long as the raw sheet is there
            if f.items and (longest is None or self._raw_depth(f) <= longest or self._narrow(f))
        ]
        turns = all(r.turns for r in instance.rects)
        groups = [usable] if turns else [[f for f in usable if f.frame == k] for k in (0, 1)]
        self.families = [self._family(group) for group in groups if group]
        self.largest = max((f.length * f.depth for f in usable), default=1)
        self._good: dict[int, list[int]] = defaultdict(list)

    def _raw_depth(self, frame: Frame) -> int:
        piece = self.instance.sheets[frame.sheet].piece
        return piece.height if frame.frame == 0 else piece.width

    def _narrow(self, frame: Frame) -> bool:
        """Whether one strip over the whole sheet needs no cut along the depth: nothing is trimmed before it."""
        trim = self.instance.sheets[frame.sheet].piece.trim
        return (trim.left if frame.frame == 0 else trim.bottom) == 0

    def _family(self, frames: Sequence[Frame]) -> _Family:
        items = sorted(
            {(o.rect, o.true): o for f in frames for o in f.items}.values(),
            key=lambda o: (o.true[1], o.true[0], o.rect),
        )
        whole = replace(
            frames[0],
            length=max(f.length for f in frames),
            depth=max(f.depth for f in frames),
            true_depth=max(f.true_depth for f in frames),
            items=tuple(items),
        )
        last_cut = not self.instance.exact
        return _Family(frames=tuple(frames), pricer=Pricer(self.grid, whole, last_cut=last_cut))

    @property
    def distance(self) -> int:
        """The break-out distance. [grid units]"""
        return self.grid.distance

    def scaled(self, prices: Sequence[float]) -> float:
        """The factor that turns prices of the rectangles into whole numbers that the tables can hold."""
        densest = 1e-300
        for rect, price in zip(self.instance.rects, prices, strict=True):
            densest = max(densest, price / max(1, rect.width * rect.height))
        grid = self.grid.unit * self.grid.unit
        return MOST / 2 / (densest * self.largest * grid)

    def price(
        self,
        worth: Sequence[int],
        *,
        sheets: Collection[int],
        turn: int | None = None,
        more: int = 0,
        least: Mapping[int, int] | None = None,
    ) -> Round:
        """The best patterns at whole prices.

        Parameters
        ----------
        worth
            Of every rectangle.
        sheets
            Stock sizes that are looked at; an exact round takes those along that the same tables hold.
        turn
            Number of a quick round, over a sample of strip widths; None: an exact one.
        more
            Patterns of a size beside the best of each direction, in a quick round.
        least
            In a quick round, patterns of a size that are worth no more are passed over.
        """
        best: dict[int, int] = {}
        found: list[Found] = []
        for family in self.families:
            asked = [f for f in family.frames if f.sheet in sheets]
            if not asked:
                continue
            values = np.array([worth[o.rect] for o in family.pricer.frame.items], np.int64)
            if self.instance.levels == 2:
                found += _two_levels(family.pricer, asked, values, self.grid)
            elif turn is None:
                found += self._exact(family, asked, values)
            else:
                found += self._quick(family, asked, values, turn, more, least or {})
        for one in found:
            best[one.sheet] = max(best.get(one.sheet, 0), one.worth)
        found.sort(key=lambda f: -f.worth)
        for k in sheets:
            best.setdefault(k, 0)
        exact = turn is None or self.instance.levels == 2
        if exact:  # a size of which only one direction was looked at is not known
            asked_for = set(sheets)
            best = {k: v for k, v in best.items() if k in asked_for or len(self.families) == 1}
        return Round(best=best, exact=exact, patterns=tuple(found))

    # ---------------------------------------------------------------- levels

    def _exact(self, family: _Family, asked: Sequence[Frame], values: Any) -> list[Found]:
        pricer, distance = family.pricer, self.distance
        exact, upto = pricer._tables(values)
        reach = _reach(asked, pricer.frame.length)
        both: dict[int, set[int]] = defaultdict(set)
        for f in family.frames:
            if f.depth <= reach[f.length]:
                both[f.sheet].add(f.frame)
        whole = len(self.families) > 1
        taken = [f for f in family.frames if f.depth <= reach[f.length]]
        wanted = {f.sheet for f in asked}
        # one direction alone is no bound of a size
        taken = [f for f in taken if f.sheet in wanted or (not whole and self._all_of(family, both, f.sheet))]
        depths = np.array(sorted({f.depth for f in taken}), np.int64)
        some = np.arange(1, pricer.frame.length + 1)
        closed = self._strips(
            pricer, ended(exact, distance)[:, some], ended(upto, distance)[:, some], depths, reach[some]
        )
        opened = None
        if distance > 0:
            opened = self._strips(
                pricer,
                np.maximum.accumulate(exact, axis=1)[:, some],
                np.maximum.accumulate(upto, axis=1)[:, some],
                depths,
                reach[some],
            )
        out = []
        for d, depth in enumerate(depths.tolist()):
            mine = [f for f in taken if f.depth == depth]
            length = max(f.length for f in mine)
            keep = rising(closed[d, :length])
            best, by = side_by_side(some[keep], closed[d, keep], length)
            for f in mine:
                value, at = (
                    (int(best[f.length]), -1) if opened is None else last_open(best, opened[d], f.length)
                )
                uses = _traced(by, some[keep], f.length if at < 0 else at)
                strips = [pricer._strip(int(keep[i]), 0, some, exact, upto, depth) for i in uses]
                if at >= 0:
                    strips.append(pricer._strip(f.length - at, 1, some, exact, upto, depth))
                out.append(_found(pricer, f, int(value), strips))
                self._hand_on(f, some[keep], closed[d, keep], [int(some[keep[i]]) for i in uses], int(value))
        return out

    @staticmethod
    def _all_of(family: _Family, both: dict[int, set[int]], sheet: int) -> bool:
        return both[sheet] == {f.frame for f in family.frames if f.sheet == sheet}

    def _hand_on(self, frame: Frame, widths: Any, closed: Any, used: Sequence[int], value: int) -> None:
        """Keep the strip widths that were used, and those that come nearest, for the quick rounds."""
        short = closed.astype(np.int64) * frame.length - value * widths
        near = widths[np.argsort(-short, kind="stable")[:GOOD]].tolist()
        known = self._good[frame.depth]
        for w in (*used, *near):
            if w in known:
                known.remove(w)
            known.append(w)
        del known[:-MOST_GOOD]

    def _quick(
        self,
        family: _Family,
        asked: Sequence[Frame],
        values: Any,
        turn: int,
        more: int,
        least: Mapping[int, int],
    ) -> list[Found]:
        pricer, distance = family.pricer, self.distance
        exact, upto = pricer._tables(values)
        length = max(f.length for f in asked)
        sums = pricer.sums[(pricer.sums > 0) & (pricer.sums <= length)]
        step = max(1, len(sums) // SAMPLE)
        good = {w for f in asked for w in self._good[f.depth][-4 * GOOD :]}
        some = np.union1d(sums[turn * 7 % step :: step], np.array(sorted(good), np.int64)).astype(np.int64)
        some = some[some <= length]
        reach = _reach(asked, length)
        depths = np.array(sorted({f.depth for f in asked}), np.int64)
        closed = self._strips(
            pricer, ended(exact, distance)[:, some], ended(upto, distance)[:, some], depths, reach[some]
        )
        out = []
        for f in asked:
            row = closed[int(np.searchsorted(depths, f.depth))].copy()
            known: dict[int, StripUse] = {}
            for _ in range(1 + more):
                keep = rising(row)
                best, by = side_by_side(some[keep], row[keep], f.length)
                if best[f.length] <= least.get(f.sheet, 0):
                    break
                uses = [int(keep[i]) for i in _traced(by, some[keep], f.length)]
                for i in uses:
                    if i not in known:
                        known[i] = pricer._strip(i, 0, some, exact, upto, f.depth)
                out.append(_found(pricer, f, int(best[f.length]), [known[i] for i in uses]))
                for i in set(uses):
                    row[i] -= row[i] // LESS
        return out

    @staticmethod
    def _strips(pricer: Pricer, rows: Any, tops: Any, depths: Any, reach: Any) -> Any:
        r = pricer._rows
        rows, tops = np.ascontiguousarray(rows), np.ascontiguousarray(tops)
        if not pricer.last_cut:
            tops = tops[:0]
        return strips_many(rows, r.heights, tops, r.top_heights, depths, np.ascontiguousarray(reach))


def _reach(frames: Sequence[Frame], longest: int) -> Any:
    """For every length, the greatest depth of the frames that are at least so long."""
    reach = np.zeros(longest + 1, np.int64)
    for f in frames:
        reach[: f.length + 1] = np.maximum(reach[: f.length + 1], f.depth)
    return reach


def _traced(by: Any, widths: Any, length: int) -> list[int]:
    """Indexes of the strips side by side that give the best value of a length."""
    out, x = [], length
    while x > 0:
        i = int(by[x])
        if i < 0:
            x -= 1
            continue
        out.append(i)
        x -= int(widths[i])
    return out


def _found(pricer: Pricer, frame: Frame, value: int, strips: Sequence[StripUse]) -> Found:
    one = Priced(sheet=frame.sheet, frame=frame.frame, value=value, strips=tuple(strips))
    return Found(frame.sheet, value, tuple(one.rects(pricer.frame).elements()))


def _two_levels(pricer: Pricer, frames: Sequence[Frame], values: Any, grid: Grid) -> list[Found]:
    """With two levels a sheet is one strip: the width of the strip is that of the sheet, and its side is raw."""
    exact, upto = pricer._tables(values)
    lengths = np.array(sorted({f.length for f in frames}), np.int64)
    rows = np.maximum.accumulate(exact, axis=1)[:, lengths]
    tops = np.maximum.accumulate(upto, axis=1)[:, lengths]
    depths = np.array(sorted({f.depth for f in frames}), np.int64)
    reach = _reach(frames, int(lengths[-1]))[lengths]
    table = ManySizes._strips(pricer, rows, tops, depths, reach)
    out = []
    for f in frames:
        value = int(table[int(np.searchsorted(depths, f.depth)), int(np.searchsorted(lengths, f.length))])
        strip = pricer._strip(f.length, 1, lengths, exact, upto, f.depth)
        out.append(_found(pricer, f, value, [strip]))
    return out
