"""The cuts that part the panels of a blank: rules of what breaks off, and panels true to the micrometre."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from panewright.io.bench_groups import deviation
from panewright.io.bench_pairs import NO_RULES
from panewright.nesting import check_geometry
from panewright.nesting.angled.cut_apart import cut_apart, replayed
from panewright.nesting.angled.exact import breaks_off, lines_near, tidy
from panewright.nesting.outlines import area2, box
from panewright.nesting.rules import Rules
from panewright.nesting.units import ceil_tick, mm

RULES = Rules()


def fitted(*shapes):
    """Outlines shifted to the corner of their common blank, which is rounded up to the tick."""
    x0 = min(box(s)[0] for s in shapes)
    y0 = min(box(s)[1] for s in shapes)
    outlines = [tuple((x - x0, y - y0) for x, y in s) for s in shapes]
    width = max(box(s)[2] for s in outlines)
    height = max(box(s)[3] for s in outlines)
    return ceil_tick(width), ceil_tick(height), outlines


def worst(cuts, outlines):
    """Greatest distance of a panel that comes out from what was asked for, in nm; each comes out once."""
    held = [(shape, m) for _, shape, m in cuts.leaves if m is not None]
    assert sorted(m for _, m in held) == list(range(len(outlines)))
    return max(deviation(shape, outlines[m], 0, False) for shape, m in held)


def areas_add_up(width, height, cuts):
    total = sum(area2(shape) for _, shape, _ in cuts.leaves)
    assert abs(total - 2 * width * height) <= 10**4 * (width + height)


def mm_shape(*points):
    return tuple((mm(x), mm(y)) for x, y in points)


# ---------------------------------------------------------------- rules

PENTAGON = mm_shape((0, 0), (600, 0), (600, 250), (250, 600), (0, 600))


def test_a_corner_pentagon_is_one_score_from_its_blank():
    cuts = cut_apart(mm(600), mm(600), [PENTAGON], RULES)
    assert len(cuts.scores) == 1
    assert {cuts.scores[0].start, cuts.scores[0].end} == {(mm(600), mm(250)), (mm(250), mm(600))}
    assert worst(cuts, [PENTAGON]) == 0
    areas_add_up(mm(600), mm(600), cuts)


@pytest.mark.parametrize(
    ("leg", "rules", "breaks"),
    [
        (43, RULES, True),
        # a depth of 24.7 mm: less than the break-out distance of 30 and the corner depth of 25
        (35, RULES, False),
        (35, replace(RULES, corner_depth=mm(24)), True),
        # 31.1 mm is more than the break-out distance: it breaks as a strip does
        (44, replace(RULES, corner_depth=mm(99)), True),
    ],
)
def test_small_corners_need_their_depth(leg, rules, breaks):
    w = 600
    shape = mm_shape((0, 0), (w, 0), (w, w - leg), (w - leg, w), (0, w))
    assert (cut_apart(mm(w), mm(w), [shape], rules) is not None) == breaks


def test_a_slight_taper_cannot_be_broken_off_alone_but_beside_another():
    """Common practice: a sliver that runs to nothing cannot be run; two such tapers share one score."""
    tapered = mm_shape((0, 0), (800, 0), (800, 300), (0, 290))
    assert cut_apart(mm(800), mm(300), [tapered], RULES) is None
    assert cut_apart(mm(800), mm(300), [tapered], NO_RULES) is not None
    other = mm_shape((0, 290), (800, 300), (800, 590), (0, 590))
    cuts = cut_apart(mm(800), mm(590), [tapered, other], RULES)
    assert cuts is not None and len(cuts.scores) == 1
    assert worst(cuts, [tapered, other]) == 0


def test_no_score_is_longer_than_the_table_makes():
    assert cut_apart(mm(600), mm(600), [PENTAGON], replace(RULES, longest_angled_cut=mm(490))) is None
    assert cut_apart(mm(600), mm(600), [PENTAGON], replace(RULES, longest_angled_cut=mm(495))) is not None


def test_waste_is_blunt_at_both_ends_of_its_score_or_as_wide_as_a_strip():
    # legs of 100 and 28: 26.96 mm deep, 15.6 degrees at the thin end
    corner = mm_shape((0, 0), (100, 0), (0, 28))
    score = (mm(100), 0), (0, mm(28))
    assert not breaks_off(corner, *score, RULES)
    assert breaks_off(corner, *score, replace(RULES, least_angle=15_000))
    assert not breaks_off(corner, *score, replace(RULES, least_angle=16_000))
    assert breaks_off(corner, *score, replace(RULES, break_out=mm(26)))


def test_four_squares_around_a_square_cannot_be_parted():
    """The pinwheel: the smallest set of rectangles that no edge-to-edge cut parts (common knowledge)."""
    around = [
        mm_shape((0, 0), (600, 0), (600, 400), (0, 400)),
        mm_shape((600, 0), (1000, 0), (1000, 600), (600, 600)),
        mm_shape((400, 600), (1000, 600), (1000, 1000), (400, 1000)),
        mm_shape((0, 400), (400, 400), (400, 1000), (0, 1000)),
    ]
    assert cut_apart(mm(1000), mm(1000), around, NO_RULES) is None
    assert cut_apart(mm(1000), mm(1000), around[:3], NO_RULES) is not None


# ---------------------------------------------------------------- traps


def test_trap_a_short_edge_whose_line_runs_three_metres():
    """An edge of 8 mm lies on the line of one of 3 m; both were rounded, each for itself."""
    worse = []
    for k in range(12):
        dx, dy = 1000 + 7 * k, 100 + 31 * k
        long = hypot(dx, dy)
        c, s = dx / long, dy / long

        def at(along, out, c=c, s=s):
            return round((along * c - out * s) * 1e6), round((along * s + out * c) * 1e6)

        plate = (at(0, 0), at(3000, 0), at(2900, 400), at(50, 400))
        small = (at(3017, 0), at(3025, 0), at(3190, 300), at(3005, 200))
        below = (at(1400, -350), at(1700, -350), at(1690, 0), at(1410, 0))
        width, height, outlines = fitted(plate, small, below)
        cuts = cut_apart(width, height, outlines, NO_RULES)
        assert cuts is not None
        worse.append(worst(cuts, outlines))
        areas_add_up(width, height, cuts)
    assert max(worse) <= 1000


@pytest.mark.parametrize(
    ("width", "height", "outlines"),
    [
        # a cut along an edge that is cut already: it would be 395 nm long and point anywhere
        (
            1061474375,
            132016250,
            [
                ((780133533, 132016250), (401418500, 0), (738665818, 0), (1061474375, 44467918)),
                (
                    (682881824, 98115282),
                    (621585665, 132016250),
                    (145213557, 132016250),
                    (0, 107441853),
                    (52454227, 36865875),
                    (483936309, 39834393),
                ),
            ],
        ),
        # two points side by side at a corner, 2.9 nm apart
        (
            133784375,
            1538398125,
            [
                (
                    (133784375, 1538398125),
                    (107761693, 608367413),
                    (112848325, 0),
                    (133784375, 669328754),
                ),
                (
                    (0, 1158843159),
                    (9630639, 1038279937),
                    (125245048, 1233209122),
                    (126155162, 1329283430),
                    (0, 1538398125),
                ),
            ],
        ),
        # the edge of one panel would take 308 nm off the point of the other; that one's edge takes nothing
        (
            476115625,
            993866250,
            [
                ((0, 640528459), (0, 0), (382729301, 85770383), (476115625, 353256865)),
                (
                    (476115625, 354605750),
                    (476115625, 993866250),
                    (93412747, 907978048),
                    (108773, 640462829),
                ),
            ],
        ),
        # an edge 128 nm beside the blank's side moves its corner by 612 nm: it is cut all the same
        (
            167806875,
            991795625,
            [
                ((28936, 991795625), (0, 103634471), (167806875, 888161754)),
                ((167806875, 0), (167806747, 888161155), (0, 103634471)),
            ],
        ),
    ],
)
def test_trap_nanometres(width, height, outlines):
    """Blanks of drawn pairs that were not parted once."""
    cuts = cut_apart(width, height, outlines, NO_RULES)
    assert cuts is not None
    assert worst(cuts, outlines) <= 1000
    areas_add_up(width, height, cuts)


def test_lines_beside_a_line_part_the_same_and_reach_least_over_panels_first():
    """One corner of the upper panel lies 100 nm under the upper edge of the lower one, the next 50 nm above."""
    lower = ((0, 0), (mm(1000), 0), (mm(1000), mm(300)), (0, mm(300)))
    upper = ((mm(200), mm(300) - 100), (mm(800), mm(300) + 50), (mm(800), mm(600)), (mm(200), mm(600)))
    found = lines_near((mm(1000), mm(300)), (0, mm(300)), [lower], [upper], 300)
    assert all(a[0] > b[0] for a, b in found)
    overs = [
        max(0, *(-check_geometry.turn_of(a, b, p) / hypot(b[0] - a[0], b[1] - a[1]) for p in lower),
            *(check_geometry.turn_of(a, b, p) / hypot(b[0] - a[0], b[1] - a[1]) for p in upper))
        for a, b in found
    ]  # fmt: skip
    assert overs == sorted(overs)
    # of six pairs of corners one is left out: the line from the low corner to the left end is 500 nm off at the right
    assert len(found) == 5
    assert ((mm(1000), mm(300)), (0, mm(300))) in found
    assert lines_near((mm(1000), mm(300)), (0, mm(300)), [lower], [upper], 99) != found


@pytest.mark.parametrize("clean", [tidy, check_geometry.tidy])
def test_of_two_points_side_by_side_one_stays(clean):
    square = [(0, 0), (1000, 0), (1000, 1000), (0, 1000)]
    twin = [(0, 0), (997, 0), (1000, 3), (1000, 1000), (500, 1001), (0, 1000)]
    for k in range(6):
        found = list(clean([*twin[k:], *twin[:k]], 3))
        assert len(found) == 4
        assert set(found) == {(0, 0), (1000, 1000), (0, 1000), *found}
        assert all(min(hypot(x - a, y - b) for a, b in square) <= 3 for x, y in found)


def test_the_exact_replay_refuses_what_the_search_might_not():
    scores = cut_apart(mm(600), mm(600), [PENTAGON], RULES).scores
    moved = tuple(replace(s, start=(s.start[0], s.start[1] + mm(1))) for s in scores)
    assert not hasattr(replayed(mm(600), mm(600), [PENTAGON], moved, RULES), "leaves")
    assert not hasattr(replayed(mm(600), mm(600), [PENTAGON], (), RULES), "leaves")
    assert not hasattr(
        replayed(
            mm(600), mm(600), [PENTAGON], scores, replace(RULES, break_out=mm(999), corner_depth=mm(999))
        ),
        "leaves",
    )
    assert hasattr(replayed(mm(600), mm(600), [PENTAGON], scores, RULES), "leaves")
