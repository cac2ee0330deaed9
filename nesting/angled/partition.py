"""Which groups to cut: the exact-demand set partition of least area, and what each panel costs in it."""

from __future__ import annotations

from collections.abc import Sequence

import highspy
import numpy as np

Uses = tuple[tuple[int, int], ...]
"""Pairs (kind, number), rising by kind."""


def area_prices(demand: Sequence[int], columns: Sequence[tuple[Uses, float]]) -> list[float]:
    """What one panel of each kind costs in area, by the LP relaxation of the partition.

    Parameters
    ----------
    demand
        Panels of each kind.
    columns
        Groups: what they hold, and the area of their blank. Every kind in demand is in one.

    Returns
    -------
    list of float
        Not negative; no group costs more at these prices than its area.
    """
    scale = max(area for _, area in columns)
    lp = highspy.Highs()  # type: ignore[no-untyped-call]
    lp.setOptionValue("output_flag", False)
    lp.setOptionValue("threads", 1)
    lp.setOptionValue("presolve", "off")
    nothing = np.zeros(0, np.int32)
    for d in demand:
        lp.addRow(float(d), highspy.kHighsInf, 0, nothing, np.zeros(0))
    for uses, area in columns:
        kinds = np.array([k for k, _ in uses], np.int32)
        numbers = np.array([float(n) for _, n in uses])
        lp.addCol(area / scale, 0.0, highspy.kHighsInf, len(kinds), kinds, numbers)
    lp.run()
    if lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        raise ArithmeticError("the partition has no relaxation")
    duals = lp.getSolution().row_dual
    return [max(0.0, float(duals[k])) * scale for k in range(len(demand))]


def least_partition(
    demand: Sequence[int], columns: Sequence[tuple[Uses, int]], *, effort: float = 2.0
) -> list[int] | None:
    """How often to take each group so that every panel is cut exactly once, with least area.

    Parameters
    ----------
    demand
        Panels of each kind.
    columns
        Groups: what they hold, and the area of their blank in whole numbers.
    effort
        Limit of the solver. [units of its deterministic time, about a second each]

    Returns
    -------
    list of int or None
        None where no exact partition was found.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    taken = [
        model.new_int_var(0, min(demand[k] // n for k, n in uses), f"x{i}")
        for i, (uses, _) in enumerate(columns)
    ]
    holds: list[list[cp_model.LinearExpr]] = [[] for _ in demand]
    for x, (uses, _) in zip(taken, columns, strict=True):
        for k, n in uses:
            holds[k].append(n * x)
    for k, d in enumerate(demand):
        model.add(sum(holds[k]) == d)
    model.minimize(sum(area * x for x, (_, area) in zip(taken, columns, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = effort
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return [int(solver.value(x)) for x in taken]
