"""The report on buying: what it leads with, tables that agree with the advice, and the files that it makes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any, cast

import numpy as np
import pytest

from panewright.io.buy_report import buy_report
from panewright.io.order_lists import Orders
from panewright.io.purchase_buy import Buying, from_look, receiving_of
from panewright.io.purchase_desk import Desk
from panewright.io.purchase_look import Look
from panewright.io.report.as_json import report_json
from panewright.io.report.model import Report, Subject
from panewright.io.report.page import page_text
from panewright.io.shop_file import default_shop
from panewright.nesting.buying.settings import Arriving, PriceStep, StockNow, Supply
from panewright.nesting.demand.book import OrderBook
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.forecast.futures import Futures
from panewright.nesting.units import mm

MONDAY = date(2027, 3, 8)
EURO = 10_000
SMALL, BIG, THIN = "clear-10 3210x2250", "clear-10 3660x2440", "clear-6 3210x2250"


def terms(name: str, price: int, who: str, lead: int) -> Supply:
    """Terms of an invented size; price in euro."""
    glass, size = name.split()
    width, height = (mm(int(side)) for side in size.split("x"))
    steps = (PriceStep(sheets=1, price=price * EURO), PriceStep(sheets=12, price=(price - 9) * EURO))
    return Supply(
        name=name,
        glass=glass,
        width=width,
        height=height,
        supplier=who,
        prices=steps,
        lead_days=lead,
        lead_spread=2,
        case=4,
        freight=60 * EURO,
    )


@pytest.fixture(scope="module")
def found() -> Buying:
    """Advice for three sizes and no open order; one delivery is overdue."""
    stream = np.random.Generator(np.random.Philox(5))
    sheets = stream.poisson((2.5, 0.0, 1.5), (60, 6, 3)).astype(np.int32)
    desk = Desk(
        shop=default_shop(),
        orders=Orders(),
        book=OrderBook(today=MONDAY, orders=(), first_week=week_of(MONDAY) - 20),
        stock=StockNow(
            on_hand={SMALL: 3, THIN: 40},
            arriving=(Arriving(name=THIN, sheets=4, day=MONDAY - timedelta(days=3)),),
        ),
        offcuts=(),
        supplies=(
            terms(SMALL, 140, "North Glass", 9),
            terms(BIG, 210, "North Glass", 9),
            terms(THIN, 70, "North Glass", 9),
        ),
        knows_stock=True,
    )
    look = Look(
        desk=desk,
        weeks=6,
        seed=0,
        materials={},
        counts=(),
        rules=cast(Any, None),
        test=None,
        chosen={},
        nested=None,
        carried=False,
        futures=Futures(
            first=week_of(MONDAY), series=(SMALL, BIG, THIN), sheets=sheets, known=np.zeros((6, 3), np.int32)
        ),
        outlook=cast(Any, None),
        findings=("The history is short.",),
    )
    return from_look(look, None, pooled=False)


def subject(report: Report, name: str) -> Subject:
    """One subject of the report."""
    return next(s for s in report.subjects if s.name == name)


def test_the_first_sentences_say_what_to_order(found: Buying) -> None:
    report = buy_report(found)
    (order,) = found.advice.orders
    assert order.supply.name == SMALL
    assert report.lead[0] == (f"Order today for {found.advice.money // EURO:,}.00 EUR, deliveries included:")
    assert report.lead[1].startswith(f"{order.sheets} of {SMALL} from North Glass, here about 2027-03-17;")
    assert any(
        "1 delivery is overdue" in line and f"4 of {THIN} since 2027-03-05" in line for line in report.lead
    )
    assert report.lead[-1] == "The history is short."
    why = subject(report, "Reasons").words
    assert why[0].startswith(f"{SMALL}: The 3 sheets on hand last through 2027-W")
    assert why[-1] == f"No future needs these: {BIG}."


def test_tables_agree_with_the_advice(found: Buying) -> None:
    report = buy_report(found)
    sizes = subject(report, "Orders of today").tables[0]
    assert [row[0] for row in sizes.rows] == [THIN, SMALL, BIG]
    assert sizes.total is not None
    assert sizes.total[5] == sum(s.sheets for s in found.advice.sizes)
    assert sizes.total[7] == sum(s.money for s in found.advice.sizes)
    calendar = subject(report, "Calendar").tables[0]
    assert calendar.rows[0][:3] == (week_of(MONDAY), MONDAY, SMALL)
    assert subject(report, "Open orders").words == ("No order is open.",)
    fans = subject(report, "Stock ahead").pictures
    assert len(fans) == 2
    for table in (t for s in report.subjects for t in s.tables):
        assert all(len(row) == len(table.columns) for row in table.rows)
        assert table.total is None or len(table.total) == len(table.columns)


def test_the_report_can_be_written_and_is_the_same_again(found: Buying) -> None:
    report = buy_report(found)
    assert report_json(report) == report_json(buy_report(from_look(found.look, None, pooled=False)))
    assert "Textbook" in page_text(report)


def test_without_stock_that_is_said_first(found: Buying) -> None:
    desk = replace(found.desk, knows_stock=False, stock=StockNow())
    report = buy_report(from_look(replace(found.look, desk=desk), None, pooled=False))
    assert report.lead[0] == "There is no stock list and no stock store: every sheet counts as not there."


def test_nothing_comes_in_while_the_shop_is_shut() -> None:
    shop = default_shop()
    shut = replace(shop.buying, shut=((MONDAY, MONDAY + timedelta(days=6)),))
    receiving = receiving_of(MONDAY, replace(shop, buying=shut))
    assert receiving.working(MONDAY) == MONDAY + timedelta(days=7)
