"""The LP instance of a demand and the sizes on offer: what is cut, from what, and in which class of plans."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ..feasible import impossible
from ..joint_blanks import tied
from ..optimizer.instance import Instance, build
from ..panels import Panel
from ..plan import Unplaced
from ..rules import Rules
from ..shop import split_key
from ..stock import StockPiece
from ..week_sheets.kinds import Kind, panels_of
from .demand import Demand
from .size_pool import EXACT_ROUNDS, SizePool

STAGED = 3
"""Levels of the LP where the rules allow more or any number."""
MOST_SHARED = 40
"""Kinds of angled panels beyond which each has a blank of its own in the LP."""


@dataclass(frozen=True, slots=True)
class _OneGlass:
    own: Rules

    def rules(self, key: str) -> Rules:
        """Its rules."""
        return self.own


def lp_rules(rules: Rules) -> Rules:
    """The rules as the LP knows them: two or three levels."""
    return rules if rules.levels in (2, 3) else replace(rules, levels=STAGED, last_cut=True)


def not_held(
    kinds: Sequence[Kind], glass: str, stock: Sequence[StockPiece], rules: Rules
) -> list[tuple[Kind, Unplaced]]:
    """The kinds that no sheet on offer yields, with the reason."""
    panels = panels_of([kind._replace(panels=1) for kind in kinds], glass, split_key(glass)[1])
    bad = {u.panel: u for u in impossible(panels, stock, _OneGlass(rules))}
    return [(kind, bad[p.id]) for kind, p in zip(kinds, panels, strict=True) if p.id in bad]


def _cut(panels: Iterable[Panel], stock: Sequence[StockPiece], rules: Rules, *, groups: bool) -> Instance:
    """The instance of panels that the stock yields; those that need company are tied."""
    return build(tied(list(panels), stock, rules).panels, stock, rules, groups=groups)


def pool_of(
    demand: Demand,
    stock: Sequence[StockPiece],
    rules: Rules,
    whole: Demand | None = None,
    exact_rounds: int = EXACT_ROUNDS,
) -> SizePool:
    """The LPs of all sets of these sizes.

    Parameters
    ----------
    demand
        What the LP is about; everything in it must lie on some size (see `not_held`).
    stock
        The sizes on offer at their costs, no two of a size.
    rules
        Of the glass; where they allow more than three levels the LP has three and a last cut.
    whole
        All the demand, where `demand` is a part of it: a set of sizes must hold all its panels.
    exact_rounds
        See `SizePool`.
    """
    staged = lp_rules(rules)
    thickness = split_key(demand.glass)[1]
    kinds = demand.kinds
    angled = sum(1 for kind in kinds if len(kind.cut) != 4)
    instance = _cut(
        panels_of(kinds, demand.glass, thickness), stock, staged, groups=0 < angled <= MOST_SHARED
    )
    every = None
    if whole is not None and whole is not demand:
        once = [kind._replace(panels=1) for kind in whole.kinds]
        every = _cut(panels_of(once, demand.glass, thickness), stock, staged, groups=False)
    return SizePool(instance, every, exact_rounds)
