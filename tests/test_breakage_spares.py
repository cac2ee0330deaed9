"""Breakage of panels: what is counted, what a plan loses, which panels are worth a spare, and spares in a plan."""

from __future__ import annotations

import contextvars
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from math import comb
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.cli.stock_breakage import command as breakage
from panewright.io.breakage_list import read_breakage_list
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop, read_shop
from panewright.nesting.breakage.counts import Facts, Worked, added_up, counts_of, facts_of, steps_of
from panewright.nesting.breakage.loss import loss_a_week, loss_of_panels
from panewright.nesting.breakage.predictive import SURE, Beta
from panewright.nesting.breakage.prices import price_of
from panewright.nesting.breakage.rates import Rates
from panewright.nesting.breakage.report import breakage_report
from panewright.nesting.breakage.settings import BreakageSettings, Start
from panewright.nesting.breakage.size_class import SizeClass, size_class
from panewright.nesting.breakage.spares import late_days, saves, spares_wanted
from panewright.nesting.breakage.ways import breaks_anywhere
from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.edgework import Edge
from panewright.nesting.figures import figures_of
from panewright.nesting.fillers import Filler
from panewright.nesting.happened import AtStep
from panewright.nesting.kept import keep_sheets
from panewright.nesting.openings import Hole
from panewright.nesting.optimizer.params import Params
from panewright.nesting.outlines import area2, make_outline, rectangle
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.plan import Plan
from panewright.nesting.planner import Planner
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import MONEY, NM2_PER_M2, mm

Make = Callable[..., Panel]
MakeStock = Callable[..., StockPiece]
SCORING, BREAKING, EDGING, DRILLING, HANDLING = AtStep
ROOT = Path(__file__).resolve().parent.parent

# ---------------------------------------------------------------- what is counted


def test_a_panel_passes_the_steps_that_it_asks_for(make_panel: Make) -> None:
    worked = make_panel(500, 400, allowance="1.5")
    assert steps_of(worked) == (SCORING, BREAKING, EDGING, HANDLING)
    plain = replace(worked, edges=(Edge(),) * 4)
    assert steps_of(plain) == (SCORING, BREAKING, HANDLING)
    drilled = replace(plain, openings=(Hole(center=(mm(100), mm(100)), diameter=mm(35)),))
    assert steps_of(drilled) == (SCORING, BREAKING, DRILLING, HANDLING)
    corner = make_outline(
        [(0, 0), (mm(400), 0), (mm(400), mm(300)), (mm(200), mm(300)), (mm(200), mm(400)), (0, mm(400))]
    )
    assert DRILLING in steps_of(replace(plain, finished=corner, edges=(Edge(),) * 6))


def test_sizes_go_by_area_and_length() -> None:
    sizes = [
        (500, 500),
        (501, 500),
        (900, 100),
        (901, 100),
        (1000, 1000),
        (1001, 1000),
        (1800, 100),
        (1801, 100),
    ]
    small, medium, large = SizeClass
    assert [size_class(rectangle(mm(w), mm(h))) for w, h in sizes] == [
        small, medium, small, medium, medium, large, medium, large,
    ]  # fmt: skip
    assert all(size_class(rectangle(mm(h), mm(w))) is size_class(rectangle(mm(w), mm(h))) for w, h in sizes)


def test_a_broken_panel_was_worked_up_to_its_step() -> None:
    facts = Facts(
        glass="clear-6", size=SizeClass.SMALL, steps=(SCORING, BREAKING, EDGING, HANDLING), area2=10
    )
    counts = counts_of([(facts, None), (facts, BREAKING), (facts, EDGING), (facts, DRILLING)])
    assert [(c.step, c.done, c.broken, c.area2) for c in counts] == [
        (SCORING, 4, 0, 40),
        (BREAKING, 4, 1, 40),
        (EDGING, 3, 1, 30),
        (DRILLING, 1, 1, 10),
        (HANDLING, 1, 0, 10),
    ]
    assert added_up([*counts, *counts]) == tuple(
        replace(c, done=2 * c.done, broken=2 * c.broken, area2=2 * c.area2) for c in counts
    )
    assert added_up([counts[0], replace(counts[0], area2=0)])[0].area2 == 0


@pytest.mark.parametrize(
    "bad",
    [{"done": 1, "broken": 2}, {"done": 1, "broken": -1}, {"done": 1, "broken": 0, "size": SizeClass.SMALL}],
)
def test_counts_that_cannot_be_are_refused(bad: dict[str, Any]) -> None:
    with pytest.raises(ValueError):
        Worked(step=SCORING, **bad)


# ---------------------------------------------------------------- the worth of a spare


@given(
    n=st.integers(1, 8),
    k=st.integers(1, 6),
    p=st.fractions(Fraction(1, 100), Fraction(1, 2), max_denominator=100),
)
@settings(max_examples=30)
def test_a_spare_saves_a_remake_as_often_as_pieces_are_counted_one_by_one(
    n: int, k: int, p: Fraction
) -> None:
    # piece after piece, spares included, until n are whole: the chance of k broken before, with p known for
    # sure, by plain recursion in exact fractions
    def chance(whole: int, broken: int) -> Fraction:
        if broken == k:
            return Fraction(1)
        if whole == n:
            return Fraction(0)
        return p * chance(whole, broken + 1) + (1 - p) * chance(whole + 1, broken)

    assert abs(saves(n, k, Beta.of(p, SURE)) - chance(0, 0) * 10**6) <= 1
    # the negative binomial by its terms (Feller 1968, An Introduction to Probability Theory I, VI.8)
    terms = 1 - sum(comb(n + j - 1, j) * p**j * (1 - p) ** n for j in range(k))
    assert terms == chance(0, 0)


def test_all_spares_together_save_all_remakes() -> None:
    # E[broken before the n-th whole] = n p / (1 - p), as for any negative binomial
    p = Fraction(1, 10)
    total = sum(saves(6, k, Beta.of(p, SURE)) for k in range(1, 40))
    assert abs(total - 6 * p / (1 - p) * 10**6) < 40


def days(*free: date) -> CuttingDays:
    return CuttingDays(free=frozenset(free))


def test_a_remake_is_late_by_the_working_days_after_the_due_day() -> None:
    friday, monday, tuesday = date(2027, 3, 5), date(2027, 3, 8), date(2027, 3, 9)
    assert late_days(None, None, 2, days()) == 0
    assert late_days(friday, None, 2, days()) == 2
    assert late_days(tuesday, friday, 2, days()) == 0
    assert late_days(monday, friday, 2, days()) == 1
    assert late_days(tuesday, friday, 2, days(monday)) == 1
    assert late_days(friday, monday, 1, days()) == 1
    assert late_days(friday, None, 0, days()) == 0


SHOP = replace(default_shop(), breakage=BreakageSettings(
    start=Start(rate=Fraction(1, 20), weight=Fraction(200)), steps={}, remake=20 * MONEY, spare=MONEY,
    late_day=10 * MONEY, remake_days=2,
))  # fmt: skip


def wishes(panels: list[Panel], shop: Shop = SHOP, counts: tuple[Worked, ...] = (), **more: Any) -> Any:
    return spares_wanted(panels, Rates(counts, shop.breakage), shop, price_of(shop), **more)


def test_spares_are_wanted_where_equal_panels_are_many_and_dear(make_panel: Make) -> None:
    many = [replace(make_panel(600, 400, id=f"K-1/front/{k}"), due=date(2027, 3, 9)) for k in range(6)]
    others = [make_panel(600, 400, id=f"L-2/front/{k}") for k in range(2)]
    alone = make_panel(300, 200, id="K-1/brace/1")
    first, last = wishes([alone, *others, *many])
    assert (first.pieces, first.orders, first.panel.id) == (8, ("K-1", "L-2"), "K-1/front/spare")
    assert first.panel.purpose is Purpose.SPARE and first.panel.due is None and first.panel.order == "K-1"
    assert len(first.worths) > len(last.worths) == 1 and last.panel.name == "brace"
    assert list(first.worths) == sorted(first.worths, reverse=True) and min(first.worths) > 0
    # by hand: 4 steps at 5 per cent each, 20 for the work, the glass, six of eight two days late at 10 a day
    share = breaks_anywhere(Rates((), SHOP.breakage), "clear-10", SizeClass.SMALL, facts_of(alone).steps)
    assert share.mean == 1 - Fraction(95, 100) ** 4
    price = min(Fraction(s.price, s.width * s.height) for s in SHOP.sizes_of("clear-10"))
    assert abs(first.remake - (20 * MONEY + price * mm(600) * mm(400) + 15 * MONEY)) <= 1
    assert first.worths[0] == saves(8, 1, share) * first.remake // 10**6 - MONEY
    assert (first.late_days, first.behind) == (2, 0)
    # nothing that is not ordered gets a spare, and the order of the lists changes nothing
    assert wishes([replace(alone, purpose=Purpose.FILLER)]) == []
    assert wishes([*many, *others, alone]) == [first, last]


def test_a_cutting_day_before_the_due_day_makes_spares_worth_less(make_panel: Make) -> None:
    panels = [replace(make_panel(600, 400, id=f"K-1/front/{k}"), due=date(2027, 3, 12)) for k in range(4)]
    (known,) = wishes(panels, cut_on={p.id: date(2027, 3, 8) for p in panels})
    (unknown,) = wishes(panels)
    assert known.late_days == 0 and known.worths[0] < unknown.worths[0]
    assert known.remake == unknown.remake - 20 * MONEY


def test_evidence_of_whole_glass_takes_spares_away(make_panel: Make) -> None:
    panels = [make_panel(600, 400, id=f"K-1/front/{k}") for k in range(4)]
    whole = counts_of([(facts_of(panels[0]), None)] * 5)
    sure = tuple(replace(c, done=1_000_000) for c in whole)
    assert wishes(panels) and wishes(panels, counts=sure) == []
    (some,) = wishes(panels, counts=tuple(replace(c, done=100) for c in whole))
    assert some.behind == 100 and some.ppm < wishes(panels)[0].ppm


def test_two_kinds_of_panels_of_one_name_have_spares_of_their_own(make_panel: Make) -> None:
    panels = [make_panel(w, 400, id=f"K-1/front/{w}-{k}") for w in (500, 600) for k in range(4)]
    assert [w.panel.id for w in wishes(panels)] == ["K-1/front/spare 2", "K-1/front/spare"]


# ---------------------------------------------------------------- what is expected to break


def test_the_loss_of_a_plan_adds_up(make_panel: Make) -> None:
    panels = [make_panel(600, 400, id=f"K/a/{k}") for k in range(30)]
    panels += [make_panel(2000, 1000, id=f"K/b/{k}", glass="clear-6") for k in range(20)]
    rates = Rates((), SHOP.breakage)
    losses = loss_of_panels(panels, rates, price_of(SHOP))
    mean = 1 - Fraction(95, 100) ** 4
    assert abs(losses.total.expected - 50 * mean * 1000) <= 1
    assert abs(sum(row.expected for row in losses.rows) - losses.total.expected) <= 4
    assert [(g.glass, g.pieces) for g in losses.glasses] == [("clear-10", 30_000), ("clear-6", 20_000)]
    one, two = losses.glasses
    assert one.area2 is not None and abs(one.area2 - 30 * mean * 2 * mm(600) * mm(400)) <= 1
    # 2.5 kg per m2 and mm
    assert one.grams is not None and abs(one.grams - 30 * mean * Fraction(24, 100) * 25_000) <= 1
    assert one.money is not None and two.money is not None and losses.total.money is not None
    assert abs(one.money + two.money - losses.total.money) <= 1 and one.money > 30 * mean * 20 * MONEY
    for row in (*losses.rows, *losses.glasses, losses.total):
        assert row.low <= row.expected / 1000 <= row.high
    assert losses.total.high - losses.total.low < sum(g.high - g.low for g in losses.glasses)


def test_the_loss_of_a_week_is_a_share_of_the_record() -> None:
    counts = (
        Worked(
            step=SCORING, glass="clear-10", size=SizeClass.SMALL, done=1000, broken=50, area2=400 * NM2_PER_M2
        ),
        Worked(step=EDGING, done=500, broken=25),
    )
    losses = loss_a_week(counts, 10, Rates(counts, SHOP.breakage), price_of(SHOP))
    assert (losses.total.pieces, losses.total.expected) == (100_000, 7_500)
    known = next(g for g in losses.glasses if g.glass)
    assert known.area2 == 5 * 400 * NM2_PER_M2 // 1000 and known.grams == 25_000
    assert losses.total.area2 is None and losses.total.money is None


# ---------------------------------------------------------------- spares in a plan

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))


def planned(panels: list[Panel], stock: list[StockPiece], fillers: list[Filler], **more: Any) -> Plan:
    planner = Planner(panels, stock, Shop(), effort=10, params=QUICK, fillers=fillers, **more)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def spares(plan: Plan) -> list[str]:
    return sorted(p.id for p in plan.panels if p.purpose is Purpose.SPARE)


@given(
    rows=st.lists(st.tuples(st.integers(300, 1500), st.integers(250, 1000)), min_size=2, max_size=6),
    worths=st.lists(st.integers(1, 60_000), min_size=1, max_size=4),
    drilled=st.booleans(),
)
@settings(max_examples=8)
def test_spares_never_cost_a_sheet_and_come_in_falling_worth(
    rows: list[tuple[int, int]],
    worths: list[int],
    drilled: bool,
    make_panel: Make,
    make_stock: MakeStock,
    outsider: Callable[..., None],
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    panels = [make_panel(w, h, id=f"K{i}/p/{k}") for i, (w, h) in enumerate(rows) for k in (1, 2)]
    stock = [make_stock(3210, 2250)]
    falling = tuple(sorted(worths, reverse=True))
    two = replace(panels[0], openings=(Hole(center=(mm(100), mm(100)), diameter=mm(30)),) if drilled else ())
    wanted = [
        Filler(
            panel=replace(p, id=f"{p.order}/{name}/spare", purpose=Purpose.SPARE), worth=falling[0], most=len(falling),
            falling=falling,
        )
        for p, name in ((panels[-1], "p"), (two, "q"))
    ]  # fmt: skip
    plain, filled = planned(panels, stock, []), planned(panels, stock, wanted)
    assert [str(v) for v in check(filled)] == []
    outsider(filled, tmp_path_factory.mktemp("spares"))
    assert [(x.stock, x.cost) for x in plain.layouts] == [(x.stock, x.cost) for x in filled.layouts]
    assert [p for p in filled.panels if p.purpose is Purpose.ORDER] == list(plain.panels)
    f = figures_of(filled).total
    assert f.spare == sum(area2(p.cut) for p in filled.panels if p.purpose is Purpose.SPARE)
    assert f.cut == figures_of(plain).total.cut
    assert f.cut + f.spare + f.filler + f.offcut + f.trim + f.cullet == f.sheet
    # the first of each kind is worth most and is taken first
    for wish in wanted:
        mine = [int(name.rpartition("/")[2]) for name in spares(filled) if name.startswith(wish.panel.id)]
        assert mine == list(range(1, len(mine) + 1)) and len(mine) <= len(falling)


def test_a_spare_worth_less_than_the_offcut_is_left_out(make_panel: Make, make_stock: MakeStock) -> None:
    # the strip beside both panels, 3165 x 1205, is an offcut; a sheet costs 1 for 10 mm2, the offcut half
    panels = [make_panel(1582, 1000, id=f"K/p/{k}") for k in (1, 2)]
    stock, spare = [make_stock(3210, 2250)], replace(panels[0], id="K/p/spare", purpose=Purpose.SPARE)
    worth = 1582 * 1000 // 10
    for falling, cut in (((worth, worth), 2), ((worth, 1), 1), ((1, 1), 0)):
        plan = planned(panels, stock, [Filler(panel=spare, worth=falling[0], most=2, falling=falling)])
        assert len(spares(plan)) == cut, falling
    # what lies on a kept sheet counts among those wanted: the second is worth next to nothing
    first = planned(panels, stock, [Filler(panel=spare, worth=worth, most=1, falling=(worth,))])
    more = [*panels, *(make_panel(1582, 1000, id=f"L/p/{k}") for k in (1, 2))]
    kept = keep_sheets(first, {1}, more, stock, Shop())
    again = planned(more, stock, [Filler(panel=spare, worth=worth, most=2, falling=(worth, 1))], kept=kept)
    assert spares(first) == spares(again) == ["K/p/spare/1"] and check(again) == []


@pytest.mark.parametrize(
    ("plain", "drilled", "cut"),
    [
        ((900, 10, 5), (800, 700, 6), ["a/1", "a/2", "b/1", "b/2"]),
        ((900,), (800, 700), ["a/1", "b/1", "b/2"]),
    ],
)
def test_spares_of_one_cut_size_come_in_falling_worth_over_all_sheets(
    plain: tuple[int, ...], drilled: tuple[int, ...], cut: list[str], make_panel: Make, make_stock: MakeStock
) -> None:
    # two sheets, on each a strip of 3165 x 205 that holds two spares; both kinds are one type to the search
    panels = [make_panel(1582, 2000, id=f"K/p/{k}") for k in range(4)]
    spare = replace(make_panel(1500, 180, id="K/a"), purpose=Purpose.SPARE)
    other = replace(spare, id="K/b", openings=(Hole(center=(mm(90), mm(90)), diameter=mm(30)),))
    wanted = [
        Filler(panel=p, worth=f[0], most=len(f), falling=f) for p, f in ((spare, plain), (other, drilled))
    ]
    plan = planned(panels, [make_stock(3210, 2250)], wanted)
    assert len(plan.layouts) == 2 and check(plan) == []
    assert spares(plan) == [f"K/{name}" for name in cut]


# ---------------------------------------------------------------- lists, shop file, commands

LIST = """step,glass,size,done,broken,area
scoring,clear-6,small,400,4,"40,5"
scoring,clear-6,small,100,1,"9,5"
Edging,,,300,6,
handling,clear-10,,20,0,
"""


def test_the_list_of_counts_is_read_and_added_up(tmp_path: Path) -> None:
    path = tmp_path / "counts.csv"
    path.write_text(LIST, encoding="utf-8")
    problems = Problems()
    counts = read_breakage_list(path, default_shop(), problems)
    assert not problems
    assert counts == (
        Worked(
            step=SCORING, glass="clear-6", size=SizeClass.SMALL, done=500, broken=5, area2=100 * NM2_PER_M2
        ),
        Worked(step=EDGING, done=300, broken=6),
        Worked(step=HANDLING, glass="clear-10", done=20, broken=0),
    )


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("polishing,clear-6,small,1,1,", "step"),
        (",clear-6,small,1,1,", "step"),
        ("scoring,opal,small,1,1,", "glass"),
        ("scoring,,small,1,1,", "size"),
        ("scoring,clear-6,huge,1,1,", "size"),
        ("scoring,clear-6,small,x,1,", "done"),
        ("scoring,clear-6,small,1,2,", "broken"),
        ("scoring,clear-6,small,1,,", "broken"),
        ("scoring,clear-6,small,1,1,21", "area"),
        ("scoring,clear-6,small,1,1,-1", "area"),
    ],
)
def test_everything_wrong_with_a_count_is_told(row: str, column: str, tmp_path: Path) -> None:
    path = tmp_path / "counts.csv"
    path.write_text(f"step,glass,size,done,broken,area\n{row}\n", encoding="utf-8")
    problems = Problems()
    read_breakage_list(path, default_shop(), problems)
    assert [p.column for p in problems.errors] == [column]


def test_the_shop_file_sets_where_rates_start_and_what_a_remake_costs(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(
        "[breakage]\nrate = 0.02\nweight = 50\nremake_cost = 12.5\nspare_cost = 1\nlate_day_cost = 0\nremake_days = 3\n"
        "[breakage.steps]\nedging = { rate = 0.04 }\ndrilling = { weight = 80 }\n",
        encoding="utf-8",
    )
    problems = Problems()
    found = read_shop(path, problems).breakage
    assert not problems
    assert (found.remake, found.spare, found.late_day, found.remake_days) == (125_000, MONEY, 0, 3)
    starts = [found.start_of(step) for step in AtStep]
    assert [(float(x.rate), int(x.weight)) for x in starts] == [
        (0.02, 50), (0.01, 50), (0.04, 50), (0.02, 80), (0.02, 50),
    ]  # fmt: skip
    bad = "[breakage]\nrate = 0\nweight = 0\nremake_cost = -1\nremake_days = 1.5\nsteps = { edging = 3, glueing = {} }\n"
    path.write_text(bad, encoding="utf-8")
    problems = Problems()
    assert read_shop(path, problems).breakage.start == Start()
    assert [p.column for p in problems.errors] == [
        "breakage.rate", "breakage.weight", "breakage.steps.edging", "breakage.steps.glueing",
        "breakage.remake_cost", "breakage.remake_days",
    ]  # fmt: skip
    for start in ({"rate": Fraction(0)}, {"weight": Fraction(0)}, {"rate": Fraction(3, 4)}):
        with pytest.raises(ValueError):
            Start(**start)


def run(*args: str, command: Any = main.app) -> Result:
    return contextvars.copy_context().run(CliRunner().invoke, command, list(args))


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A tiny week with its files, planned without spares, with spares, and with spares by a list of counts."""
    folder = tmp_path_factory.mktemp("week")
    files = {
        "panels.csv": "order,panel,quantity,width,height,glass,due\n"
        "K-1,base,2,1582,2000,clear-6,2027-03-09\nK-1,brace,6,400,180,clear-6,2027-03-09\n",
        "stock.csv": "kind,glass,width,height,on hand,price,buy\nsheet,clear-6,3210,2250,1,60,yes\n"
        "sheet,clear-6,2000,1000,9,20,no\n",
        "counts.csv": LIST,
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def plan_args(week: Path, name: str, *more: str) -> list[str]:
    files = [str(week / "panels.csv"), "--stock", str(week / "stock.csv"), "--out", str(week / name)]
    return ["plan", *files, "--effort", "1", "--no-panel-drawings", *more]


def test_the_plan_cuts_spares_from_waste_and_says_why(week: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(week)
    plain = run(*plan_args(week, "plain", "--json"))
    said = run(*plan_args(week, "spare", "--spares"))
    counted = run(*plan_args(week, "counted", "--spares", "--breakage", str(week / "counts.csv"), "--json"))
    assert [r.exit_code for r in (plain, said, counted)] == [Exit.DONE] * 3, said.output
    text = " ".join(said.stdout.split())
    assert (
        "no record of this shop" in text
        and "Spares cut from waste, not in the yield: 1 of 1 wanted; 0.07 m2" in text
    )
    raw = json.loads((week / "spare" / "plan.json").read_text(encoding="utf-8"))
    assert [(p["id"], p["order"]) for p in raw["panels"] if p["purpose"] == "spare"] == [
        ("K-1/brace/spare/1", "K-1")
    ]
    total, before = raw["figures"]["total"], json.loads(plain.stdout)["figures"]["total"]
    assert total["spare_area_m2"] == 0.072 and before["spare_area_m2"] == 0
    for same in ("sheets", "cost", "sheet_area_m2", "cut_area_m2", "yield"):
        assert total[same] == before[same]
    parts = (
        "cut_area_m2",
        "spare_area_m2",
        "filler_area_m2",
        "trim_area_m2",
        "offcut_area_m2",
        "cullet_area_m2",
    )
    assert sum(total[part] for part in parts) == pytest.approx(total["sheet_area_m2"], abs=1e-6)
    told = json.loads(counted.stdout)["spares"]
    assert told["evidence"] == {"record": str(week / "counts.csv"), "done": 820, "broken": 11}
    (wish,) = told["wanted"]
    assert (wish["panel"], wish["equal_panels"], wish["wanted"], wish["cut"]) == ("K-1/brace", 6, 1, 1)
    assert wish["worth"][0] == pytest.approx(wish["any_breaks"] * wish["remake_cost"] - 3, abs=1e-3)
    tool = ROOT.parent / "shared" / "tools" / "verify_plan.py"
    if tool.is_file():
        done = subprocess.run([sys.executable, str(tool), str(week / "spare" / "plan.json")], check=False)
        assert done.returncode == 0


def test_wrong_calls_and_lists_are_told(week: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(week)
    alone = run(*plan_args(week, "no", "--breakage", str(week / "counts.csv")))
    assert alone.exit_code == Exit.USAGE and "--spares" in alone.output
    for missing in ("panels.csv", "nothing.csv"):
        bad = run(*plan_args(week, "no", "--spares", "--breakage", str(week / missing)))
        assert bad.exit_code == Exit.INPUT and missing in bad.output
        bad = run("--breakage", str(week / missing), "--json", command=breakage)
        assert bad.exit_code == Exit.INPUT and json.loads(bad.stdout)["exit_code"] == Exit.INPUT
    assert not (week / "no").exists()


def test_the_report_says_rates_loss_and_spares(week: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(week)
    if not (week / "spare").exists():
        run(*plan_args(week, "spare", "--spares"))
    args = [str(week / "spare"), "--breakage", str(week / "counts.csv"), "--weeks", "10"]
    said = run(*args, command=breakage)
    assert said.exit_code == Exit.DONE, said.output
    for part in (
        "820 steps of panels, 11 of them broke",
        "mean week (weeks of the record: 10)",
        "Expected loss of plan",
        "Spares in this plan: 1; wanted by these rates: 1",
    ):
        assert part in said.stdout
    data = json.loads(run(*args, "--json", command=breakage).stdout)
    row = next(r for r in data["rates"] if r["size"] == "small")
    # the step alone starts at 0.005 of 200: (1 + 5) of (200 + 500); no other glass tells anything
    assert (row["done"], row["broken"]) == (500, 5) and row["rate"] == pytest.approx(6 / 700, abs=1e-6)
    assert row["interval_90"][0] < row["rate"] < row["interval_90"][1]
    week_loss = {(r["step"], r["glass"]): r["expected"] for r in data["week"]["by_step"]}
    assert week_loss["scoring", "clear-6"] == pytest.approx(50 * 6 / 700, abs=1e-3)
    assert data["spares"][0]["cut"] == 1 and data["loss"]["total"]["panels"] == 8
    # without a record the shop file alone counts, and the report says so
    bare = run(command=breakage)
    assert bare.exit_code == Exit.DONE and "no record of this shop" in " ".join(bare.stdout.split())


def test_a_plan_with_cutting_days_tells_how_late_a_remake_would_be(
    make_panel: Make, make_stock: MakeStock
) -> None:
    panels = [replace(make_panel(600, 400, id=f"K/p/{k}"), due=date(2027, 3, 9)) for k in range(6)]
    plan = planned(panels, [make_stock(3210, 2250)], [])
    dated = replace(plan, layouts=tuple(replace(x, day=date(2027, 3, 8)) for x in plan.layouts))
    late = [breakage_report((), SHOP, plan=p).spares[0].late_days for p in (plan, dated)]
    assert late == [2, 1]
    assert breakage_report((), SHOP).spares == () and breakage_report((), SHOP, weeks=3).week is None
