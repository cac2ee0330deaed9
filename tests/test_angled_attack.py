"""Angled panels of odd orders: what broke once, each as a test."""

from __future__ import annotations

from dataclasses import replace


from panewright.nesting.checker import check
from panewright.nesting.optimizer.instance import panel_types
from panewright.nesting.outlines import make_outline
from panewright.nesting.panels import Turn
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import Shop
from panewright.nesting.units import mm

GLASS = "clear-10"


def plan_of(panels, stock, shop=None, effort=20):
    shop = shop or Shop()
    bad = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, effort=effort, unplaced=bad)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def shape(*points):
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in points])


TAPER = shape((0, 0), (800, 0), (800, 400), (0, 395))
LEFT = shape((0, 0), (500, 0), (620, 250), (300, 400), (0, 330))
RIGHT = shape((120, 0), (620, 0), (620, 330), (320, 400), (0, 250))


def test_panels_that_may_and_may_not_be_mirrored_are_not_exchanged(
    make_panel, make_stock, outsider, tmp_path
):
    # one of equal outline may be flipped, and paid to be flipped: others were flipped in its place
    panels = [replace(make_panel(id=f"A/d/{k}", outline=LEFT), mirror=k == 1) for k in range(1, 5)] + [
        make_panel(id=f"A/f/{k}", outline=RIGHT, turn=Turn.HALF) for k in range(1, 5)
    ]
    types = panel_types(panels, Shop().rules(GLASS))
    assert all(len({p.mirror for p in t.panels}) == 1 for t in types)
    plan = plan_of(panels, [make_stock(3210, 2250)])
    assert [str(v) for v in check(plan)] == []
    assert not plan.unplaced
    outsider(plan, tmp_path)
