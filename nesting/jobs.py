"""The work of a plan: one job a glass, those whose sheets may be cut in any order first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from .feasible import impossible
from .job import Job
from .joint_blanks import Bundle, lonely, tied
from .optimizer.instance import build
from .ordered.chains import needs_order
from .ordered.variant import lone_in_racks
from .panels import Panel
from .phantoms import with_phantoms
from .plan import Unplaced
from .shop import Shop
from .stock import StockPiece


@dataclass(frozen=True, slots=True)
class Jobs:
    """What there is to plan.

    Parameters
    ----------
    jobs
        One a glass.
    loose
        So many come first whose sheets may be cut in any order; those of the others stay as they are.
    unplaced
        Panels that were left out on the way.
    """

    jobs: list[Job]
    loose: int
    unplaced: tuple[Unplaced, ...]


def jobs_of(
    placed: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop, effort: int | None, *, groups: bool
) -> Jobs:
    """The jobs of all glasses.

    Parameters
    ----------
    placed
        Everything that is to be planned.
    stock
        Of all glasses.
    shop
        Rules and habits.
    effort
        Search steps over all glasses, or None.
    groups
        Whether several angled panels may share a blank; never in a rack, where each has its place.
    """
    of = {glass: [p for p in placed if p.glass == glass] for glass in sorted({p.glass for p in placed})}
    stock_of = {glass: [s for s in stock if s.glass == glass] for glass in of}
    ordered = {glass for glass in of if needs_order(of[glass], stock_of[glass], shop.rules(glass))}
    jobs: list[Job] = []
    unplaced: list[Unplaced] = []
    for glass in sorted(of, key=lambda g: (g in ordered, g)):
        rules, there = shop.rules(glass), stock_of[glass]
        alone = lone_in_racks(of[glass], rules)
        left = {u.panel for u in alone}
        racked = [p for p in of[glass] if p.rack and p.id not in left]
        ties = tied([p for p in of[glass] if not p.rack], there, rules)
        possible, lost = _possible(ties.panels, there, shop)
        unplaced += [*alone, *(lonely(p, rules) for p in ties.left), *lost]
        mine = [*possible, *racked]
        if not mine:
            continue
        instance = build(mine, with_phantoms(there, mine, shop), rules, groups=groups and not racked)
        budget = None if effort is None else max(1, effort * len(mine) // len(placed))
        jobs.append(Job(glass, instance, budget))
    return Jobs(jobs, sum(job.glass not in ordered for job in jobs), tuple(unplaced))


def _possible(
    panels: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop
) -> tuple[list[Panel], list[Unplaced]]:
    """Without the joint blanks that no sheet yields; their panels are left out.

    They were tied anew without what `impossible` named, so that it has not seen these blanks.
    """
    bundles = {p.id: p for p in panels if isinstance(p, Bundle)}
    bad = {u.panel: u for u in impossible(bundles.values(), stock, shop)}
    lost = [replace(u, panel=p.id) for name, u in bad.items() for p in bundles[name].parts]
    return [p for p in panels if p.id not in bad], lost
