"""One call for a whole search: until it is told to stop, or until nothing is left to try."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .instance import Instance
from .params import Params
from .pattern import Pattern
from .search import Search


@dataclass(frozen=True, slots=True)
class Result:
    """What a search gives: patterns, their cost, a lower bound on it, steps, and whether it is optimal."""

    patterns: list[Pattern]
    cost: int
    bound: int
    steps: int
    proven: bool


def solve(
    problem: Instance,
    stop: Callable[[int], bool],
    seed: int = 0,
    params: Params | None = None,
    *,
    bound: int = 0,
    real: Sequence[int] | None = None,
) -> Result:
    """Search until `stop`, or until nothing is left to try.

    Parameters
    ----------
    problem
        What to cut.
    stop
        Asked with the steps so far, after every slice.
    seed, params, bound, real
        As for `Search`.
    """
    search = Search(problem, bound=bound, seed=seed, params=params, real=real)
    search.start()
    while not stop(search.steps) and search.advance():
        pass
    return Result(search.patterns, search.cost, search.bound, search.steps, search.proven)
