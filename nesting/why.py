"""Why a plan costs what it costs: what rules fewer sheets out, which waste no plan avoids, and what the
rules of the glass and single panels cost.

The bound is handed in as a function, so that a better one can take its place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from .assemble import CutSheet
from .figures import shares
from .optimizer.instance import Instance, build
from .optimizer.params import Params
from .outlines import area2
from .panels import Panel, Turn
from .phantoms import is_phantom
from .pins import is_pinned, short_search
from .plan import Bound
from .plan_bound import bound_of
from .rules import Rules
from .stock import StockPiece

SLICES = 60
"""Slices of search for each rule that is left away."""
MOST_PANELS = 5
"""Kinds of panels told, those that cost most."""

BoundOf = Callable[[Instance, Sequence[int]], Bound]


@dataclass(frozen=True, slots=True)
class FewerSheets:
    """What would have to hold for one sheet fewer.

    Parameters
    ----------
    ruled_out
        The bound says that there is no such plan.
    stock
        The smallest sheet of the plan, the first that one would do without.
    room, panels
        Area inside the trims of the other sheets; area of all panels, blanks whole. [nm2]
    room_now
        Area inside the trims of all sheets. [nm2]
    """

    ruled_out: bool
    stock: str
    room: int
    panels: int
    room_now: int


@dataclass(frozen=True, slots=True)
class RulePrice:
    """What a rule costs: what a plan found without it saves, which proves nothing, and by the bound without it.

    [1/10,000 of the currency]; `panels` counts those that the rule binds, None where it binds all.
    """

    rule: str
    found: int
    most: int
    panels: int | None = None


@dataclass(frozen=True, slots=True)
class PanelCost:
    """What equal panels cost.

    Parameters
    ----------
    panel
        The first of them.
    pieces
        How many there are.
    cost
        Their share of the cost of their sheets, by area. [1/10,000 of the currency]
    waste
        Of this what goes beyond their glass at the cheapest price of a sheet. [1/10,000 of the currency]
    bound_effect
        By how much the bound falls without them. [1/10,000 of the currency]
    """

    panel: Panel
    pieces: int
    cost: int
    waste: int
    bound_effect: int


@dataclass(frozen=True, slots=True)
class Why:
    """Why the plan of one glass costs what it costs; money in 1/10,000 of the currency.

    `in_panels`, `unavoidable` and `rest` add up to `cost`: the panels' own glass at the cheapest price of a sheet
    (no more than the bound), what the bound says that no plan avoids, and what remains. `premiums` are what
    one more of a scarce stock piece would save, `other_sizes` what a sheet of a size that the glass is not cut
    from would be worth, both by the prices of the cutting-stock LP.
    """

    glass: str
    sheets: int
    cost: int
    bound: Bound
    fewer: FewerSheets
    in_panels: int
    unavoidable: int
    rest: int
    rules: tuple[RulePrice, ...]
    panels: tuple[PanelCost, ...]
    premiums: tuple[tuple[StockPiece, int], ...] = ()
    other_sizes: tuple[tuple[StockPiece, int], ...] = ()


def plain_bound(instance: Instance, demand: Sequence[int]) -> Bound:
    """The bound of area and dual feasible functions, on stock that is there."""
    return bound_of(instance, demand, phantoms=False)


def why(
    glass: str,
    instance: Instance,
    sheets: Sequence[CutSheet],
    *,
    seed: int = 0,
    params: Params | None = None,
    bound: BoundOf = plain_bound,
    slices: int = SLICES,
    premiums: Sequence[tuple[StockPiece, int]] = (),
    other_sizes: Sequence[tuple[StockPiece, int]] = (),
    spared: int = 0,
    in_order: bool = False,
) -> Why:
    """Why the sheets of one glass cost what they cost.

    Parameters
    ----------
    glass
        Its key.
    instance
        What was to be cut.
    sheets
        Sheets of this glass, by the patterns of this instance (without fillers).
    seed, params, slices
        Of the short searches without one of the rules.
    bound
        Lower bound of a demand.
    other_sizes
        What a sheet of another size is worth, if that is known. [1/10,000 of the currency]
    premiums
        Scarce stock pieces, and what one more of each would save.
    spared
        What a plan that was refused for its due days would have saved. [1/10,000 of the currency]
    in_order
        Whether racks or numbered sheets set the order: then their price is told, not that of other rules.
    """
    demand = [0] * len(instance.types)
    for s in sheets:
        for kind, count in s.pattern.uses(instance).items():
            demand[kind] += count
    pieces = [instance.sheets[s.pattern.sheet].piece for s in sheets]
    cost = sum(p.cost for p in pieces)
    low = bound(instance, demand)
    price = _cheapest(instance)
    area = sum(_cut_area(instance, k) * n for k, n in enumerate(demand))
    in_panels = min(low.cost, int(price * area))
    return Why(
        glass=glass,
        sheets=len(sheets),
        cost=cost,
        bound=low,
        fewer=_fewer(instance, sheets, demand, low),
        in_panels=in_panels,
        unavoidable=low.cost - in_panels,
        rest=cost - low.cost,
        rules=tuple(
            _due_days(spared, cost - low.cost)
            + (
                _order(instance, demand, cost, seed, params, bound, slices)
                if in_order
                else _rules(instance, demand, cost, seed, params, bound, slices, spared)
            )
        ),
        panels=tuple(_panels(instance, sheets, demand, low, price, bound)),
        premiums=tuple(premiums),
        other_sizes=tuple(other_sizes),
    )


def _due_days(spared: int, most: int) -> list[RulePrice]:
    """The price of due days, of which the bound knows nothing; nothing where no plan was refused for them."""
    return [RulePrice("due days", spared, max(spared, most))] if spared else []


def _cheapest(instance: Instance) -> Fraction:
    """The cheapest sheet, where there are but offcuts the cheapest of them. [1/10,000 of the currency per nm2]"""
    real = [s.piece for s in instance.sheets if not is_phantom(s.piece)]
    real = [p for p in real if not p.is_offcut] or real
    return min((Fraction(p.cost, p.width * p.height) for p in real), default=Fraction(0))


def _cut_area(instance: Instance, kind: int) -> int:
    """Area of the cut outline of a type. [nm2]"""
    return area2(instance.types[kind].panels[0].cut) // 2


def _fewer(instance: Instance, sheets: Sequence[CutSheet], demand: Sequence[int], low: Bound) -> FewerSheets:
    square = instance.unit * instance.unit
    rooms = [(instance.sheets[s.pattern.sheet].area * square, s.pattern.sheet) for s in sheets]
    least, index = min(rooms, default=(0, -1))
    now = sum(room for room, _ in rooms)
    return FewerSheets(
        ruled_out=len(sheets) <= low.sheets,
        stock=instance.sheets[index].piece.name if index >= 0 else "",
        room=now - least,
        panels=sum(a * n for a, n in zip(instance.type_area, demand, strict=True)) * square,
        room_now=now,
    )


def _rules(
    instance: Instance,
    demand: Sequence[int],
    cost: int,
    seed: int,
    params: Params | None,
    bound: BoundOf,
    slices: int,
    spared: int,
) -> list[RulePrice]:
    """What break-out distance, level limit and rotation ban cost.

    A plan found without the rule is measured against the best of this plan, of one that the same short
    search finds with the rule, and of any known to be cheaper but for its due days; the bound without the
    rule shows what it costs at most.
    """
    rules = instance.rules
    panels = [p for t, n in zip(instance.types, demand, strict=True) for p in t.panels[:n]]
    bound_to = [p for p in panels if p.turn in (Turn.HALF, Turn.NONE)]
    free = [replace(p, turn=Turn.ANY) if p.turn in (Turn.HALF, Turn.NONE) else p for p in panels]
    cases: list[tuple[str, list[Panel], Rules, int | None]] = []
    if rules.break_out > 0:
        cases.append(("break-out distance", panels, replace(rules, break_out=0), None))
    if rules.levels is not None:
        cases.append(("level limit", panels, replace(rules, levels=None, last_cut=True), None))
    if bound_to:
        cases.append(("rotation ban", free, rules, len(bound_to)))
    # a pinned panel may not stray, which the short search knows nothing of
    searched = bool(panels) and not any(is_pinned(instance, k) for k in range(len(instance.types)))
    base: int | None = None
    out = []
    for rule, mine, other, count in cases:
        freer = build(mine, [s.piece for s in instance.sheets], other, groups=instance.grouped)
        most = cost - bound(freer, freer.demand).cost
        least = 0
        if most > 0 and searched:
            if base is None:
                same = build(panels, [s.piece for s in instance.sheets], rules, groups=instance.grouped)
                base = min(cost - spared, _found(same, seed, params, slices))
            least = max(0, base - _found(freer, seed, params, slices))
        out.append(RulePrice(rule, min(least, max(0, most)), max(0, most), count))
    return out


def _order(
    instance: Instance,
    demand: Sequence[int],
    cost: int,
    seed: int,
    params: Params | None,
    bound: BoundOf,
    slices: int,
) -> list[RulePrice]:
    """What the order of racks and of the sheets costs: a short search lays the same panels in any order."""
    if instance.rules.sheet_rules:
        return []  # the search in any order knows nothing of them
    panels = [p for t, n in zip(instance.types, demand, strict=True) for p in t.panels[:n]]
    loose = [replace(p, rack="", slot=None) for p in panels]
    free = build(loose, [replace(s.piece, take=None) for s in instance.sheets], instance.rules)
    most = max(0, cost - bound(free, free.demand).cost)
    found = _found(free, seed, params, slices) if loose and most else cost
    racked = sum(1 for p in panels if p.rack)
    return [RulePrice("order of racks and sheets", min(most, max(0, cost - found)), most, racked or None)]


def _found(instance: Instance, seed: int, params: Params | None, slices: int) -> int:
    """Cost of a plan found by a short search, stock that is not there at its fortune."""
    every = list(range(len(instance.sheets)))
    patterns, _ = short_search(instance, instance.demand, every, seed, params, slices)
    return sum(instance.sheets[p.sheet].piece.cost for p in patterns)


def _panels(
    instance: Instance,
    sheets: Sequence[CutSheet],
    demand: Sequence[int],
    low: Bound,
    price: Fraction,
    bound: BoundOf,
) -> list[PanelCost]:
    """The kinds of panels whose share of waste costs most, with the bound that holds without them."""
    cost = [0] * len(demand)
    for s in sheets:
        uses = sorted(s.pattern.uses(instance).items())
        weights = [_cut_area(instance, k) * n for k, n in uses]
        for (kind, _), part in zip(
            uses, shares(instance.sheets[s.pattern.sheet].piece.cost, weights), strict=True
        ):
            cost[kind] += part
    # a panel of a rack is a type of its own: those of one order and outline are told together
    alike: dict[tuple[object, ...], list[int]] = {}
    for kind, count in enumerate(demand):
        if count:
            p = instance.types[kind].panels[0]
            alike.setdefault((p.order, p.name, p.cut) if p.rack else (kind,), []).append(kind)
    rows = []
    for kinds in alike.values():
        spent = sum(cost[k] for k in kinds)
        waste = spent - sum(int(price * _cut_area(instance, k) * demand[k]) for k in kinds)
        rows.append((-waste, kinds[0], spent, kinds))
    out = []
    for less, first, spent, kinds in sorted(rows)[:MOST_PANELS]:
        without = [0 if k in kinds else n for k, n in enumerate(demand)]
        effect = low.cost - bound(instance, without).cost
        count = sum(demand[k] for k in kinds)
        out.append(PanelCost(instance.types[first].panels[0], count, spent, max(0, -less), max(0, effect)))
    return out
