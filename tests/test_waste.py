"""The waste report's sums: against `figures_over`, which adds up by itself, and against a recount from plan.json.

The recount below knows the plan file by its contract alone (shoelace formula, standard library). Sheets are those of
`chained_plans` (see test_store_period.py): 2000 x 1000 mm, panels 0.35 + 0.35 + 0.24 m2, offcuts 0.4704 + 0.432 m2;
a price of 60 a sheet. 2.5 kg per m2 and mm of glass (EN 572-1).
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.plan_file import dumps, loads
from panewright.io.problems import Problems
from panewright.io.record_file import Record, What, record_text
from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.ledger import Because
from panewright.io.store.moving import take_out
from panewright.io.store.period import figures_over
from panewright.io.store.waste_rows import known_days, waste_over
from panewright.io.waste_data import days_of, only_glass
from panewright.io.waste_folders import waste_of_folders
from panewright.io.waste_pieces import pieces_in, pieces_of
from panewright.nesting.demand.products import Look, kind_of, tanks_in
from panewright.nesting.figures import Figures
from panewright.nesting.happened import AtStep
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Bound, GlassOutcome
from panewright.nesting.plan_id import offcut_number, plan_id
from panewright.nesting.stock import Trim
from panewright.nesting.units import MONEY, NM2_PER_M2, mm
from panewright.nesting.waste.groups import by_part, by_sheet, spread_of
from panewright.nesting.waste.over_bound import NONE, over_bound
from panewright.nesting.waste.sheets import Away, Piece, sheet_waste
from panewright.nesting.waste.sums import WasteSums

PRICE = 60 * MONEY


def bound_at(plan, cost):
    """The same plan with another lower bound."""
    bound = Bound(cost=cost, sheets=1, by="area", valid_for="any cutting")
    outcome = GlassOutcome(bound=bound, optimal=False, stopped_by="effort")
    return replace(plan, outcomes={"clear-10": outcome})


@pytest.fixture
def plans(chained_plans):
    """`chained_plans`, the first of which cost 30 more than its bound."""
    return bound_at(chained_plans[0], 90 * MONEY), chained_plans[1]


@pytest.fixture
def table(store, plans, record_table):
    return record_table(store, plans)


def day_at(table):
    return table.cut(0).at.astimezone().date()


def over(table, first=None, last=None, by="week", **more):
    first = first or day_at(table)
    with table.store.reading() as c:
        return waste_over(c, days_of(first, last or first, by), default_shop(), **more)


def total(sheets):
    return WasteSums.of(sheet.sums for sheet in sheets)


def square(twice):
    return Fraction(twice, 2 * NM2_PER_M2)


def adds_up(found):
    """Areas to the sheets, money to the cost, parts to their sheets, groups to the total."""
    for sheets in (found.planned, found.recorded):
        for x in sheets:
            sheet_adds_up(x)
        whole = total(sheets)
        assert whole.in_panels + whole.in_broken + whole.in_extras + whole.in_unavoidable + whole.in_rest == (
            whole.cost
        )
        for key in (lambda x: x.span, lambda x: x.glass, lambda x: x.stock):
            assert WasteSums.of(by_sheet(sheets, key).values()) == whole
        for key in (lambda x, part: part.order, lambda x, part: part.product):
            shared = WasteSums.of(by_part(sheets, key).values())
            shared.sheets, shared.from_offcuts = whole.sheets, whole.from_offcuts
            assert shared == whole


def sheet_adds_up(x):
    s = x.sums
    assert s.sheet == s.cut + s.spare + s.filler + s.lost + s.trim + s.cullet + s.offcut
    assert 0 <= s.rest <= s.beside and s.in_unavoidable >= 0 and s.in_rest >= 0 and s.in_panels >= 0
    together = WasteSums.of(part.sums for part in x.parts)
    together.sheets, together.from_offcuts = s.sheets, s.from_offcuts
    assert together == s
    for part in x.parts:
        p = part.sums
        assert p.sheet == p.cut + p.spare + p.filler + p.lost + p.trim + p.cullet + p.offcut
        assert p.cost == p.in_panels + p.in_broken + p.in_extras + p.in_unavoidable + p.in_rest


def same_as_figures_over(table, found):
    with table.store.reading() as c:
        period = figures_over(c, found.days.begin, found.days.end)
    for name, sheets in (("planned", found.planned), ("recorded", found.recorded)):
        mine = by_sheet(sheets, lambda x: x.glass)
        assert set(mine) <= set(period.by_glass)
        for glass, one in period.by_glass.items():
            theirs, s = getattr(one, name), mine.get(glass, WasteSums())
            for field in (
                "sheets",
                "sheet",
                "cut",
                "finished",
                "spare",
                "filler",
                "trim",
                "offcut",
                "cost",
                "scrap_grams",
            ):
                assert getattr(s, field) == getattr(theirs, field), (name, field)
            assert s.cullet + s.lost == theirs.cullet
            assert s.gross_yield == (theirs.gross_yield if theirs.sheets else None)
    broken = defaultdict(dict)
    for (glass, step), count in found.broken.items():
        broken[glass][step] = count
    assert broken == {glass: one.broken for glass, one in period.by_glass.items() if one.broken}
    nothing = type(period.total.offcuts)()
    flows = {g: one.offcuts for g, one in period.by_glass.items() if one.offcuts != nothing}
    assert {g: f for g, f in found.offcuts.items() if f != nothing} == flows
    assert sum(x.count for x in found.scrapped) == period.total.scrapped
    assert sum(x.area for x in found.scrapped) == period.total.scrapped_area
    assert sum(x.count for x in found.rack) == period.total.offcuts.in_rack
    assert sum(x.area for x in found.rack) == period.total.offcuts.rack_area


def recount(text, numbers, broken=(), thrown=(), smaller=None):
    """An outsider's figures of cut sheets, in m2 and money, from the text of a plan file."""
    plan = json.loads(text, parse_float=Fraction, parse_int=Fraction)

    def area(points):
        pairs = zip(points, [*points[1:], points[0]], strict=True)
        return sum((Fraction(x) * v - Fraction(u) * y) for (x, y), (u, v) in pairs) / 2 / 10**6

    def inside(points, sheet):
        xs, ys, trim = [p[0] for p in points], [p[1] for p in points], sheet["trim"]
        wide = min(max(xs), sheet["width"] - trim["right"]) - max(min(xs), trim["left"])
        high = min(max(ys), sheet["height"] - trim["top"]) - max(min(ys), trim["bottom"])
        return max(Fraction(0), wide) * max(Fraction(0), high) / 10**6

    panels = {p["id"]: p for p in plan["panels"]}
    out = defaultdict(Fraction)
    orders = defaultdict(Fraction)
    for sheet in plan["sheets"]:
        if sheet["number"] not in numbers:
            continue
        out["sheet"] += sheet["width"] * sheet["height"] / 10**6
        out["cost"] += sheet["cost"]
        here = defaultdict(Fraction)
        for leaf in sheet["leaves"]:
            own = area(leaf["outline"])
            if leaf["is"] == "panel":
                here[panels[leaf["panel"]]["order"]] += own
                out["lost" if leaf["panel"] in broken else "cut"] += own
                if leaf["panel"] not in broken:
                    out["finished"] += area(panels[leaf["panel"]]["finished"])
            elif leaf["is"] == "offcut" and leaf["offcut"] not in thrown:
                kept = (smaller or {}).get(leaf["offcut"], own)
                out["offcut"] += kept
                out["cullet"] += own - kept
            else:
                out["cullet"] += inside(leaf["outline"], sheet)
                out["trim"] += own - inside(leaf["outline"], sheet)
        for order, part in here.items():
            orders[order] += sheet["cost"] * part / sum(here.values())
    return out, orders


def as_recounted(sheets, counted):
    out, orders = counted
    s = total(sheets)
    for name in ("sheet", "cut", "finished", "lost", "trim", "cullet", "offcut"):
        assert square(getattr(s, name)) == out[name], name
    assert Fraction(s.cost, MONEY) == out["cost"]
    mine = {order: sums.cost for order, sums in by_part(sheets, lambda x, part: part.order).items()}
    assert set(mine) == set(orders) and sum(mine.values()) == s.cost
    for order, cost in orders.items():
        # whole 1/10,000: largest remainders, five parts of the money of each sheet
        assert abs(Fraction(mine[order], MONEY) - cost) <= Fraction(5 * len(sheets), MONEY)


def remade(table):
    """Sheet 1 stays, a new sheet stands for sheet 2; its plan costs 10 more than its bound."""
    first = table.first
    layouts = (first.layouts[0], replace(first.layouts[1], number=3))
    name = plan_id(1, layouts)
    letters = iter(range(9))
    leaves = tuple(
        replace(leaf, offcut=offcut_number(name, 3, next(letters))) if leaf.offcut else leaf
        for leaf in layouts[1].leaves
    )
    plan = replace(
        first,
        id=name,
        seed=1,
        layouts=(layouts[0], replace(layouts[1], leaves=leaves)),
        extra={"follows": [first.id], "last_sheet": 3},
    )
    return bound_at(plan, 2 * PRICE - 10 * MONEY)


# ---------------------------------------------------------------- the store


def test_a_bad_day_adds_up_by_three_ways_of_counting(table):
    table.tell(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big))
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
    as_recounted(found.recorded, recount(dumps(table.first), {1}))
    s = found.recorded[0].sums
    assert (s.panels, s.broken, square(s.cut), s.cost) == (3, 0, Fraction(94, 100), PRICE)
    assert s.in_rest == 15 * MONEY, "half of what the plan cost over its bound: its two sheets are equal"
    assert s.in_panels == PRICE * 47 // 100 and s.in_unavoidable == PRICE * 53 // 100 - 15 * MONEY
    assert found.earlier is None

    table.tell(
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING),
        table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.big),
        table.cut(2),
        table.event(
            What.OFFCUT_KEPT,
            sheet=2,
            offcut=table.first.layouts[1].leaves[-1].offcut or _offcut(table, 2),
            size=(mm(400), mm(300)),
        ),
        table.event(What.PANEL_BROKEN, sheet=2, panel="K-2/side/1", at_step=AtStep.HANDLING),
    )
    with table.store.writing() as c:
        for name, broken in (("C-1", True), ("C-2", False)):
            take_out(c, name, None, because(table), broken=broken)
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
    small = _offcut(table, 2)
    counted = recount(
        dumps(table.first), {1, 2}, {"K-1/front/1", "K-2/side/1"}, {table.big}, {small: Fraction(12, 100)}
    )
    as_recounted(found.recorded, counted)
    assert [p.sums.broken for x in found.recorded for p in x.parts] == [1, 1]
    assert sum(x.cost for x in found.scrapped) == 2 * 60 * MONEY
    later = over(table, day_at(table) + timedelta(days=1))
    assert later.is_empty is False and not later.recorded and later.earlier is not None
    assert total(later.earlier[1]) == total(found.recorded)
    assert later.rack and not later.broken


def _offcut(table, number):
    """The last offcut of a sheet of the first plan."""
    layout = table.first.layouts[number - 1]
    return [leaf.offcut for leaf in layout.leaves if leaf.offcut][-1]


def because(table):
    return Because(at=table.cut(0).at, who="desk")


def test_a_sheet_bears_the_excess_of_the_plan_that_laid_it_out(table):
    table.tell(table.cut(1))
    plan = remade(table)
    with table.store.writing() as c:
        commit_plan(c, plan, because(table))
    table.tell(
        table.cut(3),
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/side/1", at_step=AtStep.BREAKING),
        plan=plan,
    )
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
    as_recounted(found.recorded, recount(dumps(plan), {1, 3}, {"K-1/side/1"}))
    assert {x.number: x.sums.in_rest for x in found.recorded} == {1: 15 * MONEY, 3: 10 * MONEY}
    assert [(x.plan, x.number) for x in found.planned if x.plan == plan.id] == [(plan.id, 1), (plan.id, 3)]
    assert table.first.id not in {x.plan for x in found.planned}


def test_a_withdrawn_plan_leaves_what_was_cut_of_it(table):
    table.tell(table.cut(1))
    with table.store.writing() as c:
        withdraw_plan(c, table.first.id, because(table))
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
    as_recounted(found.recorded, recount(dumps(table.first), {1}))
    assert {(x.plan, x.number) for x in found.planned} >= {(table.first.id, 1)}
    assert (table.first.id, 2) not in {(x.plan, x.number) for x in found.planned}


def test_weeks_and_months_add_up_to_the_period(table):
    at = table.cut(0).at
    table.tell(table.cut(1), table.cut(2, at=at + timedelta(days=30)))
    first, last = day_at(table) - timedelta(days=3), day_at(table) + timedelta(days=40)
    whole = over(table, first, last, compare=False)
    same_as_figures_over(table, whole)
    for by in ("week", "month"):
        found = over(table, first, last, by)
        adds_up(found)
        assert total(found.recorded) == total(whole.recorded)
        spans = found.days.spans
        assert spans[0].first == first and spans[-1].last == last
        assert all(a.last + timedelta(days=1) == b.first for a, b in pairwise(spans))
        for k, span in enumerate(spans):
            alone = over(table, span.first, span.last, compare=False)
            assert [x.number for x in alone.recorded] == [x.number for x in found.recorded if x.span == k]
    assert [s.name for s in days_of(date(2026, 12, 30), date(2027, 1, 5), "week").spans] == [
        "2026-W53",
        "2027-W01",
    ]
    assert [s.name for s in days_of(date(2026, 12, 30), date(2027, 1, 5), "month").spans] == [
        "2026-12",
        "2027-01",
    ]
    empty = over(table, first - timedelta(days=90), first - timedelta(days=80))
    assert empty.is_empty
    with table.store.reading() as c:
        known = known_days(c)
    assert known == (day_at(table), day_at(table) + timedelta(days=30))
    assert only_glass(whole, "clear").recorded == whole.recorded
    assert only_glass(whole, "low-iron-10").is_empty


def test_the_quick_reading_of_a_plan_is_the_thorough_one(plans, hand_plan, pentagon_plan, inch_plan):
    for plan in (*plans, hand_plan, pentagon_plan, inch_plan):
        named = json.loads(dumps(plan))
        named["panels"][0]["product"] = "show tanks"
        text = json.dumps(named)
        assert pieces_in(text, "plan") == pieces_of(loads(text))
        assert pieces_in(text, "plan").panels[plan.panels[0].id].product == "show tanks"
        assert pieces_in(text, "plan").bounds == {g: o.bound.cost for g, o in plan.outcomes.items()}


# ---------------------------------------------------------------- folders


@pytest.fixture
def shelf(tmp_path, plans):
    """Puts plans and records into folders, and adds them up."""

    class Shelf:
        def __init__(self):
            self.problems = Problems()

        def put(self, name, plan, *events, of=None):
            folder = tmp_path / name
            folder.mkdir()
            (folder / "plan.json").write_text(dumps(plan), encoding="utf-8")
            if events:
                text = record_text(Record(plan=(of or plan).id, events=events))
                (folder / "table.record.json").write_text(text, encoding="utf-8")
            return folder

        def waste(self, *folders, **more):
            self.problems = Problems()
            return waste_of_folders(folders, default_shop(), self.problems, **more)

    return Shelf()


def test_folders_give_what_the_store_gives(table, shelf):
    events = [
        table.cut(1), table.cut(2), table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.big),
        table.event(What.OFFCUT_KEPT, sheet=2, offcut=_offcut(table, 2), size=(mm(400), mm(300))),
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING, id="gone"),
        table.event(What.PANEL_BROKEN, sheet=2, panel="K-2/front/1", at_step=AtStep.EDGING, id="not"),
        table.event(What.UNDONE, undoes="not"),
    ]  # fmt: skip
    table.tell(*events)
    stored = over(table)
    day = day_at(table)
    found = shelf.waste(shelf.put("week", table.first, *events), period=(day, day))
    assert not shelf.problems and found is not None
    adds_up(found)
    assert found.recorded == stored.recorded and found.broken == stored.broken
    assert not found.planned and "no day" not in "".join(found.notes), "cut sheets have a day"
    mine, theirs = found.offcuts["clear-10"], stored.offcuts["clear-10"]
    assert (mine.made, mine.thrown, mine.unsaid) == (theirs.made, theirs.thrown, theirs.unsaid)
    every = shelf.waste(shelf.put("again", table.first, *events))
    assert every is not None and len(every.planned) == 2 and every.recorded == stored.recorded
    assert {x.span for x in every.planned} == {-1}
    later = shelf.waste(shelf.put("none", table.first), period=(day, day))
    assert later is not None and later.is_empty and "2 sheets" in later.notes[0]


def test_plans_in_folders_count_once(table, shelf):
    first, plan = table.first, remade(table)
    one = shelf.put("one", first, table.cut(1))
    two = shelf.put("two", plan, table.cut(3))
    copy = shelf.put("copy", first)
    other = shelf.put("other", table.second, table.cut(1), of=first)
    found = shelf.waste(one, two, copy, other)
    assert found is not None
    adds_up(found)
    assert [(x.plan, x.number) for x in found.recorded] == [(plan.id, 1), (plan.id, 3)]
    assert {x.number: x.sums.in_rest for x in found.recorded} == {1: 15 * MONEY, 3: 10 * MONEY}
    said = "\n".join(found.notes)
    assert "counted once" in said and f"plan {plan.id} was made from it" in said
    fork = replace(plan, id="AAAA-AAAA", seed=2)
    assert shelf.waste(one, two, shelf.put("fork", fork)) is None
    assert "both made from plan" in str(shelf.problems.errors[0])


def test_folders_that_cannot_be_read_are_named(shelf, tmp_path, plans):
    (tmp_path / "bad").mkdir()
    (tmp_path / "bad" / "plan.json").write_text("{", encoding="utf-8")
    good = shelf.put("good", plans[0])
    (good / "x.record.json").write_text('{"schema": "panewright.record/1"}', encoding="utf-8")
    assert shelf.waste(tmp_path / "bad", tmp_path / "nowhere", good) is None
    said = [str(p) for p in shelf.problems.errors]
    assert len(said) == 3 and all(
        any(name in line for line in said) for name in ("bad", "nowhere", "x.record")
    )


def test_a_bound_that_is_not_there_avoids_nothing(shelf, plans):
    found = shelf.waste(shelf.put("bare", replace(plans[0], outcomes={})))
    assert found is not None and found.no_bound == ((plans[0].id, "clear-10"),)
    s = total(found.planned)
    assert (s.rest, s.in_unavoidable, s.in_rest) == (s.beside, 0, s.cost)


# ---------------------------------------------------------------- the sums alone

AREA = st.integers(0, 5 * 10**18)


@st.composite
def sheets(draw):
    """Any sheet: panels of some orders, spares and fillers, some broken, offcuts thrown away in part."""
    pieces = []
    for n in range(draw(st.integers(0, 7))):
        cut = draw(st.integers(1, 10**18))
        pieces.append(
            Piece(
                panel=f"p{n}",
                order=draw(st.sampled_from("AB")),
                product=draw(st.sampled_from(("tanks", "single"))),
                purpose=draw(st.sampled_from(Purpose)),
                cut=cut,
                finished=draw(st.integers(0, cut)),
                broke=draw(st.sampled_from((None, None, *AtStep))),
            )
        )
    trim, cullet, offcut = draw(AREA), draw(AREA), draw(AREA)
    areas = {purpose: sum(p.cut for p in pieces if p.purpose is purpose) for purpose in Purpose}
    figures = Figures(
        sheets=1,
        sheet=sum(areas.values()) + trim + cullet + offcut,
        cut=areas[Purpose.ORDER],
        finished=sum(p.finished for p in pieces if p.purpose is Purpose.ORDER),
        spare=areas[Purpose.SPARE],
        filler=areas[Purpose.FILLER],
        trim=trim,
        cullet=cullet,
        offcut=offcut,
        cost=draw(st.integers(0, 10**8)),
    )
    away = Away(draw(st.integers(0, offcut // 2)), draw(st.integers(0, offcut // 2)))
    return figures, pieces, away


@settings(max_examples=25)
@given(st.lists(sheets(), min_size=1, max_size=5), st.none() | st.integers(0, 10**8))
def test_every_sheet_adds_up_whatever_happened(made, bound):
    figures = {n: one for n, (one, _, _) in enumerate(made)}
    shares = over_bound(figures, bound)
    cost = sum(one.cost for one in figures.values())
    borne = sum(one.money for one in shares.values())
    has_area = all(one.sheet for one in figures.values() if one.cost)
    assert borne == (cost - min(cost, bound or 0)) or not has_area
    for n, (one, pieces, away) in enumerate(made):
        if not one.sheet:
            continue
        x = sheet_waste(
            span=0, plan="P", number=n, glass="clear-10", stock="S", is_offcut=False, figures=one, pieces=pieces,
            thickness=mm(10), worth=Fraction(3, 10**14), over=shares[n] if has_area else NONE, away=away,
        )  # fmt: skip
        sheet_adds_up(x)
        assert x.sums.cost == one.cost and x.sums.sheet == one.sheet
        assert x.sums.offcut == one.offcut - away.trim - away.cullet


def test_what_orders_are_together():
    walls = [Look(name, "clear-12", 100, True) for name in ("front", "right", "back", "left")]
    base = Look("reef base", "clear-15", 300, True)
    assert kind_of([*walls, base]) == "rectangle tanks clear-12"
    assert kind_of([*walls, replace(base, rectangle=False)]) == "shaped tanks clear-12"
    assert kind_of([*walls, replace(base, cut=500)]) == "rectangle tanks clear-15"
    assert kind_of([base]) == "single panels clear-15" and kind_of(walls) == "single panels clear-12"
    assert (tanks_in([*walls, base]), tanks_in([*walls, *walls, base, base]), tanks_in([base])) == (1, 2, 0)


def test_cost_a_square_metre_and_its_spread():
    """Quartiles by the inverse of the empirical distribution (Hyndman and Fan 1996, definition 1), by hand."""
    two = 2 * NM2_PER_M2
    orders = [
        WasteSums(cost=cost * MONEY, finished=metres * two, worth=worth * MONEY)
        for cost, metres, worth in ((10, 1, 0), (24, 2, 2), (30, 2, 0), (40, 2, 0), (0, 0, 0))
    ]
    spread = spread_of(orders)
    assert spread is not None and spread.orders == 4
    assert spread.mean == 1_020_000 // 7, "(10 + 22 + 30 + 40) / 7 = 14.5714"
    assert [spread.least, spread.quarter, spread.middle, spread.three_quarters, spread.most] == [
        10 * MONEY, 10 * MONEY, 11 * MONEY, 15 * MONEY, 20 * MONEY,
    ]  # fmt: skip
    assert spread_of(orders[-1:]) is None


def test_spares_alone_have_no_order(hand_sheet, make_panel, shelf):
    s = hand_sheet(mm(600), mm(400), (), Trim())
    spare = replace(make_panel(600, 400, id="K/p/1"), purpose=Purpose.SPARE)
    s.panel("s", spare)
    found = shelf.waste(shelf.put("spare", s.plan([spare], stock="R-1", is_offcut=True)))
    assert found is not None
    adds_up(found)
    (x,) = found.planned
    assert [(p.order, p.product) for p in x.parts] == [("", "")]
    assert (x.sums.in_extras, x.sums.in_panels, x.sums.cost) == (PRICE, 0, PRICE)
    assert (x.sums.from_offcuts, square(x.sums.spare)) == (1, Fraction(24, 100))
