"""Two convex panels side by side: no overlap, cuts for every place, and the traps that floats set."""

from __future__ import annotations

import json
from itertools import count, permutations
from math import cos, radians, sin

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import assume, given
from hypothesis import strategies as st

from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io import bench_pairs
from panewright.io.bench_groups import deviation
from panewright.io.bench_pairs import HOW, NO_RULES, pair, penetration, tried
from panewright.nesting.angled.cluster import joints, kind_of, laid, single
from panewright.nesting.angled.convex import area_of_both, both_edges, directions, hull, no_fit, turned
from panewright.nesting.angled.side_by_side import side_by_side
from panewright.nesting.blanks import candidates
from panewright.nesting.outlines import area2, make_outline
from panewright.nesting.outlines import hull as exact_hull
from panewright.nesting.panels import Turn
from panewright.nesting.units import mm

ROOM = np.array([(6000.0, 3210.0)])
RECTANGLE = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)]
SMALL = [(0.0, 0.0), (150.0, 0.0), (150.0, 100.0), (0.0, 100.0)]
PENTAGON = [(0.0, 0.0), (600.0, 0.0), (600.0, 250.0), (250.0, 600.0), (0.0, 600.0)]
TRIANGLE = [(0.0, 0.0), (300.0, 0.0), (0.0, 600.0)]
LEVEL = [(0.0, 1e-13), (500.0, 0.0), (430.0, 280.0), (0.0, 280.0 + 3e-14)]
"""Its bottom edge falls, and its top edge rises, by what rounding leaves."""


def around(points):
    return np.array(points, dtype=np.float64)


def at_angle(points, degrees):
    return turned(around(points), cos(radians(degrees)), sin(radians(degrees)))


# ---------------------------------------------------------------- drawn pairs


@pytest.mark.parametrize("number", range(1, 12 * len(HOW) + 1))
def test_drawn_pairs_lie_apart_and_are_cut_true(number):
    two = pair(1, number)
    done = tried(two, lambda: 0.0)
    assert done.places >= 3
    assert done.uncut == 0, two
    assert max(done.overlap, done.off) <= bench_pairs.MICRON, two
    assert done.beyond <= 0
    assert done.good


@pytest.mark.parametrize("number", [365, 2125, 2136, 2367, 2671, 2769, 3278, 3567, 4680, 7123, 9185, 9440])
def test_trap_edges_that_run_on_from_the_first_cut_at_a_slight_turn(number):
    """Drawn pairs of which some places were not cut: slender panels, and edges parallel but for nanometres.

    The first line between the panels moved a flat corner by 300 nm to 1.7 um, or left a corner of some
    nanometres amid an edge; lines through other corners leave both panels true.
    """
    two = pair(1, number)
    assert two.how in ("slender", "slender and random", "nearly equal")
    done = tried(two, lambda: 0.0)
    assert done.places == 12
    assert done.uncut == 0
    assert done.good


def test_the_time_of_the_cuts_is_not_that_of_the_places():
    """A clock that ticks whenever it is read: once for the places, and once for each of them to be cut."""
    ticks = count()
    done = tried(pair(1, 1), lambda: float(next(ticks)))
    assert done.seconds == 1
    assert done.cut_seconds == done.places > 1


def test_pairs_are_the_same_on_every_machine_and_of_every_kind():
    drawn = [pair(1, n) for n in range(1, 30)]
    assert drawn == [pair(1, n) for n in range(1, 30)]
    assert {p.how for p in drawn} == set(HOW)
    assert pair(2, 3) != pair(1, 3)
    equal = next(p for p in drawn if p.how == "equal")
    assert equal.a == equal.b
    mirrored = next(p for p in drawn if p.how == "mirrored")
    assert area2(mirrored.a) == area2(mirrored.b) and mirrored.a != mirrored.b


def test_the_set_of_pairs_reports_and_its_judge_finds_faults(monkeypatch):
    def told():
        done = CliRunner().invoke(app, ["bench", "angled-pairs", "--sample", "8", "--json"])
        assert done.exit_code == Exit.DONE, done.output
        return json.loads(done.stdout)

    found = told()
    assert found["pairs"] == 8
    assert found["not_as_promised"] == []
    assert found["kinds"][-1]["pairs"] == 8
    assert found["kinds"][-1]["places"] >= 8 * 3
    monkeypatch.setattr(bench_pairs, "MICRON", 1e-12)
    assert len(told()["not_as_promised"]) == 8
    text = CliRunner().invoke(app, ["bench", "angled-pairs", "--only", "pair-5"]).stdout
    assert "Not as promised: pair-5" in text


# ---------------------------------------------------------------- separating axes


def test_separating_axes_tell_how_deep():
    square = [(0, 0), (10, 0), (10, 10), (0, 10)]

    def moved(x, y):
        return [(a + x, b + y) for a, b in square]

    assert penetration(square, moved(10, 0)) == 0
    assert penetration(square, moved(7, 1)) == pytest.approx(3)
    assert penetration(square, moved(12, 4)) == pytest.approx(-2)
    # corner to corner the boxes overlap, the triangles do not
    assert penetration([(0, 0), (10, 0), (0, 10)], [(10, 1), (10, 10), (1, 10)]) == pytest.approx(-(0.5**0.5))


@given(st.integers(1, 10**6), st.integers(-1500, 1500), st.integers(-1500, 1500))
def test_separating_axes_agree_with_a_reference_library(number, dx, dy):
    """Against shapely's distance and its intersection on a grid."""
    two = pair(3, number)
    a = [(x / 1e6, y / 1e6) for x, y in two.a]
    b = [(x / 1e6 + dx, y / 1e6 + dy) for x, y in two.b]
    deep, p, q = penetration(a, b), shapely.Polygon(a), shapely.Polygon(b)
    assume(abs(deep) > 0.01)
    if deep < 0:
        assert p.distance(q) >= -deep - 1e-6
    else:
        assert shapely.intersection(p, q, grid_size=1e-6).area > 0


# ---------------------------------------------------------------- traps of floats


def test_trap_two_triangles_share_a_hypotenuse_with_a_coordinate_off_by_rounding():
    """Plain overlay of nearly coincident edges may be wrong by half the area (shapely's manual on grid_size)."""
    a = [(0.0, 0.0), (303.93, 0.0), (0.0, 607.85)]
    b = [(303.93, 607.85), (0.0, 607.85 + 2.8e-14), (303.93 + 2.8e-14, 0.0)]
    assert abs(penetration(a, b)) < 1e-9
    assert shapely.intersection(shapely.Polygon(a), shapely.Polygon(b), grid_size=1e-6).area == 0
    triangle = make_outline([(0, 0), (mm("303.93"), 0), (0, mm("607.85"))])
    kinds = [kind_of(triangle, Turn.ANY, False, 2)]
    one = single(0, kinds)
    blanks, _, _ = joints(one, one, ROOM, every=True)
    assert blanks[0].measure == pytest.approx(303.93 * 607.85, rel=1e-9)
    corners = [laid(triangle_shape, p).tolist() for p in blanks[0].cluster().parts
               for triangle_shape in [kinds[0].shape]]  # fmt: skip
    assert abs(penetration(*corners)) < 1e-9


SHAPES = {
    "rectangle": around(RECTANGLE),
    "small rectangle": around(SMALL),
    "pentagon": around(PENTAGON),
    "triangle": around(TRIANGLE),
    "nearly level": around(LEVEL),
    "pentagon turned by 90": at_angle(PENTAGON, 90),
    "pentagon turned by 180": at_angle(PENTAGON, 180),
    "triangle turned by 30": at_angle(TRIANGLE, 30),
    "rectangle turned by 360": at_angle(RECTANGLE, 360),
    "nearly level turned by 180": at_angle(LEVEL, 180),
}


@pytest.mark.parametrize("a", SHAPES)
@pytest.mark.parametrize("b", SHAPES)
def test_trap_ties_at_the_start_of_the_no_fit_polygon(a, b):
    """It is the hull of all differences of corners, wherever the merge of edges begins (shapely's convex_hull)."""
    p, q = SHAPES[a], SHAPES[b]
    differences = shapely.MultiPoint([(x - u, y - v) for x, y in p for u, v in q]).convex_hull
    found = no_fit(p, q)
    ring = shapely.Polygon(found)
    assert ring.area == pytest.approx(differences.area, rel=1e-9)
    for x, y in found:
        assert differences.exterior.distance(shapely.Point(x, y)) < 1e-6
    for x, y in differences.exterior.coords:
        assert min(np.hypot(found[:, 0] - x, found[:, 1] - y)) < 1e-6


@pytest.mark.parametrize("a", SHAPES)
@pytest.mark.parametrize("b", SHAPES)
def test_the_area_of_the_hull_of_both_needs_no_hull(a, b):
    """Against shapely's convex_hull, wherever the second lies: in the first, over it, beside it, far away."""
    p, q = SHAPES[a], SHAPES[b]
    edges, corners = both_edges(p, q)
    for x, y in [*no_fit(p, q).tolist(), (0.0, 0.0), (35.0, 12.0), (-400.0, 90.0), (77.0, 3000.0)]:
        around_both = shapely.MultiPoint([*p.tolist(), *(q + np.array([x, y])).tolist()]).convex_hull
        assert area_of_both(p, q, x, y, edges, corners) == pytest.approx(around_both.area, rel=1e-9)


@given(st.integers(1, 10**6), st.integers(-1500, 1500), st.integers(-1500, 1500))
def test_the_area_of_the_hull_of_drawn_pairs(number, dx, dy):
    """Against shapely's convex_hull."""
    two = pair(4, number)
    p, q = around(two.a) / 1e6, around(two.b) / 1e6
    around_both = shapely.MultiPoint([*p.tolist(), *(q + np.array([dx, dy])).tolist()]).convex_hull
    found = area_of_both(p, q, float(dx), float(dy), *both_edges(p, q))
    assert found == pytest.approx(around_both.area, rel=1e-9)


def test_trap_where_the_ends_of_parallel_edges_meet():
    """Along parallel edges the left ends meet in one place and the right ends in another: both are tried."""
    spots = {(round(x, 6), round(y, 6)) for x, y in no_fit(around(RECTANGLE), around(SMALL)).tolist()}
    assert {(0, 300), (250, 300), (0, -100), (250, -100)} <= spots
    assert {(400, 0), (400, 200), (-150, 0), (-150, 200)} <= spots


def test_trap_hull_of_points_on_one_edge_in_any_order():
    on_edge = [(0.0, 0.0), (100.0, 33.3), (200.0, 66.6), (300.0, 99.9)]
    for order in permutations(range(4)):
        points = around([on_edge[i] for i in order] + [(100.0, 400.0)])
        found = hull(points)
        assert sorted(map(tuple, found.tolist())) == [(0.0, 0.0), (100.0, 400.0), (300.0, 99.9)]
    upright = [(50.0, y) for y in (0.0, 80.0, 160.0 + 1e-13, 240.0)]
    for order in permutations(range(4)):
        found = hull(around([upright[i] for i in order] + [(0.0, 120.0)]))
        assert len(found) == 3
        assert np.ptp(found[:, 1]) == 240.0


def test_trap_directions_just_below_a_full_turn():
    tilted = around([(0.0, 0.0), (1000.0, -1e-12), (1000.0, 500.0), (0.0, 500.0)])
    assert len(directions(tilted)) == 1


def test_trap_places_in_which_one_lies_within_the_other():
    """A place inside the no-fit polygon is none: the blank of both is never smaller than both."""
    a, b = around(RECTANGLE), around(SMALL)
    nothing = np.zeros((0, 2))
    for gap in (0.0, 30.0):
        table = side_by_side(a, b, 0, nothing, True, True, False, ROOM, gap, 1e300)
        for aim in table:
            for measure, c, s, x, y, _ in aim.tolist():
                if measure < 1e300:
                    assert measure >= 400 * 300 + 150 * 100 - 1e-6
                    there = turned(b, c, s) + np.array([x, y])
                    assert penetration(a.tolist(), there.tolist()) <= 1e-6


# ---------------------------------------------------------------- the least blank of one panel


@given(st.lists(st.tuples(st.integers(0, 2000), st.integers(0, 1500)), min_size=3, max_size=9))
def test_the_least_blank_is_the_least_rectangle_around(corners):
    """Against shapely.minimum_rotated_rectangle."""
    outline = exact_hull([(mm(x), mm(y)) for x, y in corners])
    assume(len(outline) > 2)
    least = shapely.Polygon([(x / 1e6, y / 1e6) for x, y in outline]).minimum_rotated_rectangle.area
    assume(least > 2000)
    found = candidates(outline, Turn.ANY, NO_RULES)
    area = found[0].width * found[0].height / 1e12
    # up to the next tick of 625 nm a side
    assert least - 1e-6 <= area <= least + 0.000625 * (found[0].width + found[0].height) / 1e6 + 1e-6
    (leaf,) = [shape for _, shape, place in found[0].cuts.leaves if place is not None]
    assert deviation(leaf, outline, found[0].members[0].turned, False) <= 1000
