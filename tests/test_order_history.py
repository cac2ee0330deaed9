"""Order histories: the rows of order lists with their days, hostile ones too, and open orders as lines of the book."""

from __future__ import annotations

import json
import runpy
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from importlib.resources import files
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io import order_history
from panewright.io.open_orders import history_beside, open_orders
from panewright.io.order_booked import HISTORY_COLUMNS
from panewright.io.order_history import COLUMNS_OF_HISTORY, VARIES, read_history
from panewright.io.order_lists import read_orders
from panewright.io.plan_file import dumps, loads
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop, read_shop
from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.products import ordered_together, product_of
from panewright.nesting.demand.shut_weeks import shut_weeks
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.plan_id import plan_id
from panewright.nesting.shop import Shop
from panewright.nesting.units import mm

SHOP = default_shop()
TODAY = date(2027, 3, 8)
HEAD = "order,panel,quantity,shape,length,width,height,glass,rim,booked,product,due,cut,cancelled,remake,tank"
TANK = (
    "K-{n},,{q},rectangle,600,400,340,clear-6,rimless,{booked},{product},{due},{cut},{gone},{remake},{tank}"
)


def _row(n: int = 1, q: object = "", **more: object) -> str:
    days = {"booked": "2027-02-01", "due": "2027-02-10", "cut": "2027-02-11"}
    words = {"product": "", "gone": "", "remake": "", "tank": ""}
    return TANK.format(n=n, q=q, **(days | words | more))


@pytest.fixture
def history(tmp_path: Path) -> Callable[..., tuple[list[BookedOrder], Problems]]:
    def read(*rows: str, head: str = HEAD, today: date | None = TODAY) -> tuple[list[BookedOrder], Problems]:
        path = tmp_path / "old.csv"
        path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
        problems = Problems()
        return read_history([path], SHOP, problems, today=today), problems

    return read


def test_a_row_is_one_line_with_all_its_panels(history) -> None:
    (line,), problems = history(_row(q=3, product="breeding  row"))
    assert list(problems) == []
    assert (line.order, line.product, line.remake, line.cancelled) == ("K-1", "breeding row", False, None)
    assert (line.booked, line.due, line.cut) == (date(2027, 2, 1), date(2027, 2, 10), date(2027, 2, 11))
    assert len(line.panels) == 15 == len({p.id for p in line.panels})
    assert {p.name for p in line.panels} == {"base", "front", "back", "left", "right"}
    assert {(p.order, p.due, p.booked) for p in line.panels} == {("K-1", line.due, line.booked)}


def test_the_panels_are_those_of_the_order_list(tmp_path: Path) -> None:
    """The cheap way of years gives the glass that planning them gave."""
    shop = read_shop(Path(str(files("panewright.samples") / "shop.toml")), Problems())
    with_days = []
    for name in ("week-tanks.csv", "week-singles.csv"):
        path = Path(str(files("panewright.samples") / name))
        problems = Problems()
        orders = read_orders([path], shop, problems)
        found = read_history([path], shop, problems, today=TODAY)
        assert not problems
        mine = [(p.id, p.glass, p.cut, p.edges) for p in orders.panels]
        assert sorted(mine) == sorted((p.id, p.glass, p.cut, p.edges) for o in found for p in o.panels)
        with_days += found
    assert {o.cut for o in with_days} == {None}


def test_equal_rows_are_made_once_and_unequal_ones_are_not(history, monkeypatch) -> None:
    made = []
    real = order_history.built_as_ordered
    monkeypatch.setattr(order_history, "built_as_ordered", lambda *a: made.append(a[0].name) or real(*a))
    rows = [_row(n, tank=f"T{n}") for n in range(50)]
    found, problems = history(*rows, _row(99).replace("600,400", "610,400"))
    assert len(found) == 51 and not problems and len(made) == 2
    assert found[7].panels[0].name == "T7 base" and found[50].panels[0].name == "base"
    assert {c.name for c in HISTORY_COLUMNS} <= VARIES <= {c.name for c in COLUMNS_OF_HISTORY}


def test_single_panels_alone_are_a_history_too(history) -> None:
    head = "order,panel,quantity,width (mm),height (mm),glass,due,cut,remake"
    found, problems = history(
        "A,front,2,900,450,clear-10,2027-02-10,2027-02-10,",
        "A,back,,900,450,clear-10,2027-02-10,,yes",
        head=head,
    )
    assert not problems
    assert [(o.product, len(o.panels), o.remake, o.booked) for o in found] == [
        ("single panels clear-10", 2, False, None),
        ("single panels clear-10", 1, True, None),
    ]
    assert [p.id for o in found for p in o.panels] == ["A/front/1", "A/front/2", "A/back/1"]


def test_json_and_a_workbook_say_the_same_as_csv(tmp_path: Path) -> None:
    row = {
        "order": "A", "shape": "rectangle", "length": 900, "width": 450, "height": 450, "glass": "clear-10",
        "rim": "rimless", "booked": "2027-02-01", "due": "2027-02-09", "cut": "2027-02-09",
    }  # fmt: skip
    (tmp_path / "a.json").write_text(json.dumps({"history": [row]}), encoding="utf-8")
    book = openpyxl.Workbook()
    book.active.append(list(row))
    book.active.append([date.fromisoformat(v) if str(v).startswith("2027") else v for v in row.values()])
    book.save(tmp_path / "a.xlsx")
    problems = Problems()
    one, other = (read_history([tmp_path / n], default_shop(), problems) for n in ("a.json", "a.xlsx"))
    assert one == other and len(one) == 1 and not problems


BAD = [
    ({"cut": "2027-01-31"}, "cut", "before it was booked"),
    ({"gone": "2027-01-30", "cut": ""}, "cancelled", "before it was booked"),
    ({"due": "1027-02-10"}, "due", "year"),
    ({"due": "2072-02-10"}, "cut", "two years apart"),
    ({"booked": "2017-02-01"}, "cut", "two years apart"),
    ({"cut": "9.2.2027"}, "cut", "either way"),
    ({"due": "", "cut": ""}, "due", "counts in no week"),
    ({"q": "10000"}, "quantity", "1 to 1000"),
    ({"q": "1e9"}, "quantity", "1 to 1000"),
    ({"remake": "perhaps"}, "remake", "neither yes nor no"),
    ({"product": "x" * 61}, "product", "60 characters"),
    ({"due": "2031-02-10", "booked": "", "cut": ""}, "due", "two years ahead"),
]


@pytest.mark.parametrize(("more", "column", "words"), BAD)
def test_what_cannot_be_is_told_with_its_place(history, more: dict, column: str, words: str) -> None:
    found, problems = history(_row(1), _row(2, **more))
    (problem,) = problems.errors
    assert (problem.row, problem.column) == (3, column) and words in problem.reason and problem.remedy
    assert [o.order for o in found][:1] == ["K-1"]


def test_a_return_is_left_out_and_heard(history) -> None:
    found, problems = history(_row(1), _row(2, q="-2"), _row(3, q="\u22121"))
    assert [o.order for o in found] == ["K-1"]
    assert not problems and [p.value for p in problems.warnings] == ["-2", "\u22121"]


def test_an_error_in_equal_rows_is_told_of_each(history) -> None:
    found, problems = history(*(_row(n).replace("rectangle", "egg") for n in (1, 2)))
    assert found == [] and [p.row for p in problems.errors] == [2, 3]


def test_open_rows_and_rows_that_lie_ahead(history) -> None:
    found, problems = history(
        _row(1, cut="", due="2026-12-20", booked="2026-12-01"),
        _row(2, cut="", due="2027-03-01"),
        _row(3, cut="2027-03-09"),
        _row(4, cut="2027-02-20", gone="2027-02-15"),
    )
    assert not problems and [o.cut is None for o in found] == [True, True, False, False]
    cut_anyway, open_long, ahead = (p.reason for p in problems.notes)
    assert "78 days ago" in open_long and "counts as cut" in cut_anyway and "after 2027-03-08" in ahead
    book = OrderBook(today=TODAY, orders=tuple(found), first_week=0).as_known(TODAY)
    assert [o.order for o in book.open] == ["K-1", "K-2", "K-3"] and [o.order for o in book.past] == ["K-4"]


def test_without_a_day_the_last_thing_that_happened_is_today(history) -> None:
    _, problems = history(_row(1, cut="", due="2027-01-02", booked="2027-01-01"), _row(2), today=None)
    assert ["40 days ago" in p.reason for p in problems.notes] == [True]


def test_rows_that_stand_twice_are_heard(history, tmp_path: Path) -> None:
    found, problems = history(_row(1), _row(2), _row(1))
    assert len(found) == 3 and [p.row for p in problems.warnings] == [4]
    problems = Problems()
    again = tmp_path / "again.csv"
    again.write_bytes((tmp_path / "old.csv").read_bytes() + f"{_row(9)}\n".encode())
    found = read_history([tmp_path / "old.csv", again], default_shop(), problems, today=TODAY)
    assert [o.order for o in found] == ["K-1", "K-2", "K-1", "K-9"]
    assert "3 rows stand word for word in" in problems.warnings[-1].reason


def test_no_history_holds_more_panels_than_its_limit(history, monkeypatch) -> None:
    monkeypatch.setattr(order_history, "MAX_PANELS", 12)
    found, problems = history(*(_row(n) for n in range(5)))
    assert len(found) == 2 and "more than 12 panels" in problems.errors[0].reason


def test_empty_histories_are_told(tmp_path: Path, history) -> None:
    problems = Problems()
    assert read_history([], default_shop(), problems) == [] and not problems
    found, problems = history()
    assert found == [] and "no rows" in problems.notes[0].reason
    assert read_history([tmp_path / "none.csv"], default_shop(), problems) == [] and problems.error_count == 1


cell = st.text(
    st.characters(exclude_characters="\r\n", exclude_categories=["Cs"]), max_size=12
) | st.sampled_from(
    [
        "-1",
        "1027-01-01",
        "2027-02-30",
        "NaN",
        "=1+1",
        "1e99",
        "2027-02-10",
        "yes",
        "rectangle",
        "clear-6",
        "0",
        "|",
    ]
)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.lists(cell, min_size=16, max_size=16), max_size=4))
def test_garbage_never_gives_more_than_problems(tmp_path_factory, rows: list[list[str]]) -> None:
    import csv

    path = tmp_path_factory.getbasetemp() / "garbage.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([HEAD.split(","), *rows])
    problems = Problems()
    found = read_history([path], SHOP, problems, today=TODAY)
    assert all(o.panels and o.due.year >= 2000 for o in found)
    assert all(p.reason for p in problems)


def _sample(shop: Shop) -> list[BookedOrder]:
    problems = Problems()
    found = read_history(
        [Path(str(files("panewright.samples") / "history.csv"))], shop, problems, today=TODAY
    )
    assert list(problems) == []
    return found


def test_the_sample_history_is_what_its_script_makes_and_reads_without_a_word() -> None:
    made = runpy.run_path(str(Path(__file__).parent / "make_history_sample.py"))["text"]()
    assert (files("panewright.samples") / "history.csv").read_text(encoding="utf-8") == made
    shop = read_shop(Path(str(files("panewright.samples") / "shop.toml")), Problems())
    found = _sample(shop)
    book = OrderBook(today=TODAY, orders=tuple(found), first_week=week_of(TODAY) - 104)
    weeks = {o.week for o in book.past}
    shut = shut_weeks(shop.buying.shut, shop.cutting_days)
    assert len(shut) == 2 and not shut & weeks
    assert weeks | shut == set(range(book.first_week, book.this_week))
    assert 9 <= len(book.past) / 102 <= 12
    assert len({o.product for o in found}) <= 8 and any(o.remake for o in found)
    assert any(o.cancelled for o in found) and len(book.open) > 10
    assert all(o.booked is not None and o.booked <= TODAY and (o.cut or o.due) >= o.booked for o in found)


def test_orders_of_lists_are_open_lines(tmp_path: Path) -> None:
    path = tmp_path / "open.csv"
    path.write_text(
        "order,quantity,shape,panel,length,width,height,glass,rim,booked,product,due\n"
        "A,2,rectangle,,600,400,340,clear-6,rimless,2027-03-01,rows,2027-03-15\n"
        "A,3,,lid,,420,310,clear-6,,,,\n"
        "B,1,octagon,,600,,450,clear-10,rimless,2027-04-01,,2027-03-16\n",
        encoding="utf-8",
    )
    problems = Problems()
    orders = read_orders([path], default_shop(), problems)
    assert not problems, problems.lines()
    problems = Problems()
    lines = open_orders(orders, TODAY, problems=problems)
    assert [(o.order, o.product, o.booked, o.due, len(o.panels)) for o in lines] == [
        ("A", "rows", date(2027, 3, 1), date(2027, 3, 15), 10),
        ("A", "single panels clear-6", TODAY, TODAY, 3),
        ("B", "shaped tanks clear-10", TODAY, date(2027, 3, 16), 9),
    ]
    assert [p.reason[:5] for p in problems.notes] == ["1 row", "1 row"]
    assert [p for o in lines for p in o.panels] == orders.panels
    old = [
        BookedOrder(order=name, product="x", booked=None, due=TODAY, cut=cut)
        for name, cut in (("A", None), ("A", TODAY), ("C", None))
    ]
    assert [(o.order, o.cut) for o in history_beside(old, lines)] == [("A", TODAY), ("C", None)]


def test_a_plan_keeps_booking_day_and_product_and_old_plans_stay_as_they_were(
    hand_plan, outsider, tmp_path: Path
) -> None:
    said = replace(hand_plan.panels[0], booked=date(2027, 2, 22), product="tanks")
    plan = replace(hand_plan, panels=(said, *hand_plan.panels[1:]))
    text = dumps(plan)
    assert loads(text).panels == plan.panels and plan_id(plan.seed, plan.layouts) == hand_plan.id
    outsider(plan, tmp_path)
    assert text.count('"booked"') == text.count('"product"') == 1 and '"booked"' not in dumps(hand_plan)


def test_products_are_few_and_told_by_the_panels_alone(make_panel) -> None:
    def panels(*names: str, glass: str = "clear-6") -> Sequence:
        return [make_panel(600, 400, id=f"A/{name}/1", glass=glass) for name in names]

    tank = ("base", "front", "back", "left", "right")
    assert product_of(panels(*tank)) == "rectangle tanks clear-6"
    odd = [make_panel(id="A/base/1", outline=((0, 0), (mm(600), 0), (mm(300), mm(500)))), *panels(*tank[1:4])]
    assert product_of(odd) == "shaped tanks clear-6"
    assert (
        product_of([*panels(*tank[:2]), make_panel(2000, 900, glass="clear-12")]) == "single panels clear-12"
    )
    assert product_of(panels("base")) == "single panels clear-6"
    mixed = panels("shelf", "big base", "big front", *tank, "lid")
    together = [[p.name for p in group] for group in ordered_together(mixed)]
    assert together == [["shelf", *tank, "lid"], ["big base", "big front"]]
    assert [[p.name for p in g] for g in ordered_together(panels("shelf", "lid", "shelf"))] == [
        ["shelf", "shelf"],
        ["lid"],
    ]
