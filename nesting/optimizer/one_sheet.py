"""The most value from one sheet: the constrained guillotine knapsack, for comparison with papers."""

from __future__ import annotations

from collections import Counter as Counts
from collections.abc import Callable, Sequence

import numpy as np

from ..panels import Panel
from .instance import Instance, build
from .pattern import Pattern
from .plain import plain_panel, plain_rules, plain_sheet
from .runner import Counter, Runner

Offer = tuple[int, int, int, int]
"""Width, height, value and most copies of a rectangle."""


def most_value(
    width: int,
    height: int,
    offers: Sequence[Offer],
    *,
    turn: bool = False,
    levels: int = 4,
    beam: int = 1000,
    leans: Sequence[float] = (0.03, 0.1, 0.3, 1.0),
    witness: Callable[[Pattern, Instance], None] | None = None,
) -> int:
    """The greatest total value found for rectangles cut from one sheet.

    Parameters
    ----------
    width, height
        Of the sheet. [any unit]
    offers
        Rectangles with value and most copies. [same unit]
    turn
        Whether they may turn a quarter.
    levels
        Main levels; a last trimming cut follows.
    beam
        Beam width.
    leans
        Guide constants tried, each with both directions of the first cut.
    witness
        Told each pattern that is better than those before, with its instance.

    Returns
    -------
    int
        A value that a real pattern reaches: a lower bound on the optimum (Christofides and
        Whitlock 1977 state the problem and three examples).
    """
    fits = [
        o for o in offers if (o[0] <= width and o[1] <= height) or (turn and o[1] <= width and o[0] <= height)
    ]
    panels: list[Panel] = []
    worth: dict[tuple[int, int], list[int]] = {}
    for i, (w, h, value, copies) in enumerate(fits):
        most = min(copies, (width * height) // (w * h))
        panels += [plain_panel(w, h, f"{i:05d}/{k:05d}", turn=turn) for k in range(most)]
        key = (max(w, h), min(w, h)) if turn else (w, h)
        worth.setdefault(key, []).extend([value] * most)
    if not panels:
        return 0
    instance = build(panels, [plain_sheet(width, height)], plain_rules(width, height, levels))
    runner = Runner(instance, Counter())
    # equal sizes are one type: the search values each at the dearest, the result takes the dearest first
    offered = [
        sorted(worth[r.width * instance.unit, r.height * instance.unit], reverse=True) for r in instance.rects
    ]
    values = np.array([float(row[0]) for row in offered])
    part = runner.part(instance.demand)
    best = 0
    for lean in leans:
        for frames in (1, 2):
            patterns = runner.run(part, [0], value=values, lean=lean, width=beam, frames=frames, fill=True)
            if not patterns:
                continue
            cut = Counts(i.rect for i in patterns[0].items())
            found = sum(sum(offered[rect][:count]) for rect, count in cut.items())
            if found > best:
                best = found
                if witness is not None:
                    witness(patterns[0], instance)
    return best
