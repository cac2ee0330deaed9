"""Placing the panels of a few sheets anew without a limit of levels, sheet after sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .free_engine import fill_free
from .instance import Instance
from .pattern import Pattern
from .runner import Runner
from .sequential import LEAN

MOST_SHEETS = 3
"""Sheets placed anew at once by ruin and recreate."""
EXPONENTS = (1.0, 1.03, 1.1)
"""Exponents of the value of a rectangle, one drawn for each try: how far large panels go first."""
NOISE = 0.1
"""Share by which values are disturbed at random, so that no two tries are the same."""
FINE = 1_000_000
"""Value of the largest rectangle."""
BEAM = 60
"""Width of the beam that makes a start for each sheet."""


def may_be_free(instance: Instance) -> bool:
    """Whether levels are free and the shop has no rule that the engine without level limit does not know."""
    rules = instance.rules
    longest = max(max(s.piece.width, s.piece.height) for s in instance.sheets)
    return (
        rules.levels is None
        and rules.level1_gap == (0, None)
        and (rules.longest_cut is None or rules.longest_cut >= longest)
    )


def prepare(instance: Instance) -> None:
    """Have the engine's kernels compiled, so that this does not fall into the time of the search."""
    one = [0] * len(instance.demand)
    for kind, count in instance.rects[0].uses:
        one[kind] = count
    largest = max(range(len(instance.sheets)), key=lambda k: instance.sheets[k].area)
    fill_free(instance, one, largest, [int(a) for a in instance.arrays.area], start=1, effort=100)


def place_free(
    runner: Runner, demand: Sequence[int], target: Sequence[int], *, effort: int, rng: np.random.Generator
) -> list[Pattern] | None:
    """Fill the sheets of `target` in turn; None where some panel is left over.

    Parameters
    ----------
    runner
        Counts the effort.
    demand
        Panels of each type, all to be placed.
    target
        Indexes of the stock sizes, in the order in which they are filled.
    effort
        Nodes for each sheet, about.
    rng
        Disturbs the values.

    Notes
    -----
    All sheets but the last take the most value; the last one must take the whole rest. A sheet on which
    nothing is wanted any more is left out.
    """
    inst = runner.instance
    noise = 1.0 + NOISE * rng.random(len(inst.rects))
    share = runner.value(EXPONENTS[int(rng.integers(len(EXPONENTS)))]) * noise
    value = [max(1, int(FINE * v)) for v in share]
    rest = list(demand)
    out: list[Pattern] = []
    for number, sheet in enumerate(target, 1):
        if not any(rest):
            break
        area = sum(runner.type_area[t] * count for t, count in enumerate(rest))
        if area > sum(inst.sheets[k].area for k in target[number - 1 :]):
            return None
        beam = runner.run(runner.part(rest), [sheet], value=share, lean=LEAN, width=BEAM, fill=True)
        start = sum(value[i.rect] for i in beam[0].items()) if beam else 0
        if number == len(target):
            start = max(start, _whole(runner, value, rest) - 1)
        filled = fill_free(inst, rest, sheet, value, start=start, effort=effort)
        runner.counter.nodes += filled.nodes
        pattern = filled.pattern or (beam[0] if beam else None)
        if pattern is None:
            return None
        out.append(pattern)
        for kind, count in pattern.uses(inst).items():
            rest[kind] -= count
    return None if any(rest) else out


def _whole(runner: Runner, value: Sequence[int], rest: Sequence[int]) -> int:
    """Least value of a pattern that takes all that is left."""
    least: dict[int, int] = {}
    for rect, worth in zip(runner.instance.rects, value, strict=True):
        for t, count in rect.uses:
            each = worth // count
            least[t] = min(each, least.get(t, each))
    return sum(count * least[t] for t, count in enumerate(rest) if count)
