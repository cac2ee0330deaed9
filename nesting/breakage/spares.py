"""Which panels are worth a spare: the chance that it saves a remake, times what the remake costs.

Of n equal panels with k spares, a spare takes the place of whatever breaks, spares included, until n are
whole; only what is then still missing is made again. The k-th spare saves a remake if k pieces break
before the n-th is whole, which is when at least k of the first n + k - 1 pieces break. It is wanted as long
as that chance times the cost of a remake is more than the work on a spare: the marginal rule of one order
before an uncertain demand (Arrow, Harris and Marschak 1951, Econometrica 19), here as an allowance for
rejects (Levitan 1960, The optimum reject allowance problem, Management Science 6; both from memory).
Glass costs a spare nothing but the offcut lost, which whoever cuts it weighs (see `fillers`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

from ..angled.offers import own_blanks
from ..cutting_days import CuttingDays
from ..fillers import Filler
from ..lead_days import is_working
from ..panels import Panel, Purpose
from ..shop import Shop
from .counts import facts_of
from .predictive import Beta, broken_of
from .prices import PriceOf
from .rates import MILLION, Rates
from .ways import breaks_anywhere


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareWish:
    """Equal panels that are worth spares.

    Parameters
    ----------
    panel
        What a spare is; its id stands for all of them.
    orders
        Whose panels it may take the place of.
    pieces
        Number of equal panels.
    share
        The share of them that breaks on its way.
    behind
        Recorded pieces of this glass and size class, at the step with the fewest.
    remake
        What it costs to make one again, in the mean. [1/10,000 of the currency]
    late_days
        Working days by which the latest of them would then be late.
    worths
        What the first, second ... spare is worth beyond its work, falling. [1/10,000 of the currency]
    """

    panel: Panel
    orders: tuple[str, ...]
    pieces: int
    share: Beta
    behind: int
    remake: int
    late_days: int
    worths: tuple[int, ...]

    @property
    def ppm(self) -> int:
        """How likely one of them breaks. [parts per million]"""
        return round(self.share.mean * MILLION)

    @property
    def any_ppm(self) -> int:
        """How likely at least one of all of them breaks. [parts per million]"""
        return saves(self.pieces, 1, self.share)

    def filler(self) -> Filler:
        """For whoever cuts it from waste."""
        return Filler(panel=self.panel, worth=self.worths[0], most=len(self.worths), falling=self.worths)

    def cut_in(self, panels: Iterable[Panel]) -> int:
        """How many of these panels are spares of this kind."""
        return sum(p.purpose is Purpose.SPARE and p.id.rpartition("/")[0] == self.panel.id for p in panels)


def saves(pieces: int, spare: int, share: Beta) -> int:
    """How likely the spare of this number, from 1, saves a remake. [parts per million]

    Parameters
    ----------
    pieces
        Number of equal panels.
    spare
        Its number.
    share
        The share that breaks.
    """
    return round(broken_of(pieces + spare - 1, share).at_least(spare) * MILLION)


def late_days(due: date | None, cut_on: date | None, remake_days: int, days: CuttingDays) -> int:
    """Working days by which a panel that is made again is cut too late.

    Parameters
    ----------
    due
        The day on which it must be cut; None is never late.
    cut_on
        The day on which it is cut at first; None where that is not known: then on its due day, since a
        plan promises no earlier one.
    remake_days
        Working days until it is cut again.
    days
        The calendar.
    """
    if due is None:
        return 0
    day, again, late = cut_on or due, 0, 0
    while again < remake_days:
        day += timedelta(days=1)
        if is_working(day, days):
            again += 1
            late += day > due
    # a first cut that is late already is late without breaking
    return late


def spares_wanted(
    panels: Iterable[Panel],
    rates: Rates,
    shop: Shop,
    price_of: PriceOf,
    cut_on: Mapping[str, date] | None = None,
) -> list[SpareWish]:
    """The panels that are worth a spare, the first spare worth most first.

    Parameters
    ----------
    panels
        Of a plan; those of orders count. Panels that no blank yields alone get no spare.
    rates
        Breakage rates.
    shop
        Calendar, rules, and what remakes and spares cost.
    price_of
        Price of a glass. [1/10,000 of the currency per nm2]
    cut_on
        Cutting days by panel id, as far as they are known.
    """
    groups: dict[tuple[object, ...], list[Panel]] = {}
    for panel in panels:
        if panel.purpose is Purpose.ORDER:
            groups.setdefault(_same(panel), []).append(panel)
    out: list[SpareWish] = []
    taken: set[str] = set()
    leading = [sorted(group, key=lambda p: (p.due or date.max, p.id)) for group in groups.values()]
    for group in sorted(leading, key=lambda g: g[0].id):
        wish = _wish(group, rates, shop, price_of(group[0].glass), cut_on or {})
        if wish is None:
            continue
        stem, number = wish.panel.id, 1
        while wish.panel.id in taken:
            number += 1
            wish = replace(wish, panel=replace(wish.panel, id=f"{stem} {number}"))
        taken.add(wish.panel.id)
        out.append(wish)
    return sorted(out, key=lambda w: (-w.worths[0], w.panel.id))


def _same(panel: Panel) -> tuple[object, ...]:
    """Equal panels have this in common."""
    return (
        panel.glass,
        panel.finished,
        panel.cut,
        panel.edges,
        panel.openings,
        panel.narrow,
        panel.turn,
        panel.mirror,
    )


def _wish(
    group: Sequence[Panel], rates: Rates, shop: Shop, price: Fraction, cut_on: Mapping[str, date]
) -> SpareWish | None:
    first, settings = group[0], shop.breakage
    if not first.is_rectangle and not own_blanks(first.cut, first.turn, shop.rules(first.glass)):
        return None
    facts, count = facts_of(first), len(group)
    share = breaks_anywhere(rates, facts.glass, facts.size, facts.steps)
    late = [late_days(p.due, cut_on.get(p.id), settings.remake_days, shop.cutting_days) for p in group]
    glass = round(first.cut_area2 * price / 2)
    remake = settings.remake + glass + settings.late_day * sum(late) // count
    worths: list[int] = []
    for number in range(1, count + 1):
        worth = saves(count, number, share) * remake // MILLION - settings.spare
        if worth <= 0:
            break
        worths.append(worth)
    if not worths:
        return None
    return SpareWish(
        panel=replace(
            first,
            id=f"{first.order}/{first.name}/spare",
            purpose=Purpose.SPARE,
            due=None,
            from_stock=None,
        ),
        orders=tuple(sorted({p.order for p in group})),
        pieces=count,
        share=share,
        behind=min(rates.of(step, facts.glass, facts.size).tally.done for step in facts.steps),
        remake=remake,
        late_days=max(late),
        worths=tuple(worths),
    )
