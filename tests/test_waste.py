"""The waste report's sums: against `figures_over`, which adds up by itself, and against a recount from plan.json.

The recount below knows the plan file by its contract alone (shoelace formula, standard library). Sheets are those of
`chained_plans` (see test_store_period.py): 2000 x 1000 mm, panels 0.35 + 0.35 + 0.24 m2, offcuts 0.4704 + 0.432 m2.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

from panewright.io.record_file import What
from panewright.io.shop_file import default_shop
from panewright.io.store.ledger import Because
from panewright.io.store.period import figures_over
from panewright.io.store.waste_rows import waste_over
from panewright.io.waste_data import days_of
from panewright.nesting.happened import AtStep
from panewright.nesting.waste.groups import by_part, by_sheet
from panewright.nesting.waste.sums import WasteSums

DAY = date(2027, 3, 8)
BECAUSE = Because(at=datetime(2027, 3, 8, 9, 0, tzinfo=UTC), who="desk")


def over(table, first=DAY, last=DAY, by="week", **more):
    with table.store.reading() as c:
        return waste_over(c, days_of(first, last, by), default_shop(), **more)


def total(sheets):
    return WasteSums.of(sheet.sums for sheet in sheets)


def adds_up(found):
    """Areas to the sheets, money to the cost, parts to their sheets, groups to the total."""
    for sheets in (found.planned, found.recorded):
        for x in sheets:
            s = x.sums
            assert s.sheet == s.cut + s.spare + s.filler + s.lost + s.trim + s.cullet + s.offcut
            assert 0 <= s.rest <= s.beside and s.in_unavoidable >= 0 <= s.in_rest
            together = WasteSums.of(part.sums for part in x.parts)
            together.sheets, together.from_offcuts = s.sheets, s.from_offcuts
            assert together == s
            for part in x.parts:
                p = part.sums
                assert p.sheet == p.cut + p.spare + p.filler + p.lost + p.trim + p.cullet + p.offcut
        whole = total(sheets)
        for key in (lambda x: x.span, lambda x: x.glass, lambda x: x.stock):
            assert WasteSums.of(by_sheet(sheets, key).values()) == whole
        for key in (lambda x, part: part.order, lambda x, part: part.product):
            shared = WasteSums.of(by_part(sheets, key).values())
            assert (shared.cost, shared.sheet, shared.rest) == (whole.cost, whole.sheet, whole.rest)


def same_as_figures_over(table, found):
    with table.store.reading() as c:
        period = figures_over(c, found.days.begin, found.days.end)
    for name, sheets in (("planned", found.planned), ("recorded", found.recorded)):
        mine = by_sheet(sheets, lambda x: x.glass)
        for glass, one in period.by_glass.items():
            theirs, s = getattr(one, name), mine.get(glass, WasteSums())
            assert (s.sheets, s.sheet, s.cut, s.finished, s.spare, s.filler, s.trim, s.offcut, s.cost) == (
                theirs.sheets, theirs.sheet, theirs.cut, theirs.finished, theirs.spare, theirs.filler,
                theirs.trim, theirs.offcut, theirs.cost,
            )  # fmt: skip
            assert s.cullet + s.lost == theirs.cullet and s.scrap_grams == theirs.scrap_grams
    broken = {}
    for (glass, step), count in found.broken.items():
        broken.setdefault(glass, {})[step] = count
    assert broken == {glass: one.broken for glass, one in period.by_glass.items() if one.broken}
    flows = {g: f for g, f in found.offcuts.items() if f != type(f)()}
    assert flows == {g: one.offcuts for g, one in period.by_glass.items() if one.offcuts != type(one.offcuts)()}
    assert sum(x.count for x in found.scrapped) == period.total.scrapped
    assert sum(x.area for x in found.scrapped) == period.total.scrapped_area


def test_a_quiet_and_a_bad_day(table):
    table.tell(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big))
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
    table.tell(
        table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING),
        table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.big),
        table.cut(2),
    )
    found = over(table)
    adds_up(found)
    same_as_figures_over(table, found)
