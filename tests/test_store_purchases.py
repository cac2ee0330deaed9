"""Purchases in the store: set down, taken off by deliveries, called off, and how long suppliers took."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.store.errors import StoreError, UnknownName
from panewright.io.store.items import SHEET, Item
from panewright.io.store.ledger import Because
from panewright.io.store.purchases import (
    Purchase,
    PurchaseState,
    arriving,
    cancel,
    lead_times,
    listed_before,
    purchases,
    set_down,
    take_deliveries,
    take_off,
)
from panewright.io.store.receiving import Delivery
from panewright.io.store.schema import purchase
from panewright.nesting.buying.settings import Arriving
from panewright.nesting.units import mm

BECAUSE = Because(at=datetime(2027, 3, 8, 9, 0, tzinfo=UTC), who="desk", why="low")
SIZE = "clear-10", mm(3210), mm(2250)


def bought(sheets: int, ordered: int = 1, promised: int = 9, **more: object) -> Purchase:
    glass, width, height = SIZE
    one = Purchase(
        glass=glass, width=width, height=height, sheets=sheets, supplier="Gannet Depot",
        ordered=date(2027, 3, ordered), promised=date(2027, 3, promised),
    )  # fmt: skip
    return replace(one, **more)


def states(store) -> list[tuple[int, int, str]]:
    with store.reading() as connection:
        return [(p.sheets, p.received, p.state.value) for p in purchases(connection, every=True)][::-1]


def test_deliveries_are_taken_off_the_oldest_purchase(store) -> None:
    with store.writing() as c:
        made = set_down(
            c, [bought(5, 2), bought(10, 1), bought(4, 3, supplier="")], BECAUSE, marks=["m", "m", None]
        )
        assert [p.name for p in made] == ["clear-10 3210x2250"] * 3 and len({p.key for p in made}) == 3
        assert listed_before(c, "m") == "2027-03-08" and listed_before(c, "n") is None
    with store.writing() as c:
        first = take_off(c, SIZE, "gannet depot", 12, date(2027, 3, 8))
        # a sheet lying the other way is the same one; nobody else's purchase is touched
        turned = take_off(c, (SIZE[0], SIZE[2], SIZE[1]), "Saltmarsh Cases", 1, date(2027, 3, 9))
        assert take_off(c, ("clear-12", *SIZE[1:]), "", 9, date(2027, 3, 9)) == []
    assert [(t.purchase.ordered.day, t.sheets, t.purchase.to_come) for t in first] == [(1, 10, 0), (2, 2, 3)]
    assert [(t.purchase.ordered.day, t.sheets, t.purchase.to_come) for t in turned] == [(3, 1, 3)]
    assert states(store) == [(5, 2, "open"), (10, 10, "here"), (4, 1, "open")]
    with store.reading() as c:
        assert arriving(c) == [Arriving(name=made[0].name, sheets=3, day=date(2027, 3, 9))] * 2
    with store.writing() as c:
        # without a supplier it may be anybody's; what is over belongs to no purchase
        assert sum(t.sheets for t in take_off(c, SIZE, "", 99, date(2027, 3, 10))) == 6
        assert arriving(c) == []


def test_offcuts_are_nobodys_and_days_never_run_backwards(store) -> None:
    sheet = Item(kind=SHEET, name="C-1", glass=SIZE[0], width=SIZE[1], height=SIZE[2], since=date(2027, 1, 1))
    with store.writing() as c:
        set_down(c, [bought(5)], BECAUSE)
        deliveries = [Delivery(item=replace(sheet, kind="offcut")), Delivery(item=sheet, count=3)]
        (taken,) = take_deliveries(c, deliveries)
        assert taken.sheets == 3 and taken.purchase.arrived == date(2027, 3, 1)


def test_what_is_called_off_comes_no_more(store) -> None:
    with store.writing() as c:
        one, other = set_down(c, [bought(5), bought(6)], BECAUSE)
        take_off(c, SIZE, "", 2, date(2027, 3, 8))
        assert cancel(c, one.key, replace(BECAUSE, why="sold out")).to_come == 3
        with pytest.raises(UnknownName, match=str(other.key)):
            cancel(c, one.key, BECAUSE)
        assert [a.sheets for a in arriving(c)] == [6]
        (last,) = [p for p in purchases(c, every=True) if p.key == one.key]
        assert (last.state, last.why, last.to_come) == (PurchaseState.CANCELLED, "sold out", 0)
        assert lead_times(c) == {}


def test_lead_times_are_those_of_purchases_that_wholly_came(store) -> None:
    with store.writing() as c:
        other = {"supplier": "Saltmarsh Cases"}
        set_down(c, [bought(5, 1), bought(5, 2), bought(5, 3), bought(5, 4), bought(5, 1, **other)], BECAUSE)
        for day, count in ((4, 5), (8, 2), (9, 3), (15, 5), (20, 4)):
            take_off(c, SIZE, "Gannet Depot", count, date(2027, 3, day))
        take_off(c, SIZE, "Saltmarsh Cases", 5, date(2027, 3, 6))
        found = lead_times(c)
    # 3, 7 and 12 days: mean 22 / 3, variance ((13/3)^2 + (1/3)^2 + (14/3)^2) / 2 = 61 / 3
    mine = found["clear-10 3210x2250", "Gannet Depot"]
    assert (
        mine.count == 3
        and mine.mean == pytest.approx(22 / 3)
        and mine.spread == pytest.approx((61 / 3) ** 0.5)
    )
    assert found["clear-10 3210x2250", "Saltmarsh Cases"].spread == 0 and len(found) == 2


def test_the_database_keeps_counts_sound(store) -> None:
    row = {
        "state": "open", "glass": SIZE[0], "width": SIZE[1], "height": SIZE[2], "sheets": 5, "received": 6,
        "ordered": "2027-03-01", "promised": "2027-03-02", "at": 0,
    }  # fmt: skip
    with pytest.raises((IntegrityError, StoreError)), store.writing() as c:
        c.execute(insert(purchase).values(**row))
    assert states(store) == []


class Desk:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "shop.toml").write_text(
            "[stock]\nclear-10 = [{ size = [3210, 2250], price = 120, lead_days = 4 }]\n", encoding="utf-8"
        )

    def call(self, *args: object, code: int = Exit.DONE) -> Result:
        more = ["--stock", self.folder / "s.db", "--shop", self.folder / "shop.toml"]
        done = CliRunner().invoke(main.app, ["stock", *(str(a) for a in (*args, *more))])
        assert done.exit_code == code, done.output
        return done

    def json(self, *args: object, code: int = Exit.DONE) -> dict:
        return json.loads(self.call(*args, "--json", code=code).stdout)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_a_trip_of_an_order_through_the_commands(desk: Desk) -> None:
    more = ["--supplier", "Gannet Depot", "--price", "110.5", "--ordered", "2020-03-01"]
    (one,) = desk.json("order", "--glass", "clear-10", "--size", "2250x3210", "--count", 12, *more)["ordered"]
    assert (one["sheets"], one["width"], one["promised"], one["price"]) == (12, 3210, "2020-03-05", 110.5)
    late = desk.call("ordered", code=Exit.LEFT_OVER)
    assert "days late" in late.stdout and "Overdue: 12 sheets" in late.stdout
    case = ["--glass", "clear-10", "--size", "3210x2250", "--supplier", "Gannet Depot", "--day", "2020-03-06"]
    assert "5 sheets have come, 7 still to come" in desk.call("receive", *case, "--count", 5).stderr
    said = desk.json("receive", *case, "--count", 8)
    assert said["off_purchases"] == [{"number": one["number"], "sheets": 7, "to_come": 0}]
    desk.json("order", "--glass", "clear-10", "--size", "2250x3210", "--count", 2, *more)
    assert "3 sheets more came than" in desk.call("receive", *case, "--count", 5).stderr
    took = desk.json("ordered", "--took", "--all")
    assert took["took"] == [
        {
            "stock": "clear-10 3210x2250",
            "supplier": "Gannet Depot",
            "purchases": 2,
            "days": 5.0,
            "spread_days": 0.0,
        }
    ]
    assert took["ordered"][0]["state"] == "here" and desk.json("ordered")["ordered"] == []
    assert "Nothing is on order" in desk.call("ordered").stdout


def test_lists_are_set_down_once_and_called_off_by_number(desk: Desk) -> None:
    path = desk.folder / "list.csv"
    path.write_text(
        "glass,width,height,sheets,day,supplier,ordered\n"
        "clear-10,3210,2250,4,2099-03-19,Gannet Depot,2099-03-01\nclear-6,3660,2440,20,,,2099-03-01\n",
        encoding="utf-8",
    )
    assert "Set down: 2 purchases" in desk.call("order", path).stdout
    assert "set down on" in desk.call("order", path, code=Exit.INPUT).stderr
    assert len(desk.json("ordered", "--glass", "clear-6")["ordered"]) == 1
    desk.call("order", path, "--more")
    gone = desk.call("ordered", "--cancel", 2, "--cancel", 2, "--cancel", 4, "--why", "sold out")
    assert "20 sheets will not come" in gone.stdout
    assert [p["promised"] for p in desk.json("ordered")["ordered"]] == ["2099-03-19"] * 2
    assert "no open purchase 99" in desk.call("ordered", "--cancel", 99, code=Exit.INPUT).stderr


@pytest.mark.parametrize(
    ("args", "code", "words"),
    [
        ([], Exit.USAGE, "give a list"),
        (["--glass", "clear-10", "--size", "3210x2250"], Exit.INPUT, "--count"),
        (["--glass", "clear-10", "--size", "3210", "--count", 3], Exit.INPUT, "--size"),
        (["--glass", "clear-11", "--size", "3210x2250", "--count", 3], Exit.INPUT, "--glass"),
        (["--glass", "clear-10", "--size", "3210x2250", "--count", -3], Exit.INPUT, "--count"),
        (["--glass", "clear-10", "--size", "3210x2250", "--count", 3, "--day", "2020-01-01"], Exit.INPUT, "promised"),
    ],
)  # fmt: skip
def test_what_cannot_be_ordered(desk: Desk, args: list[object], code: Exit, words: str) -> None:
    assert words in desk.call("order", *args, code=code).stderr
    assert not (desk.folder / "s.db").exists()
