"""Joint totals over all sizes: money, area, weight and racks, each future added up before a quantile is taken.

Sizes rise and fall together, and partly stand in for each other: adding up the 95 % quantile of every size says too
much. Both are told, so that a budget made the old way can be compared.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Any, Final

import numpy as np

from ..forecast.futures import quantile_of
from .advice import Advice, SizeAdvice
from .policy import prices_of
from .quantity import price_at
from .storage import sheet_grams

HIGH: Final = Fraction(95, 100)
"""The share whose quantile is told."""


class Of(Enum):
    """What is added up."""

    NEED_SHEETS = "need, sheets"
    NEED_AREA = "need, area"
    NEED_MASS = "need, weight"
    NEED_MONEY = "need, at the price of the size"
    ORDER_MONEY = "orders, glass"
    DELIVERY_MONEY = "orders, deliveries"
    RACK_MASS = "most in the racks, weight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """One figure over all sizes and weeks of the forecast.

    Parameters
    ----------
    of
        What; sheets, nm2, g or 1/10,000 of the currency.
    mean, median
        Of the joint total.
    high
        Its 95 % quantile.
    apart
        Sum of the 95 % quantiles of every size, None where sizes have none of their own.
    """

    of: Of
    mean: int
    median: int
    high: int
    apart: int | None

    @property
    def difference(self) -> int | None:
        """What adding up quantiles says too much."""
        return None if self.apart is None else self.apart - self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassInRacks:
    """Most sheets of a glass in the racks in any week: joint quantile, sum of the sizes', and the shop's limit."""

    glass: str
    median: int
    high: int
    apart: int
    limit: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """All of them, over the weeks of the forecast."""

    weeks: int
    totals: tuple[Total, ...]
    racks: tuple[GlassInRacks, ...]

    def of(self, what: Of) -> Total:
        """One of them."""
        return next(t for t in self.totals if t.of is what)


def totals_of(advice: Advice) -> Totals:
    """Totals of the needs and of the orders that the advice leads to."""
    weeks, sizes = advice.review.paths.weeks, advice.sizes
    futures = advice.review.paths.futures
    needs = {s.supply.name: s.choice.start.demand[:, :weeks].sum(axis=1) for s in sizes}
    worth: dict[Of, Callable[[SizeAdvice], int]] = {
        Of.NEED_SHEETS: lambda s: 1,
        Of.NEED_AREA: lambda s: s.supply.width * s.supply.height,
        Of.NEED_MASS: lambda s: sheet_grams(s.supply),
        Of.NEED_MONEY: lambda s: price_at(s.supply, s.choice.way.quantity),
    }
    out = [
        _total(what, [(needs[s.supply.name], each(s)) for s in sizes], futures)
        for what, each in worth.items()
    ]
    out.append(_total(Of.ORDER_MONEY, [(_money(s, weeks), 1) for s in sizes], futures))
    out.append(_joint(Of.DELIVERY_MONEY, _deliveries(advice, weeks)))
    out.append(_racks_mass(sizes, weeks, futures))
    return Totals(weeks=weeks, totals=tuple(out), racks=_racks(advice, weeks))


def _total(what: Of, parts: Sequence[tuple[Any, int]], futures: int) -> Total:
    """Of counts by future and what each is worth; areas in nm2 of many sheets are beyond int64."""
    joint = np.array([0] * futures, object)
    apart = 0
    for counts, each in parts:
        joint = joint + counts.astype(object) * each
        apart += int(quantile_of(counts, float(HIGH))) * each
    return _joint(what, joint, apart)


def _joint(what: Of, joint: Any, apart: int | None = None) -> Total:
    return Total(
        of=what,
        mean=int(joint.sum()) // len(joint),
        median=int(quantile_of(joint, 0.5)),
        high=int(quantile_of(joint, float(HIGH))),
        apart=apart,
    )


def _made(size: SizeAdvice, weeks: int) -> Any:
    looks = sum(week < weeks for week in size.choice.start.lines.reviews)
    return size.run.orders[:, :looks]


def _money(size: SizeAdvice, weeks: int) -> Any:
    made = _made(size, weeks)
    early = size.bridge.money if size.bridge else 0
    return early + (made * (prices_of(size.supply, made) + size.supply.freight_a_sheet)).sum(axis=1)


def _deliveries(advice: Advice, weeks: int) -> Any:
    """Freight and order cost of each future: once for all sizes that a supplier is asked for at one look."""
    by: dict[str, list[SizeAdvice]] = {}
    for size in advice.sizes:
        by.setdefault(size.supply.supplier or size.supply.name, []).append(size)
    out = np.zeros(advice.review.paths.futures, np.int64)
    for _, mine in sorted(by.items()):
        once = max(s.supply.freight for s in mine) + advice.review.settings.order_cost
        made = sum(_made(s, weeks) for s in mine)
        out = out + (np.asarray(made) > 0).sum(axis=1) * once
    today = {s.supply.supplier for s in advice.orders}
    bridges = {s.bridge.supply.supplier: s.bridge.supply.freight for s in advice.sizes if s.bridge}
    for who, freight in sorted(bridges.items()):
        if who not in today:
            out = out + freight + advice.review.settings.order_cost
    return out


def _racks_mass(sizes: Sequence[SizeAdvice], weeks: int, futures: int) -> Total:
    joint = np.zeros((futures, max(1, weeks)), np.int64)
    apart = 0
    for size in sizes:
        mine = size.run.most[:, :weeks] * sheet_grams(size.supply)
        joint = joint + mine
        apart += int(quantile_of(mine.max(axis=1), float(HIGH)))
    return _joint(Of.RACK_MASS, joint.max(axis=1), apart)


def _racks(advice: Advice, weeks: int) -> tuple[GlassInRacks, ...]:
    by: dict[str, list[SizeAdvice]] = {}
    for size in advice.sizes:
        by.setdefault(size.supply.glass, []).append(size)
    limits: Mapping[str, int] = advice.review.settings.storage_sheets
    out = []
    for glass, mine in by.items():
        joint = np.asarray(sum(s.run.most[:, :weeks] for s in mine)).max(axis=1)
        out.append(
            GlassInRacks(
                glass=glass,
                median=int(quantile_of(joint, 0.5)),
                high=int(quantile_of(joint, float(HIGH))),
                apart=sum(int(quantile_of(s.run.most[:, :weeks].max(axis=1), float(HIGH))) for s in mine),
                limit=limits.get(glass),
            )
        )
    return tuple(out)
