"""Synthetic tank shops whose law of demand is known: our own, drawn from a seed.

Four kinds of orders (small rectangular tanks of 6 mm glass, large rimless ones of 12 mm, octagonal ones of 10 mm, single panels
of all three) come as whole orders with their panels. Laws of the weekly number of orders of a kind: ``steady`` (Poisson with
gamma noise of shape 10), ``seasonal`` (the same times 1 +- 0.5 over 52 weeks, one season for all kinds, its peak drawn for the
shop), ``lumpy`` (in 65 of 100 weeks nothing; orders hold series of 3 on average) and ``break`` (12 weeks before the first
forecast small tanks fall to 0.6 and large ones double). A share of 0.85 .60 .40 .25 .15 .08 .04 .02 of a week's orders is booked
when 1, 2, ... 8 weeks are left until its end.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, Final, Literal

import numpy as np

from panewright.io.bench_order import PLAIN
from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.weeks import SEASON, monday, week_of
from panewright.nesting.outlines import Outline, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.shop import CuttingChoice, Shop, StockSize
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, mm

Law = Literal["steady", "seasonal", "lumpy", "break"]
Size = Literal["small", "medium"]
LAWS: Final[tuple[Law, ...]] = ("steady", "seasonal", "lumpy", "break")
KINDS: Final = ("rectangle clear-6", "rectangle clear-12", "octagon clear-10", "panel")
RATES: Final[dict[Size, tuple[float, ...]]] = {
    "small": (4.0, 1.5, 1.5, 4.0),
    "medium": (16.5, 6.0, 6.0, 16.5),
}
"""Orders a week of each kind."""
HISTORY: Final = 104
ORIGINS: Final = 26
AHEAD: Final = 8
BOOKED: Final = (0.85, 0.60, 0.40, 0.25, 0.15, 0.08, 0.04, 0.02)
NOISE: Final = 10.0
EMPTY: Final = 0.65
SERIES: Final = 3.0
BREAK_BEFORE: Final = 12
BREAK: Final = (0.6, 2.0, 1.0, 1.0)
BANK: Final = 1_500
"""Orders of each kind that an oracle draws from."""
TRIM: Final = 15
SIZES: Final = (
    ("clear-6", 3210, 2250, 100),
    ("clear-6", 2440, 1830, 112),
    ("clear-10", 3210, 2250, 160),
    ("clear-12", 2440, 1830, 200),
    ("clear-12", 3660, 2440, 260),
)
"""Glass, size [mm] and price of a square metre: the small size of clear-6 is for what is left of a week, the large one of clear-12
for panels that are longer than the small one."""
FIRST: Final = week_of(date(2026, 1, 5))
"""First week of every history."""
_COUNTS, _CONTENT, _DAYS, _SHOP, _ORACLE = range(5)


def stream(*path: int) -> np.random.Generator:
    """A random stream of its own."""
    return np.random.Generator(np.random.Philox(np.random.SeedSequence(path)))


def _octagon(side: int) -> Outline:
    """A regular octagon of this side, its corners on whole millimetres. [mm]"""
    c = round(side * 0.70710678)
    across = side + 2 * c
    points = (
        (c, 0),
        (c + side, 0),
        (across, c),
        (across, c + side),
        (c + side, across),
        (c, across),
        (0, c + side),
        (0, c),
    )
    return tuple((mm(x), mm(y)) for x, y in points)


def _fives(rng: Any, low: int, high: int) -> int:
    return 5 * int(rng.integers(low // 5, high // 5 + 1))


@lru_cache(maxsize=65_536)
def _cut(long: int, short: int) -> Outline:
    return rectangle(mm(long), mm(short))


def _tank(rng: Any, ranges: Sequence[tuple[int, int]]) -> list[Outline]:
    length, depth, height = (_fives(rng, *r) for r in ranges)
    return [*(_cut(length, height),) * 2, *(_cut(depth, height),) * 2, _cut(length, depth)]


def _pieces(kind: int, rng: Any) -> list[tuple[str, Outline]]:
    """Panels of one vessel of a kind: glass and outline."""
    if kind == 0:
        return [("clear-6", o) for o in _tank(rng, ((400, 1200), (300, 500), (300, 500)))]
    if kind == 1:
        return [("clear-12", o) for o in _tank(rng, ((1000, 2900), (500, 900), (500, 700)))]
    if kind == 2:
        side, height = _fives(rng, 250, 450), _fives(rng, 400, 600)
        return [("clear-10", o) for o in (*(_cut(height, side),) * 8, _octagon(side))]
    glass = ("clear-6", "clear-10", "clear-12")[int(rng.integers(3))]
    count = int(rng.integers(1, 5))
    return [(glass, _cut(_fives(rng, 400, 1200), _fives(rng, 200, 700))) for _ in range(count)]


def panels_of(kind: int, name: str, rng: Any, law: Law) -> tuple[Panel, ...]:
    """The panels of one order: one vessel, or a series of the same."""
    pieces = _pieces(kind, rng)
    if law == "lumpy":
        copies = int(rng.geometric(1 / SERIES))
    else:
        copies = 1 if kind == 3 else (1, 1, 1, 1, 1, 1, 1, 1, 2, 3)[int(rng.integers(10))]
    return tuple(
        Panel(
            id=f"{name}/{i}",
            order=name,
            name=str(i),
            glass=glass,
            thickness=mm(glass.removeprefix("clear-")),
            finished=outline,
            cut=outline,
            edges=PLAIN if len(outline) == 4 else PLAIN * 2,
        )
        for i, (glass, outline) in enumerate(piece for _ in range(copies) for piece in pieces)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """The law of a shop.

    Parameters
    ----------
    law, size
        Which.
    peak
        Week of the season's peak, counted from the first week.
    """

    law: Law
    size: Size
    peak: int

    def rate(self, weeks: Any) -> Any:
        """Mean orders of weeks counted from the first, shape (weeks, kinds)."""
        out = np.array(RATES[self.size]) + np.zeros((len(weeks), len(KINDS)))
        if self.law == "seasonal":
            out *= (1 + 0.5 * np.cos(2 * np.pi * (np.asarray(weeks) - self.peak) / SEASON))[:, None]
        if self.law == "break":
            out *= np.where((np.asarray(weeks) >= HISTORY - BREAK_BEFORE)[:, None], np.array(BREAK), 1.0)
        return out

    def counts(self, weeks: Any, futures: int, rng: Any) -> Any:
        """Orders drawn by the law, int64 of shape (futures, weeks, kinds)."""
        rate = self.rate(weeks) + np.zeros((futures, len(weeks), len(KINDS)))
        if self.law == "lumpy":
            there = rng.random(rate.shape) >= EMPTY
            return there * (1 + rng.poisson(np.maximum(0.0, rate / ((1 - EMPTY) * SERIES) - 1)))
        return rng.poisson(rate * rng.gamma(NOISE, 1 / NOISE, rate.shape))


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnShop:
    """A shop, all that was and will be ordered, and the law behind it.

    Parameters
    ----------
    name, seed
        Law, size and seed in one word; its seed.
    demand
        The law.
    book
        Everything, also what comes after the last forecast; looked at on a day by `OrderBook.as_known`.
    origins
        Weeks of the forecasts.
    shop, stock
        Rules, and the stock sizes.
    """

    name: str
    seed: int
    demand: Demand
    book: OrderBook
    origins: tuple[int, ...]
    shop: Shop
    stock: tuple[StockPiece, ...]


def the_shop() -> Shop:
    """Rules of all shops: three levels and a last cut, break-out distance 30 mm."""
    return Shop(
        cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(30)),
        stock_sizes=tuple(
            StockSize(glass=glass, width=mm(w), height=mm(h), price=w * h * price * MONEY // 10**6)
            for glass, w, h, price in SIZES
        ),
    )


def the_stock(shop: Shop) -> tuple[StockPiece, ...]:
    """Its stock sizes as pieces that never run out."""
    return tuple(
        StockPiece(
            name=size.name,
            glass=size.glass,
            width=size.width,
            height=size.height,
            trim=Trim(*(mm(TRIM),) * 4),
            cost=size.price,
            buyable=True,
        )
        for size in shop.stock_sizes
    )


def drawn_shop(
    law: Law, size: Size, seed: int, *, history: int = HISTORY, origins: int = ORIGINS, ahead: int = AHEAD
) -> DrawnShop:
    """A shop by its seed, with so many weeks of history, forecasts and weeks after the last forecast."""
    where = (seed, LAWS.index(law), list(RATES).index(size))
    demand = Demand(law=law, size=size, peak=int(stream(*where, _SHOP).integers(SEASON)))
    weeks = np.arange(HISTORY - history, HISTORY + origins - 1 + ahead)
    counts = demand.counts(weeks, 1, stream(*where, _COUNTS))[0]
    content, days = stream(*where, _CONTENT), stream(*where, _DAYS)
    orders = []
    for k, week in enumerate(weeks.tolist()):
        for kind, name in enumerate(KINDS):
            for i in range(int(counts[k, kind])):
                number = f"{week}-{kind}-{i}"
                panels = panels_of(kind, number, content, law)
                orders.append(_booked(number, name, FIRST + week, panels, days))
    shop = the_shop()
    return DrawnShop(
        name=f"{law}-{size}-{seed}",
        seed=seed,
        demand=demand,
        book=OrderBook(
            today=monday(FIRST + int(weeks[-1]) + 1),
            orders=tuple(orders),
            first_week=FIRST + int(weeks[0]),
        ),
        origins=tuple(FIRST + HISTORY + k for k in range(origins)),
        shop=shop,
        stock=the_stock(shop),
    )


def _booked(number: str, product: str, week: int, panels: tuple[Panel, ...], rng: Any) -> BookedOrder:
    """An order that is cut on the Friday of its week, with a booking day by the curve."""
    draw, back = float(rng.random()), int(rng.integers(7))
    ahead = sum(draw < share for share in BOOKED)
    start = monday(week)
    # known with `ahead` weeks left means: by the Monday of the week in which they are left
    booked = start - timedelta(days=7 * (ahead - 1) + back) if ahead else start + timedelta(days=1 + back % 4)
    due = start + timedelta(days=4)
    return BookedOrder(order=number, product=product, booked=booked, due=due, cut=due, panels=panels)


@lru_cache(maxsize=4)
def bank(law: Law, orders: int = BANK) -> tuple[tuple[BookedOrder, ...], ...]:
    """Orders by the true mix, the same for all shops of a law's kind of orders."""
    kind_of_law: Law = "lumpy" if law == "lumpy" else "steady"
    out = []
    for kind, name in enumerate(KINDS):
        rng = stream(2**31, _ORACLE, kind, LAWS.index(kind_of_law))
        out.append(
            tuple(
                BookedOrder(
                    order=str(i),
                    product=name,
                    booked=None,
                    due=monday(FIRST),
                    panels=panels_of(kind, str(i), rng, kind_of_law),
                )
                for i in range(orders)
            )
        )
    return tuple(out)


def oracle(
    drawn: DrawnShop,
    week: int,
    contents: Sequence[Any],
    sheets: Callable[[Any, Any], Any],
    draws: int,
    *,
    weeks: int = AHEAD,
    futures: int = 500,
) -> Any:
    """Paths by the true law and the true mix, in sheets by the same rules, shape (futures, weeks, series).

    Parameters
    ----------
    drawn, week
        The shop, and the first week.
    contents
        Values of the orders of the `bank`, by kind (see `Contents`).
    sheets, draws
        See `SheetRules`.
    """
    rng = stream(drawn.seed, _ORACLE, week)
    ahead = np.arange(week - FIRST, week - FIRST + weeks)
    counts = drawn.demand.counts(ahead, futures, rng)
    sums = np.zeros((futures * weeks, contents[0].shape[1]))
    for kind, values in enumerate(contents):
        many = counts[:, :, kind].ravel()
        places = np.repeat(np.arange(len(many)), many)
        picked = values[rng.integers(len(values), size=len(places))]
        for f in range(sums.shape[1]):
            sums[:, f] += np.bincount(places, weights=picked[:, f], minlength=len(many))
    return sheets(sums.reshape(futures, weeks, -1), rng.random((futures, weeks, draws)))
