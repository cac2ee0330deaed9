"""Single sheets: the most value from one sheet against the optima in print.

Classic constrained guillotine knapsack problems (fixed orientation, no limit of levels), five files of
the shared data folder. A problem that stands in several files counts once, where it comes first.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from panewright.io.bench_data import strictly, text_of, whole
from panewright.io.bench_log import Clock, Log
from panewright.io.bench_run import Limits, Result, pass_check, plan_of
from panewright.nesting.errors import PlanFault
from panewright.nesting.optimizer.instance import Instance
from panewright.nesting.optimizer.one_sheet import fill_one_sheet
from panewright.nesting.optimizer.pattern import Pattern
from panewright.nesting.outlines import box
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.text import tr
from panewright.nesting.units import mm

FILES: Final = (
    ("unweighted_classic", True),
    ("weighted_classic", True),
    ("beasley_gcut", True),
    ("ngcut_okp_others", True),
    ("hifi_roucairol_and_cgcut", False),
)
"""Files, and whether they say which values are proven; all of the last one are (its description)."""
SOURCE: Final = "Wang et al. 2025; Dolatabadi, Lodi and Monaci 2012; Furini, Malaguti and Thomopulos 2016"
EFFORTS: Final = (300, 3000, 12_000, 50_000)
"""Search steps for one problem, one search after the other."""
NEAR: Final = Fraction(2, 1000)
"""A value this far below the optimum still counts as near."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Knapsack:
    """One sheet and what can be cut from it.

    Parameters
    ----------
    name, subset
        Of the problem and of its file.
    width, height
        Of the sheet.
    offers
        Width, height, value and most copies of each rectangle.
    best
        Best value in print.
    proven
        Whether that is proven to be the optimum.
    """

    name: str
    subset: str
    width: int
    height: int
    offers: tuple[tuple[int, int, int, int], ...]
    best: int
    proven: bool

    def short_by(self, value: int) -> Fraction:
        """How far a value lies below the best in print, as a share of that."""
        return Fraction(self.best - value, self.best)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Several problems together.

    Parameters
    ----------
    problems, known
        Problems, and those whose optimum is proven in print; the others are in no other count.
    exact, near
        Optima met; values at most `NEAR` below.
    worst
        Greatest distance below an optimum, or None.
    seconds
        Of all problems.
    """

    problems: int
    known: int
    exact: int
    near: int
    worst: Fraction | None
    seconds: float

    @property
    def exact_share(self) -> Fraction | None:
        """Optima met, of those known."""
        return Fraction(self.exact, self.known) if self.known else None

    @property
    def near_share(self) -> Fraction | None:
        """Values near an optimum, of those known."""
        return Fraction(self.near, self.known) if self.known else None


def standing(pairs: Sequence[tuple[Knapsack, Result]]) -> Standing:
    """How the values found stand to the optima in print."""
    gaps = [problem.short_by(-result.cost) for problem, result in pairs if problem.proven]
    return Standing(
        problems=len(pairs),
        known=len(gaps),
        exact=sum(g <= 0 for g in gaps),
        near=sum(g <= NEAR for g in gaps),
        worst=max(gaps, default=None),
        seconds=sum(result.seconds for _, result in pairs),
    )


def knapsacks(folder: Path) -> list[Knapsack]:
    """All problems, file by file."""
    out: list[Knapsack] = []
    seen = set()
    for file, says in FILES:
        path = folder / "guillotine_knapsack" / f"{file}.json"
        with strictly(path):
            rows: list[Mapping[str, Any]] = json.loads(text_of(path))["instances"]
            for one in rows:
                offers = tuple(
                    (whole(w), whole(h), whole(value), whole(copies)) for w, h, value, copies in one["items"]
                )
                width, height = whole(one["W"]), whole(one["H"])
                key = _essence(width, height, offers)
                if key in seen:
                    continue
                seen.add(key)
                proven = one["optimal"] if says else True
                if not isinstance(proven, bool):
                    raise TypeError(tr("optimal is neither true nor false"))
                out.append(
                    Knapsack(
                        name=str(one["name"]),
                        subset=file,
                        width=width,
                        height=height,
                        offers=offers,
                        best=whole(one["best"]),
                        proven=proven,
                    )
                )
    return out


def _essence(width: int, height: int, offers: tuple[tuple[int, int, int, int], ...]) -> object:
    """Equal for problems that differ only in order, in how copies are listed, or in copies beyond use."""
    copies: Counter[tuple[int, int, int]] = Counter()
    for w, h, value, number in offers:
        if w <= width and h <= height:
            copies[w, h, value] += number
    return (
        width,
        height,
        tuple(sorted((k, min(n, width // k[0] * (height // k[1]))) for k, n in copies.items())),
    )


def value_bound(problem: Knapsack) -> int:
    """No sheet yields more: the dearest area first, the last rectangle in part."""
    rest = problem.width * problem.height
    total = Fraction(0)
    for w, h, value, copies in sorted(problem.offers, key=lambda o: Fraction(-o[2], o[0] * o[1])):
        if w > problem.width or h > problem.height:
            continue
        number = min(Fraction(copies), Fraction(rest, w * h))
        total += number * value
        rest -= int(number * w * h)
    return total.numerator // total.denominator


def value_found(problem: Knapsack, limits: Limits, *, clock: Clock) -> Result:
    """The most value found for one problem, replayed by the checker; raises PlanFault.

    Parameters
    ----------
    problem
        The sheet and its offers.
    limits
        When to stop; asked between searches, each longer than the one before.
    clock
        Seconds, for the limit and the report.

    Returns
    -------
    Result
        `cost` and `cost_bound` are the value and our upper bound on it, both negative, so that less
        is better as elsewhere.
    """
    log = Log(clock)
    stop = limits.stop(clock)
    bound, best, steps = value_bound(problem), 0, 0
    kept: list[tuple[Pattern, Instance]] = []
    for effort in EFFORTS:
        found = fill_one_sheet(
            mm(problem.width),
            mm(problem.height),
            [(mm(w), mm(h), value, copies) for w, h, value, copies in problem.offers],
            effort=effort,
        )
        steps += found.steps
        bound = min(bound, found.bound)
        if found.value > best and found.pattern is not None:
            best, kept = found.value, [(found.pattern, found.instance)]
        log.see(cost=-best, sheets=1, bound=-bound, steps=steps)
        if best >= bound or stop(steps):
            break
    seconds = log.seconds()
    for pattern, instance in kept:
        plan = plan_of([pattern], instance, 0, all_panels=False)
        pass_check(problem.name, plan)
        reached = _value_of(plan, problem)
        if reached < best:
            raise PlanFault(
                (
                    tr(
                        "{name}: value {best} said, {reached} cut",
                        name=problem.name,
                        best=best,
                        reached=reached,
                    ),
                )
            )
    return Result(
        name=problem.name,
        group=0,
        panels=sum(copies for *_, copies in problem.offers),
        sheets=1,
        bound=1,
        cost=-best,
        cost_bound=-bound,
        steps=steps,
        seconds=seconds,
        log=log.entries,
    )


def _value_of(plan: Plan, problem: Knapsack) -> int:
    """Value of what a plan cuts, the dearest offer of each size first."""
    cut: Counter[tuple[int, int]] = Counter()
    for leaf in plan.layouts[0].leaves:
        if leaf.kind is LeafKind.PANEL:
            x0, y0, x1, y1 = box(leaf.outline)
            cut[x1 - x0, y1 - y0] += 1
    total = 0
    for w, h, value, copies in sorted(problem.offers, key=lambda o: -o[2]):
        number = min(copies, cut[mm(w), mm(h)])
        cut[mm(w), mm(h)] -= number
        total += number * value
    return total
