"""The cheapest sheets of a pool that yield all panels, by CP-SAT on one worker with counted effort."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from .shapes import SheetSize

SCALE: Final = 10_000
"""Parts of a sheet in which the used part of the last one is counted."""


def choose(
    columns: Sequence[tuple[int, tuple[int, ...]]],
    parts: Sequence[int],
    demand: Sequence[int],
    sheets: Sequence[SheetSize],
    effort: float,
    seed: int,
    hint: Sequence[int] = (),
) -> list[int] | None:
    """Columns, the last of them the one whose rest is kept; None where none were found.

    Least cost, then the least used part of the last sheet. Panels may be covered more often than wanted:
    leaving one out of a sheet costs nothing.

    Parameters
    ----------
    columns
        Stock size and number of each shape.
    parts
        Used part of each column's sheet. [1 / SCALE]
    demand
        Of each shape.
    sheets
        Stock sizes.
    effort
        Deterministic time. [s]
    seed
        Of the solver.
    hint
        Columns of a known choice.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    full = [model.new_int_var(0, _most(uses, demand), f"x{k}") for k, (_, uses) in enumerate(columns)]
    last = [model.new_bool_var(f"y{k}") for k in range(len(columns))]
    holding = _holding(columns, len(demand))
    for s, wanted in enumerate(demand):
        if wanted:
            if not holding[s]:
                return None
            model.add(sum(count * var for k, count in holding[s] for var in (full[k], last[k])) >= wanted)
    model.add_exactly_one(last)
    for h, size in enumerate(sheets):
        if size.available is not None:
            model.add(
                sum(full[k] + last[k] for k, (sheet, _) in enumerate(columns) if sheet == h) <= size.available
            )
    prices = [sheets[sheet].cost for sheet, _ in columns]
    # cost decides first; among equal costs the part of the last sheet that is used
    model.minimize(
        sum((SCALE + 1) * price * (x + y) for price, x, y in zip(prices, full, last, strict=True))
        + sum(part * y for part, y in zip(parts, last, strict=True))
    )
    if hint:
        for k in range(len(columns)):
            model.add_hint(last[k], int(k == hint[-1]))
            model.add_hint(full[k], list(hint[:-1]).count(k))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed % 2**31
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = [k for k, var in enumerate(full) for _ in range(solver.value(var))]
    return [*chosen, *(k for k, var in enumerate(last) if solver.value(var))]


def most_whole(
    columns: Sequence[tuple[int, tuple[int, ...]]],
    worth: Sequence[int],
    demand: Sequence[int],
    sheets: Sequence[SheetSize],
    effort: float,
    seed: int,
) -> list[int]:
    """Columns of the most worth that use no more than there is; the parameters as for `choose`."""
    if not columns:
        return []
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    take = [model.new_int_var(0, _fits(uses, demand), f"x{k}") for k, (_, uses) in enumerate(columns)]
    for wanted, mine in zip(demand, _holding(columns, len(demand)), strict=True):
        if mine:
            model.add(sum(count * take[k] for k, count in mine) <= wanted)
    for h, size in enumerate(sheets):
        if size.available is not None:
            model.add(
                sum(x for x, (sheet, _) in zip(take, columns, strict=True) if sheet == h) <= size.available
            )
    model.maximize(sum(w * x for w, x in zip(worth, take, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed % 2**31
    solver.parameters.max_deterministic_time = effort
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return []
    return [k for k, var in enumerate(take) for _ in range(solver.value(var))]


def _holding(columns: Sequence[tuple[int, tuple[int, ...]]], shapes: int) -> list[list[tuple[int, int]]]:
    """For each shape the columns that hold it, and how many."""
    out: list[list[tuple[int, int]]] = [[] for _ in range(shapes)]
    for k, (_, uses) in enumerate(columns):
        for s, count in enumerate(uses):
            if count:
                out[s].append((k, count))
    return out


def _most(uses: Sequence[int], demand: Sequence[int]) -> int:
    """How often a column is of any use."""
    return max((-(-d // u) for u, d in zip(uses, demand, strict=True) if u), default=0)


def _fits(uses: Sequence[int], demand: Sequence[int]) -> int:
    return min((d // u for u, d in zip(uses, demand, strict=True) if u), default=0)
