"""Why a plan costs what it costs: bound, waste, the price of rules and of panels."""

from __future__ import annotations

import contextvars
import json
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.nesting.assemble import CutSheet
from panewright.nesting.optimizer.params import Params
from panewright.nesting.panels import Turn
from panewright.nesting.plan import Bound
from panewright.nesting.planner import Planner
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.units import mm
from panewright.nesting.why import why

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))


def answers(panels, stock, *, break_out=30, levels=3, slices=10):
    shop = Shop(cutting=CuttingChoice(break_out=mm(break_out), levels=levels))
    planner = Planner(panels, stock, shop, effort=200, params=QUICK)
    planner.start()
    while planner.advance():
        pass
    plan = planner.finish("effort")
    return plan, planner.why(slices=slices)


@given(
    rows=st.lists(st.tuples(st.integers(250, 1500), st.integers(200, 1000)), min_size=1, max_size=10),
    turn=st.sampled_from(Turn),
    glasses=st.integers(1, 2),
)
@settings(max_examples=15)
def test_the_parts_add_up_and_no_price_goes_beyond_the_bound(rows, turn, glasses, make_panel, make_stock):
    names = ["clear-10", "clear-6"][:glasses]
    panels = [
        make_panel(w, h, id=f"{g}{i}/p/{k}", glass=g, turn=turn)
        for g in names
        for i, (w, h) in enumerate(rows)
        for k in (1, 2)
    ]
    stock = [make_stock(3210, 2250, glass=g) for g in names]
    stock.append(make_stock(1600, 1100, raw=(), on_hand=1, buyable=False, offcut=True, name="R1"))
    plan, found = answers(panels, stock, slices=2)
    assert [one.glass for one in found] == sorted(names)
    for one in found:
        mine = [x for x in plan.layouts if x.glass == one.glass]
        assert (one.sheets, one.cost) == (len(mine), sum(x.cost for x in mine))
        assert one.in_panels + one.unavoidable + one.rest == one.cost
        assert min(one.in_panels, one.unavoidable, one.rest) >= 0
        assert one.bound == plan.outcomes[one.glass].bound
        for rule in one.rules:
            assert 0 <= rule.found <= rule.most <= one.cost
        if plan.outcomes[one.glass].optimal:
            free = {rule.rule: rule.most for rule in one.rules}
            # this bound knows nothing of break-out distance and levels: they cannot have cost anything
            assert free["break-out distance"] == free["level limit"] == 0
        assert ("rotation ban" in {r.rule for r in one.rules}) == (turn in (Turn.HALF, Turn.NONE))
        assert one.fewer.ruled_out == (one.sheets <= one.bound.sheets)
        assert sum(p.cost for p in one.panels) <= one.cost
        assert all(0 <= p.waste <= p.cost and p.bound_effect <= one.bound.cost for p in one.panels)


def prices(found):
    return {rule.rule: (rule.found, rule.most) for rule in found.rules}


def test_a_break_out_distance_that_costs_a_sheet_is_priced_at_it(make_panel, make_stock):
    # two panels of 490 leave 20 of 1000 at a cut side: with 30 to break off they need two sheets
    panels = [make_panel(490, 1000, id=f"K/p/{k}") for k in (1, 2)]
    stock = [make_stock(1000, 1000, raw=(), cost=70_000)]
    _, (one,) = answers(panels, stock)
    assert one.sheets == 2 and one.fewer.ruled_out and one.bound.by == "cutting-stock LP"
    assert prices(one)["break-out distance"] == (70_000, 70_000)
    assert one.fewer.panels == 2 * mm(490) * mm(1000) and one.fewer.room == mm(1000) ** 2
    assert prices(one)["level limit"] == (0, 70_000)
    _, (one,) = answers(panels, stock, break_out=20)
    assert one.sheets == 1 and one.fewer.ruled_out and one.rest == 0
    assert prices(one)["break-out distance"] == (0, 0)


def test_a_turn_that_is_not_allowed_is_priced(make_panel, make_stock):
    panels = [make_panel(600, 500, id=f"K/p/{k}", turn=Turn.NONE) for k in (1, 2)]
    panels.append(make_panel(300, 90, id="F/p/1"))
    _, (one,) = answers(panels, [make_stock(1000, 690, raw=(), cost=50_000)])
    ban = next(rule for rule in one.rules if rule.rule == "rotation ban")
    assert (ban.found, ban.most, ban.panels) == (50_000, 50_000, 2)


def test_panels_that_empty_sheets_cost_most(make_panel, make_stock):
    panels = [make_panel(1600, 1150, id="large/p/1")]  # the only one on its sheet
    panels += [make_panel(790, 1100, id=f"small/p/{k}") for k in range(1, 13)]
    _, (one,) = answers(panels, [make_stock(3210, 2250)])
    assert one.panels[0].panel.order in ("large", "small")
    waste = [p.waste for p in one.panels]
    assert waste == sorted(waste, reverse=True)
    assert sum(p.cost for p in one.panels) == one.cost


def test_another_bound_can_be_plugged_in(make_panel, make_stock):
    panels = [make_panel(490, 1000, id=f"K/p/{k}") for k in (1, 2)]
    shop = Shop(cutting=CuttingChoice(break_out=mm(30), levels=3))
    planner = Planner(panels, [make_stock(1000, 1000, raw=(), cost=70_000)], shop, effort=20, params=QUICK)
    planner.start()
    (job,) = planner._jobs
    sheets = [CutSheet(0, job.instance, p) for p in job.best.patterns]

    def exact(instance, demand):
        count = sum(demand) if instance.break_out else -(-sum(demand) // 2)
        return Bound(cost=70_000 * count, sheets=count, by="by hand", valid_for="these panels")

    one = why("clear-10", job.instance, sheets, params=QUICK, bound=exact, slices=2)
    assert one.fewer.ruled_out and one.rest == 0 and one.bound.by == "by hand"
    assert prices(one)["break-out distance"] == (70_000, 70_000)
    assert prices(one)["level limit"] == (0, 0)


@pytest.mark.parametrize("as_json", [False, True])
def test_the_command_says_why(tmp_path, monkeypatch, as_json):
    monkeypatch.chdir(tmp_path)
    files = {
        "panels.csv": "order,panel,quantity,width,height,glass\nK-1,base,9,1500,1050,patterned-6\n",
        "stock.csv": "kind,glass,width,height,on hand,price,buy\nsheet,patterned-6,3210,2250,1,60,yes\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    args = ["plan", "panels.csv", "--stock", "stock.csv", "--effort", "1", "--out", "out", "--why"]
    result = contextvars.copy_context().run(
        CliRunner().invoke, main.app, [*args, *(["--json"] if as_json else [])]
    )
    assert result.exit_code == Exit.DONE, result.output
    if as_json:
        said = json.loads(result.stdout)["why"]["patterned-6"]
        assert round(said["in_panels"] + said["unavoidable"] + said["rest"] - said["cost"], 4) == 0
        assert {r["rule"] for r in said["rules"]} == {"break-out distance", "level limit", "rotation ban"}
        return
    text = " ".join(result.stdout.split())
    for word in (
        "3 sheets are the least",
        "waste that no plan avoids",
        "rotation ban (9 panels)",
        "K-1/base",
    ):
        assert word in text, word
    assert "why" not in (tmp_path / "out" / "plan.json").read_text(encoding="utf-8")


def test_panels_of_a_rack_are_told_together(make_panel, make_stock):
    """Each is a type of its own to the search; people ordered three alike."""
    panels = [replace(make_panel(300, 200, id=f"A/p/{k}"), rack="r", slot=k) for k in (1, 2, 3)]
    _, (found,) = answers(panels, [make_stock(1000, 800, on_hand=1)], slices=1)
    (alike,) = found.panels
    assert (alike.pieces, alike.cost) == (3, found.cost)
