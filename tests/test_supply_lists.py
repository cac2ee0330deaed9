"""Supply lists, lists of what is on order, and the buying table of the shop file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.arriving_list import read_arriving
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop, read_shop
from panewright.io.supply_list import COLUMNS, read_supply, supply_of_shop
from panewright.nesting.buying.settings import Arriving, BuyingSettings, PriceStep
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.demand.shut_weeks import shut_weeks
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.units import mm

HEAD = "glass,width,height,supplier,price,from sheets,lead days,lead spread,case,least,freight,freight a sheet,unit"
SHOP = default_shop()
ARRIVING = "glass,width,height,sheets,day,supplier,price,ordered"


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., tuple[list, Problems]]:
    def make(*rows: str, head: str = HEAD, reader: Callable = read_supply) -> tuple[list, Problems]:
        path = tmp_path / "list.csv"
        path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
        problems = Problems()
        return reader(path, SHOP, problems), problems

    return make


def test_rows_of_one_size_and_supplier_are_its_prices(read) -> None:
    found, problems = read(
        "clear-10,3210,2250,A,125.67,,3,1,,,45,0.50,",
        "clear-10,3210,2250,A,110.00,24,,,,,,,",
        "clear-10,3210,2250,A,117.5,12,3,,,,,,",
        "clear-10,3210,2250,B,99,,14,4,12,12,90,,",
        'clear-10,"144","96",,150,,,,,,,,in',
    )
    assert list(problems) == []
    first, other, inch = found
    assert first.prices == (PriceStep(sheets=1, price=1_256_700), PriceStep(sheets=12, price=1_175_000),
                            PriceStep(sheets=24, price=1_100_000))  # fmt: skip
    assert (first.lead_days, first.lead_spread, first.case, first.least) == (3, 1, 1, 1)
    assert (first.freight, first.freight_a_sheet) == (450_000, 5_000)
    assert (other.supplier, other.case, other.least, other.lead_days, other.lead_spread) == (
        "B",
        12,
        12,
        14,
        4,
    )
    assert (inch.name, inch.supplier, inch.lead_days) == ("clear-10 3657.6x2438.4", "", 7)


def test_what_the_list_leaves_open_is_that_of_the_shop_file(read) -> None:
    ((found,), problems) = read("clear-10,2250,3210,,,,,,,,,,")
    assert not list(problems)
    assert (found.name, found.prices, found.lead_days) == (
        "clear-10 3210x2250", (PriceStep(sheets=1, price=1_256_700),), 3,
    )  # fmt: skip
    ((patterned,), _) = read("patterned-4,2250,3210,,80,,,,,,,,")
    assert patterned.name == "patterned-4 2250x3210"


def test_a_first_price_for_many_is_a_least_order(read) -> None:
    ((found,), problems) = read("clear-10,3210,2250,A,90,20,,,,5,,,")
    assert found.least == 20 and found.prices == (PriceStep(sheets=1, price=900_000),)
    assert "least order" in problems.notes[0].reason


BAD = [
    (["clear-10,3210,2250,A,0,,,,,,,,"], "price", "price is 0"),
    (["clear-10,3660,2440,A,,,,,,,,,"], "price", "neither the list nor the shop file"),
    (["clear-10,3210,2250,A,9999999,,,,,,,,"], "price", "more than"),
    (["clear-10,3210,2250,A,-5,,,,,,,,"], "price", "negative"),
    (["clear-10,3210,2250,A,50,0,,,,,,,"], "from sheets", "1 to 100000"),
    (["clear-10,3210,2250,A,50,,2000,,,,,,"], "lead days", "0 to 1000"),
    (["clear-10,3210,2250,A,50,,,,0,,,,"], "case", "1 to 100000"),
    (["clear-10,32100,2250,A,50,,,,,,,,"], "width", "not within"),
    (["toughened-10,3210,2250,A,50,,,,,,,,"], "glass", "cannot be cut"),
    (
        ["clear-10,3210,2250,A,50,,,,,,,,", "clear-10,3210,2250,A,49,,,,,,,,"],
        "from sheets",
        "row 2 has a price",
    ),
    (["clear-10,3210,2250,A,50,,,,2,,,,", "clear-10,3210,2250,A,49,9,,,3,,,,"], "case", "something else"),
    (["clear-10,3210,2250,A\u202e,50,,,,,,,,"], "supplier", "printed"),
]


@pytest.mark.parametrize(("rows", "column", "words"), BAD)
def test_what_no_supplier_can_mean_is_told_with_its_place(
    read, rows: list[str], column: str, words: str
) -> None:
    _, problems = read(*rows)
    (problem,) = problems.errors
    assert (problem.row, problem.column) == (len(rows) + 1, column) and words in problem.reason
    assert problem.remedy


def test_what_looks_like_a_slip_is_noted(read) -> None:
    found, problems = read(
        "clear-10,3210,2250,A,50,,3,9,,,,,",
        "clear-10,3210,2250,A,55,10,,,,,,,",
        "clear-10,400,300,A,9,,,,,,,,",
    )
    assert len(found) == 2 and not problems
    assert [p.column for p in problems.notes] == ["price", "lead spread"]


def test_sizes_that_fit_no_table_are_left_out(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text("[cutting]\nlargest_piece = [4000, 3000]\n", encoding="utf-8")
    problems = Problems()
    shop = read_shop(tmp_path / "shop.toml", Problems())
    (tmp_path / "s.csv").write_text(f"{HEAD}\nclear-10,6000,3210,A,300,,,,,,,,\n", encoding="utf-8")
    assert read_supply(tmp_path / "s.csv", shop, problems) == [] and "too large" in problems.notes[0].reason
    (tmp_path / "a.csv").write_text(f"{ARRIVING}\nclear-10,6000,3210,3,2027-03-09,,,\n", encoding="utf-8")
    assert read_arriving(tmp_path / "a.csv", shop, problems) == [] and len(problems.notes) == 2
    own = supply_of_shop(shop)
    assert own and all(max(s.width, s.height) <= mm(4000) for s in own)


def test_the_shop_file_alone_is_a_supply() -> None:
    shop = default_shop()
    found = supply_of_shop(shop)
    assert [s.name for s in found] == [s.name for s in shop.stock_sizes]
    assert {s.lead_days for s in found} == {3, 5} and all(s.supplier == "" for s in found)


def test_what_is_on_order(read) -> None:
    found, problems = read(
        "clear-10,2250,3210,12,2027-03-19,A,99.5,2027-03-01", "clear-10,3660,2440,3,2027-03-20,,,",
        head=ARRIVING, reader=read_arriving,
    )  # fmt: skip
    assert not list(problems)
    assert found == [
        Arriving(name="clear-10 3210x2250", sheets=12, day=date(2027, 3, 19)),
        Arriving(name="clear-10 3660x2440", sheets=3, day=date(2027, 3, 20)),
    ]


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("clear-10,3210,2250,0,2027-03-19,,,", "sheets"),
        ("clear-10,3210,2250,1,,,,", "day"),
        ("clear-10,3210,2250,1,2027-03-19,,,2027-03-20", "day"),
        ("clear-10,3210,2250,1,2127-03-19,,,2027-03-20", "day"),
        ("clear-10,3210,2250,1,2027-03-19,,1e9,", "price"),
        ("clear-10,,2250,1,2027-03-19,,,", "width"),
    ],
)
def test_what_cannot_be_on_order(read, row: str, column: str) -> None:
    found, problems = read(row, head=ARRIVING, reader=read_arriving)
    assert found == [] and [p.column for p in problems.errors] == [column]


cell = st.text(
    st.characters(exclude_characters="\r\n", exclude_categories=["Cs"]), max_size=10
) | st.sampled_from(
    ["-1", "1e99", "NaN", "=A1", "3210", "clear-10", "2027-03-09", "0", "12,5", "in", "unlimited"]
)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.lists(cell, min_size=13, max_size=13), max_size=4))
def test_garbage_never_gives_more_than_problems(tmp_path_factory, rows: list[list[str]]) -> None:
    import csv

    path = tmp_path_factory.getbasetemp() / "supply.csv"
    for head, reader in ((HEAD, read_supply), (ARRIVING, read_arriving)):
        wide = len(head.split(","))
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows([head.split(","), *(row[:wide] for row in rows)])
        problems = Problems()
        reader(path, SHOP, problems)
        assert all(p.reason for p in problems)


def test_the_sample_lists_read_without_a_word() -> None:
    folder = Path(str(files("panewright.samples")))
    problems = Problems()
    shop = read_shop(folder / "shop.toml", problems)
    supply = read_supply(folder / "supply.csv", shop, problems)
    coming = read_arriving(folder / "on-order.csv", shop, problems)
    assert list(problems) == []
    assert {s.name for s in shop.stock_sizes if s.glass == "clear-10"} < {s.name for s in supply}
    assert any(len(s.prices) > 1 for s in supply) and any(s.case > 1 and s.lead_spread for s in supply)
    assert {a.name for a in coming} <= {s.name for s in supply} and len(coming) == 3
    head = (folder / "supply.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    assert set(head) <= {c.name for c in COLUMNS}


def _buying(tmp_path: Path, text: str) -> tuple[BuyingSettings, Problems]:
    (tmp_path / "shop.toml").write_text(f"[buying]\n{text}", encoding="utf-8")
    problems = Problems()
    return read_shop(tmp_path / "shop.toml", problems).buying, problems


def test_how_the_shop_buys(tmp_path: Path) -> None:
    found, problems = _buying(
        tmp_path,
        "service = 0.975\nreview_weeks = 2\nholding = 0.25\norder_cost = 12.5\nshort_cost = 0\n"
        'storage_kg = 12000\nshut = [["2027-12-20", 2028-01-02], ["2027-08-02", "2027-08-15"]]\n'
        "[buying.service_for]\nclear-12 = 0.99\n[buying.storage_sheets]\nclear-12 = 30\n",
    )
    assert not problems
    assert found == BuyingSettings(
        service=Fraction("0.975"),
        service_for={"clear-12": Fraction("0.99")},
        review_weeks=2,
        holding=Fraction(1, 4),
        order_cost=125_000,
        short_cost=0,
        storage_kg=12_000,
        storage_sheets={"clear-12": 30},
        shut=((date(2027, 8, 2), date(2027, 8, 15)), (date(2027, 12, 20), date(2028, 1, 2))),
    )
    weeks = shut_weeks(found.shut, CuttingDays())
    assert sorted(map(week_name, weeks)) == ["2027-W31", "2027-W32", "2027-W51", "2027-W52"]
    half = shut_weeks([(date(2027, 12, 21), date(2027, 12, 24))], CuttingDays())
    assert half == frozenset()
    assert (
        len(
            shut_weeks(
                [(date(2027, 12, 21), date(2027, 12, 24))], CuttingDays(free=frozenset({date(2027, 12, 20)}))
            )
        )
        == 1
    )


@pytest.mark.parametrize(
    "text",
    [
        "service = 1", "service = 0.4", 'service = "95 %"', "review_weeks = 0", "holding = 3", "holding = -1",
        "order_cost = -1", "storage_kg = 1", 'storage_kg = "much"', "shut = 5", 'shut = ["2027-12-20"]',
        'shut = [["2027-12-20"]]', 'shut = [["2027-12-20", "2027-12-19"]]', 'shut = [["2027-02-30", "2027-03-01"]]',
        'shut = [["2027-01-01", "2027-12-31"]]', "[buying.service_for]\nclear-99 = 0.9",
        "[buying.service_for]\nclear-12 = 1.5", "[buying.storage_sheets]\nclear-12 = 2.5", "lead = 3",
    ],
)  # fmt: skip
def test_settings_out_of_range_keep_their_built_in_value(tmp_path: Path, text: str) -> None:
    found, problems = _buying(tmp_path, text)
    assert problems.error_count == 1 and problems.errors[0].remedy
    assert found == BuyingSettings()
