"""What rounded marks do to the sizes of panels, against a replay in floating point with shapely."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise, product
from math import atan2, degrees, dist, hypot
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient
from shapely.ops import split

from panewright.io.mark_words import error_words, mark_warnings
from panewright.io.plan_summary import cautions
from panewright.io.sequence_files import sequence_text
from panewright.io.shop_file import default_shop
from panewright.nesting.blanks import candidates
from panewright.nesting.checker import check
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.mark_errors import size_errors
from panewright.nesting.outlines import area2, hull, is_rectangle
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.pieces import Direction
from panewright.nesting.plan import CutKind, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.rules import Rules
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop_table import Habit, Lifts, TableWork
from panewright.nesting.steps import Eaten, SizeError
from panewright.nesting.units import MM, LengthStyle, mm, use_style

NEAR = 3.0
"""A real corner lies this near to where it should be. [mm]"""
SAME = 2e-5
"""How closely both replays agree. [mm]"""

P = tuple[float, float]


@pytest.fixture(autouse=True)
def metric():
    use_style(MM)
    yield
    use_style(MM)


def rounding(plan: Plan, step: int | None) -> Plan:
    return replace(plan, rules={glass: replace(r, mark_step=step) for glass, r in plan.rules.items()})


def errors(plan: Plan) -> dict[str, SizeError]:
    return size_errors(plan, plan.layouts[0])


# ---------------------------------------------------------------- the replay in floating point


def sides(shape: Polygon) -> list[tuple[P, P]]:
    ring = list(orient(shape).exterior.coords)
    return [(a, b) for a, b in pairwise(ring) if dist(a, b) > 1e-4]


def off(a: P, b: P, p: P) -> float:
    """Distance of p to the right of a -> b."""
    return ((b[1] - a[1]) * (p[0] - a[0]) - (b[0] - a[0]) * (p[1] - a[1])) / dist(a, b)


def halves(shape: Polygon, a: P, b: P) -> tuple[Polygon, Polygon]:
    """The parts to the left and right of the line, extended both ways."""
    ux, uy = (b[0] - a[0]) / dist(a, b), (b[1] - a[1]) / dist(a, b)
    line = LineString([(a[0] - 5 * ux, a[1] - 5 * uy), (b[0] + 5 * ux, b[1] + 5 * uy)])
    parts = sorted(split(shape, line).geoms, key=lambda g: -g.area)[:2]
    assert len(parts) == 2
    parts.sort(key=lambda g: off(a, b, (g.centroid.x, g.centroid.y)))
    return parts[0], parts[1]


def partner(edge: tuple[P, P], shape: Polygon) -> tuple[P, P]:
    """The side of the real piece that belongs to an edge."""
    found = min(sides(shape), key=lambda s: dist(s[0], edge[0]) + dist(s[1], edge[1]))
    assert dist(found[0], edge[0]) < NEAR and dist(found[1], edge[1]) < NEAR
    return found


def replayed(plan: Plan) -> Iterator[tuple[str, Polygon, Polygon]]:
    """Every leaf by its piece name, as it should be and as the rounded marks make it. [mm]"""
    layout = plan.layouts[0]
    should = {
        "s": Polygon(
            [
                (0, 0),
                (layout.width / 1e6, 0),
                (layout.width / 1e6, layout.height / 1e6),
                (0, layout.height / 1e6),
            ]
        )
    }
    real = dict(should)
    shaped: set[str] = set()
    bases: dict[int, tuple[bool, bool, float]] = {}
    for cut, step in zip(layout.cuts, steps_of(plan, layout), strict=True):
        piece, is_so = should.pop(cut.piece), real.pop(cut.piece)
        a, b = ((x / 1e6, y / 1e6) for x, y in (cut.start, cut.end))
        parts = halves(piece, a, b)
        should |= dict(zip(cut.makes, parts, strict=True))
        if cut.kind is CutKind.SHAPE and cut.piece not in shaped:
            # a blank is put down where it should lie: only what happens within it counts
            (x, y, *_), (rx, ry, *_) = piece.bounds, is_so.bounds
            is_so = translate(is_so, x - rx, y - ry)
        if cut.kind is CutKind.SHAPE:
            shaped.update(cut.makes)
        ends = []
        if step.placement is not None:
            if step.is_first:
                box = is_so.bounds
                upright = step.placement.edge in (Direction.LEFT, Direction.RIGHT)
                far = step.placement.edge in (Direction.RIGHT, Direction.TOP)
                bases[step.placement.number] = upright, far, box[(0 if upright else 1) + (2 if far else 0)]
            upright, far, base = bases[step.placement.number]
            at = base + (-1 if far else 1) * step.mark / 1e6
            line = [(at, -9000.0), (at, 9000.0)] if upright else [(-9000.0, at), (9000.0, at)]
            if (b[1] - a[1] if upright else b[0] - a[0]) < 0:
                line.reverse()
            real |= dict(zip(cut.makes, halves(is_so, line[0], line[1]), strict=True))
            continue
        for mark in step.marks:
            corner, at = (tuple(v / 1e6 for v in p) for p in (mark.corner, mark.at))
            if not mark.distance:
                ends.append(min((p for s in sides(is_so) for p in s), key=lambda p: dist(p, at)))
                continue
            edge = next(
                s
                for s in sides(piece)
                if min(dist(corner, s[0]), dist(corner, s[1])) < 1e-3 and abs(off(*s, at)) < 1e-3
            )
            start, end = partner(edge, is_so)
            if dist(corner, edge[1]) < 1e-3:
                start, end = end, start
            part = mark.table / 1e6 / dist(start, end)
            ends.append((start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1])))
        if step.distance is not None:
            edge = next(
                s for s in sides(piece) if all(abs(-off(*s, p) - step.distance / 1e6) < 2e-3 for p in (a, b))
            )
            start, end = partner(edge, is_so)
            ux, uy = (end[0] - start[0]) / dist(start, end), (end[1] - start[1]) / dist(start, end)
            d, far = step.table / 1e6, 5000
            line = [
                (start[0] - d * uy - far * ux, start[1] + d * ux - far * uy),
                (end[0] - d * uy + far * ux, end[1] + d * ux + far * uy),
            ]
            if ux * (b[0] - a[0]) + uy * (b[1] - a[1]) < 0:
                line.reverse()
            ends = line
        real |= dict(zip(cut.makes, halves(is_so, ends[0], ends[1]), strict=True))
    for name, shape in should.items():
        yield name, shape, real[name]


def off_by(shape: Polygon, real: Polygon) -> tuple[float, float]:
    """The most glass missing at an edge, and the most too much, laid down as well as may be. [mm]"""
    edges = sides(shape)
    pairs = [(edge, partner(edge, real)) for edge in edges]
    tiers: list[list[tuple[float, float, float]]] = [[], [], []]
    for (should, there), corner in product(pairs, (0, 1)):
        if dist(*there) < 20:
            continue
        true = all(abs(off(*should, p)) <= 1e-5 for p in there)
        stays = max(abs(v - w) for v, w in zip(should[corner], there[corner], strict=True)) <= 1e-5
        ways = [degrees(atan2(q[1] - p[1], q[0] - p[0])) for p, q in (should, there)]
        (ox, oy), (px, py) = should[corner], there[corner]
        spans = []
        for edge, (p, q) in pairs:
            laid = translate(rotate(LineString([p, q]), ways[0] - ways[1], origin=(px, py)), ox - px, oy - py)
            spans += [off(*edge, end) for end in laid.coords]
        worst = max(map(abs, spans))
        tiers[0 if true and stays else 1 if true else 2].append(
            (worst, max(0.0, -min(spans)), max(0.0, *spans))
        )
    best = min(next(tier for tier in tiers if tier), key=lambda t: t[0])
    return best[1], best[2]


def compare(plan: Plan) -> float:
    """Hold both replays against each other; the most that a panel is off. [mm]"""
    ours = errors(plan)
    leaves = {leaf.piece: leaf.panel for leaf in plan.layouts[0].leaves if leaf.panel}
    most = 0.0
    for name, shape, real in replayed(plan):
        if name not in leaves:
            continue
        missing, extra = off_by(shape, real)
        found = ours.get(leaves[name])
        got = (found.missing / 1e6, found.extra / 1e6) if found else (0.0, 0.0)
        # two ways to lay a panel down may be equally good: the greater of both counts
        assert max(got) == pytest.approx(max(missing, extra), abs=SAME)
        most = max(most, *got)
    return most


# ---------------------------------------------------------------- against it


@pytest.mark.parametrize("step", ["0.1", "0.5", "1"])
def test_pairs_come_off_as_the_other_replay_says(
    trapezoids: Plan, pentagons: Plan, octagon_plan: Plan, pentagon_plan: Plan, step: str
) -> None:
    for plan in (trapezoids, pentagons, octagon_plan, pentagon_plan):
        compare(rounding(plan, mm(step)))
    assert 0 < compare(rounding(trapezoids, mm(step))) < float(step)


def test_the_trapezoid_pair_by_hand(trapezoids: Plan) -> None:
    # one score serves both: what one panel lacks the other has too much of, square to the score
    one, two = errors(rounding(trapezoids, mm("0.5"))).values()
    short = (503.6645 - 503.5) * 400 / hypot(400, 150)
    assert one.missing / 1e6 == pytest.approx(short, abs=1e-4)
    assert two.extra / 1e6 == pytest.approx(short, abs=1e-4)
    assert one.extra == 0 and two.missing == 0
    assert one.eaten is two.eaten is Eaten.LITTLE and one.as_cut == 0


def test_exact_marks_make_no_error(trapezoids: Plan, pentagons: Plan) -> None:
    for plan in (trapezoids, pentagons):
        assert errors(plan) == {}
        assert mark_warnings(plan) == []


def rhomboids(blank_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    lean, long, high = mm("130.37"), mm("350.23"), mm(400)
    outline = ((0, 0), (long, 0), (long + lean, high), (lean, high))
    s, rest = blank_sheet(5 * long + lean, high)
    panels = [make_panel(id=f"R/fin/{k}", outline=outline) for k in range(5)]
    corner, rest = s.angled(rest, (0, 0), (lean, high))
    s.cullet(corner)
    for k, panel in enumerate(panels, 1):
        piece, rest = s.angled(rest, (k * long, 0), (k * long + lean, high))
        s.panel(piece, panel)
    s.cullet(rest)
    return s.plan(panels, stock="R-4", is_offcut=True)


def test_a_row_measured_from_edge_to_edge_adds_no_errors_up(
    blank_sheet: Callable, make_panel: Callable[..., Panel], outsider: Callable, tmp_path: Path
) -> None:
    plan = rounding(rhomboids(blank_sheet, make_panel), mm(1))
    assert check(plan) == []
    outsider(plan, tmp_path)
    compare(plan)
    # 130.37 mm are marked as 130, so every edge after it leans by 0.37 mm too little over the height
    found = errors(plan)
    most = [max(e.missing, e.extra) / 1e6 for e in found.values()]
    lean = 0.37 * 400 / hypot(400, 130.37)
    assert most[1:4] == pytest.approx([lean] * 3, abs=1e-3)


points = st.tuples(st.integers(0, 900), st.integers(0, 700))


@given(
    st.lists(points, min_size=4, max_size=8),
    st.integers(0, 3),
    st.sampled_from(["0.1", "0.5", "1"]),
    st.integers(0, 3),
)
def test_any_panel_comes_off_as_the_other_replay_says(
    blank_sheet: Callable, make_panel: Callable, corners: list, allowance: int, step: str, which: int
) -> None:
    outline = hull([(mm(x), mm(y)) for x, y in corners])
    assume(len(outline) > 2 and area2(outline) > 2 * mm(100) * mm(100) and not is_rectangle(outline))
    try:
        panel = make_panel(id="H/p/1", outline=outline, allowance=str(allowance))
    except InvalidOutline:
        assume(False)
    rules = Rules(break_out=mm(5), corner_depth=mm(5), least_angle=5_000)
    blanks = candidates(panel.cut, Turn.ANY, rules)
    assume(blanks)
    blank = blanks[which % len(blanks)]
    # short edges turn far under a rounded mark; the partner of such a one is anybody's guess
    assume(all(dist(p, q) > mm(30) for p, q in pairwise(blank.members[0].outline)))
    s, piece = blank_sheet(blank.width, blank.height)
    for start, end in ((score.start, score.end) for score in blank.cuts.scores):
        piece, corner = s.angled(piece, start, end)
        s.cullet(corner)
    s.panel(piece, panel, turned=0)
    plan = s.plan([panel], stock="R-5", is_offcut=True)
    layout = plan.layouts[0]
    leaves = tuple(replace(f, turned=blank.members[0].turned) if f.panel else f for f in layout.leaves)
    plan = replace(plan, layouts=(replace(layout, leaves=leaves),), rules={panel.glass: rules})
    compare(rounding(plan, mm(step)))


@pytest.mark.parametrize("habit", [Habit.STOP, Habit.STRIP])
def test_whole_sheets_come_off_as_the_other_replay_says(
    make_panel: Callable, make_stock: Callable, habit: Habit
) -> None:
    # odd sizes, so that every main cut is rounded; angled panels in blanks among them
    panels = [
        make_panel(f"{317.13 + 97.31 * (k % 7):.2f}", f"{241.77 + 83.19 * (k % 5):.2f}", id=f"R/p{k}/{n}")
        for k in range(12)
        for n in range(2)
    ]
    slanted = ((0, 0), (mm("500.13"), 0), (mm("350.37"), mm("400.21")), (0, mm("400.21")))
    panels += [make_panel(id=f"T/fin/{n}", outline=slanted, allowance="1.5") for n in range(3)]
    shop = replace(default_shop(), work=TableWork(habit=habit))
    planner = Planner(panels, [make_stock(3210, 2250, trim=(20, 25, 20, 25))], shop, effort=20)
    planner.start()
    while planner.advance():
        pass
    plan = planner.finish("effort")
    assert check(plan) == [] and plan.rules["clear-10"].mark_step == mm("0.5")
    off = [compare(replace(plan, layouts=(layout,))) for layout in plan.layouts]
    assert 0.2 < max(off) < 3
    steps = [s for layout in plan.layouts for s in steps_of(plan, layout)]
    assert any(s.placement is not None for s in steps) is (habit is Habit.STRIP)
    assert any(s.kind is CutKind.SHAPE for s in steps)


# ---------------------------------------------------------------- the allowance


def allowed(plan: Plan, *millimetres: str) -> Plan:
    """The same cut outlines, but with these allowances on the slanted edge of the trapezoids in turn."""
    panels = []
    for panel, off_edge in zip(plan.panels, millimetres, strict=True):
        edges = tuple(replace(e, allowance=mm(off_edge)) if i == 1 else e for i, e in enumerate(panel.edges))
        # the finished outline that has this cut outline: the slanted edge lies further out
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = panel.finished
        more = round((mm("1.5") - mm(off_edge)) * hypot(400, 150) / 400)
        finished = ((x0, y0), (x1 + more, y1), (x2 + more, y2), (x3, y3))
        assert (
            max(
                abs(a - b)
                for p, q in zip(cut_of(finished, edges), panel.cut, strict=True)
                for a, b in zip(p, q, strict=True)
            )
            < 5
        )
        panels.append(replace(panel, finished=finished, edges=edges))
    return replace(plan, panels=tuple(panels))


def test_what_eats_the_allowance_is_said(trapezoids: Plan) -> None:
    # the first panel lacks 0.154 mm at its slanted edge, the second has that much more
    for off_edge, eaten, said in (
        ("0.4", Eaten.LITTLE, None),
        (
            "0.2",
            Eaten.HALF,
            "Marks rounded to 0.5 mm take more than half of the allowance of an edge: K-204/baffle/1 up",
        ),
        ("0.1", Eaten.ALL, "WARNING: marks rounded to 0.5 mm take more than the allowance of an edge"),
    ):
        plan = rounding(allowed(trapezoids, off_edge, off_edge), mm("0.5"))
        one, two = errors(plan).values()
        assert one.eaten is eaten and two.eaten is Eaten.LITTLE
        lines = mark_warnings(plan)
        assert len(lines) == (said is not None)
        if said is not None:
            assert lines[0].startswith(said) and "K-204/baffle/1 up to 0.15 mm short" in lines[0]
            assert lines[0] in cautions(plan, Lifts())
            assert lines[0] in " ".join(sequence_text(plan).replace("!", " ").split())


def test_an_edge_without_allowance_stays_short_and_that_is_said(trapezoids: Plan) -> None:
    plan = rounding(allowed(trapezoids, "0", "0"), mm("0.5"))
    one, two = errors(plan).values()
    assert one.as_cut == one.missing > 0 and two.as_cut == 0
    assert one.eaten is Eaten.LITTLE
    (line,) = mark_warnings(plan)
    assert line == (
        "Marks rounded to 0.5 mm leave an edge without allowance short, and it stays so: "
        "K-204/baffle/1 up to 0.15 mm short."
    )


def test_errors_that_nobody_can_read_are_not_mentioned() -> None:
    small = SizeError(panel="p", missing=3000, extra=2000, eaten=Eaten.LITTLE, as_cut=0)
    assert error_words(small) == "" and error_words(None) == ""
    assert error_words(replace(small, extra=mm("0.2"))) == "rounded marks: up to 0.2 mm over"
    # half of a sixteenth of an inch is 0.79 mm: less is told as the finest that is shown
    use_style(LengthStyle("in", 16))
    assert error_words(replace(small, extra=mm("0.3"))) == 'rounded marks: up to 1/16" over'


@pytest.mark.parametrize("step", ["0.1", "0.5", "1"])
def test_finer_marks_leave_less(
    blank_sheet: Callable, make_panel: Callable, trapezoids: Plan, step: str
) -> None:
    # no mark moves by more than half a step, and no edge of this pair by more than its marks
    most = max(max(e.missing, e.extra) for e in errors(rounding(trapezoids, mm(step))).values())
    assert 0 < 2 * most <= mm(step)
