"""When stock runs out: get as much glass as possible out of what is there."""

from __future__ import annotations

from collections.abc import Container, Sequence

import numpy as np

from .pattern import Pattern
from .runner import Runner
from .sequential import LEAN, fill_all

WIDTH = 60


def use_what_is_there(runner: Runner, patterns: Sequence[Pattern], phantoms: Container[int]) -> list[Pattern]:
    """Move panels from stock that is not there to stock that is.

    A phantom costs the same however full it is, so that nothing in the search pulls single panels off
    it. Here the limited stock is filled piece by piece, the fullest first: once what no pattern uses,
    once all of it anew. The plan that leaves the least area to phantoms is taken.

    Parameters
    ----------
    runner
        The kernel.
    patterns
        A whole plan.
    phantoms
        Indexes of the sheets that are not there.
    """
    inst = runner.instance
    limited = [k for k in range(len(inst.sheets)) if k not in phantoms and not inst.sheets[k].piece.buyable]
    real = [p for p in patterns if p.sheet not in phantoms]
    endless = [p for p in real if p.sheet not in limited]
    plans = [list(patterns)]
    for kept in (real, endless):
        plan = _filled(runner, kept, limited, phantoms)
        if plan is not None:
            plans.append(plan)

    def left_out(plan: Sequence[Pattern]) -> tuple[int, int]:
        lost = [p for p in plan if p.sheet in phantoms]
        area = sum(runner.type_area[t] * c for p in lost for t, c in p.uses(inst).items())
        return area, sum(inst.sheets[p.sheet].piece.cost for p in plan)

    return min(plans, key=left_out)


def _filled(
    runner: Runner, kept: Sequence[Pattern], limited: Sequence[int], phantoms: Container[int]
) -> list[Pattern] | None:
    """The kept patterns, limited stock filled with the rest of the demand, and phantoms for what is left."""
    inst = runner.instance
    plan = list(kept)
    rest = np.array(inst.demand, dtype=np.int64)
    for pattern in plan:
        for kind, count in pattern.uses(inst).items():
            rest[kind] -= count
    left = {k: inst.sheets[k].piece.on_hand - sum(1 for p in plan if p.sheet == k) for k in limited}
    while rest.any():
        part = runner.part(rest.tolist())
        found: list[tuple[int, int, Pattern]] = []
        for k in (k for k in limited if left[k] > 0):
            filled = runner.run(part, [k], value=runner.value(1.0), lean=LEAN, width=WIDTH, fill=True)
            for pattern in filled or ():
                area = sum(i.width * i.height for i in pattern.items())
                found.append((-area * 10**6 // inst.sheets[k].area, k, pattern))
        if not found:
            break
        _, k, pattern = min(found, key=lambda f: f[:2])
        plan.append(pattern)
        left[k] -= 1
        for kind, count in pattern.uses(inst).items():
            rest[kind] -= count
    if not rest.any():
        return plan
    absent = fill_all(
        runner,
        rest.tolist(),
        [k for k in range(len(inst.sheets)) if k in phantoms],
        exponent=1.0,
        frames=3,
        width=WIDTH,
        noise=0.0,
        rng=np.random.Generator(np.random.PCG64(0)),
    )
    return None if absent is None else plan + absent
