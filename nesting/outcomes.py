"""Bound and status of every glass of a plan, the kept sheets counted in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .job import Job
from .kept import Kept
from .optimizer.pattern import Pattern
from .phantoms import on_phantom
from .plan import Bound, GlassOutcome
from .text import tr


def outcomes(
    jobs: Sequence[Job], patterns: Sequence[Sequence[Pattern]], kept: Kept, stopped_by: str, *, free: bool
) -> dict[str, GlassOutcome]:
    """Bound and status by glass.

    Parameters
    ----------
    jobs, patterns
        Of each glass, and its sheets.
    kept
        Sheets that are counted in as they are.
    stopped_by
        Why the search ended.
    free
        Whether the cost alone decided.
    """
    found: dict[str, GlassOutcome] = {}
    for job, plan in zip(jobs, patterns, strict=True):
        real = [p for p in plan if not on_phantom(job.instance, p)]
        placed = [0] * len(job.instance.types)
        for p in real:
            for kind, count in p.uses(job.instance).items():
                placed[kind] += count
        bound = job.best_bound(job.instance, placed)
        optimal = sum(job.instance.sheets[p.sheet].piece.cost for p in real) == bound.cost
        if optimal or (job.best.proven and not job.best.settled and free):
            reason = "bound met"
        elif job.done and not job.out_of_budget:
            reason = "nothing left to try"
        else:
            reason = "effort" if job.out_of_budget else stopped_by
        found[job.glass] = GlassOutcome(bound=bound, optimal=optimal, stopped_by=reason)
    nothing = Bound(cost=0, sheets=0, by="kept sheets", valid_for="")
    for glass in sorted({layout.glass for layout in kept.layouts}):
        mine = kept.on(glass)
        outcome = found.get(glass) or GlassOutcome(bound=nothing, optimal=True, stopped_by="bound met")
        before = outcome.bound
        bound = replace(
            before,
            cost=before.cost + sum(layout.cost for layout in mine),
            sheets=before.sheets + len(mine),
            valid_for=tr("{plans} beside the kept sheets", plans=before.valid_for or tr("no sheet")),
        )
        found[glass] = replace(outcome, bound=bound)
    return dict(sorted(found.items()))
