"""Purchases: sheets that were ordered, what of them has come, and how long suppliers really take."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from statistics import fmean, stdev
from typing import Any, Final

from sqlalchemy import Connection, insert, select, update

from panewright.io.store.errors import UnknownName
from panewright.io.store.ledger import Because, micros, time_of
from panewright.io.store.rack import glass_order, is_of
from panewright.io.store.receiving import Delivery
from panewright.io.store.schema import purchase
from panewright.nesting.buying.settings import Arriving
from panewright.nesting.shop import StockSize
from panewright.nesting.text import tr


class PurchaseState(Enum):
    """What has become of a purchase."""

    OPEN = "open"
    HERE = "here"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Sheets of one size that were ordered together.

    Parameters
    ----------
    key
        Its number in the store; 0 before it is there.
    glass, width, height
        Glass key and nominal size. [nm]
    sheets, received
        How many were ordered, and have come.
    price
        Of one sheet, or None. [1/10,000 of the currency]
    supplier, note
        May be empty.
    ordered, promised
        Day on which they were ordered, and on which they are to be here.
    arrived
        Day on which the last of them came so far, or None.
    state
        Open as long as some are to come.
    who, why
        As told.
    """

    key: int = 0
    glass: str
    width: int
    height: int
    sheets: int
    received: int = 0
    price: int | None = None
    supplier: str = ""
    note: str = ""
    ordered: date
    promised: date
    arrived: date | None = None
    state: PurchaseState = PurchaseState.OPEN
    who: str = ""
    why: str = ""

    @property
    def name(self) -> str:
        """Name of the stock size."""
        return StockSize(glass=self.glass, width=self.width, height=self.height, price=0).name

    @property
    def to_come(self) -> int:
        """Sheets that are still to come."""
        return self.sheets - self.received if self.state is PurchaseState.OPEN else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadTime:
    """Days from the order to the last sheet of it, as they were.

    Parameters
    ----------
    count
        Purchases that have wholly come.
    mean, spread
        Calendar days: mean and standard deviation (of a sample; 0 where there is but one).
    """

    count: int
    mean: float
    spread: float


@dataclass(frozen=True, slots=True)
class TakenOff:
    """So many sheets of a delivery belong to this purchase, as it stands after it."""

    purchase: Purchase
    sheets: int


MARK: Final = "ordered-"


def list_mark(wanted: Iterable[Purchase]) -> str:
    """What a list of purchases is known by: a hash over what it holds."""
    rows = [
        [p.glass, p.width, p.height, p.sheets, p.price, p.supplier, p.note, p.promised.isoformat()]
        for p in wanted
    ]
    text = json.dumps(rows, ensure_ascii=True, separators=(",", ":"))
    return MARK + hashlib.sha256(text.encode("ascii")).hexdigest()[:32]


def listed_before(connection: Connection, mark: str) -> str | None:
    """The day on which a list was set down, or None."""
    c = purchase.c
    at = connection.execute(select(c.at).where(c.listed == mark).order_by(c.id).limit(1)).scalar()
    return None if at is None else time_of(at).astimezone().date().isoformat()


def set_down(
    connection: Connection, wanted: Sequence[Purchase], because: Because, *, marks: Sequence[str | None] = ()
) -> list[Purchase]:
    """Set down what was ordered; the purchases with their numbers.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    wanted
        In their order.
    because
        When, who and why.
    marks
        Of each the mark of its list (see `list_mark`), or nothing.
    """
    out = []
    for one, mark in zip(wanted, marks or [None] * len(wanted), strict=True):
        values = {
            "state": PurchaseState.OPEN.value,
            "glass": one.glass,
            "width": one.width,
            "height": one.height,
            "sheets": one.sheets,
            "price": one.price,
            "supplier": one.supplier,
            "ordered": one.ordered.isoformat(),
            "promised": one.promised.isoformat(),
            "note": one.note,
            "listed": mark,
            "at": micros(because.at),
            "who": because.who,
            "why": because.why,
        }
        key = connection.execute(insert(purchase).values(**values)).inserted_primary_key
        out.append(replace(one, key=int(key[0]) if key else 0, who=because.who, why=because.why))
    return out


def purchases(connection: Connection, *, every: bool = False, glass: str | None = None) -> list[Purchase]:
    """The open purchases, those promised first at the top; all, the newest first.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    every
        Those that have come or were cancelled too.
    glass
        Only this glass key or kind.
    """
    c = purchase.c
    query = select(purchase)
    if every:
        query = query.order_by(c.id.desc())
    else:
        query = query.where(c.state == PurchaseState.OPEN.value).order_by(c.promised, c.id)
    return [p for p in map(_purchase, connection.execute(query)) if is_of(p.glass, glass)]


def arriving(connection: Connection) -> list[Arriving]:
    """What is still to come, by the day on which it is promised; overdue days stay as they were promised."""
    return [Arriving(name=p.name, sheets=p.to_come, day=p.promised) for p in purchases(connection)]


def take_off(
    connection: Connection, size: tuple[str, int, int], supplier: str, sheets: int, day: date
) -> list[TakenOff]:
    """Take sheets that came off what is on order, the oldest purchase first.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    size
        Glass key, width and height, either way round. [nm]
    supplier
        Who delivered them; empty: any. A purchase that names no supplier may be anybody's.
    sheets
        How many came; what is over belongs to no purchase.
    day
        On which they came.
    """
    c = purchase.c
    glass, width, height = size
    query = select(purchase).where(c.state == PurchaseState.OPEN.value, c.glass == glass)
    out = []
    for one in map(_purchase, connection.execute(query.order_by(c.ordered, c.id)).all()):
        named = supplier and one.supplier
        if sorted((one.width, one.height)) != sorted((width, height)) or (
            named and supplier.casefold() != one.supplier.casefold()
        ):
            continue
        count = min(sheets, one.to_come)
        if count <= 0:
            break
        sheets -= count
        came = max([day, one.ordered, *([one.arrived] if one.arrived else [])])
        state = PurchaseState.HERE if count == one.to_come else PurchaseState.OPEN
        now = replace(one, received=one.received + count, arrived=came, state=state)
        values = {"received": now.received, "arrived": came.isoformat(), "state": state.value}
        connection.execute(update(purchase).where(c.id == one.key).values(**values))
        out.append(TakenOff(now, count))
    return out


def take_deliveries(connection: Connection, deliveries: Iterable[Delivery]) -> list[TakenOff]:
    """Take what was received off what is on order (see `take_off`); offcuts are nobody's."""
    out = []
    for one in deliveries:
        i = one.item
        if not i.is_offcut:
            size = i.glass, i.width, i.height
            out += take_off(connection, size, i.supplier, one.count, i.since)
    return out


def cancel(connection: Connection, key: int, because: Because) -> Purchase:
    """No more of a purchase will come; the purchase as it was. A reason stands in place of the one before.

    Raises
    ------
    UnknownName
        No open purchase has this number.
    """
    c = purchase.c
    row = connection.execute(
        select(purchase).where(c.id == key, c.state == PurchaseState.OPEN.value)
    ).one_or_none()
    if row is None:
        near = [str(p.key) for p in purchases(connection)[:5]]
        raise UnknownName(tr("open purchase {number}", number=key), near)
    values = {"state": PurchaseState.CANCELLED.value, **({"why": because.why} if because.why else {})}
    connection.execute(update(purchase).where(c.id == key).values(**values))
    return _purchase(row)


def lead_times(connection: Connection) -> dict[tuple[str, str], LeadTime]:
    """How long purchases that have wholly come took, by name of the stock size and supplier."""
    c = purchase.c
    days: dict[tuple[str, str], list[int]] = defaultdict(list)
    found = map(_purchase, connection.execute(select(purchase).where(c.state == PurchaseState.HERE.value)))
    for one in sorted(found, key=lambda p: (*glass_order(p.glass), p.width, p.height, p.supplier, p.key)):
        if one.arrived is not None:
            days[one.name, one.supplier].append((one.arrived - one.ordered).days)
    return {
        key: LeadTime(count=len(taken), mean=fmean(taken), spread=stdev(taken) if len(taken) > 1 else 0.0)
        for key, taken in days.items()
    }


def _purchase(row: Any) -> Purchase:
    return Purchase(
        key=row.id,
        glass=row.glass,
        width=row.width,
        height=row.height,
        sheets=row.sheets,
        received=row.received,
        price=row.price,
        supplier=row.supplier,
        note=row.note,
        ordered=date.fromisoformat(row.ordered),
        promised=date.fromisoformat(row.promised),
        arrived=None if row.arrived is None else date.fromisoformat(row.arrived),
        state=PurchaseState(row.state),
        who=row.who,
        why=row.why,
    )
