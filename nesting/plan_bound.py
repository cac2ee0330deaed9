"""The lower bound of one glass, over all its stock, and the ways to cut for which it is valid."""

from __future__ import annotations

from collections.abc import Sequence

from .bounds import least_cost, least_sheets
from .bounds_mixed import least_cost_mixed
from .lp.free_levels import FreeLevels
from .lp.generation import Generation
from .optimizer.instance import Instance, Sheet
from .phantoms import is_phantom
from .plan import Bound
from .rules import Rules
from .text import tr
from .units import show


def _there(instance: Instance, *, phantoms: bool) -> list[Sheet]:
    return [s for s in instance.sheets if (phantoms or not is_phantom(s.piece)) and s.piece.is_there]


def _areas(
    instance: Instance, demand: Sequence[int], sheets: Sequence[Sheet]
) -> tuple[int, list[tuple[int, int, int | None]]]:
    """Area of the demand, and inner area, cost and number of each stock size."""
    area = sum(instance.least_area[t] * c for t, c in enumerate(demand))
    return area, [(s.area, s.piece.cost, None if s.piece.buyable else s.piece.on_hand) for s in sheets]


def area_bound(instance: Instance, demand: Sequence[int]) -> int:
    """What the area alone tells, phantoms counted as stock: quick. [1/10,000 of the currency]"""
    return least_cost(*_areas(instance, demand, _there(instance, phantoms=True)))


def bound_of(instance: Instance, demand: Sequence[int], *, phantoms: bool) -> Bound:
    """Lower bound on the stock taken by this demand (see `bounds`)."""
    sheets = _there(instance, phantoms=phantoms)
    if not sum(demand):
        return Bound(cost=0, sheets=0, by="area", valid_for=tr("any cutting"))
    area, offers = _areas(instance, demand, sheets)
    cost = least_cost(area, offers)
    count = least_cost(area, [(a, 1, n) for a, _, n in offers])
    by = "area"
    rectangles = [
        (
            instance.types[t].width // instance.unit,
            instance.types[t].height // instance.unit,
            c,
            instance.types[t].turns,
        )
        for t, c in enumerate(demand)
        if c and not instance.types[t].angled and not instance.types[t].joint
    ]
    sizes = {(s.width, s.height) for s in sheets}
    if len(sizes) == 1 and len(rectangles) == sum(1 for c in demand if c):
        (width, height), *_ = sizes
        number = least_sheets(
            width,
            height,
            [(w, h) for w, h, _, _ in rectangles],
            [c for _, _, c, _ in rectangles],
            [t for _, _, _, t in rectangles],
        )
        if number > count:
            count, by = number, "dual feasible functions"
        prices = sorted(
            p
            for s in sheets
            for p in [s.piece.cost] * (number if s.piece.buyable else min(number, s.piece.on_hand))
        )
        cost = max(cost, sum(prices[:number]))
    mixed = least_cost_mixed(
        [(w, h) for w, h, _, _ in rectangles],
        [c for _, _, c, _ in rectangles],
        [t for _, _, _, t in rectangles],
        [(s.width, s.height, s.piece.cost, n) for s, (_, _, n) in zip(sheets, offers, strict=True)],
    )
    if mixed > cost:
        return Bound(cost=mixed, sheets=count, by="dual feasible functions", valid_for=any_depth())
    return Bound(cost=cost, sheets=count, by=by, valid_for=tr("any cutting"))


def lp_bound(lp: Generation | FreeLevels) -> Bound | None:
    """What the cutting-stock LP has proved of a whole glass so far; None where nothing yet."""
    if lp.bound <= 0:
        return None
    instance = lp.instance
    area = sum(instance.least_area[t] * n for t, n in enumerate(instance.demand))
    sheets = [instance.sheets[k] for k in lp.sheets]
    count = least_cost(area, [(s.area, 1, n) for s, n in zip(sheets, lp.sheets.values(), strict=True)])
    if len(sheets) == 1 and sheets[0].piece.cost > 0:
        count = max(count, -(-lp.bound // sheets[0].piece.cost))
    if isinstance(lp, FreeLevels):
        return Bound(cost=lp.bound, sheets=count, by=lp.by, valid_for=_blanks_at_hand(any_depth(), instance))
    return Bound(
        cost=lp.bound,
        sheets=count,
        by="cutting-stock LP",
        valid_for=_blanks_at_hand(cutting_class(instance.rules), instance),
    )


def _blanks_at_hand(ways: str, instance: Instance) -> str:
    """These ways to cut; the LP lays an angled panel in the blanks and groups that were found, no others."""
    if not instance.angled:
        return ways
    if not instance.grouped:
        return tr("{ways}, every angled panel from a blank of its own", ways=ways)
    return tr(
        "{ways}, angled panels from the {count} blanks and groups found", ways=ways, count=_blanks(instance)
    )


def _blanks(instance: Instance) -> int:
    return sum(1 for r in instance.rects if r.blank is not None)


def any_depth() -> str:
    """The ways to cut for which a bound without a limit of levels holds, in words."""
    return tr("edge-to-edge cuts of any depth")


def cutting_class(rules: Rules) -> str:
    """The ways to cut for which the LP's bound holds, in words.

    A near side that is trimmed strip by strip, not in one piece, may leave waste narrower than the
    break-out distance beside a panel there: the checker accepts it, the LP does not count it.
    """
    levels = tr("{count} levels", count=rules.levels)
    if rules.last_cut:
        levels = tr("{levels} and a last cut", levels=levels)
    if rules.break_out > 0:
        levels = tr(
            "{levels}, near sides trimmed straight, break-out distance {distance}",
            levels=levels,
            distance=show(rules.break_out),
        )
    return levels
