"""Which sizes to stock, measured: sets of drawn weeks, a list of a hundred sizes, and published problems.

Drawn: twelve times the demand of a week of `bench_weeks`, ten common sheet sizes at 1 a square metre, those under
12 m2 dearer by 2 %, those under 6.5 m2 by 4 %. Published: the assortment problems of Beasley 1985 (An algorithm for the
two-dimensional assortment problem, EJOR 19:253-261), of which no optimum is known to us: bounds and plans must agree.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from panewright.io.bench_data import strictly, text_of, whole
from panewright.io.bench_draw import Draw
from panewright.io.bench_weeks import GROUPS, SHEET, orders, sheet
from panewright.nesting.assortment.best_sets import BestSets
from panewright.nesting.assortment.price_breaks import price_breaks
from panewright.nesting.assortment.size_pool import SetValue, SizePool
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.optimizer.plain import plain_panel, plain_sheet
from panewright.nesting.optimizer.solve import solve
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece

TIMES: Final = 12
SIZES: Final = (
    (6000, 3210), (5100, 3210), (4500, 3210), (3660, 2440), (3210, 2400),
    (3210, 2250), (3300, 2140), (2440, 1830), (2550, 1605), (2440, 1650),
)  # fmt: skip
MANY: Final = 100
LONG_GAP: Final = 3e-4
"""Relative distance of value and bound in the long run."""
PLAN_STEPS: Final = 40
Clock = Callable[[], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairRun:
    """The best pair of ten sizes of one demand: quick and long run, and the list of a hundred sizes."""

    name: str
    kinds: int
    panels: int
    pair: tuple[tuple[int, int], ...]
    value: float
    long_bound: float
    seconds: float
    long_seconds: float
    list_seconds: float
    lp_seconds: float
    worth: int

    @property
    def gap(self) -> float:
        """How far the quick pair is above what the long run proves of all pairs, at most."""
        return self.value / self.long_bound - 1 if self.long_bound else 0.0


def priced(width: int, height: int) -> StockPiece:
    """A size at its price. [mm]"""
    piece, area = sheet(width, height), width * height
    dearer = 100 if area > 12_000_000 else 102 if area > 6_500_000 else 104
    return replace(piece, cost=piece.cost * dearer // 100)


def drawn_sizes(seed: int) -> list[StockPiece]:
    """A hundred sizes: the common one, and others drawn."""
    draw = Draw(seed, 8)
    found = {SHEET}
    while len(found) < MANY:
        width, height = 10 * draw.between(200, 600), 10 * draw.between(140, 321)
        if width > height:
            found.add((width, height))
    return [priced(*SHEET), *(priced(*size) for size in sorted(found - {SHEET}))]


def pair_runs(seed: int, clock: Clock) -> Iterator[PairRun]:
    """One run for each group of weeks."""
    for group, order in zip(GROUPS, orders(seed, "weeks")[::2], strict=True):
        panels = [replace(p, id=f"{k}/{p.id}") for k in range(TIMES) for p in order.panels]
        rules = order.shop.rules(panels[0].glass)
        ten = build(panels, [priced(*size) for size in SIZES], rules)
        began = clock()
        quick = BestSets(SizePool(ten), 2).run().rankings[1].best
        seconds = clock() - began
        began = clock()
        far = BestSets(SizePool(ten), 2, gap=LONG_GAP).run()
        long_seconds = clock() - began
        hundred = SizePool(build(panels, drawn_sizes(seed), rules))
        began = clock()
        hundred.solve([0], 2e-3)
        lp_seconds = clock() - began
        began = clock()
        listed = price_breaks(hundred, [0], 2e-3)
        list_seconds = clock() - began
        best = far.rankings[1].best
        if quick is None or best is None:
            continue
        yield PairRun(
            name=group.name,
            kinds=len(ten.types),
            panels=len(panels),
            pair=tuple(SIZES[s] for s in quick.sizes),
            value=quick.value,
            # no pair of the long run costs less than its best by more than the gap
            long_bound=min(best.bound, best.value * (1 - LONG_GAP)),
            seconds=seconds,
            long_seconds=long_seconds,
            list_seconds=list_seconds,
            lp_seconds=lp_seconds,
            worth=sum(b.is_worth for b in listed.breaks),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AssortRun:
    """A published problem: the best size alone and the best pair by the LP (areas), and a plan of the first."""

    name: str
    one: SetValue
    two: SetValue
    plan: int
    seconds: float

    @property
    def agrees(self) -> bool:
        """Whether no bound is above a value or the plan, and a pair costs no more than a size alone."""
        return self.one.bound <= self.one.value <= self.plan and self.two.bound <= self.one.value


def assort_problems(folder: Path) -> list[tuple[str, Instance]]:
    """Rectangles and sheets, no turning, three levels and a last cut; a sheet costs its area."""
    path = folder / "cutting_stock" / "beasley1985_assort.json"
    with strictly(path):
        data: dict[str, Any] = json.loads(text_of(path))
        out = []
        for one in data["instances"]:
            panels = [
                plain_panel(whole(w), whole(h), f"{k}-{i}", turn=False)
                for k, (w, h, n) in enumerate(one["items"])
                for i in range(whole(n))
            ]
            sizes = [(whole(row[0]), whole(row[1])) for row in one["stock"]]
            stock = [replace(plain_sheet(w, h), name=f"{w}x{h}", cost=w * h) for w, h in sizes]
            rules = Rules(break_out=0, levels=3, corner_depth=0, least_offcut=(10**6, 10**6))
            out.append((str(one["name"]), build(panels, stock, rules)))
        return out


def assort_runs(folder: Path, clock: Clock, seed: int) -> Iterator[AssortRun]:
    """Every published problem."""
    for name, instance in assort_problems(folder):
        began = clock()
        found = BestSets(SizePool(instance), 2).run()
        one, two = found.rankings[0].best, found.rankings[1].best
        if one is None or two is None:
            continue
        seconds = clock() - began
        alone = replace(instance, sheets=(instance.sheets[one.sizes[0]],))
        plan = solve(alone, lambda steps: steps >= PLAN_STEPS, seed)
        yield AssortRun(name=name, one=one, two=two, plan=plan.cost, seconds=seconds)
