"""Panels that one stock piece alone may yield: planned on it first, then filled up with the others."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import replace

from .fill_up import fill_up
from .job import reduced, use_all_stock
from .optimizer.instance import Instance
from .optimizer.params import NODES_A_STEP, Params
from .optimizer.pattern import Pattern
from .optimizer.runner import Counter, Runner
from .optimizer.search import Search
from .phantoms import PHANTOM, is_phantom, on_phantom
from .plan_bound import bound_of
from .slices import to_the_end

FEWEST = 50
"""What a sheet costs beside its price, in dearest sheets, where the number of sheets counts first."""
SLICES = 40
"""Slices of search for the pinned panels of one stock piece."""


def is_pinned(instance: Instance, kind: int) -> bool:
    """Whether the panels of a type are bound to a stock piece."""
    return instance.types[kind].panels[0].from_stock is not None


def short_search(
    instance: Instance,
    demand: Sequence[int],
    sheets: Sequence[int],
    seed: int,
    params: Params | None,
    slices: int,
) -> tuple[list[Pattern], int]:
    """The best plan of a search of some slices for a part of the demand on some of the sheets.

    Returns
    -------
    tuple
        The patterns, by the indexes of `instance`, and the search steps spent.
    """
    return to_the_end(short_searching(instance, demand, sheets, seed, params, slices))


def short_searching(
    instance: Instance,
    demand: Sequence[int],
    sheets: Sequence[int],
    seed: int,
    params: Params | None,
    slices: int,
    *,
    fewest: bool = False,
) -> Generator[None, None, tuple[list[Pattern], int]]:
    """The same as `short_search`; yields after every slice.

    With `fewest` the number of sheets counts before their cost.
    """
    mine = [instance.sheets[k] for k in sheets]
    if fewest:
        extra = FEWEST * max(1, max(s.piece.cost for s in mine if not is_phantom(s.piece)))
        mine = [
            s if is_phantom(s.piece) else replace(s, piece=replace(s.piece, cost=s.piece.cost + extra))
            for s in mine
        ]
    part = replace(instance, demand=tuple(demand), sheets=tuple(mine))
    quick = replace(params or Params(), lp_share=0.0, dive_share=0.0)  # no proof is wanted of a part
    search = Search(part, bound=bound_of(part, demand, phantoms=True).cost, seed=seed, params=quick)
    search.start()
    for _ in range(slices):
        yield
        if search.proven or not search.advance():
            break
    return [replace(p, sheet=sheets[p.sheet]) for p in use_all_stock(search, search.patterns)], search.steps


def settled_pins(instance: Instance, seed: int, params: Params | None) -> tuple[list[list[Pattern]], int]:
    """The ways to settle the sheets of pinned panels: filled up with others, and as they are.

    Returns
    -------
    tuple
        One list of patterns a way, empty lists where nothing is pinned, and the search steps spent.
    """
    stocks = sorted({t.panels[0].from_stock or "" for t in instance.types} - {""})
    if not stocks:
        return [[]], 0
    bare: list[Pattern] = []
    steps = 0
    for name in stocks:
        sheets = [k for k, s in enumerate(instance.sheets) if s.piece.name.removeprefix(PHANTOM) == name]
        demand = [
            c if t.panels[0].from_stock == name else 0
            for t, c in zip(instance.types, instance.demand, strict=True)
        ]
        patterns, spent = short_search(instance, demand, sheets, seed, params, SLICES)
        bare += patterns
        steps += spent
    counter = Counter()
    others = [0 if is_pinned(instance, k) else c for k, c in enumerate(reduced(instance, bare).demand)]
    real = [p for p in bare if not on_phantom(instance, p)]
    short = [p for p in bare if on_phantom(instance, p)]
    filled = fill_up(Runner(instance, counter), real, others)
    steps += counter.nodes // NODES_A_STEP
    return [[*filled, *short], bare] if filled != real else [bare], steps
