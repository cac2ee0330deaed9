"""Which panels and cuts a flaw hits, and which steps are held back: against shapely, the checker, and by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

import pytest
from shapely import LineString, Polygon
from shapely import box as shapely_box

from panewright.nesting.check_geometry import enters
from panewright.nesting.check_geometry import flaw_box as box_of_the_checker
from panewright.nesting.checker import check as check_plan
from panewright.nesting.flaw_hits import crosses, flaw_box, hits
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.panels import Panel
from panewright.nesting.placing import placed
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.spots import with_flaws
from panewright.nesting.units import mm

KINDS = ("seed", "scratch", "rub", "crack", "")
TOLERATES = (
    Tolerance("seed", "anywhere"),
    Tolerance("scratch", "edge", mm(25)),
    Tolerance("rub", "frame", mm(40)),
)


def random_flaw(rng: Random, plan: Plan) -> Flaw:
    layout = plan.layouts[0]
    x, y = rng.randrange(layout.width), rng.randrange(layout.height)
    if rng.random() < 0.7:  # at a corner of a panel, where it matters
        x, y = rng.choice(rng.choice([f for f in layout.leaves if f.panel]).outline)
        x, y = (
            x + rng.choice((-1, 0, 1)) * mm(rng.randrange(30)),
            y + rng.choice((-1, 0, 1)) * mm(rng.randrange(30)),
        )
    wide, high = (rng.choice((0, 1, mm(5), mm(30), mm(400))) for _ in range(2))
    return Flaw(max(0, x), max(0, y), wide, high, rng.choice(KINDS))


@pytest.mark.parametrize("name", ["hand_plan", "pentagon_plan", "octagon_plan"])
def test_hits_are_those_of_shapely_and_of_the_checker(request: pytest.FixtureRequest, name: str) -> None:
    plan = request.getfixturevalue(name)
    panels = [replace(panel, tolerates=TOLERATES) for panel in plan.panels]
    (layout,) = plan.layouts
    rng = Random(name)
    found = 0
    for _ in range(200):
        flaw = random_flaw(rng, plan)
        got = hits(layout, panels, flaw)
        spot = shapely_box(*flaw_box(flaw))
        assert flaw_box(flaw) == box_of_the_checker(flaw.box)
        for leaf in layout.leaves:
            if leaf.kind is not LeafKind.PANEL:
                continue
            common = Polygon(leaf.outline).intersection(spot)
            if common.area == 0:
                assert leaf.panel not in got.panels
            elif common.area > 100 and not common.buffer(-2).is_empty:  # beyond the rounding of floats [nm]
                panel = next(p for p in panels if p.id == leaf.panel)
                fine, close = allowed(panel, leaf, common, flaw.kind)
                assert close or (leaf.panel in got.panels) != fine
                found += 1
        for cut in layout.cuts:
            assert (cut.step in got.cuts) == enters(cut.start, cut.end, flaw_box(flaw))
            run = LineString([cut.start, cut.end]).intersection(spot.buffer(-2))
            assert run.is_empty or cut.step in got.cuts
    assert found > 20


@pytest.mark.parametrize("name", ["hand_plan", "octagon_plan"])
def test_hits_are_what_the_checker_refuses(request: pytest.FixtureRequest, name: str) -> None:
    plan = request.getfixturevalue(name)
    panels = tuple(replace(panel, tolerates=TOLERATES) for panel in plan.panels)
    (layout,) = plan.layouts
    rng = Random(name)
    refused = 0
    for _ in range(60):
        flaw = random_flaw(rng, plan)
        flaw = replace(
            flaw,
            width=min(flaw.width, layout.width - flaw.x),
            height=min(flaw.height, layout.height - flaw.y),
        )
        marked = with_flaws(layout, [flaw], ("seed", "scratch", "rub"))
        found = check_plan(replace(plan, panels=panels, layouts=(marked,)))
        panel_of = {leaf.piece: leaf.panel for leaf in layout.leaves}
        bad = [v for v in found if v.rule in ("flaw", "spot")]
        got = hits(layout, panels, flaw)
        assert {panel_of[v.piece] for v in bad if v.step is None} == set(got.panels), flaw
        assert {v.step for v in bad if v.step is not None} == set(got.cuts), flaw
        refused += bool(bad)
    assert 10 < refused < 60


def allowed(panel: Panel, leaf: Any, common: Any, kind: str) -> tuple[bool, bool]:
    """Whether a flaw may lie there, and whether that is a matter of nanometres."""
    if kind == "seed":
        return True, False
    if kind not in ("scratch", "rub"):
        return False, False
    finished = Polygon(placed(panel, leaf)[1])
    points = list(finished.exterior.coords)[:-1]
    listed = list(panel.finished)
    if leaf.mirrored:
        points = points[::-1]
    depth = mm(25) if kind == "scratch" else mm(40)
    best = None
    for i, a in enumerate(points):
        b = points[(i + 1) % len(points)]
        p, q = listed[i], listed[(i + 1) % len(points)]
        ends = {min(y for _, y in listed), max(y for _, y in listed)}
        if kind == "rub" and not (p[1] == q[1] and p[1] in ends):
            continue
        long = LineString([a, b]).length
        centre = finished.centroid
        way = (b[0] - a[0]) * (centre.y - a[1]) - (b[1] - a[1]) * (centre.x - a[0])
        far = max(
            ((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / long * (1 if way > 0 else -1)
            for x, y in common.exterior.coords
        )
        best = far if best is None else min(best, far)
    return best is not None and best <= depth, best is not None and abs(best - depth) < 10


def test_a_cut_along_a_flaw_does_not_cross_it() -> None:
    spot = flaw_box(Flaw(10, 10, 20, 20))
    assert not crosses((10, 0), (10, 99), spot) and not crosses((0, 30), (99, 30), spot)
    assert crosses((11, 0), (11, 99), spot) and crosses((0, 0), (99, 99), spot)
    assert not crosses((0, 20), (20, 0), spot) and not crosses((0, 0), (10, 10), spot)


def step_of(plan: Plan, panel: str) -> int:
    (layout,) = plan.layouts
    piece = next(leaf.piece for leaf in layout.leaves if leaf.panel == panel)
    return next(cut.step for cut in layout.cuts if piece in cut.makes)


def test_steps_that_serve_a_hit_panel_alone_are_held(hand_plan: Plan) -> None:
    # the drawing of conftest: front and back lie in the lower strip, the side in the upper one
    (layout,) = hand_plan.layouts
    side, front, back = "K-205/left side/1", "K-204/front/1", "K-204/back/1"
    got = hits(layout, hand_plan.panels, Flaw(mm(200), mm(700), mm(10), mm(10)))
    # what frees the side, and the last cut that frees it from waste
    assert got.panels == (side,) and got.cuts == ()
    assert set(got.held_steps) == {step_of(hand_plan, side) - 1, step_of(hand_plan, side)}
    # the break between both goes on: it frees the back, and leaves the front as a piece of its own
    got = hits(layout, hand_plan.panels, Flaw(mm(100), mm(100), mm(10), mm(10)))
    assert got.panels == (front,) and got.held_steps == ()
    # a cut that is crossed stops all that comes after it of its piece
    first = step_of(hand_plan, front)
    got = hits(layout, hand_plan.panels, Flaw(mm(719), mm(100), mm(10), mm(10)))
    assert set(got.panels) == {front, back} and got.cuts == (first,)
    assert set(got.held_steps) == {first, step_of(hand_plan, back)}
    # off already: neither hit nor held
    done = range(1, first + 1)
    got = hits(layout, hand_plan.panels, Flaw(mm(719), mm(100), mm(10), mm(10)), done=done)
    assert got.panels == (back,) and got.cuts == () and got.held_steps == (step_of(hand_plan, back),)
    # a crack right across the whole sheet
    got = hits(layout, hand_plan.panels, Flaw(0, 0, layout.width, layout.height, "crack"))
    assert len(got.panels) == 3 and got.held_steps == tuple(c.step for c in layout.cuts)
    # two flaws together leave nothing that either of them left
    one, two = Flaw(mm(200), mm(700), mm(10), mm(10)), Flaw(mm(719), mm(100), mm(10), mm(10))
    assert len(hits(layout, hand_plan.panels, one, two).held_steps) == len(layout.cuts)


def test_a_flaw_in_what_is_left_over_hits_nothing(hand_plan: Plan, make_panel: Callable[..., Panel]) -> None:
    (layout,) = hand_plan.layouts
    assert not hits(layout, hand_plan.panels, Flaw(mm(1700), mm(500), mm(10), mm(10)))
    assert not hits(layout, hand_plan.panels)
