"""The most value from one sheet: the constrained guillotine knapsack, for comparison with papers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from math import gcd

import numpy as np

from .free_engine import fill_free
from .instance import Instance, PanelType, Rect, Sheet, build_arrays
from .params import NODES_A_STEP
from .pattern import Pattern
from .plain import plain_panel, plain_rules, plain_sheet
from .runner import Counter, Runner

Offer = tuple[int, int, int, int]
"""Width, height, value and most copies of a rectangle."""
EFFORT = 20_000
"""Search steps by default: a few seconds at most."""
BEAM = 300
"""Width of the beam that makes the start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OneSheet:
    """Value of the best pattern found, a bound on the value of every pattern, search steps taken.

    `pattern` is None where nothing fits; it is read with `instance`.
    """

    value: int
    bound: int
    steps: int
    pattern: Pattern | None
    instance: Instance = field(compare=False)


def fill_one_sheet(
    width: int,
    height: int,
    offers: Sequence[Offer],
    *,
    turn: bool = False,
    break_out: int = 0,
    effort: int = EFFORT,
) -> OneSheet:
    """Search the pattern of the greatest total value, any number of levels.

    Parameters
    ----------
    width, height
        Of the sheet. [any unit]
    offers
        Rectangles with value and most copies. [same unit]
    turn
        Whether they may turn a quarter.
    break_out
        Break-out distance; no side of the sheet is raw. [same unit]
    effort
        Search steps to spend, about.

    Notes
    -----
    Christofides and Whitlock 1977 state the problem and three examples. Starts from a beam of four levels;
    deterministic.
    """
    instance = _instance(width, height, offers, turn, break_out)
    value = [offer[2] for offer in offers]
    counter = Counter()
    best = 0
    pattern: Pattern | None = None
    demand = instance.demand
    if any(demand):
        runner = Runner(instance, counter)
        part = runner.part(demand)
        worth = np.array(value, dtype=np.float64)
        for frames in (1, 2):
            found = runner.run(part, [0], value=worth, lean=0.1, width=BEAM, frames=frames, fill=True)
            if found:
                worth_found = sum(value[i.rect] for i in found[0].items())
                if worth_found > best:
                    best, pattern = worth_found, found[0]
    filled = fill_free(instance, demand, 0, value, start=best, effort=NODES_A_STEP * effort - counter.nodes)
    return OneSheet(
        value=filled.value,
        bound=filled.bound,
        steps=(filled.nodes + counter.nodes) // NODES_A_STEP,
        pattern=pattern if filled.pattern is None else filled.pattern,
        instance=instance,
    )


def _instance(width: int, height: int, offers: Sequence[Offer], turn: bool, break_out: int) -> Instance:
    """One type an offer, so that equal sizes may have different values."""
    unit = reduce(gcd, [width, height, break_out, *(side for o in offers for side in o[:2])])
    rects = [
        Rect(width=o[0] // unit, height=o[1] // unit, turns=turn, uses=((k, 1),), blank=None)
        for k, o in enumerate(offers)
    ]
    sheet = Sheet(
        piece=plain_sheet(width, height),
        width=width // unit,
        height=height // unit,
        raw_right=False,
        raw_top=False,
    )
    demand = []
    for r, o in zip(rects, offers, strict=True):
        upright = r.width <= sheet.width and r.height <= sheet.height
        turned = turn and r.height <= sheet.width and r.width <= sheet.height
        most = sheet.area // (r.width * r.height)
        demand.append(min(o[3], most) if upright or turned else 0)
    areas = tuple(r.width * r.height for r in rects)
    return Instance(
        unit=unit,
        rules=replace(plain_rules(width, height, None), break_out=break_out),
        types=tuple(
            PanelType(
                width=o[0],
                height=o[1],
                turns=turn,
                narrow=False,
                panels=tuple(plain_panel(o[0], o[1], f"{k:05d}/{i:05d}", turn=turn) for i in range(n)),
                blanks=(),
            )
            for k, (o, n) in enumerate(zip(offers, demand, strict=True))
        ),
        rects=tuple(rects),
        sheets=(sheet,),
        demand=tuple(demand),
        break_out=break_out // unit,
        type_area=areas,
        least_area=areas,
        own=len(rects),
        arrays=build_arrays(rects, areas),
    )


def most_value(
    width: int,
    height: int,
    offers: Sequence[Offer],
    *,
    turn: bool = False,
    break_out: int = 0,
    effort: int = EFFORT,
) -> int:
    """The greatest total value found: `fill_one_sheet` without the pattern.

    Returns
    -------
    int
        A value that a real pattern reaches: a lower bound on the optimum.
    """
    return fill_one_sheet(width, height, offers, turn=turn, break_out=break_out, effort=effort).value
