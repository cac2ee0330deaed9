"""Sheet-by-sheet filling: the best sheet for its price, again and again, until nothing is left."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Any

import numpy as np

from .instance import Instance, Sheet
from .pattern import Pattern
from .runner import Runner

LEAN = 0.1
MOST_TYPES = 400
"""Types that one fill chooses among, so that its time does not grow with the order."""
FINISH_LOSS = 1.15
"""A finishing sheet may cost this many times the cheapest glass for the rest, else it waits."""


def filling(
    runner: Runner,
    demand: Sequence[int],
    sheets: Sequence[int],
    *,
    exponent: float,
    frames: int,
    width: int,
    noise: float,
    rng: np.random.Generator,
    left: Mapping[int, int | None] | None = None,
    types: int = MOST_TYPES,
) -> Generator[None, None, list[Pattern] | None]:
    """Fill sheets one by one until the demand is placed; yields after each.

    Parameters
    ----------
    runner
        The kernel.
    demand
        Panels of each type.
    sheets
        Indexes of the stock sizes that may be taken.
    exponent
        Of the value of a rectangle.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    width
        Of the beam.
    noise
        Share by which values are disturbed at random.
    rng
        Used only with noise.
    left
        How many of each size may be taken (None: no end); default: what there is.
    types
        Types that one fill chooses among, where there are more.

    Returns
    -------
    list of Pattern or None
        None when the stock ran out, or a panel fits none of these sheets.

    Notes
    -----
    Each step compares all sizes by value per cost; a size that takes the whole rest finishes, the
    cheapest first. A fill stays valid while its panels are still wanted, so most of them are reused.
    """
    inst = runner.instance
    rest = np.asarray(demand, dtype=np.int64).copy()
    given = left or {k: (None if s.piece.buyable else s.piece.on_hand) for k, s in enumerate(inst.sheets)}
    left = {k: given[k] for k in sheets}
    cheapest = min((inst.sheets[k].piece.cost / max(1, inst.sheets[k].area) for k in sheets), default=0.0)
    value = runner.value(exponent)
    out: list[Pattern] = []
    cache: dict[int, tuple[Pattern, dict[int, int], float]] = {}
    while rest.any():
        if noise:
            value = runner.value(exponent) * (1.0 + noise * (2.0 * rng.random(len(value)) - 1.0))
        part = runner.part(rest, types)
        whole = int(rest.sum())
        best: tuple[float, int] | None = None
        finish: tuple[int, int] | None = None
        for k in sheets:
            if left[k] == 0 or _twin_tried(inst, k, sheets, left):
                continue
            if k not in cache or any(rest[t] < c for t, c in cache[k][1].items()):
                patterns = runner.run(
                    part, [k], value=value, lean=LEAN, width=width, frames=frames, fill=True
                )
                if not patterns:
                    cache.pop(k, None)
                    continue
                uses = dict(patterns[0].uses(inst))
                worth = float(sum(value[i.rect] for i in patterns[0].items()))
                cache[k] = (patterns[0], uses, worth)
            _, uses, worth = cache[k]
            cost = inst.sheets[k].piece.cost
            if sum(uses.values()) == whole and (finish is None or cost < finish[0]):
                finish = (cost, k)
            score = worth / max(cost, 1)
            if best is None or score > best[0]:
                best = (score, k)
        if best is None:
            return None
        pick = best[1]
        if finish is not None and (
            finish[0] <= FINISH_LOSS * part.area * cheapest
            or inst.sheets[pick].piece.cost >= finish[0]
            or sum(cache[pick][1].values()) == whole
        ):
            pick = finish[1]
        pattern, uses, _ = cache[pick]
        out.append(pattern)
        for t, c in uses.items():
            rest[t] -= c
        number = left[pick]
        if number is not None:
            left[pick] = number - 1
        yield
    return out


def fill_all(
    runner: Runner, demand: Sequence[int], sheets: Sequence[int], **how: Any
) -> list[Pattern] | None:
    """All of `filling` at once; `how` as there."""
    work = filling(runner, demand, sheets, **how)
    while True:
        try:
            next(work)
        except StopIteration as end:
            found: list[Pattern] | None = end.value
            return found


def _twin_tried(inst: Instance, k: int, sheets: Sequence[int], left: dict[int, int | None]) -> bool:
    """Whether an equal sheet earlier in the list stands for this one."""
    me = inst.sheets[k]
    for j in sheets:
        if j == k:
            return False
        other = inst.sheets[j]
        if left[j] != 0 and _same(other, me):
            return True
    return False


def _same(a: Sheet, b: Sheet) -> bool:
    return (a.width, a.height, a.raw_right, a.raw_top, a.piece.cost) == (
        b.width,
        b.height,
        b.raw_right,
        b.raw_top,
        b.piece.cost,
    )
