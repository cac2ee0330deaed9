"""A look ahead from the desk: past weeks nested again, rules fitted, methods tested, futures drawn.

The steps are those of `nesting`; here they are strung together once for `forecast` and `buy`, with what earlier runs
have nested already.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from panewright.io.purchase_desk import Desk
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.findings import findings_of
from panewright.nesting.demand.weeks import SEASON, monday, week_of
from panewright.nesting.forecast.back_test import SIMULATION, BackTest, back_test
from panewright.nesting.forecast.futures import Futures
from panewright.nesting.forecast.nested import Nested, open_cells, with_nests
from panewright.nesting.forecast.outlook import Outlook, outlook
from panewright.nesting.forecast.past_sheets import past_of
from panewright.nesting.forecast.rival_futures import by_choice
from panewright.nesting.forecast.simulate import Simulation, prepare
from panewright.nesting.text import tr
from panewright.nesting.week_sheets.bounds import undecided
from panewright.nesting.week_sheets.carry import Carry, carry_of
from panewright.nesting.week_sheets.contents import Measure
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.fit import CalibratedRules, GlassWeeks, fit_rules, fit_weeks, weeks_of
from panewright.nesting.week_sheets.material import Material, materials_of, pieces_of
from panewright.nesting.week_sheets.renest import renest

HISTORY: Final = 3 * SEASON
"""Weeks of history that are nested again; what is older tells of other habits."""
NESTS: Final = 60
"""Real plans for weeks of the futures."""
SOON: Final = 2
"""Weeks that are planned for: most of what they hold is known."""
Told = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a look ahead found.

    Parameters
    ----------
    desk
        What it started from.
    weeks, seed
        Weeks ahead, and the seed.
    materials
        Stock sizes and rules by glass.
    counts
        Past weeks by real plans.
    rules
        From orders to sheets, fitted on them.
    test
        The back-test; None where it was not wanted.
    chosen
        Method by glass.
    futures, outlook
        By the chosen methods, and what they say.
    carried
        Whether offcuts pass from week to week.
    nested
        Weeks of the futures that real plans tell; None where none was wanted.
    findings
        Sentences that must be heard before the forecast is relied on.
    """

    desk: Desk
    weeks: int
    seed: int
    materials: Mapping[str, Material]
    counts: tuple[WeekCount, ...]
    rules: CalibratedRules
    test: BackTest | None
    chosen: Mapping[str, str]
    futures: Futures
    outlook: Outlook
    nested: Nested | None
    carried: bool
    findings: tuple[str, ...]


def look_ahead(
    desk: Desk,
    executor: Executor | None,
    *,
    weeks: int,
    futures: int,
    seed: int,
    tested: bool = True,
    nests: int = NESTS,
    carried: bool = False,
    told: Told = lambda stage, done, total: None,
) -> Look:
    """Look ahead.

    Parameters
    ----------
    desk
        The order book, stock and terms.
    executor
        Does the plans of weeks and the origins of the back-test; None: here. The answer is the same.
    weeks, futures, seed
        Of the forecast.
    tested
        Whether rivals are tested against the simulation of orders; without that the simulation is used.
    nests
        Most real plans for weeks of the futures.
    carried
        Offcuts that are worth keeping pass from week to week in the nested past, and the rules learn from that.
        Weeks of the futures then go by the rules alone.
    told
        Told the stage, how many of its tasks are done, and of how many.
    """
    materials = materials_of(desk.shop, pieces_of(desk.supplies, desk.shop))
    nests = 0 if carried else nests
    past = [o for o in desk.book.past if o.week >= desk.book.this_week - HISTORY]
    carry = {glass: carry_of(desk.shop, one) for glass, one in materials.items()} if carried else None
    counts = _nested(past, materials, executor, seed=seed, told=told, carry=carry)
    measure = Measure(materials)
    measured = weeks_of(past, counts, measure)
    rules = fit_weeks(measure, measured, carried=carried)
    test = None
    if tested:
        fit = _Fit(materials, measure, carried)
        test = back_test(
            desk.book,
            counts,
            fit,
            seed=seed,
            executor=executor,
            progress=lambda done, total: told(tr("back-test"), done, total),
        )
    glasses = tuple(name.rpartition(" ")[0] for name in rules.series)
    chosen = {
        glass: SIMULATION if test is None or not test.origins else test.chosen(glass)
        for glass in sorted(set(glasses))
    }
    ready = prepare(desk.book, rules, weeks=weeks, seed=seed)
    drawn = ready.futures(
        futures, executor=executor, progress=lambda done, total: told(tr("futures"), done, total)
    )
    nested = _with_plans(ready, drawn, materials, rules, measured, executor, nests, seed, told)
    drawn = drawn if nested is None else nested.futures
    if nests:
        drawn = replace(drawn, known=_known(desk, drawn, materials, executor, seed, told))
    known = past_of(desk.book, counts, rules.series, weeks)
    drawn = by_choice(drawn, glasses, chosen, known, shut=desk.book.shut, seed=seed)
    return Look(
        desk=desk,
        weeks=weeks,
        seed=seed,
        materials=materials,
        counts=tuple(counts),
        rules=rules,
        test=test,
        chosen=chosen,
        futures=drawn,
        outlook=outlook(drawn, desk.supplies, desk.stock if desk.knows_stock else None),
        nested=nested,
        carried=carried,
        findings=tuple(as_sentence(f) for f in findings_of(desk.book, ready.model)),
    )


def _with_plans(
    ready: Simulation,
    drawn: Futures,
    materials: Mapping[str, Material],
    rules: CalibratedRules,
    measured: Mapping[str, GlassWeeks],
    executor: Executor | None,
    nests: int,
    seed: int,
    told: Told,
) -> Nested | None:
    """The soonest weeks by real plans where neither rule nor bounds tell them."""
    if not nests:
        return None
    sums = ready.drawing.sums(range(len(drawn.sheets)))
    cells = open_cells(undecided(rules, sums, measured), range(min(SOON, sums.shape[1])))
    return with_nests(
        ready,
        drawn,
        materials,
        cells,
        executor,
        most=nests,
        seed=seed,
        areas=_areas(rules, sums),
        progress=lambda done, total: told(tr("weeks planned"), done, total),
    )


def _areas(rules: CalibratedRules, sums: Any) -> dict[str, Any]:
    """What the weeks of the futures hold of each glass, shape (futures, weeks). [m2]"""
    measure = rules.measure
    return {
        glass: sums[:, :, measure.columns[glass]][:, :, : len(material.sizes)].sum(axis=2)
        for glass, material in measure.materials.items()
    }


def _known(
    desk: Desk,
    drawn: Futures,
    materials: Mapping[str, Material],
    executor: Executor | None,
    seed: int,
    told: Told,
) -> Any:
    """What the open orders alone take, by real plans: no rule tells which of two sizes a single week takes."""
    first, weeks = drawn.first, drawn.sheets.shape[1]
    mine = [replace(o, due=max(o.due, monday(first))) for o in desk.book.open]
    mine = [o for o in mine if week_of(o.due) < first + weeks]
    known = np.zeros((weeks, len(drawn.series)), dtype=np.int32)
    at = {name: k for k, name in enumerate(drawn.series)}
    for count in _nested(mine, materials, executor, seed=seed, told=told):
        for name, sheets in count.sheets.items():
            known[count.week - first, at[name]] += sheets
    return known


def _nested(
    orders: Sequence[BookedOrder],
    materials: Mapping[str, Material],
    executor: Executor | None,
    *,
    seed: int,
    told: Told,
    carry: Mapping[str, Carry] | None = None,
) -> list[WeekCount]:
    return renest(
        orders,
        materials,
        executor,
        seed=seed,
        carry=carry,
        progress=lambda done, total: told(tr("weeks nested"), done, total),
    )


REFIT: Final = 4
"""Weeks after which the back-test fits the rules anew: they change slowly, and are fitted on earlier weeks all the same."""


class _Fit:
    """Fits rules for the back-test, in this process or another, once for `REFIT` origins."""

    def __init__(self, materials: Mapping[str, Material], measure: Measure, carried: bool) -> None:
        self._materials, self._measure, self._carried = materials, measure, carried
        self._known: dict[int, CalibratedRules] = {}

    def __call__(self, orders: Sequence[BookedOrder], counts: Sequence[WeekCount]) -> CalibratedRules:
        last = max((c.week for c in counts), default=0) + 1
        end = last - last % REFIT
        if end not in self._known:
            before = [c for c in counts if c.week < end]
            self._known[end] = fit_rules(
                orders, before, self._materials, carried=self._carried, measure=self._measure
            )
        return self._known[end]


def as_sentence(text: str) -> str:
    """A finding as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}"


def products_of(desk: Desk) -> list[tuple[str, int, int, float, float, int]]:
    """Product, orders cut, weeks, orders a week, the same of the last 13 weeks, and open orders; the commonest first."""
    book = desk.book
    weeks = [w for w in range(book.first_week, book.this_week) if w not in book.shut]
    near = set(weeks[-13:])
    cut: Counter[str] = Counter()
    late: Counter[str] = Counter()
    for o in book.past:
        cut[o.product] += 1
        late[o.product] += o.week in near
    waiting = Counter(o.product for o in book.open)
    names = sorted(cut | waiting, key=lambda p: (-cut[p], p))
    return [
        (
            p,
            cut[p],
            len(weeks),
            cut[p] / len(weeks) if weeks else 0.0,
            late[p] / len(near) if near else 0.0,
            waiting[p],
        )
        for p in names
    ]
