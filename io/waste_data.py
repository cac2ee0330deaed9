"""What a waste report is made of, from a store or from folders: sheets as planned and as cut, offcuts, breaks."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Final, Literal

from panewright.io.stock_list import cheapest
from panewright.io.store.offcut_flow import OffcutFlow
from panewright.io.store.plan_rows import AREAS
from panewright.io.waste_pieces import PlanPieces
from panewright.nesting.demand.products import Look, kind_of, tanks_in
from panewright.nesting.demand.weeks import monday, week_name, week_of
from panewright.nesting.figures import Figures
from panewright.nesting.happened import AtStep
from panewright.nesting.panels import Purpose
from panewright.nesting.shop import Shop, UnknownGlass, split_key
from panewright.nesting.waste.over_bound import NONE, OverBound
from panewright.nesting.waste.sheets import Away, Piece, SheetWaste, sheet_waste

By = Literal["week", "month"]
NO_DAY = -1
"""Span of sheets of which no day is known."""
AGES: Final = (30, 90, 180, 365)
"""Last days of the classes of age of offcuts; one more holds all that are older."""


def age_class(days: int) -> int:
    """Number of the class of age."""
    return sum(days > last for last in AGES)


@dataclass(frozen=True, slots=True)
class Span:
    """A week or month of the period, or the part of one that lies in it."""

    name: str
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Days:
    """A period of whole days in spans that follow on each other.

    Parameters
    ----------
    first, last
        Days.
    spans
        Weeks or months; the first and the last may be cut short.
    """

    first: date
    last: date
    spans: tuple[Span, ...]

    @property
    def begin(self) -> datetime:
        """The first moment, in the zone of this machine."""
        return start_of(self.first)

    @property
    def end(self) -> datetime:
        """The first moment after it."""
        return start_of(self.last + timedelta(days=1))

    def span_of(self, day: date) -> int | None:
        """Number of the span that a day lies in, or None outside of the period."""
        return next((k for k, span in enumerate(self.spans) if span.first <= day <= span.last), None)

    @property
    def before(self) -> Days:
        """As many days before it, in one span."""
        last = self.first - timedelta(days=1)
        first = last - (self.last - self.first)
        return Days(first, last, (Span("", first, last),))


def start_of(day: date) -> datetime:
    """The first moment of a day on this machine."""
    return datetime.combine(day, time()).astimezone()


def days_of(first: date, last: date, by: By) -> Days:
    """A period in weeks (Monday to Sunday) or calendar months."""
    spans = []
    day = first
    while day <= last:
        if by == "week":
            name, after = week_name(week_of(day)), monday(week_of(day) + 1)
        else:
            name = f"{day.year}-{day.month:02}"
            after = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        end = min(last, after - timedelta(days=1))
        spans.append(Span(name, day, end))
        day = after
    return Days(first, last, tuple(spans))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A sheet that counts: as planned in a span, as cut in a span, or both.

    `span` is None where it counts in none, `NO_DAY` where its day is not known.
    """

    plan: str
    number: int
    glass: str
    stock: str
    is_offcut: bool
    figures: Figures
    planned: int | None = None
    cut: int | None = None


@dataclass(frozen=True, slots=True)
class Rack:
    """Offcuts in the rack at the end of a period, of one glass and one class of age."""

    glass: str
    oldest: int | None
    count: int
    area: int
    worth: int
    full: int


@dataclass(frozen=True, slots=True)
class Scrapped:
    """Whole sheets of a glass that were scrapped or broke in the rack; area twice nm2."""

    glass: str
    count: int
    area: int
    cost: int


@dataclass(frozen=True, slots=True)
class Ordered:
    """How many tanks an order is, and how many panels it has."""

    tanks: int
    panels: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteOver:
    """All that a waste report tells.

    Parameters
    ----------
    days
        The period, or None where folders were given without one.
    planned, recorded
        Sheets.
    earlier
        The same of the period before, where it is known.
    offcuts
        By glass.
    rack
        What of them lies there; areas twice nm2.
    broken
        Panels that broke in the period, by glass and work: whenever their sheets were cut.
    scrapped
        Sheets that never came to the table.
    orders
        How many tanks and panels each order is.
    no_bound
        Plans and glasses without a lower bound.
    no_price
        Glasses of which the shop file has no price, so that their offcuts have no worth.
    currency
        Of the plans, else of the shop.
    notes
        Worth knowing, worded for the user.
    """

    days: Days | None
    planned: tuple[SheetWaste, ...]
    recorded: tuple[SheetWaste, ...]
    earlier: tuple[tuple[SheetWaste, ...], tuple[SheetWaste, ...]] | None = None
    offcuts: Mapping[str, OffcutFlow] = field(default_factory=dict)
    rack: tuple[Rack, ...] = ()
    broken: Mapping[tuple[str, AtStep], int] = field(default_factory=dict)
    scrapped: tuple[Scrapped, ...] = ()
    orders: Mapping[str, Ordered] = field(default_factory=dict)
    no_bound: tuple[tuple[str, str], ...] = ()
    no_price: tuple[str, ...] = ()
    currency: str = "EUR"
    notes: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing was planned, cut, kept, broken or scrapped."""
        return not (self.planned or self.recorded or self.broken or self.scrapped or self.offcuts)


class Worths:
    """Worth of a kept offcut per area, by the shop's rule on the cheapest price of its glass.

    Parameters
    ----------
    shop
        Its share of the price.
    price
        Cheapest price per area of a glass, or None; default: that of the shop file. [1/10,000 per nm2]
    """

    def __init__(self, shop: Shop, price: Callable[[str], Fraction | None] | None = None) -> None:
        self._share = shop.offcut_worth
        self._price = price or (lambda glass: cheapest(shop, glass))
        self._known: dict[str, Fraction | None] = {}
        self.missing: set[str] = set()

    def of(self, glass: str) -> Fraction:
        """Worth per area; 0 where nobody has a price. [1/10,000 of the currency per nm2]"""
        if glass not in self._known:
            self._known[glass] = self._price(glass)
        price = self._known[glass]
        if price is None:
            self.missing.add(glass)
            return Fraction(0)
        return price * self._share


class Builder:
    """Makes the sheets of a report of rows, plan files and what happened.

    Parameters
    ----------
    pieces
        By plan, of every plan of a row.
    worths
        Of offcuts.
    """

    def __init__(self, pieces: Mapping[str, PlanPieces], worths: Worths) -> None:
        self._pieces, self._worths = pieces, worths
        looks: dict[str, dict[str, Look]] = defaultdict(dict)
        panels: dict[str, set[str]] = defaultdict(set)
        for plan in sorted(pieces):
            for name, facts in pieces[plan].panels.items():
                if not facts.again:
                    looks[facts.order].setdefault(name, facts.look)
                    if facts.purpose is Purpose.ORDER:
                        panels[facts.order].add(name)
        self._kinds = {order: kind_of(list(mine.values())) for order, mine in looks.items()}
        self.orders = {
            order: Ordered(tanks_in(list(looks.get(order, {}).values())), len(mine))
            for order, mine in panels.items()
        }

    def planned(self, row: SheetRow, over: OverBound | None) -> SheetWaste:
        """A row as it was planned."""
        return self._sheet(row, row.planned, over, {}, Away())

    def recorded(
        self, row: SheetRow, over: OverBound | None, broken: Mapping[str, AtStep], away: Away
    ) -> SheetWaste:
        """A row as it was cut, with all that is known of its pieces now."""
        return self._sheet(row, row.cut, over, broken, away)

    def _sheet(
        self,
        row: SheetRow,
        span: int | None,
        over: OverBound | None,
        broken: Mapping[str, AtStep],
        away: Away,
    ) -> SheetWaste:
        mine = self._pieces[row.plan]
        assert span is not None
        return sheet_waste(
            span=span,
            plan=row.plan,
            number=row.number,
            glass=row.glass,
            stock=row.stock,
            is_offcut=row.is_offcut,
            figures=row.figures,
            pieces=[self._piece(mine, name, broken) for name in mine.on.get(row.number, ())],
            thickness=_thickness(mine, row.glass),
            worth=self._worths.of(row.glass),
            over=over or NONE,
            away=away,
        )

    def _piece(self, mine: PlanPieces, name: str, broken: Mapping[str, AtStep]) -> Piece:
        facts = mine.panels[name]
        return Piece(
            panel=name,
            order=facts.order,
            product=facts.product or self._kinds.get(facts.order) or kind_of([facts.look]),
            purpose=facts.purpose,
            cut=facts.cut,
            finished=facts.finished,
            broke=broken.get(name),
        )


def _thickness(mine: PlanPieces, glass: str) -> int:
    try:
        return split_key(glass)[1]
    except UnknownGlass:
        return mine.thickness(glass)


def only_glass(found: WasteOver, wanted: str) -> WasteOver:
    """A report of one glass, or of all of a kind: ``clear-10``, ``clear``."""

    def fits(glass: str) -> bool:
        return wanted in (glass, glass.rsplit("-", 1)[0])

    def sheets(rows: Sequence[SheetWaste]) -> tuple[SheetWaste, ...]:
        return tuple(row for row in rows if fits(row.glass))

    earlier = found.earlier
    return replace(
        found,
        planned=sheets(found.planned),
        recorded=sheets(found.recorded),
        earlier=None if earlier is None else (sheets(earlier[0]), sheets(earlier[1])),
        offcuts={glass: flow for glass, flow in found.offcuts.items() if fits(glass)},
        rack=tuple(row for row in found.rack if fits(row.glass)),
        broken={key: count for key, count in found.broken.items() if fits(key[0])},
        scrapped=tuple(row for row in found.scrapped if fits(row.glass)),
        no_bound=tuple(pair for pair in found.no_bound if fits(pair[1])),
        no_price=tuple(glass for glass in found.no_price if fits(glass)),
    )


def figures_in(text: str) -> Figures:
    """The figures of a sheet as the store keeps them."""
    known = json.loads(text)
    out = Figures(sheets=1)
    for name in AREAS:
        setattr(out, name, int(known[name]))
    return out
