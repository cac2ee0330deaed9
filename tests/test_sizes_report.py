"""The study of stock sizes and its report: what it finds, what stays after an interrupt, and what it says of bad calls."""

from __future__ import annotations

import contextvars
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli.main import app
from panewright.io.shop_file import default_shop
from panewright.io.sizes_desk import without_limits
from panewright.io.sizes_report import sizes_report
from panewright.nesting.assortment.demand import Demand
from panewright.nesting.assortment.offers import offers_of
from panewright.nesting.assortment.safety import size_stock
from panewright.nesting.assortment.study import Study
from panewright.nesting.buying.settings import BuyingSettings, PriceStep, Supply
from panewright.nesting.outlines import rectangle
from panewright.nesting.shop import CuttingChoice, Shop, StockSize
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.kinds import Kind

GLASS = "clear-10"
SIZES = ((3000, 2000), (2400, 1600), (6000, 3210))


def shop() -> Shop:
    made = default_shop()
    stocked = StockSize(glass=GLASS, width=mm(3000), height=mm(2000), price=1_800_000)
    return replace(
        made, stock_sizes=(stocked,), cutting=CuttingChoice(largest_piece=(mm(3500), mm(2500)), levels=3)
    )


def week(*rows: tuple[int, int, int]) -> tuple[Kind, ...]:
    return tuple(sorted(Kind(rectangle(mm(w), mm(h)), "any", False, False, "", n) for w, h, n in rows))


def study(*, most: int = 2) -> Study:
    demand = Demand(
        glass=GLASS,
        weeks=((1, week((1200, 500, 4), (700, 450, 6))), (3, week((610, 330, 9))), (4, week((4000, 200, 1)))),
        number=4,
    )
    supplies = [
        Supply(
            name=f"{GLASS} {w}x{h}", glass=GLASS, width=mm(w), height=mm(h), lead_days=14,
            prices=(PriceStep(sheets=1, price=3 * w * h // 10),),
        )
        for w, h in SIZES
    ]  # fmt: skip
    offers = offers_of(supplies, GLASS, shop(), demand.a_year(demand.area))
    return Study(demand, offers, [f"{GLASS} 3000x2000"], shop(), most=most, effort=3)


@pytest.fixture(scope="module")
def whole() -> Study:
    made = study()
    for _ in made.steps():
        pass
    return made


def test_the_study_plans_the_stocked_sizes_and_the_best(whole: Study) -> None:
    assert [o.name for o in whole.too_large] == [f"{GLASS} 6000x3210"]
    # the long panel lies on no size that the table takes
    assert [why.rule for _, why in whole.found.refused] == ["larger than every sheet"]
    assert len(whole.found.demand.weeks) == 2
    planned = whole.found.best_first()
    assert any(s.stocked for s in planned)
    for one in planned:
        assert one.planned is not None
        assert one.lp is not None
        assert whole.a_year(one.lp.bound) <= whole.found.demand.a_year(one.planned.cost)
        assert len(one.stock) == len(one.sizes)
    assert [r.proved for r in whole.found.sets.rankings if whole.found.sets] == [True, True]


def test_rules_are_told_with_what_they_cost(whole: Study) -> None:
    told = {(c.change.rule, c.change.rules.levels) for c in whole.found.rules}
    assert {("break-out distance", 3), ("levels", 2), ("levels", None), ("larger table", 3)} <= told
    assert sum(c.change.rule == "offcuts" for c in whole.found.rules) == 2
    half = next(c for c in whole.found.rules if c.change.rule == "break-out distance")
    assert half.by_lp is not None
    assert half.by_lp >= 0
    two = next(c for c in whole.found.rules if c.change.rule == "levels" and c.change.rules.levels == 2)
    assert two.lp_share is not None
    assert -0.2 < two.lp_share <= 0.005
    assert half.change.rules.break_out < whole.rules.break_out


def test_the_report_has_every_subject(whole: Study) -> None:
    report = sizes_report([whole], about="two weeks")
    assert [s.name for s in report.subjects] == [
        "Sets of sizes", "Price-break list", "Best by the LP", "Stock of each size", "Rules", "Weeks",
    ]  # fmt: skip
    for subject in report.subjects:
        for table in subject.tables:
            assert all(len(row) == len(table.columns) for row in table.rows), table.title
    assert report.lead
    assert any("too large for the table" in line for line in report.subjects[0].words)
    totals = [row[6] for row in report.subjects[0].tables[0].rows]
    assert totals == sorted(totals, key=int)


def test_what_was_found_before_an_interrupt_is_told() -> None:
    made = study()
    for stage in made.steps():
        if stage == "sets":
            break
    report = sizes_report([made], about="two weeks", stopped=True)
    assert report.lead[0].startswith("Stopped before the end")
    assert next(t.rows for s in report.subjects for t in s.tables if s.name == "Price-break list")


def test_the_best_is_the_cheapest_in_glass_and_holding_and_no_size_makes_it_dearer(whole: Study) -> None:
    found = whole.found
    planned = found.best_first()
    assert [found.a_year(s) for s in planned] == sorted(found.a_year(s) for s in planned)
    for more in planned:
        for fewer in planned:
            if set(fewer.sizes) < set(more.sizes) and fewer.planned and more.planned:
                assert more.planned.cost <= fewer.planned.cost
    for cost in found.rules:
        if cost.change.rule in ("break-out distance", "longest score") and cost.by_plans is not None:
            assert cost.by_plans >= 0


def test_stopped_before_the_plans_the_best_of_the_lp_is_told() -> None:
    made = study()
    for stage in made.steps():
        if stage == "sets" and made.found.sets and any(r.best for r in made.found.sets.rankings):
            break
    assert not made.found.studies
    lead = sizes_report([made], about="two weeks", stopped=True).lead
    assert any("by the LP alone" in line for line in lead), lead


def test_an_interrupt_in_a_plan_leaves_the_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    made = study(most=1)

    def stopped(done: int, total: int) -> None:
        if done == total:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        for _ in made.steps(None, stopped):
            pass
    assert made.found.sets is not None
    assert made.found.best_first()


def test_safety_stock_by_the_square_root_formula() -> None:
    """z = 1.645 at 95 %; 2 weeks of lead time and 1 of review, s = 2: 1.645 * 2 * sqrt(3) = 5.7, rounded up."""
    terms = Supply(
        name="a", glass=GLASS, width=1, height=1, prices=(PriceStep(sheets=1, price=100),), lead_days=14
    )
    found = size_stock(terms, 100, 10, [2, 6, 2, 6], 4, BuyingSettings())
    assert (found.mean, found.safety, found.cycle) == (4.0, 6, 5)
    assert found.cost == 220


def test_tables_without_limits_take_every_sheet() -> None:
    assert without_limits(shop()).rules(GLASS).largest_piece is None


@pytest.fixture
def lists(tmp_path: Path) -> Iterator[Path]:
    (tmp_path / "history.csv").write_text(
        "order,panel,quantity,width,height,glass,edges,booked,due,cut\n"
        "H-1,side,4,1200,500,clear-10,cut,2027-01-04,2027-01-11,2027-01-12\n"
        "H-2,side,6,700,450,clear-10,cut,2027-01-11,2027-01-18,2027-01-19\n",
        encoding="utf-8",
    )
    (tmp_path / "offers.csv").write_text(
        "glass,width,height,price,case\nclear-10,3000,2000,180,1\nclear-10,2400,1600,120,1\n",
        encoding="utf-8",
    )
    yield tmp_path


def call(*words: str) -> tuple[int, str]:
    # what the run sets for its texts stays in it
    result = contextvars.copy_context().run(CliRunner().invoke, app, ["sizes", *words])
    return result.exit_code, result.output


def test_a_size_that_nobody_offers_is_refused(lists: Path) -> None:
    code, text = call(
        "--history", str(lists / "history.csv"), "--offers", str(lists / "offers.csv"), "--on", "2027-02-01",
        "--now", "1x1", "--glass", GLASS, "--workers", "1",
    )  # fmt: skip
    assert code == 2, text
    assert "is no size on offer" in text


def test_no_weeks_of_the_glass_is_said(lists: Path) -> None:
    code, text = call(
        "--history", str(lists / "history.csv"), "--offers", str(lists / "offers.csv"), "--on", "2027-02-01",
        "--glass", "clear-19", "--workers", "1",
    )  # fmt: skip
    assert code == 3
    assert "clear-19" in text
    code, text = call(
        "--history", str(lists / "history.csv"), "--offers", str(lists / "offers.csv"), "--on", "2027-02-01",
        "--glass", "clear-19", "--workers", "1", "--json",
    )  # fmt: skip
    assert code == 3
    data = json.JSONDecoder().raw_decode(text[text.index("{") :])[0]
    assert data["exit_code"] == 3
    assert "clear-19" in data["error"]


def test_the_command_writes_a_report(lists: Path) -> None:
    code, text = call(
        "--history", str(lists / "history.csv"), "--offers", str(lists / "offers.csv"), "--on", "2027-02-01",
        "--glass", GLASS, "--workers", "1", "--most", "1", "--effort", "1", "--no-rules", "--now", "3000x2000",
        "--out", str(lists / "out"),
    )  # fmt: skip
    assert code == 0, text
    assert "Price-break list" in text
    assert "Weeks" not in text.splitlines()  # pictures alone have no heading on the screen
    assert (lists / "out" / "report.xlsx").is_file()
