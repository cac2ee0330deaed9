"""Rules from orders to whole sheets, calibrated on weeks that were nested; the best of several by glass.

Rules tried: the cheapest cover of the area at a fitted fill (with one size `ceil(area / (fill x sheet))`),
the same with residuals, and a line with residuals. Each is judged on weeks that were left out of its fit.
Where there are few weeks, the fill of all glasses together, or a usual one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from ..demand.book import BookedOrder
from .contents import MILLION, Measure
from .counts import WeekCount
from .cover_rule import THOUSAND, USUAL_FILL, Cover, best_fill
from .glass_rule import GlassRule, RuleReport, score
from .line_rule import fitted_line
from .material import Material
from .residuals import Residuals
from .rule import Contents

FILLS: Final = tuple(range(600, 1001, 2))
"""Fills tried. [1/1000]"""
MIXED_FILLS: Final = tuple(range(700, 1001, 10))
"""With several sizes, where every fill costs more to try. [1/1000]"""
LEANS: Final = (0, -60, 60)
"""With several sizes: what a size is dearer to the rule than its price, for each smaller size. [1/1000]

Of mixes that cost about the same the search does not take any: large sheets fill better.
"""
FEW: Final = 8
"""Weeks below which no fill is fitted to a glass alone."""
ENOUGH: Final = 20
"""Weeks from which residuals are drawn."""
FOLDS: Final = 5
DRAWS: Final = 20


@dataclass(frozen=True, slots=True)
class GlassWeeks:
    """Weeks of one glass: their numbers, features in millionths, and sheets by size."""

    weeks: Any
    sums: Any
    sheets: Any

    def before(self, week: int) -> GlassWeeks:
        """Only the weeks before this one."""
        n = int(np.searchsorted(self.weeks, week))
        return GlassWeeks(self.weeks[:n], self.sums[:n], self.sheets[:n])


def weeks_of(
    orders: Sequence[BookedOrder], counts: Sequence[WeekCount], measure: Measure
) -> dict[str, GlassWeeks]:
    """Nested weeks with what their orders hold, by glass; weeks that were not nested are left out."""
    found: dict[str, GlassWeeks] = {}
    for glass, material in measure.materials.items():
        known = {c.week: c for c in counts if c.glass == glass}
        mine = [o for o in orders if o.week in known]
        weeks, sums = measure.of_weeks(mine, glass)
        names = [s.name for s in material.sizes]
        rows = [[known[w].sheets.get(name, 0) for name in names] for w in weeks]
        sheets = np.array(rows, dtype=np.int64).reshape(len(weeks), len(names))
        found[glass] = GlassWeeks(np.array(weeks, dtype=np.int64), sums, sheets)
    return found


class CalibratedRules:
    """Rules of all glasses together (see `rule.SheetRules`).

    Parameters
    ----------
    measure
        Of the features.
    by_glass
        The rule of each glass, in the order of the measure.
    reports
        What is said of each.
    """

    def __init__(
        self, measure: Measure, by_glass: Mapping[str, GlassRule], reports: Sequence[RuleReport]
    ) -> None:
        self.measure, self.by_glass, self.reports = measure, dict(by_glass), tuple(reports)

    @property
    def series(self) -> tuple[str, ...]:
        """Names of the stock sizes."""
        return self.measure.series

    @property
    def draws(self) -> int:
        """Uniform numbers that a week takes: one for each glass."""
        return len(self.measure.materials)

    def contents(self, orders: Sequence[BookedOrder]) -> Contents:
        """What these orders hold."""
        return self.measure.contents(orders)

    def sheets(self, sums: Any, uniform: Any) -> Any:
        """Whole sheets of weeks, int32 of shape (..., series)."""
        whole = np.rint(np.asarray(sums) * MILLION).astype(np.int64)
        flat = whole.reshape(-1, whole.shape[-1])
        draws = np.asarray(uniform).reshape(len(flat), self.draws)
        found = np.zeros((len(flat), len(self.series)), dtype=np.int32)
        for g, glass in enumerate(self.measure.materials):
            mine = flat[:, self.measure.columns[glass]]
            found[:, self.measure.rows[glass]] = self.by_glass[glass].sheets(mine, draws[:, g])
        return found.reshape(*whole.shape[:-1], len(self.series))


def fit_rules(
    orders: Sequence[BookedOrder],
    counts: Sequence[WeekCount],
    materials: Mapping[str, Material],
    *,
    carried: bool = False,
    measure: Measure | None = None,
) -> CalibratedRules:
    """Fit the rules of all glasses.

    Parameters
    ----------
    orders
        That were nested.
    counts
        Their weeks (see `renest`).
    materials
        Stock sizes and rules by glass.
    carried
        Offcuts pass from week to week, so that a week may take no sheet.
    measure
        Of an earlier fit with the same materials, which has seen most panels.
    """
    measure = measure or Measure(materials)
    return fit_weeks(measure, weeks_of(orders, counts, measure), carried=carried)


def fit_weeks(
    measure: Measure, weeks: Mapping[str, GlassWeeks], *, carried: bool = False, before: int | None = None
) -> CalibratedRules:
    """The same from weeks that are measured already, with `before` from those before that week alone."""
    seen = {g: w if before is None else w.before(before) for g, w in weeks.items()}
    fitters = {g: _Fitter(g, measure, seen[g], carried) for g in measure.materials}
    fills = [f.usual for f in fitters.values() if f.usual is not None]
    usual = sorted(fills)[len(fills) // 2] if fills else USUAL_FILL
    found = {g: f.fitted(usual) for g, f in fitters.items()}
    return CalibratedRules(measure, {g: r for g, (r, _) in found.items()}, [r for _, r in found.values()])


class _Fitter:
    """Fits one glass."""

    def __init__(self, glass: str, measure: Measure, weeks: GlassWeeks, carried: bool) -> None:
        self.glass, self.weeks, self.carried = glass, weeks, carried
        self.sizes = len(measure.materials[glass].sizes)
        self.cover = measure.cover(glass)
        self.fills = FILLS if self.sizes == 1 else MIXED_FILLS
        self.number = len(weeks.weeks)
        firsts = [0, self.sizes] if self._angled else [0]
        self.covers = [
            replace(self.cover, first=first, costs=costs) for first in firsts for costs in self._leans()
        ]
        self.usual: int | None = None
        if self.number >= FEW:
            self._errors = [self._tried(c) for c in self.covers]
            self.usual = self.fills[self._best(0, np.ones(self.number, dtype=bool), USUAL_FILL)]

    def _leans(self) -> list[tuple[int, ...]]:
        """Costs of the sizes as they are, and with larger sizes made cheaper or dearer."""
        costs = self.cover.costs
        leans = LEANS if self.sizes > 1 else (0,)
        return [tuple(c * (THOUSAND + lean * k) // THOUSAND for k, c in enumerate(costs)) for lean in leans]

    @property
    def _angled(self) -> bool:
        sums = self.weeks.sums
        return bool((sums[:, : self.sizes] != sums[:, self.sizes : 2 * self.sizes]).any())

    def _tried(self, cover: Cover) -> tuple[Any, Any]:
        """Sheets by every fill, shape (fills, weeks, sizes), and the errors, shape (fills, weeks)."""
        tried = np.array([replace(cover, fill=f).base(self.weeks.sums) for f in self.fills])
        off = tried - self.weeks.sheets
        errors = np.abs(off).sum(axis=2)
        if self.sizes > 1:
            errors = errors + np.abs(off.sum(axis=2))
        return tried, errors.astype(np.float64)

    def _best(self, k: int, train: Any, usual: int) -> int:
        return best_fill(self._errors[k][1][:, train].mean(axis=1), self.fills, usual)

    def fitted(self, usual: int) -> tuple[GlassRule, RuleReport]:
        """The best rule and what is said of it."""
        if self.number < FEW:
            base = replace(self.covers[0], fill=usual)
            rule = GlassRule(base, None, self.sizes)
            return rule, RuleReport(glass=self.glass, rule="usual fill", fill=usual, weeks=self.number)
        makers = [(k, rest) for rest in (False, True) for k in range(len(self.covers) + rest)]
        if self.number < ENOUGH:
            makers = [m for m in makers if not m[1]]
        judged = [self._judged(k, rest, usual) for k, rest in makers]
        marks = [float(s.mean()) for s, _ in judged]
        best = min(range(len(makers)), key=lambda i: (round(marks[i], 9), i))
        rule = self._made(*makers[best], np.ones(self.number, dtype=bool), usual)
        samples = judged[best][1].sum(axis=2)
        actual = self.weeks.sheets.sum(axis=1)
        middle = np.sort(samples, axis=0)[(len(samples) - 1) // 2]
        report = RuleReport(
            glass=self.glass,
            rule=self._name(*makers[best]),
            fill=rule.base.fill if isinstance(rule.base, Cover) else None,
            weeks=self.number,
            error=float(np.abs(middle - actual).mean()),
            bias=float((samples - actual).mean()),
            score=tuple((self._name(*m), mark) for m, mark in zip(makers, marks, strict=True)),
        )
        return rule, report

    def _name(self, k: int, rest: bool) -> str:
        if k == len(self.covers):
            return "line and rest"
        words = ["cover and rest" if rest else "cover"]
        words += ["blanks"] if self.covers[k].first else []
        if self.covers[k].costs != self.cover.costs:
            words.append("other prices")
        return ", ".join(words)

    def _made(self, k: int, rest: bool, train: Any, usual: int) -> GlassRule:
        """A rule fitted on some of the weeks."""
        sums, sheets = self.weeks.sums[train], self.weeks.sheets[train]
        if k == len(self.covers):
            first = self.sizes if self._angled else 0
            line = fitted_line(sums, sheets, first)
            off = sheets - line.base(sums)
            areas = sums[:, first : first + self.sizes].sum(axis=1)
            return GlassRule(line, Residuals.of(areas, off), self.sizes, self.carried)
        chosen = self._best(k, train, usual)
        cover = replace(self.covers[k], fill=self.fills[chosen])
        if not rest:
            return GlassRule(cover, None, self.sizes, self.carried)
        areas = sums[:, cover.first : cover.first + self.sizes].sum(axis=1)
        off = (sheets - self._errors[k][0][chosen][train]).astype(np.float64)
        return GlassRule(cover, Residuals.of(areas, off), self.sizes, self.carried)

    def _judged(self, k: int, rest: bool, usual: int) -> tuple[Any, Any]:
        """Scores of the weeks, each by a rule that has not seen it, and the answers drawn."""
        draws = DRAWS if rest else 1
        answers = np.zeros((draws, self.number, self.sizes), dtype=np.int64)
        for fold in range(FOLDS):
            test = np.arange(self.number) % FOLDS == fold
            rule = self._made(k, rest, ~test, usual)
            sums = self.weeks.sums[test]
            base = np.tile(rule.base.base(sums), (draws, 1))
            uniform = np.repeat((np.arange(draws) + 0.5) / draws, int(test.sum()))
            drawn = rule.drawn(base, np.tile(sums, (draws, 1)), uniform)
            answers[:, test] = drawn.reshape(draws, -1, self.sizes)
        return score(answers, self.weeks.sheets), answers
