"""Due days: the order of sheets, equal panels, late panels, and plans that keep to the days."""

from __future__ import annotations

import contextvars
import json
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.plan_file import dumps, loads
from panewright.io.problems import Problems
from panewright.io.shop_file import read_shop
from panewright.nesting import due_plan, due_repair
from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays, Load
from panewright.nesting.due_days import NEVER, assign, lateness, order_of_sheets
from panewright.nesting.job import Variant
from panewright.nesting.kept import keep_sheets
from panewright.nesting.late import late_of, order_of
from panewright.nesting.optimizer.params import Params
from panewright.nesting.planner import Planner
from panewright.nesting.shop import Shop

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
MONDAY = date(2027, 3, 1)


def late_cost(times, dues, picks):
    late = [(t, dues[i]) for t, i in zip(times, picks, strict=True) if dues[i] < t]
    return len(late), sum(t - d for t, d in late)


@given(
    times=st.lists(st.integers(1, 6), min_size=1, max_size=6).map(sorted),
    data=st.data(),
)
@settings(max_examples=150)
def test_equal_panels_are_handed_out_as_well_as_any_way_can(times, data):
    dues = sorted(data.draw(st.lists(st.integers(0, 7), min_size=len(times), max_size=len(times))))
    picks = assign(times, dues)
    assert sorted(picks) == list(range(len(dues)))
    best = min(late_cost(times, dues, p) for p in permutations(range(len(dues))))
    assert late_cost(times, dues, picks)[0] == best[0]
    if best[0] == 0:
        assert late_cost(times, dues, picks) == best


def test_what_is_late_comes_as_early_as_can_be_had():
    # the panel due at 1 is late wherever it lies: it takes the place at 2, the other waits till its due 4
    assert assign([2, 4], [1, 4]) == [0, 1]


kinds = st.tuples(st.just(0), st.integers(0, 3))
sheets = st.lists(st.dictionaries(kinds, st.integers(1, 2), min_size=1, max_size=3), min_size=1, max_size=5)


@given(contents=sheets, data=st.data())
@settings(max_examples=80)
def test_the_order_is_counted_exactly_and_rarely_worse_than_the_best_of_all(contents, data):
    m = len(contents)
    times = data.draw(st.lists(st.integers(1, 4), min_size=m, max_size=m).map(sorted))
    number = Counter()
    for content in contents:
        number.update(content)
    dues = {
        k: sorted(data.draw(st.lists(st.sampled_from([1, 2, 3, 4, NEVER]), min_size=n, max_size=n)))
        for k, n in sorted(number.items())
    }
    order, late = order_of_sheets(contents, lambda _: times, dues)
    assert sorted(order) == list(range(m))
    assert late == lateness(order, contents, lambda _: times, dues)
    assert late <= lateness(range(m), contents, lambda _: times, dues)
    best = min(lateness(p, contents, lambda _: times, dues) for p in permutations(range(m)))
    assert best <= late
    assert late.panels <= best.panels + 2  # a heuristic, held near to the best


def test_slots_leave_out_weekends_free_days_and_what_is_taken():
    days = CuttingDays(sheets=2, free=frozenset({date(2027, 3, 3)}))
    got = days.slots(date(2027, 3, 2), [Load(1)] * 5, {date(2027, 3, 2): Load(1), date(2027, 3, 4): Load(3)})
    assert got == [date(2027, 3, 2), date(2027, 3, 5), date(2027, 3, 5), date(2027, 3, 8), date(2027, 3, 8)]


def planned(panels, stock, *, sheets=None, start=None, any_order=False, effort=60, kept=None, days=None):
    shop = Shop(cutting_days=days or CuttingDays(sheets=sheets))
    planner = Planner(
        panels, stock, shop, effort=effort, params=QUICK, any_order=any_order, start_day=start, kept=kept
    )
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def due_panels(make_panel, rows, count=1, glass="clear-10"):
    return [
        replace(
            make_panel(w, h, id=f"{glass}{i}/p/{k}", glass=glass),
            due=None if after is None else MONDAY + timedelta(days=after),
        )
        for i, (w, h, after) in enumerate(rows)
        for k in range(1, count + 1)
    ]


@given(
    rows=st.lists(
        st.tuples(st.integers(300, 1600), st.integers(250, 1100), st.sampled_from([None, 0, 0, 1, 2, 4])),
        min_size=3,
        max_size=16,
    ),
    sheets=st.integers(1, 3),
    dated=st.booleans(),
)
@settings(max_examples=12)
def test_every_plan_by_due_days_passes_the_checker(
    rows, sheets, dated, make_panel, make_stock, outsider, tmp_path_factory
):
    panels = due_panels(make_panel, rows[::2]) + due_panels(make_panel, rows[1::2], glass="clear-6")
    stock = [make_stock(3210, 2250, glass=g) for g in ("clear-10", "clear-6")]
    plan = planned(panels, stock, sheets=sheets, start=MONDAY if dated else None, effort=10)
    assert [str(v) for v in check(plan)] == []
    assert loads(dumps(plan)) == plan
    outsider(plan, tmp_path_factory.mktemp("due"))
    assert not plan.unplaced
    days = [x.day for x in plan.layouts]
    if not dated:
        assert set(days) == {None} and late_of(plan) == []
        return
    assert days == sorted(days) and max(Counter(days).values()) <= sheets
    assert all(d >= MONDAY and d.weekday() < 5 for d in days)
    assert plan.extra["late"] == [x.row() for x in late_of(plan)]


def test_no_panel_is_late_where_the_capacity_can_be_met(make_panel, make_stock):
    # one sheet a day; day by day 80 % of a sheet is due, in sizes that the cheapest plan would mix
    rows = [(1400, 1000, d) for d in range(4)] + [(1500, 1050, d) for d in range(4)]
    rows += [(1300, 900, d) for d in range(4)] + [(700, 500, None)] * 6
    panels = due_panels(make_panel, rows)
    stock = [make_stock(3210, 2250)]
    plan = planned(panels, stock, sheets=1, start=MONDAY, effort=400)
    assert late_of(plan) == []
    assert check(plan) == []
    cheapest = planned(panels, stock, effort=400, any_order=True)
    assert len(plan.layouts) >= len(cheapest.layouts)


def test_a_later_panel_may_fill_a_sheet_cut_earlier(make_panel, make_stock):
    panels = due_panels(make_panel, [(1500, 1000, 0), (1500, 1000, 4), (1500, 1000, 4), (1500, 1000, None)])
    plan = planned(panels, [make_stock(3210, 2250)], sheets=1, start=MONDAY)
    assert len(plan.layouts) == 1 and late_of(plan) == []


def test_what_cannot_be_met_is_placed_early_and_reported_as_late(make_panel, make_stock):
    rows = [(3000, 2000, 0), (3000, 2000, 0), (3000, 2000, 0), (3000, 1900, 9)]
    plan = planned(due_panels(make_panel, rows), [make_stock(3210, 2250)], sheets=1, start=MONDAY)
    assert not plan.unplaced
    late = late_of(plan)
    assert [x.day for x in late] == [MONDAY + timedelta(days=1), MONDAY + timedelta(days=2)]
    assert check(plan) == []
    hidden = replace(plan, extra={**plan.extra, "late": []})
    assert {v.rule for v in check(hidden)} == {"late"}
    rushed = replace(plan, layouts=tuple(replace(x, day=MONDAY) for x in plan.layouts))
    assert "cutting days" in {v.rule for v in check(rushed)}


def test_glasses_share_the_days_of_the_table(make_panel, make_stock):
    panels = due_panels(make_panel, [(3000, 2000, 4), (3000, 2000, 1)])
    panels += due_panels(make_panel, [(3000, 2000, 0)], glass="clear-6")
    stock = [make_stock(3210, 2250), make_stock(3210, 2250, glass="clear-6")]
    plan = planned(panels, stock, sheets=1, start=MONDAY)
    assert [x.glass for x in plan.layouts] == ["clear-6", "clear-10", "clear-10"]
    assert late_of(plan) == []


def test_without_a_capacity_the_first_sheets_hold_what_is_due_first(make_panel, make_stock):
    rows = [(1400, 1000, i % 3) for i in range(12)] + [(900, 600, i % 3) for i in range(12)]
    panels = due_panels(make_panel, rows)
    stock = [make_stock(3210, 2250)]
    plan = planned(panels, stock, effort=200)
    assert check(plan) == []
    due = {p.id: p.due for p in panels}
    for after in range(3):
        day = MONDAY + timedelta(days=after)
        alone = len(planned([p for p in panels if p.due <= day], stock, effort=200, any_order=True).layouts)
        last = max(
            x.number for x in plan.layouts for leaf in x.leaves if leaf.panel and due[leaf.panel] <= day
        )
        assert last <= alone + 1


def test_exchanges_between_sheets_save_panels_from_being_late(make_panel, make_stock, monkeypatch):
    # plans made day by day would leave nothing to exchange
    monkeypatch.setattr(due_plan, "stages", lambda *_: iter(()))

    def late(tries, seed):
        monkeypatch.setattr(due_repair, "TRIES", tries)
        rows = [(500 + 37 * (i * seed % 23), 400 + 29 * (i * 7 % 19), i % 5) for i in range(30)]
        plan = planned(
            due_panels(make_panel, rows), [make_stock(3210, 2250)], sheets=1, start=MONDAY, effort=1
        )
        assert check(plan) == []
        return len(late_of(plan)), sum(x.cost for x in plan.layouts)

    without = [late(0, seed) for seed in (3, 5, 11)]
    repaired = [late(150, seed) for seed in (3, 5, 11)]
    assert all(a[0] <= b[0] and a[1] == b[1] for a, b in zip(repaired, without, strict=True))
    assert sum(a for a, _ in repaired) < sum(b for b, _ in without)


def test_kept_sheets_keep_their_days_and_their_share_of_the_capacity(make_panel, make_stock):
    stock = [make_stock(3210, 2250)]
    panels = due_panels(make_panel, [(3000, 2000, 0), (3000, 2000, 1)])
    first = planned(panels, stock, sheets=1, start=MONDAY)
    more = [*panels, replace(make_panel(3000, 1900, id="new/p/1"), due=MONDAY)]
    kept = keep_sheets(first, None, more, stock, Shop())
    plan = planned(more, stock, sheets=1, start=MONDAY, kept=kept)
    assert [x.day for x in plan.layouts] == [MONDAY + timedelta(days=i) for i in range(3)]
    assert [x.panel for x in late_of(plan)] == ["new/p/1"]
    assert check(plan) == []


def test_the_shop_file_states_the_cutting_days(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(
        "[cutting_days]\nsheets = 7\nminutes = 7.5\nminutes_a_sheet = 6\nminutes_a_cut = 0.75\n"
        'working = ["mon", "Tuesday"]\nfree = ["2027-03-08", 2027-12-24]\n',
        encoding="utf-8",
    )
    problems = Problems()
    shop = read_shop(path, problems)
    assert not problems
    free = frozenset({date(2027, 3, 8), date(2027, 12, 24)})
    assert shop.cutting_days == CuttingDays(
        sheets=7, seconds=450, a_sheet=360, a_cut=45, working=frozenset({0, 1}), free=free
    )
    for text in (
        "sheets = 0",
        "minutes = 400",
        "minutes = 0",
        "minutes = 9\nminutes_a_sheet = 10",
        "minutes_a_cut = -1",
        "working = []",
        'working = ["x"]',
        'free = ["2027-13-01"]',
        "free = 3",
        "x = 1",
    ):
        path.write_text(f"[cutting_days]\n{text}\n", encoding="utf-8")
        problems = Problems()
        read_shop(path, problems)
        assert problems.error_count == 1, text


LIST = """order,panel,quantity,width,height,glass,due
K-1,base,2,3000,2000,clear-6,2027-03-01
"""
STOCK = """kind,glass,width,height,on hand,price,buy
sheet,clear-6,3210,2250,9,60,yes
"""


@pytest.mark.parametrize(
    ("shop", "more", "code", "said"),
    [
        ("[cutting_days]\nsheets = 1\n", ["--from", "2027-03-01"], Exit.LEFT_OVER, "Late"),
        ("[cutting_days]\nsheets = 2\n", ["--from", "2027-03-01"], Exit.DONE, "Plan"),
        ("", [], Exit.DONE, "Plan"),
        ("[cutting_days]\nsheets = 1\n", ["--from", "2027-03-01", "--any-order"], Exit.LEFT_OVER, "Late"),
        ("", ["--from", "2027-03-01"], Exit.INPUT, "how much is cut on a working day"),
        ("", ["--from", "1.3.27"], Exit.USAGE, "write a day as in 2027-03-08"),
        ("", ["--from", "2027-02-30"], Exit.USAGE, "the calendar has no such day: 2027-02-30"),
        ("", ["--from", "9999-12-31"], Exit.USAGE, "give a day from 2000 to 2199"),
        (
            "[cutting_days]\nminutes = 10\nminutes_a_cut = 5\n",
            ["--from", "2027-03-01"],
            Exit.LEFT_OVER,
            "longer than the table has on a day, each with a day of its own: 1, 2.",
        ),
    ],
)
def test_the_command_keeps_to_the_due_days(tmp_path, monkeypatch, shop, more, code, said):
    monkeypatch.chdir(tmp_path)
    for name, text in (("panels.csv", LIST), ("stock.csv", STOCK), ("shop.toml", shop)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    args = ["plan", "panels.csv", "--stock", "stock.csv", "--effort", "1", "--out", "out", *more]
    result = contextvars.copy_context().run(CliRunner().invoke, main.app, args)
    assert result.exit_code == code, result.output
    assert said in " ".join(result.output.split())
    if code == Exit.LEFT_OVER:
        raw = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
        assert raw["cutting_days"]["from"] == "2027-03-01"
        assert [x["day"] for x in raw["late"]] == ["2027-03-02"]


def test_a_table_with_minutes_has_days_by_the_cuts_of_the_sheets(make_panel, make_stock):
    days = CuttingDays(seconds=3600, a_sheet=600, a_cut=300)
    rows = [(1500, 1000, i % 3) for i in range(12)] + [(700, 500, None)] * 20
    plan = planned(due_panels(make_panel, rows), [make_stock(3210, 2250)], start=MONDAY, days=days)
    assert check(plan) == []
    assert plan.extra["cutting_days"] == {
        "from": "2027-03-01", "sheets_a_day": None,
        "seconds_a_day": 3600, "seconds_a_sheet": 600, "seconds_a_cut": 300,
    }  # fmt: skip
    spent = Counter()
    for x in plan.layouts:
        spent[x.day] += 600 + 300 * len(x.cuts)
    count = Counter(x.day for x in plan.layouts)
    assert all(spent[d] <= 3600 or count[d] == 1 for d in count) and len(count) > 1
    # what stands on one day takes longer than the table has
    rushed = replace(plan, layouts=tuple(replace(x, day=MONDAY) for x in plan.layouts))
    assert "cutting days" in {v.rule for v in check(rushed)}
    assert loads(dumps(plan)) == plan


def test_a_sheet_longer_than_a_day_has_a_day_of_its_own():
    days = CuttingDays(seconds=100)
    got = days.slots(MONDAY, [Load(1, 60), Load(1, 500), Load(1, 40), Load(1, 60)], {})
    assert got == [MONDAY + timedelta(days=i) for i in (0, 1, 2, 2)]


def test_the_order_of_due_days_is_stated_and_checked(make_panel, make_stock):
    rows = [(1400, 1000, i % 3) for i in range(12)] + [(900, 600, None)] * 12
    plan = planned(due_panels(make_panel, rows), [make_stock(3210, 2250)], effort=100)
    rows = plan.extra["due_order"]
    assert [r["due"] for r in rows] == [(MONDAY + timedelta(days=i)).isoformat() for i in range(3)]
    assert all(1 <= r["sheets"] <= r["alone"] + 1 for r in rows)
    assert all(x.held for x in order_of(plan))
    false = [{**r, "sheets": r["sheets"] + 1} for r in rows]
    assert {v.rule for v in check(replace(plan, extra={"due_order": false}))} == {"due order"}
    assert {v.rule for v in check(replace(plan, extra={"due_order": [7]}))} == {"due order"}
    assert order_of(replace(plan, extra={"due_order": [7]})) is None
    backwards = tuple(replace(x, number=i + 1) for i, x in enumerate(reversed(plan.layouts)))
    assert "due order" in {v.rule for v in check(replace(plan, layouts=backwards))}


@given(
    rows=st.lists(
        st.tuples(st.integers(300, 1600), st.integers(250, 1100), st.sampled_from([None, 0, 1, 2])),
        min_size=4,
        max_size=20,
    ),
)
@settings(max_examples=15)
def test_what_is_due_first_lies_on_the_first_sheets(rows, make_panel, make_stock):
    panels = due_panels(make_panel, rows)
    stock = [make_stock(3210, 2250), make_stock(1600, 1200, cost=2_000_000)]
    plan = planned(panels, stock, effort=5)
    assert check(plan) == [] and not plan.unplaced
    first = order_of(plan) or []
    assert not first or first[0].held
    if len({p.due for p in panels}) > 1:
        assert {x.due for x in first} == {p.due for p in panels} - {None}


def test_any_order_says_nothing_of_due_days(make_panel, make_stock):
    panels = due_panels(make_panel, [(1400, 1000, i % 3) for i in range(12)])
    assert "due_order" not in planned(panels, [make_stock(3210, 2250)], any_order=True).extra


@pytest.mark.parametrize("start", [None, MONDAY])
def test_due_days_and_any_number_of_threads_give_the_same_plan(make_panel, make_stock, start):
    glasses = ("clear-10", "clear-6", "clear-4")
    panels = []
    for k, glass in enumerate(glasses):
        rows = [(600 + 31 * (i * (k + 3) % 19), 500 + 23 * (i * 5 % 17), i * (k + 2) % 4) for i in range(14)]
        panels += due_panels(make_panel, rows, glass=glass)
    stock = [make_stock(3210, 2250, glass=glass) for glass in glasses]
    shop = Shop(cutting_days=CuttingDays(sheets=2))
    found = []
    for workers in (0, 1, 2, 3):
        with ThreadPoolExecutor(max(1, workers)) as threads:
            planner = Planner(
                panels, stock, shop, effort=250, params=QUICK, start_day=start,
                executor=threads if workers else None, workers=workers,
            )  # fmt: skip
            planner.start()
            while planner.advance():
                pass
            found.append(dumps(planner.finish("effort")))
    assert len(set(found)) == 1


def test_a_search_cut_off_at_any_slice_gives_a_whole_plan(make_panel, make_stock):
    # exchanges between sheets touch those that were settled for a due day, too
    rows = [(500 + 37 * (i * 5 % 23), 400 + 29 * (i * 7 % 19), i % 5) for i in range(40)]
    panels, stock = due_panels(make_panel, rows), [make_stock(3210, 2250), make_stock(1600, 1100)]
    for slices in range(0, 90, 6):
        planner = Planner(
            panels, stock, Shop(cutting_days=CuttingDays(sheets=1)), params=QUICK, start_day=MONDAY
        )
        planner.start()
        for _ in range(slices):
            planner.advance()
        plan = planner.finish("time")
        assert check(plan) == [] and not plan.unplaced


def test_a_changed_settled_sheet_stays_changed(make_panel, make_stock):
    panels = due_panels(make_panel, [(1500, 1000, 0), (1500, 1000, 1), (1400, 900, 1)])
    planner = Planner(panels, [make_stock(1600, 1100)], Shop(), params=QUICK)
    planner.start()
    job = planner._jobs[0]
    patterns = job.best.patterns
    variant = Variant.of(job.instance, patterns[:1], 0, QUICK)
    variant.start()
    swapped = [patterns[1], patterns[0], patterns[2]]
    assert sorted(map(id, variant.stocked(swapped))) == sorted(map(id, swapped))


@pytest.mark.parametrize("start", [None, MONDAY])
def test_short_stock_goes_to_what_is_due_first(make_panel, make_stock, start):
    # one sheet alone: it holds all of what is due first, or a little more area of what is not
    panels = due_panels(make_panel, [(1000, 700, 0)] * 8 + [(1060, 1100, 3)] * 6)
    stock = [make_stock(3210, 2250, on_hand=1, buyable=False)]
    plan = planned(panels, stock, start=start, sheets=3, effort=60)
    due = {p.id: p.due for p in panels}
    assert check(plan) == []
    assert sum(due[u.panel] == MONDAY for u in plan.unplaced) == 0
    assert any(due[u.panel] == MONDAY for u in planned(panels, stock, any_order=True, effort=60).unplaced)


def test_every_due_day_is_stated(make_panel, make_stock):
    rows = [(700 + 31 * (i * 5 % 17), 500 + 23 * (i * 3 % 11), i) for i in range(20)]
    plan = planned(due_panels(make_panel, rows), [make_stock(3210, 2250)], effort=60)
    stated = order_of(plan)
    assert [x.due for x in stated] == [MONDAY + timedelta(days=i) for i in range(20)]
    assert [x.alone for x in stated] == sorted(x.alone for x in stated)
    assert all(x.alone <= x.sheets for x in stated)


@pytest.mark.parametrize("start", [None, MONDAY])
def test_of_many_due_days_the_first_is_placed_where_stock_runs_short(make_panel, make_stock, start):
    # the eight due first fill two thirds of the one sheet; more panels fit when some of them are left out
    rows = [(1000, 700, 0)] * 6 + [(1000, 690, 1)] * 6 + [(400, 300, 2)] * 20 + [(700, 600, 3)] * 6
    panels = due_panels(make_panel, rows)
    stock = [make_stock(3210, 2250, on_hand=1, buyable=False)]
    due = {p.id: p.due for p in panels}
    plan = planned(panels, stock, start=start, sheets=3, effort=80)
    assert check(plan) == []
    assert not any(due[u.panel] == MONDAY for u in plan.unplaced)
    assert plan.unplaced


def test_a_glass_with_one_due_day_is_stated_too(make_panel, make_stock):
    plan = planned(due_panels(make_panel, [(1400, 1000, 2)] * 9), [make_stock(3210, 2250)])
    sheets = len(plan.layouts)
    assert [(x.due, x.alone, x.sheets) for x in order_of(plan)] == [
        (MONDAY + timedelta(days=2), sheets, sheets)
    ]


def test_of_equal_sheets_an_exchange_changes_one(make_panel, make_stock):
    # a plan that takes a pattern twice may hold one object twice
    panels = due_panels(make_panel, [(1500, 1000, 0), (1400, 900, 1), (900, 600, 1)])
    planner = Planner(panels, [make_stock(1600, 1100)], Shop(), params=QUICK)
    planner.start()
    twice, other, new = planner._jobs[0].best.patterns
    assert due_plan.replaced([twice, twice, other], [twice, other], [new, new]) == [new, twice, new]
    assert due_plan.replaced([twice, twice, other], [twice, twice], [other, new]) == [other, new, other]
