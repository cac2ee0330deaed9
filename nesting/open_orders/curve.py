"""A small curve of nests: what few open orders and few late ones cost in sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..assemble import CutSheet, cut_sheets
from ..job import Job, reduced
from ..optimizer.pattern import Pattern
from ..optimizer.runner import Counter
from ..phantoms import on_phantom
from .judged import Nest, RackJudge, cost_of
from .weighted import weighted_nests
from .weights import CURVE, Weights

MORE = 3
"""What a nest may cost more than the one without weights, to the nearest sheet. [per cent]"""
LOOKED_AT = 4
"""Nests of one set of weights whose sheets are put in the best order."""


@dataclass(frozen=True, slots=True)
class Point:
    """A nest on the curve.

    Parameters
    ----------
    weights
        With which it was made.
    patterns
        Of each glass.
    nest
        Its sheets in their order.
    within
        Whether it costs no more than the first one and the tolerance.
    """

    weights: Weights
    patterns: tuple[tuple[Pattern, ...], ...]
    nest: Nest
    within: bool

    @property
    def pressure(self) -> tuple[int, int, int, int]:
        """By this points are compared; a late order weighs as much as two open ones."""
        late, most, cost, total = self.nest.key
        return 2 * late + most, late, cost, total


def curve(
    judge: RackJudge, first: Sequence[Sequence[Pattern]], weights: Sequence[Weights] = CURVE
) -> list[Point]:
    """A nest for each set of weights.

    Parameters
    ----------
    judge
        Of the sheets' order.
    first
        The nest without weights, by glass: the plan of the search.
    weights
        Those without any weight stand for `first`.

    Notes
    -----
    With the weights every glass is filled sheet by sheet in many ways. Those within the tolerance count
    first; where there are none, the cheapest ones. The best of them in the order of their filling are put
    in the best order, and the one with the least pressure is the point.
    """
    jobs = judge.judge.jobs
    sheets = cut_sheets(jobs, first)
    # the first nest by its search, and no glass with more that finds no stock than there
    base = Point(CURVE[0], tuple(tuple(p) for p in first), judge.nest(_turns(jobs, first)), True)
    most = _most(sheets)
    lacking = [_lacking(job, patterns) for job, patterns in zip(jobs, first, strict=True)]
    out = []
    for one in weights:
        if not one.any:
            out.append(base)
            continue
        found: list[tuple[tuple[int, int, int, int, int], int, list[list[Pattern]]]] = []
        for number, patterns in enumerate(_nests(judge, first, one, lacking)):
            cost = cost_of(cut_sheets(jobs, patterns))
            late, opened = judge.quick(_turns(jobs, patterns))
            over = max(0, cost - most)
            found.append(((over, 2 * late + opened, late, opened, cost), number, patterns))
        found.sort(key=lambda x: x[:2])
        points: list[Point] = []
        for key, _, patterns in found[:LOOKED_AT]:
            if points and key[0] > found[0][0][0]:
                break
            nest = judge.nest(_turns(jobs, patterns))
            points.append(Point(one, tuple(tuple(p) for p in patterns), nest, nest.cost <= most))
        out.append(min(points, key=lambda p: p.pressure, default=base))
    return _from_the_cheapest(jobs, out)


def _from_the_cheapest(jobs: Sequence[Job], points: list[Point]) -> list[Point]:
    """Where a nest with weights came out cheaper than the one without, it is both, and the tolerance counts from it."""
    cheapest = min(points, key=lambda p: (p.nest.cost, p.pressure))
    first = points[0]
    if first.weights.any or cheapest.nest.cost >= first.nest.cost:
        return points
    most = _most(cut_sheets(jobs, cheapest.patterns))
    alone = replace(cheapest, weights=first.weights)
    return [replace(p, within=p.nest.cost <= most) for p in (alone, *points[1:])]


def choose(judge: RackJudge, first: Sequence[Sequence[Pattern]], wanted: int) -> tuple[list[Point], Point]:
    """The curve, or the one point of it that is wanted; and the point that is taken.

    Parameters
    ----------
    judge, first
        As for `curve`.
    wanted
        Number of a point of `CURVE`, or -1 for the one with the least pressure within the tolerance.
    """
    if wanted >= 0:
        found = curve(judge, first, CURVE[wanted : wanted + 1])
        return found, found[0]
    found = curve(judge, first)
    return found, found[least_pressed(found)]


def least_pressed(points: Sequence[Point]) -> int:
    """The point within the tolerance with the fewest late and open orders; of equal ones the first."""
    return min((p.pressure, i) for i, p in enumerate(points) if p.within)[1]


def _most(sheets: Sequence[CutSheet]) -> int:
    """The greatest cost within the tolerance; of many sheets it is whole sheets, to the nearest one."""
    cost, count = cost_of(sheets), max(1, len(sheets))
    return cost + max(MORE * cost // 100, (MORE * count + 50) // 100 * cost // count)


def _lacking(job: Job, patterns: Sequence[Pattern]) -> int:
    """Area of the panels that lie on stock that is not there. [search units squared]"""
    area = job.instance.type_area
    short = [p for p in patterns if on_phantom(job.instance, p)]
    return sum(area[t] * n for p in short for t, n in p.uses(job.instance).items())


def _nests(
    judge: RackJudge, first: Sequence[Sequence[Pattern]], weights: Weights, lacking: Sequence[int]
) -> Iterator[list[list[Pattern]]]:
    """Nests of all glasses together: the first way of each, the second of each, and so on."""
    jobs = judge.judge.jobs
    ways = [_filled(job, judge, weights, lack) for job, lack in zip(jobs, lacking, strict=True)]
    last: list[list[Pattern]] = [list(p) for p in first]
    while True:
        fresh = [next(way, None) for way in ways]
        if all(found is None for found in fresh):
            return
        last = [old if new is None else new for old, new in zip(last, fresh, strict=True)]
        yield [list(p) for p in last]


def _filled(job: Job, judge: RackJudge, weights: Weights, lacking: int) -> Iterator[list[Pattern]]:
    settled = list(job.best.settled)
    instance = reduced(job.instance, settled)
    if not any(instance.demand):
        return
    placed: dict[int, int] = {}
    for pattern in settled:
        for kind, count in pattern.uses(job.instance).items():
            placed[kind] = placed.get(kind, 0) + count
    sheets = list(range(len(instance.sheets)))
    counter = Counter()
    for patterns in weighted_nests(instance, placed, sheets, weights, judge.judge.days, counter):
        if _lacking(job, patterns) <= lacking:
            yield [*settled, *patterns]


def _turns(jobs: Sequence[Job], patterns: Sequence[Sequence[Pattern]]) -> list[CutSheet]:
    """The sheets of all glasses in turns, each glass at the pace of its number of sheets."""
    sheets = cut_sheets(jobs, patterns)
    number = [sum(s.job == j for s in sheets) for j in range(len(jobs))]
    seen = [0] * len(jobs)
    placed = []
    for i, sheet in enumerate(sheets):
        # halves of a sheet, so that glasses of as many sheets take turns
        placed.append(((2 * seen[sheet.job] + 1) * 10**6 // (2 * number[sheet.job]), i))
        seen[sheet.job] += 1
    return [sheets[i] for _, i in sorted(placed)]
