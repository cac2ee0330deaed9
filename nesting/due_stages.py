"""Plans made due day by due day: what is due first on sheets of its own, filled up with what is due later."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Sequence
from datetime import date
from typing import TypeVar

from .due_judge import due_by, due_days_of
from .fill_up import filling_up
from .job import Job, Variant, reduced
from .optimizer.instance import Instance
from .optimizer.params import NODES_A_STEP, Params
from .optimizer.pattern import Pattern
from .optimizer.runner import Counter, Runner
from .phantoms import on_phantom
from .pins import short_searching

Result = TypeVar("Result")

SLICES = 24
"""Slices of search for the panels due by one day, alone or before the others: what is due first is held to the same."""
MOST_DAYS = 40
"""Due days of a glass that are looked at; the rest of them count as the last."""
LEAST = 4
"""Free area of a sheet from which it is filled up with what is due later. [per cent]"""
SINGLE = 7
"""Due days that a plan is cut at alone."""


def few_due_days(instance: Instance) -> list[date]:
    """At most so many of the due days of a glass, the first ones and the last."""
    days = due_days_of(instance)
    return days if len(days) <= MOST_DAYS else [*days[: MOST_DAYS - 1], days[-1]]


def alone(job: Job, wanted: Sequence[int], seed: int, params: Params | None) -> Generator[bool, None, int]:
    """The number of sheets of a quick plan of these panels alone; yields after every slice."""
    sheets = list(range(len(job.instance.sheets)))
    found, steps = yield from _must(short_searching(job.instance, wanted, sheets, seed, params, SLICES), True)
    job.spent += steps
    return sum(not on_phantom(job.instance, p) for p in found)


def _must(work: Generator[None, None, Result], must: bool) -> Generator[bool, None, Result]:
    """The same work; what it yields says whether it is to go on whatever it costs."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            result: Result = end.value
            return result
        yield must


def stages(
    job: Job,
    settled: Sequence[Pattern],
    offer: Callable[[Variant], None],
    seed: int,
    params: Params | None,
) -> Iterator[bool]:
    """Plan a glass due day by due day, way by way; yields after every slice whether it must go on.

    Parameters
    ----------
    job
        The glass.
    settled
        Sheets that are not touched.
    offer
        Takes every plan that is found.
    seed, params
        Of the searches.
    """
    days = few_due_days(job.instance)
    cuts_at = [days, *([d] for d in days[:-1][:SINGLE])] if len(days) > 1 else [days]
    must = True
    # fewer and larger sheets leave more of the table's time
    for cuts, fewest in [(c, f) for f in (False, True) for c in cuts_at if c]:
        work = _staged(job, settled, cuts, seed, params, fewest=fewest)
        variant = yield from _must(work, must)
        variant.start()
        offer(variant)
        for _ in range(SLICES):
            yield must
            if variant.proven or not variant.advance():
                break
            offer(variant)
        job.spent += variant.steps
        must = False


def _staged(
    job: Job,
    before: Sequence[Pattern],
    cuts: Sequence[date],
    seed: int,
    params: Params | None,
    *,
    fewest: bool,
) -> Generator[None, None, Variant]:
    """The panels due by each of these days on sheets of their own, filled up with later ones."""
    instance = job.instance
    settled = list(before)
    counter = Counter()
    runner = Runner(instance, counter)
    sheets = list(range(len(instance.sheets)))
    for day in cuts:
        rest = reduced(instance, settled)
        placed = [a - b for a, b in zip(instance.demand, rest.demand, strict=True)]
        wanted = [max(0, c - p) for c, p in zip(due_by(instance, day), placed, strict=True)]
        wanted = [min(c, r) for c, r in zip(wanted, rest.demand, strict=True)]
        if not any(wanted):
            continue
        found, steps = yield from short_searching(rest, wanted, sheets, seed, params, SLICES, fewest=fewest)
        job.spent += steps
        found = [p for p in found if not on_phantom(instance, p)]
        others = reduced(instance, [*settled, *found]).demand
        soon = next((d for d in due_days_of(instance) if d > day), None)
        if soon is not None:
            # what is due next goes first, then whatever fits
            due = [max(0, c - p) for c, p in zip(due_by(instance, soon), placed, strict=True)]
            due = [max(0, min(c - w, o)) for c, w, o in zip(due, wanted, others, strict=True)]
            found = yield from filling_up(runner, found, due, least=LEAST)
            others = reduced(instance, [*settled, *found]).demand
        settled += yield from filling_up(runner, found, others, least=LEAST)
    job.spent += counter.nodes // NODES_A_STEP
    return Variant.of(instance, settled, seed, params)
