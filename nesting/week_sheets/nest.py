"""The real plan of one week of one glass: what the project's own search makes of its panels.

A short search without the cutting-stock LP takes 20 to 100 ms, and finds the number of sheets of a longer
one in most weeks. Its effort is counted in slices, never in time, so that it repeats on any machine.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from ..demand.book import BookedOrder
from ..feasible import impossible
from ..job import Job, Variant
from ..joint_blanks import Bundle, single_panels, tied
from ..optimizer.instance import build
from ..optimizer.params import Params
from ..panels import Panel
from ..phantoms import on_phantom, with_phantoms
from ..pins import settled_pins
from ..rules import Rules
from ..shop import split_key
from ..stock import StockPiece
from .carry import Carry, Kept, offcuts_of
from .counts import WeekCount
from .kinds import Kind, kinds_of, panels_in, panels_of

EFFORT: Final = 20
"""Slices of search for a week of one glass."""
QUICK: Final = Params(lp_share=0.0, dive_share=0.0)
"""No proof is wanted of a week, only its plan."""


@dataclass(frozen=True, slots=True)
class _OneGlass:
    """The rules of the glass at hand, whatever the key."""

    own: Rules

    def rules(self, key: str) -> Rules:
        """Its rules."""
        return self.own


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """What a week took, the offcuts that it leaves, and the names of those that it used."""

    count: WeekCount
    made: tuple[Kept, ...] = ()
    used: tuple[str, ...] = ()


def nest_week(
    orders: Iterable[BookedOrder | Panel],
    glass: str,
    stock: Sequence[StockPiece],
    rules: Rules,
    *,
    week: int = 0,
    effort: int = EFFORT,
    seed: int = 0,
) -> WeekCount:
    """What the panels of one week take of one glass, by a real plan.

    Parameters
    ----------
    orders
        Of the week, or its panels; those of other glasses are passed over.
    glass
        Glass key.
    stock
        Its stock sizes, those that can be bought and those on hand; offcuts too.
    rules
        Of the glass.
    week
        For the answer (see `demand.weeks`).
    effort
        Slices of search after the first whole plan.
    seed
        Of the search.

    Returns
    -------
    WeekCount
        Sheets, cost and a lower bound on it that holds for any cutting.
    """
    kinds = kinds_of(panels_in(orders, glass), (s.name for s in stock))
    return plan_kinds(kinds, glass, stock, rules, week=week, effort=effort, seed=seed).count


def plan_kinds(
    kinds: Sequence[Kind],
    glass: str,
    stock: Sequence[StockPiece],
    rules: Rules,
    *,
    week: int = 0,
    effort: int = EFFORT,
    seed: int = 0,
    carry: Carry | None = None,
) -> WeekPlan:
    """The same for kinds of panels; with `carry` also the offcuts that are worth keeping.

    Angled panels share blanks, panels that need company are tied, panels bound to a stock piece go first,
    and what no stock yields is counted, as in every plan of the shop.
    """
    panels = panels_of(kinds, glass, split_key(glass)[1])
    mine, lost = _possible(panels, stock, rules)
    if not mine:
        return WeekPlan(WeekCount(week=week, glass=glass, unplaced=lost))
    instance = build(mine, with_phantoms(stock, mine, _OneGlass(rules)), rules, groups=True)
    job = Job(glass, instance, None)
    settled, _ = settled_pins(instance, seed, QUICK)
    for sheets in settled:
        job.add(Variant.of(instance, sheets, seed, QUICK))
    for _ in range(effort):
        # after a proof the search looks for a large offcut, which only the rack wants
        if (job.best.proven and carry is None) or not job.advance():
            break
    real = [p for p in job.best.with_all_stock() if not on_phantom(instance, p)]
    pieces = [instance.sheets[p.sheet].piece for p in real]
    placed = [0] * len(instance.types)
    for pattern in real:
        for kind, number in pattern.uses(instance).items():
            placed[kind] += number
    parts = [len(single_panels(t.panels[0])) for t in instance.types]
    cost = sum(s.cost for s in pieces)
    used = tuple(s.name for s in pieces if s.is_offcut)
    count = WeekCount(
        week=week,
        glass=glass,
        sheets=dict(sorted(Counter(s.name for s in pieces if not s.is_offcut).items())),
        cut=sum(t.panels[0].cut_area2 * n for t, n in zip(instance.types, placed, strict=True)) // 2,
        sheet=sum(s.width * s.height for s in pieces),
        cost=cost,
        bound=min(cost, job.best_bound(instance, placed).cost),
        offcuts=len(used),
        unplaced=lost + sum(n * (d - k) for n, d, k in zip(parts, instance.demand, placed, strict=True)),
    )
    made = () if carry is None else offcuts_of(real, instance, week, carry, glass)
    return WeekPlan(count, tuple(made), used)


def _possible(panels: Sequence[Panel], stock: Sequence[StockPiece], rules: Rules) -> tuple[list[Panel], int]:
    """The panels that the stock yields, those that need company tied; and how many it does not."""
    shop = _OneGlass(rules)
    lost = {u.panel for u in impossible(panels, stock, shop)}
    ties = tied([p for p in panels if p.id not in lost], stock, rules)
    bundles = [p for p in ties.panels if isinstance(p, Bundle)]
    # they were tied anew without what is lost, so that `impossible` has not seen these blanks
    bad = {u.panel for u in impossible(bundles, stock, shop)} if bundles else set()
    mine = [p for p in ties.panels if p.id not in bad]
    return mine, len(panels) - sum(len(single_panels(p)) for p in mine)
