"""Figures over a period, against figures worked out by hand from the sizes in `chained_plans`.

Sheet 2000 x 1000 mm: panels as cut 0.35 + 0.35 + 0.24 m2, offcuts 0.4704 + 0.432 m2. Cullet: trims 20 x 1000 and 1980 x 20,
100 x 500 beside the panels, 600 x 80 above the third, of which 600 x 25 are trim: 0.0746 m2 of trim, 0.083 m2 of the
rest. 2.5 kg per m2 and mm of glass (EN 572-1).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from sqlalchemy import update

from panewright.io.record_file import What
from panewright.io.store.breaking import breakage_counts
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.ledger import Because
from panewright.io.store.moving import take_out
from panewright.io.store.period import figures_over
from panewright.io.store.schema import item
from panewright.nesting.happened import AtStep
from panewright.nesting.plan_id import plan_id
from panewright.nesting.units import NM2_PER_M2, mm

PLANNED = {"sheet": 2, "cut": Fraction(94, 100), "trim": Fraction(746, 10**4), "cullet": Fraction(83, 1000)}
OFFCUTS = Fraction(9024, 10**4)
BECAUSE = Because(at=datetime(2027, 3, 8, 9, 0, tzinfo=UTC), who="desk")


def metres(twice: int) -> Fraction:
    return Fraction(twice, 2 * NM2_PER_M2)


def of(figures) -> dict[str, Fraction]:
    return {name: metres(getattr(figures, name)) for name in PLANNED}


def test_what_broke_and_was_thrown_is_waste_of_its_sheet(table):
    at = table.cut(0).at
    first = at.replace(hour=0, minute=0)
    after = first + timedelta(days=1)

    def figures(since=first, until=after):
        with table.store.reading() as c:
            return figures_over(c, since, until)

    nothing = figures()
    assert of(nothing.total.recorded) == dict.fromkeys(PLANNED, 0)
    assert nothing.total.planned.sheets == 3, "both plans are committed on that day"
    table.tell(
        table.cut(1),
        table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big),
        table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small),
        table.cut(2, at=after + timedelta(hours=9)),
    )
    day = figures()
    assert list(day.by_glass) == ["clear-10"] and (day.first, day.last) == (at.date(), at.date())
    one = day.total
    assert of(one.recorded) == PLANNED and metres(one.recorded.offcut) == OFFCUTS
    assert one.recorded.gross_yield == Fraction(47, 100)
    assert one.recorded.net_yield == Fraction(94, 100) / (2 - OFFCUTS)
    finished = 2 * Fraction(697 * 497, 10**6) + Fraction(597 * 397, 10**6)
    assert one.recorded.finished_yield == finished / 2
    assert one.recorded.scrap_grams == 3940
    assert (one.offcuts.made, metres(one.offcuts.made_area), one.offcuts.unsaid) == (2, OFFCUTS, 0)
    later = figures(after, after + timedelta(days=1))
    assert later.total.recorded.sheets == 1 and later.total.offcuts.unsaid == 2
    assert later.total.planned.sheets == 0 and later.total.offcuts.in_rack == 2
    assert later.total.offcuts.mean_age == 1, "the ages run to the last day of the period"

    # a panel of 0.35 m2, clear of the trims, and the offcut at the raw right and upper side: of its 480 x 980 mm
    # 25 x 980 and 455 x 25 mm lie within the trim
    table.tell(
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING, id="b"),
        table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.big, id="t"),
    )
    table.tell(table.cut(1, id="really"), plan=table.second)
    with table.store.reading() as c:
        one = figures_over(c, first, after).by_glass["clear-10"]
        counts = breakage_counts(c, first, after)
    own, thrown, in_trim = Fraction(35, 100), Fraction(4704, 10**4), Fraction(25 * 980 + 455 * 25, 10**6)
    lid, lid_trim = Fraction(24, 100), Fraction(25 * 900, 10**6)
    sheet = PLANNED["sheet"] + Fraction(432, 1000)
    assert of(one.recorded) == {
        "sheet": sheet,
        "cut": PLANNED["cut"] - own + lid,
        "trim": PLANNED["trim"] + in_trim + lid_trim,
        "cullet": PLANNED["cullet"] + own + thrown - in_trim + (Fraction(432, 1000) - lid - lid_trim),
    }
    assert one.recorded.sheet == sum(
        getattr(one.recorded, name) for name in ("cut", "trim", "cullet", "offcut", "spare", "filler")
    )
    assert of(one.planned)["cut"] == 2 * PLANNED["cut"] + lid, "the plans are as they were"
    flow = one.offcuts
    assert (flow.made, flow.used, flow.thrown) == (1, 1, 1) and metres(flow.used_area) == Fraction(432, 1000)
    assert flow.in_rack == 0 and flow.mean_age is None
    assert one.broken == {AtStep.EDGING: 1}

    # edges are polished, nothing is drilled: 4 panels are scored, broken out and edged, 3 go on
    by_step = {step.value: [0, 0] for step in AtStep}
    for count in counts:
        by_step[count.step][0] += count.passed
        by_step[count.step][1] += count.broken
    assert by_step == {
        "scoring": [4, 0], "breaking": [4, 0], "edging": [4, 1], "drilling": [0, 0], "handling": [3, 0],
    }  # fmt: skip
    hit = next(count for count in counts if count.broken)
    assert (hit.glass, hit.width, hit.height, hit.passed) == ("clear-10", mm(697), mm(497), 1)

    table.tell(table.event(What.UNDONE, undoes="b"), table.event(What.UNDONE, undoes="t"))
    again = figures().total
    assert again.recorded.cut == one.recorded.cut + 2 * own * NM2_PER_M2 and not again.broken
    assert metres(again.recorded.offcut) == OFFCUTS, "also the one that is cut up since was left by the sheet"


def test_a_followed_plan_counts_once_and_days_come_before_the_commit(table):
    at = table.cut(0).at
    table.tell(table.cut(1))
    layouts = tuple(replace(x, day=date(2027, 3, 20)) for x in table.first.layouts)
    later = replace(
        table.first, id=plan_id(1, layouts), seed=1, layouts=layouts, extra={"follows": [table.first.id]}
    )
    with table.store.writing() as c:
        commit_plan(c, later, Because(at=at, who="desk"))
        c.execute(update(item).where(item.c.name == "C-1").values(place="A"))
    start = datetime(2027, 3, 1, tzinfo=at.tzinfo)
    with table.store.reading() as c:
        month = figures_over(c, start, start + timedelta(days=31))
        week = figures_over(c, start, start + timedelta(days=14))
    assert (month.total.planned.sheets, month.total.recorded.sheets) == (3, 1)
    assert (week.total.planned.sheets, week.total.recorded.sheets) == (1, 1)


def test_a_panel_of_the_same_name_in_another_plan_is_another_panel(table):
    """As where what broke is planned again from its order list, without a remake."""
    table.tell(
        table.cut(1), table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.HANDLING)
    )
    with table.store.writing() as c:
        withdraw_plan(c, table.first.id, BECAUSE)
        layouts = table.first.layouts
        other = replace(table.first, id=plan_id(7, layouts), seed=7, layouts=layouts)
        commit_plan(c, other, BECAUSE)
    table.tell(table.cut(1), plan=other)
    start = table.cut(0).at.replace(hour=0, minute=0)
    with table.store.reading() as c:
        counts = breakage_counts(c, start, start + timedelta(days=1))
        assert figures_over(c, start, start + timedelta(days=1)).total.broken == {AtStep.HANDLING: 1}
    at = [count for count in counts if count.step == AtStep.HANDLING.value]
    assert (sum(x.passed for x in at), sum(x.broken for x in at)) == (6, 1)
    table.tell(
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING), plan=other
    )
    with table.store.reading() as c:
        found = figures_over(c, start, start + timedelta(days=1)).total.broken
    assert found == {AtStep.EDGING: 1, AtStep.HANDLING: 1}


def test_what_broke_in_the_rack_is_counted_with_what_was_scrapped(table):
    table.tell(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big))
    start = table.cut(0).at.replace(hour=0, minute=0)
    with table.store.writing() as c:
        for name, broken in (("C-1", True), ("C-2", False), (table.big, True)):
            take_out(c, name, None, BECAUSE, broken=broken)
    with table.store.reading() as c:
        total = figures_over(c, start, start + timedelta(days=1)).total
    assert (total.scrapped, metres(total.scrapped_area)) == (2, 4)
    assert (total.offcuts.thrown, metres(total.offcuts.thrown_area)) == (1, Fraction(4704, 10**4))
