"""Stock lists: sheets and offcuts, their trims, their worth, and what contradicts itself."""

from __future__ import annotations

import csv
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io.problems import Problem, Problems
from panewright.io.shop_file import default_shop
from panewright.io.stock_list import COLUMNS, cheapest, offcut_cost, read_stock_list, shop_stock
from panewright.nesting.shop import CuttingChoice, Shop, StockSize
from panewright.nesting.shop_table import Table
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.units import inch, mm

SIZES = (
    StockSize(glass="clear-10", width=mm(3210), height=mm(2250), price=1_250_000, lead_days=3),
    StockSize(glass="clear-10", width=mm(6000), height=mm(3210), price=3_000_000),
    StockSize(
        glass="clear-6",
        width=mm(2000),
        height=mm(1000),
        price=200_000,
        trim=Trim(mm(8), mm(9), mm(10), mm(11)),
    ),
)
SHOP = replace(default_shop(), stock_sizes=SIZES)
TRIM = SHOP.trim("clear-10")


class Lists:
    """Writes a stock list of dictionaries and reads it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "stock.csv"
        self.problems = Problems()

    def read(self, *rows: dict[str, str], shop: Shop = SHOP) -> list[StockPiece]:
        base = {"kind": "sheet", "glass": "clear-10", "width": "3210", "height": "2250", "on hand": "1"}
        full = [base | row for row in rows]
        with self.path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, list(dict.fromkeys(key for row in full for key in row)))
            writer.writeheader()
            writer.writerows(full)
        self.problems = Problems()
        return read_stock_list(self.path, shop, self.problems)

    def one(self, shop: Shop = SHOP, **row: str) -> StockPiece:
        pieces = self.read({k.replace("_", " "): v for k, v in row.items()}, shop=shop)
        assert not self.problems.errors, self.problems.lines()
        assert len(pieces) == 1
        return pieces[0]

    def fault(self, shop: Shop = SHOP, **row: str) -> Problem:
        assert self.read({k.replace("_", " "): v for k, v in row.items()}, shop=shop) == []
        assert len(self.problems.errors) == 1, self.problems.lines()
        found = self.problems.errors[0]
        assert found.row == 2 and found.column and found.reason and found.remedy
        return found

    def offcut(self, **row: str) -> StockPiece:
        return self.one(**({"kind": "offcut", "number": "R-1", "width": "1000", "height": "500"} | row))


@pytest.fixture
def lists(tmp_path: Path) -> Lists:
    return Lists(tmp_path)


def test_a_sheet_takes_price_and_lead_days_from_the_shop(lists: Lists) -> None:
    sheet = lists.one(on_hand="4", buy="yes")
    assert sheet.name == "clear-10 3210x2250" and not sheet.is_offcut
    assert (sheet.cost, sheet.lead_days, sheet.on_hand, sheet.buyable) == (1_250_000, 3, 4, True)
    assert sheet.raw == ALL_SIDES and sheet.trim == TRIM


def test_the_list_goes_over_the_shop(lists: Lists) -> None:
    sheet = lists.one(price="99.5 EUR", lead_days="12")
    assert (sheet.cost, sheet.lead_days, sheet.buyable) == (995_000, 12, False)


def test_a_size_that_lies_the_other_way_has_the_same_price_but_no_trim_of_its_own(lists: Lists) -> None:
    same = lists.one(glass="clear-6", width="2000", height="1000")
    assert same.trim == Trim(mm(8), mm(9), mm(10), mm(11))
    turned = lists.one(glass="clear-6", width="1000", height="2000")
    assert turned.cost == same.cost and turned.trim == SHOP.trim("clear-6")


def test_unlimited_means_buy_as_many_as_needed(lists: Lists) -> None:
    for word in ("unlimited", "Unlimited"):
        sheet = lists.one(on_hand=word)
        assert (sheet.on_hand, sheet.buyable) == (0, True)
    assert lists.fault(on_hand="unlimited", buy="no").column == "buy"
    assert lists.one(on_hand="").on_hand == 0


def test_a_size_without_any_price_is_an_error(lists: Lists) -> None:
    assert "price" in lists.fault(width="3000").reason
    assert lists.one(width="3000", price="100").cost == 1_000_000
    for price in ("-5", "free", "1.203,5", "0.00001", "1e3", "1,203", "nan"):
        assert lists.fault(price=price).column == "price"


def test_an_offcut_is_worth_its_share_of_the_cheapest_new_glass(lists: Lists) -> None:
    offcut = lists.offcut(raw_sides="left bottom")
    cheap = min(Fraction(1_250_000, 3210 * 2250), Fraction(3_000_000, 6000 * 3210))
    assert offcut.cost == round(cheap * 1000 * 500 / 2)
    assert (offcut.name, offcut.is_offcut, offcut.on_hand, offcut.buyable) == ("R-1", True, 1, False)
    assert offcut.raw == (Side.LEFT, Side.BOTTOM)
    assert offcut.trim == Trim(left=TRIM.left, bottom=TRIM.bottom)


def test_a_cheaper_sheet_of_the_list_lowers_the_worth_of_offcuts(lists: Lists) -> None:
    offcut = {"kind": "offcut", "number": "R-1", "width": "1000", "height": "500"}
    dear = lists.read(offcut)[0]
    with_sheet = lists.read(offcut, {"price": "72.225"})
    assert with_sheet[0].cost == 25_000 < dear.cost  # 10 a m2, half of it, half a m2
    whole = replace(SHOP, offcut_worth=Fraction(1))
    assert lists.read(offcut, {"price": "72.225"}, shop=whole)[0].cost == 50_000


@pytest.mark.parametrize(
    ("words", "sides"),
    [
        ("", ()),
        ("none", ()),
        ("all", ALL_SIDES),
        ("Left, Bottom", (Side.LEFT, Side.BOTTOM)),
        ("top and right", (Side.RIGHT, Side.TOP)),
        ("top/top", (Side.TOP,)),
    ],
)
def test_raw_sides(lists: Lists, words: str, sides: tuple[Side, ...]) -> None:
    offcut = lists.offcut(raw_sides=words)
    assert set(offcut.raw) == set(sides)
    assert offcut.trim == TRIM.on(sides)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ({"kind": "plate"}, "kind"),
        ({"kind": ""}, "kind"),
        ({"glass": "mirror-6"}, "glass"),
        ({"glass": "toughened-10"}, "glass"),
        ({"width": "20", "price": "9"}, "width"),
        ({"height": "12001", "price": "9"}, "height"),
        ({"width": "32 in 5"}, "width"),
        ({"on hand": "-1"}, "on hand"),
        ({"on hand": "many"}, "on hand"),
        ({"on hand": "100001"}, "on hand"),
        ({"buy": "sometimes"}, "buy"),
        ({"lead days": "-1"}, "lead days"),
        ({"raw sides": "left"}, "raw sides"),
        ({"unit": "yard"}, "unit"),
        ({"kind": "offcut"}, "number"),
        ({"kind": "offcut", "number": "R", "on hand": "2"}, "on hand"),
        ({"kind": "offcut", "number": "R", "buy": "yes"}, "buy"),
        ({"kind": "offcut", "number": "R", "raw sides": "front"}, "raw sides"),
        ({"kind": "offcut", "number": "R", "width": "49"}, "width"),
        ({"kind": "offcut", "number": "R", "glass": "clear-8"}, "glass"),
    ],
)
def test_odd_rows_are_refused(lists: Lists, row: dict[str, str], column: str) -> None:
    assert lists.fault(**row).column == column


def test_a_trim_that_leaves_nothing_is_refused(lists: Lists) -> None:
    offcut = {"kind": "offcut", "number": "R", "width": "60", "height": "500", "raw sides": "all"}
    shop = replace(SHOP, cutting=CuttingChoice(trim=Trim(mm(30), mm(30), mm(30), mm(30))))
    assert "nothing" in lists.fault(shop=shop, **offcut).reason


def test_two_rows_of_one_size_or_number_are_refused(lists: Lists) -> None:
    assert len(lists.read({"on hand": "1"}, {"on hand": "2"})) == 1
    (error,) = lists.problems.errors
    assert error.row == 3 and "row 2" in error.reason
    offcut = {"kind": "offcut", "number": "R-1", "width": "900", "height": "500"}
    assert len(lists.read(offcut, offcut | {"width": "800"})) == 1
    assert lists.problems.errors[0].column == "number"


def test_sheets_too_large_for_the_tables_are_left_out_with_a_note(lists: Lists) -> None:
    shop = replace(SHOP, cutting=CuttingChoice(largest_piece=(mm(3300), mm(2600))))
    pieces = lists.read({}, {"width": "6000", "height": "3210"}, shop=shop)
    assert [p.name for p in pieces] == ["clear-10 3210x2250"]
    assert not lists.problems
    assert lists.problems.notes[0].row == 3 and "left out" in lists.problems.notes[0].reason
    assert [p.width for p in shop_stock(shop) if p.glass == "clear-10"] == [mm(3210)]


def test_the_shops_own_sizes_can_all_be_bought() -> None:
    stock = shop_stock(SHOP)
    assert [p.name for p in stock] == ["clear-10 3210x2250", "clear-10 6000x3210", "clear-6 2000x1000"]
    assert all(p.buyable and p.on_hand == 0 and p.raw == ALL_SIDES for p in stock)
    assert stock[0].trim == TRIM and stock[2].trim == Trim(mm(8), mm(9), mm(10), mm(11))
    assert len({p.name for p in shop_stock(default_shop())}) == len(default_shop().stock_sizes)


def test_a_workbook_with_number_cells(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Kind", "Glass", "Thickness", "Width", "Height", "On hand", "Price", "Buy", "Number"])
    sheet.append(["Sheet", "Clear", 10, 3210.0, 2250, 3.0, 99.1, True, None])
    sheet.append(["offcut", "clear", 10.0, 1200.5, 600, None, None, None, 7.0])
    path = tmp_path / "stock.xlsx"
    book.save(path)
    problems = Problems()
    whole, offcut = read_stock_list(path, SHOP, problems)
    assert not problems.lines()
    assert (whole.cost, whole.on_hand, whole.buyable) == (991_000, 3, True)
    assert (offcut.name, offcut.width) == ("7", mm("1200.5"))


def test_semicolons_with_decimal_commas(lists: Lists) -> None:
    lists.path.write_text(
        "kind;glass;width;height;on hand;price\nsheet;clear-10;3210;2250;1;99,50\n", encoding="utf-8"
    )
    (sheet,) = read_stock_list(lists.path, SHOP, lists.problems)
    assert not lists.problems.lines()
    assert sheet.cost == 995_000


def test_sheets_in_inches(lists: Lists) -> None:
    sheet = lists.one(glass="clear", thickness="3/8", width="130", height="96", unit="in", price="80")
    assert (sheet.width, sheet.height, sheet.glass) == (inch(130), inch(96), "clear-10")
    assert sheet.name == "clear-10 3302x2438.4"


def test_a_machine_asks_for_more_trim(lists: Lists) -> None:
    """20 mm for a machine, 10 mm by hand, at least twice the thickness [common practice]."""
    row = {"glass": "clear-6", "width": "3000", "price": "90"}
    assert lists.one(**row).trim == Trim(mm(12), mm(17), mm(12), mm(17))
    machine = replace(SHOP, table=Table.MACHINE)
    assert lists.one(shop=machine, **row).trim == Trim(mm(20), mm(25), mm(20), mm(25))


def test_all_problems_are_collected_and_a_missing_file_is_one(lists: Lists, tmp_path: Path) -> None:
    lists.read({"width": "x", "on hand": "x", "price": "x"}, {"glass": "mirror"}, {"kind": "x"})
    assert {(p.row, p.column) for p in lists.problems.errors} >= {(2, "width"), (3, "glass"), (4, "kind")}
    problems = Problems()
    assert read_stock_list(tmp_path / "none.csv", SHOP, problems) == []
    assert problems.error_count == 1


@given(
    st.integers(50_00, 12_000_00),
    st.integers(50_00, 12_000_00),
    st.fractions(0, 1, max_denominator=100),
)
def test_the_worth_is_exact_to_half_a_money_unit(width: int, height: int, worth: Fraction) -> None:
    shop = replace(SHOP, offcut_worth=worth)
    price = cheapest(shop, "clear-10")
    assert price is not None
    area = width * height * 10_000**2
    assert abs(offcut_cost(shop, area, price) - worth * price * area) <= Fraction(1, 2)


def test_the_first_word_of_every_column_is_its_name() -> None:
    words = [word for column in COLUMNS for word in column.words]
    assert len(words) == len(set(words))
    assert all(column.words[0] == column.name and column.about for column in COLUMNS)
