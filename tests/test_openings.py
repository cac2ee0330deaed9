"""Openings: what is glass and what is not, published limits, words in lists and their way back."""

from __future__ import annotations

import csv
from dataclasses import replace
from fractions import Fraction
from math import hypot
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from panewright.io.lengths import BadValue
from panewright.io.opening_words import opening_text, parse_opening
from panewright.io.order_lists import read_panel_lists
from panewright.io.problems import Problem, Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.hole_limits import LIMITS, Rule, check_openings
from panewright.nesting.opening_geometry import in_outline, inside, mouths, on_border, open_at
from panewright.nesting.openings import (
    CutOut,
    Hole,
    Opening,
    corner_radii,
    distance,
    inner_corners,
    misplaced,
    opening_box,
    radius_fits,
    slot,
)
from panewright.nesting.outlines import Outline, area2, box, make_outline, rectangle
from panewright.nesting.shop import Shop
from panewright.nesting.units import TICK, inch, mm

PANEL = rectangle(mm(600), mm(400))
ELL = make_outline(
    [(0, 0), (mm(600), 0), (mm(600), mm(200)), (mm(200), mm(200)), (mm(200), mm(400)), (0, mm(400))]
)
SHOP = default_shop()

ticks = st.integers(-2_000_000, 9_000_000).map(lambda n: n * TICK)
sizes = st.integers(1, 4_000_000).map(lambda n: n * TICK)


def hole(d: float | str, x: float | str, y: float | str) -> Hole:
    return Hole(center=(mm(str(x)), mm(str(y))), diameter=mm(str(d)))


def cut_out(r: int, *corners: tuple[int, int]) -> CutOut:
    return CutOut(outline=make_outline([(mm(x), mm(y)) for x, y in corners]), corner_radius=mm(r))


def box_out(x: int, y: int, w: int, h: int, r: int = 10) -> CutOut:
    return slot(mm(x), mm(y), mm(w), mm(h), mm(r))


def reasons(panel: Outline, *openings: Opening) -> list[str]:
    return [fault.reason for fault in misplaced(panel, openings)]


# ---------------------------------------------------------------- what can be made at all


@pytest.mark.parametrize(
    "openings",
    [
        [hole(35, 100, 200)],
        [hole(200, 100.01, 200)],  # 0.01 mm of glass is glass: a note, not an error
        [box_out(100, 100, 200, 25)],
        [box_out(0, 100, 100, 50)],  # a notch
        [box_out(0, 0, 100, 50)],  # a corner cut off
        [cut_out(10, (0, 0), (120, 0), (120, 60), (60, 60), (60, 120), (0, 120))],
        [hole(35, 100, 200), hole(35, 135.01, 200)],
        [box_out(100, 100, 100, 100), hole(20, 300, 300)],
        [box_out(0, 100, 50, 50), box_out(0, 200, 50, 50)],
    ],
)
def test_openings_that_can_be_made(openings: list[Opening]) -> None:
    assert reasons(PANEL, *openings) == []


@pytest.mark.parametrize(
    ("openings", "words"),
    [
        ([hole(35, -50, 200)], "leaves the glass"),
        ([hole(35, 10, 200)], "leaves the glass"),
        ([hole(200, 100, 200)], "leaves the glass"),  # it touches the edge
        ([hole(0, 100, 200)], "no diameter"),
        ([box_out(500, 100, 101, 50)], "leaves the glass"),
        ([box_out(0, 100, 600, 50)], "divides"),
        ([box_out(0, 0, 600, 50)], None),  # a strip along a whole side is a corner to the other corner
        ([box_out(0, 0, 600, 400, 0)], "leaves nothing"),
        ([cut_out(5, (300, 0), (350, 100), (250, 100))], "single point"),
        ([cut_out(5, (0, 50), (600, 200), (0, 350))], "single point"),
        ([box_out(100, 100, 200, 25, 13)], "no room for the corner radius"),
        ([hole(35, 100, 200), hole(35, 135, 200)], "touch or overlap"),
        ([hole(35, 100, 200), hole(5, 100, 200)], "touch or overlap"),
        ([box_out(100, 100, 100, 100), hole(20, 150, 150)], "touch or overlap"),
        ([hole(90, 150, 150), box_out(140, 140, 20, 20, 0)], "touch or overlap"),
        ([box_out(100, 100, 100, 100), box_out(120, 120, 20, 20)], "touch or overlap"),
        ([box_out(100, 100, 100, 100), box_out(200, 100, 50, 50)], "touch or overlap"),
        ([box_out(100, 150, 200, 20), box_out(190, 100, 20, 200)], "touch or overlap"),
    ],
)
def test_openings_that_cannot_be_made(openings: list[Opening], words: str | None) -> None:
    found = reasons(PANEL, *openings)
    assert len(found) == (words is not None)
    assert words is None or words in found[0]


def test_a_panel_with_an_inner_corner() -> None:
    assert reasons(ELL, box_out(50, 50, 500, 100)) == []
    assert "leaves the glass" in reasons(ELL, box_out(150, 150, 200, 100))[0]
    assert "leaves the glass" in reasons(ELL, hole(20, 400, 300))[0]
    assert "single point" in reasons(ELL, cut_out(5, (200, 200), (100, 150), (150, 100)))[0]
    # from the lower edge to an edge of the inner corner: it would fall into two
    assert "divides" in reasons(ELL, box_out(300, 0, 50, 200))[0]


def test_radii_belong_to_the_corners_in_the_glass() -> None:
    notch = box_out(0, 100, 100, 50, 12)
    assert inner_corners(notch, PANEL) == [1, 2]
    assert corner_radii(notch, PANEL) == (0, mm(12), mm(12), 0)
    assert radius_fits(replace(notch, corner_radius=mm(25)), PANEL)
    assert not radius_fits(replace(notch, corner_radius=mm(25) + TICK), PANEL)
    around = cut_out(10, (0, 0), (120, 0), (120, 60), (60, 60), (60, 120), (0, 120))
    # the mouth ends at two corners; the tongue of glass at (60, 60) keeps its sharp corner
    assert [around.outline[i] for i in inner_corners(around, PANEL)] == [(mm(120), mm(60)), (mm(60), mm(120))]


@given(st.integers(1, 599), st.integers(1, 399), st.integers(1, 598), st.integers(1, 398))
def test_a_rectangle_is_in_the_panel_or_leaves_it(x: int, y: int, w: int, h: int) -> None:
    out = rectangle(mm(w), mm(h), mm(x), mm(y))
    assert in_outline(PANEL, out) == (x + w <= 600 and y + h <= 400)
    if in_outline(PANEL, out):
        found = mouths(PANEL, out)
        assert found is not None
        assert found.points == 0
        # the top right corner joins both edges into one stretch
        assert found.stretches == (x + w == 600 or y + h == 400)
        assert len(open_at(PANEL, out)) == (x + w == 600) + (y + h == 400)


@given(ticks, ticks)
def test_inside_and_border_exclude_each_other(x: int, y: int) -> None:
    assert not (inside((x, y), ELL) and on_border((x, y), ELL))
    if x < mm(200):
        assert inside((x, y), ELL) == (x > 0 and 0 < y < mm(400))


@given(ticks, ticks, sizes, ticks, ticks, sizes)
def test_distances_are_exact_and_the_same_both_ways(x: int, y: int, d: int, u: int, v: int, e: int) -> None:
    a, b = Hole(center=(x, y), diameter=d), Hole(center=(u, v), diameter=e)
    got = distance(a, b)
    assert got == distance(b, a)
    # rounded down: got + half the diameters <= the true distance < that and one nanometre more
    square = (x - u) ** 2 + (y - v) ** 2
    reach = got + Fraction(d + e, 2)
    assert reach < 0 or reach**2 <= square
    assert (reach + 1) ** 2 > square or reach + 1 < 0
    around = rectangle(*(2 * [d]), x, y)
    plate = CutOut(outline=around, corner_radius=0)
    assert distance(plate, b) == distance(b, plate)
    dx, dy = max(x - u, 0, u - x - d), max(y - v, 0, v - y - d)
    if dx or dy:
        assert distance(plate, b) == pytest.approx(hypot(dx, dy) - e / 2, abs=2)
    else:
        assert distance(plate, b) <= 0


# ---------------------------------------------------------------- published limits


def test_check_value_35_ten_millimetres_of_glass() -> None:
    # FACTS section 10, no. 35: rules of EN type for toughened glass, read; tolerance 0
    limits = LIMITS["EN"]
    assert limits[Rule.LEAST_DIAMETER].at(mm(10)) == mm(10)
    assert limits[Rule.EDGE].at(mm(10)) == mm(20)
    assert limits[Rule.BETWEEN].at(mm(10)) == mm(20)
    assert limits[Rule.CORNER].at(mm(10)) == mm(60)


def test_check_value_36_half_an_inch_of_glass() -> None:
    # FACTS section 10, no. 36: North American rules for toughened glass, read; tolerance 0
    limits, t = LIMITS["US"], inch("1/2")
    assert limits[Rule.LEAST_DIAMETER].at(t) == inch("9/16")
    assert limits[Rule.EDGE].at(t) == inch(1)
    assert limits[Rule.BETWEEN].at(t) == inch(1)
    assert limits[Rule.CORNER].at(t) == inch("13/4")
    assert limits[Rule.RADIUS].at(t) == inch("1/2")


def test_thin_glass_has_least_values_in_north_america() -> None:
    # FACTS section 4, North American column: 1/4 in of diameter and to the edge, 3/8 in between holes
    limits, t = LIMITS["US"], inch("3/32")
    assert limits[Rule.LEAST_DIAMETER].at(t) == inch("1/4")
    assert limits[Rule.EDGE].at(t) == inch("1/4")
    assert limits[Rule.BETWEEN].at(t) == inch("3/8")


def test_every_limit_names_its_source() -> None:
    for region in LIMITS.values():
        assert all(limit.source and limit.status for limit in region.values())


def rules(
    panel: Outline, *openings: Opening, t: int = mm(10), region: str = "EN"
) -> list[tuple[Rule, int, int]]:
    found = check_openings(panel, t, openings, region)  # type: ignore[arg-type]
    assert all(finding.words for finding in found)
    return [(finding.rule, finding.got, finding.wanted) for finding in found]


BIG = rectangle(mm(1200), mm(900))


@pytest.mark.parametrize(
    ("good", "bad", "rule"),
    [
        # 40 mm of glass all round are advice, so edge and corner are tried with small holes at an edge
        ([hole(10, 600, 450)], [hole("9.99", 600, 450)], Rule.LEAST_DIAMETER),
        ([hole(20, 600, 30)], [hole(20, 600, "29.99")], Rule.EDGE),
        ([hole(20, 600, 450), hole(20, 640, 450)], [hole(20, 600, 450), hole(20, "639.99", 450)], Rule.BETWEEN),
        ([hole(300, 600, 450)], [hole("300.01", 600, 450)], Rule.GREATEST_DIAMETER),
        ([box_out(300, 300, 300, 50)], [box_out(300, 300, 301, 50)], Rule.GREATEST_CUT_OUT),
        ([box_out(300, 0, 60, 300)], [box_out(300, 0, 60, 301)], Rule.GREATEST_CUT_OUT),
        ([box_out(300, 300, 100, 50, 10)], [box_out(300, 300, 100, 50, 9)], Rule.RADIUS),
        ([box_out(300, 20, 100, 50)], [box_out(300, 19, 100, 50)], Rule.EDGE),
        ([box_out(20, 0, 100, 50)], [box_out(19, 0, 100, 50)], Rule.EDGE),
        ([hole(20, 300, 450), box_out(330, 440, 50, 50)], [hole(20, 300, 450), box_out(329, 440, 50, 50)],
         Rule.BETWEEN),
        ([box_out(300, 440, 50, 50), box_out(370, 440, 50, 50)],
         [box_out(300, 440, 50, 50), box_out(369, 440, 50, 50)], Rule.BETWEEN),
    ],
)  # fmt: skip
def test_each_rule_holds_at_its_limit_and_not_beyond(
    good: list[Opening], bad: list[Opening], rule: Rule
) -> None:
    assert rule not in [found[0] for found in rules(BIG, *good)]
    found = {name: (got, wanted) for name, got, wanted in rules(BIG, *bad)}
    assert rule in found
    got, wanted = found[rule]
    above = rule in (Rule.GREATEST_DIAMETER, Rule.GREATEST_CUT_OUT)
    assert got > wanted if above else got < wanted


def test_the_corner_rule_measures_to_the_tip() -> None:
    # 60 mm of glass to the tip: a centre 70 mm away at 3-4-5
    assert Rule.CORNER not in [r[0] for r in rules(BIG, hole(20, 42, 56))]
    found = {r[0]: r[1:] for r in rules(BIG, hole(20, "41.99", 56))}
    assert found[Rule.CORNER][1] == mm(60)
    assert mm(60) - mm("0.01") < found[Rule.CORNER][0] < mm(60)
    # a corner that turns inwards is no tip
    near = hole(20, 170, 170)
    assert Rule.CORNER not in [r[0] for r in rules(ELL, near)]


def test_a_notch_is_not_measured_against_the_edge_it_is_open_at() -> None:
    assert rules(BIG, box_out(300, 0, 100, 50)) == []
    assert rules(BIG, box_out(0, 0, 100, 50)) == []
    assert [r[0] for r in rules(BIG, box_out(300, 0, 100, 50, 5))] == [Rule.RADIUS]
    triangle = cut_out(0, (0, 0), (100, 0), (0, 100))
    assert rules(BIG, triangle) == []  # a corner cut off has no inner corner


def test_advice_for_annealed_glass_is_softer() -> None:
    # common practice, FACTS section 4: one diameter and 40 mm to any glass edge
    (found,) = check_openings(BIG, mm(10), (hole(30, 600, 50),))
    assert found.soft and found.rule is Rule.ANNEALED
    assert (found.got, found.wanted) == (mm(35), mm(40))
    assert check_openings(BIG, mm(10), (hole(30, 600, 55),)) == []
    (found,) = check_openings(BIG, mm(10), (hole(100, 600, 140),))
    assert (found.got, found.wanted) == (mm(90), mm(100))
    assert check_openings(BIG, mm(10), (hole(100, 600, 150),)) == []


def test_the_regions_differ() -> None:
    at = hole(13, 600, 450)
    assert rules(BIG, at, t=mm(12)) == []
    assert [r[0] for r in rules(BIG, at, t=mm(12), region="US")] == [Rule.LEAST_DIAMETER]


@given(st.integers(100, 1100), st.integers(100, 800), st.integers(5, 90), st.sampled_from(["EN", "US"]))
def test_findings_are_those_of_the_mirrored_panel(x: int, y: int, d: int, region: str) -> None:
    other = box_out(600, 0, 80, 60)
    mirrored = box_out(1200 - 680, 0, 80, 60)
    assume(distance(hole(d, x, y), other) > 0)
    assert rules(BIG, hole(d, x, y), other, region=region) == rules(
        BIG, hole(d, 1200 - x, y), mirrored, region=region
    )


# ---------------------------------------------------------------- words


@st.composite
def openings(draw: st.DrawFn) -> Opening:
    if draw(st.booleans()):
        return Hole(center=(draw(ticks), draw(ticks)), diameter=draw(sizes))
    if draw(st.booleans()):
        width, height = draw(sizes), draw(sizes)
        return slot(draw(ticks), draw(ticks), width, height, draw(st.integers(0, 10**5)) * TICK)
    points = draw(st.lists(st.tuples(ticks, ticks), min_size=3, max_size=8, unique=True))
    try:
        outline = make_outline(points)
    except InvalidOutline:
        assume(False)
    return CutOut(outline=outline, corner_radius=draw(st.integers(0, 10**5)) * TICK)


@given(openings(), st.sampled_from(["mm", "in"]))
def test_written_openings_read_back_the_same(opening: Opening, unit: str) -> None:
    text = opening_text(opening)
    assert "|" not in text
    assert parse_opening(text, mm(10), unit, "point") == opening  # type: ignore[arg-type]
    x0, y0, x1, y1 = opening_box(opening)
    assert x0 < x1 and y0 < y1


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("hole 35 at 100 400", hole(35, 100, 400)),
        ("HOLE  3.5 cm  at 100 mm 40 cm", hole(35, 100, 400)),
        ("hole 35,5 at 100,5 400", hole(35.5, 100.5, 400)),
        ("slot 200 x 25 at 300 500", slot(mm(300), mm(500), mm(200), mm(25), mm(10))),
        ("slot 200x25 at 300 500 r 12", slot(mm(300), mm(500), mm(200), mm(25), mm(12))),
        ("slot 200 × 8 at 300 500", slot(mm(300), mm(500), mm(200), mm(8), mm(4))),
        ("cut-out r 12: 0 0, 100 0, 100 50, 0 50", box_out(0, 0, 100, 50, 12)),
        ("Cut out r 12: 0 0, 0 50, 100 50, 100 0", box_out(0, 0, 100, 50, 12)),  # the other way round
        ("notch: 0 0, 100 0, 100 50, 0 50", box_out(0, 0, 100, 50, 10)),
    ],
)
def test_openings_are_read(text: str, expected: Opening) -> None:
    assert parse_opening(text, mm(10)) == expected


@pytest.mark.parametrize(
    ("text", "x", "y"),
    [
        ('hole 1-3/8" at 5-1/2" 3"', "11/2", "3"),
        ("hole 1 3/8 at 5; 1/2", "5", "1/2"),
        ("hole 1 3/8 at 5 1/2; 3 1/4", "11/2", "13/4"),
        ("hole 1 3/8 at 5 1/2 3", "11/2", "3"),  # no other way to read it
        ("hole 1 3/8 at 5 in 3 in", "5", "3"),
    ],
)
def test_inches_with_blanks_where_they_leave_no_doubt(text: str, x: str, y: str) -> None:
    assert parse_opening(text, mm(10), "in") == Hole(
        center=(inch(Fraction(x)), inch(Fraction(y))), diameter=inch("11/8")
    )


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "neither a hole"),
        ("hole", "neither a hole"),
        ("hole 35", "neither a hole"),
        ("bore 35 at 1 2", "neither a hole"),
        ("hole x at 1 2", "the diameter"),
        ("hole 0 at 1 2", "is 0"),
        ("hole -3 at 1 2", "negative"),
        ("hole nan at 1 2", "the diameter"),
        ("hole 1e3 at 1 2", "the diameter"),
        ("hole 35 at 1", "not one x and one y"),
        ("hole 35 at 1 2 3", "not one x and one y"),
        ("hole 35 at 1; 2; 3", "not one x and one y"),
        ("hole 35 at 1;", "not one x and one y"),
        ("hole 35 at 100 1,234", "decimal sign or group thousands"),
        ("slot 200 at 1 2", "neither a hole"),
        ("slot 200 x 0 at 1 2", "is 0"),
        ("slot 200 x 20 at 1 2 r y", "the radius"),
        ("cut-out r 5: 0 0, 1 0", "fewer than three"),
        ("cut-out r 5: 0 0,1 0,1 1", "fewer than three"),
        ("cut-out r 5: 0 0, 10 10, 10 0, 0 10", "touches or crosses"),
        ("cut-out r 5: 0 0, 10 0, 20 0", "fewer than three"),
        ("cut-out r 5: 0 0, 10 0, 10", "corner 3"),
        ("cut-out r 5: " + ", ".join(f"{i} {i * i}" for i in range(61)), "more than 60"),
    ],
)
def test_words_that_are_no_opening(text: str, reason: str) -> None:
    with pytest.raises(BadValue) as caught:
        parse_opening(text, mm(10))
    assert reason in caught.value.reason
    assert caught.value.remedy


def test_one_length_or_two_is_not_guessed() -> None:
    with pytest.raises(BadValue, match="one length or two"):
        parse_opening("hole 1 at 5 1/2", mm(10), "in")


# ---------------------------------------------------------------- panel lists


def read(folder: Path, shop: Shop = SHOP, **row: str) -> tuple[list[Opening], list[Problem], list[Problem]]:
    base = {"order": "A", "panel": "p", "glass": "clear-10", "width": "600", "height": "400"}
    path = folder / "list.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(base | row))
        writer.writeheader()
        writer.writerow(base | row)
    problems = Problems()
    panels = read_panel_lists([path], shop, problems)
    return [o for p in panels for o in p.openings], problems.errors, problems.notes


def test_a_list_with_openings(tmp_path: Path) -> None:
    found, errors, notes = read(tmp_path, openings="hole 35 at 100 200 | slot 100 x 25 at 300 200")
    assert found == [hole(35, 100, 200), box_out(300, 200, 100, 25)]
    assert not errors and not notes


@given(data=st.data())
def test_a_written_list_reads_back(data: st.DataObject, tmp_path_factory: pytest.TempPathFactory) -> None:
    grid = [(x, y) for x in range(60, 560, 100) for y in range(60, 360, 100)]
    places = data.draw(st.lists(st.sampled_from(grid), max_size=6, unique=True))
    made: list[Opening] = []
    for x, y in places:
        size = data.draw(st.integers(16_000, 64_000)) * TICK
        if data.draw(st.booleans()):
            made.append(Hole(center=(mm(x), mm(y)), diameter=size))
        else:
            made.append(slot(mm(x) - size // TICK // 2 * TICK, mm(y), size, mm(20), mm(5)))
    text = " | ".join(map(opening_text, made))
    found, errors, _ = read(tmp_path_factory.mktemp("list"), openings=text)
    assert not errors
    assert found == made


def test_the_header_and_the_unit_cell_name_the_unit(tmp_path: Path) -> None:
    assert read(tmp_path, **{"openings (in)": "hole 2 at 10 10"})[0] == [
        Hole(center=(inch(10), inch(10)), diameter=inch(2))
    ]
    found, errors, _ = read(tmp_path, unit="in", width="24", height="16", openings="hole 1 1/2 at 10; 5 1/4")
    assert not errors
    assert found == [Hole(center=(inch(10), inch("21/4")), diameter=inch("3/2"))]


def test_x_and_y_count_from_the_box_of_the_finished_panel(tmp_path: Path) -> None:
    found, errors, _ = read(
        tmp_path,
        width="",
        height="",
        corners="-100 50 | 500 50 | 500 450 | -100 450",
        openings="hole 35 at 100 200",
    )
    assert not errors
    assert found == [hole(35, 100, 200)]


def test_all_faults_of_a_cell_are_said_at_once(tmp_path: Path) -> None:
    found, errors, _ = read(tmp_path, openings="hole 35 at 100|bore|hole x at 1 2")
    assert found == []
    assert [e.value for e in errors] == ["hole 35 at 100", "bore", "hole x at 1 2"]
    assert all(e.row == 2 and e.column == "openings" and e.remedy for e in errors)
    _, errors, _ = read(tmp_path, openings="hole 35 at 700 200|hole 35 at 100 100|hole 35 at 110 100")
    assert ["leaves the glass" in errors[0].reason, "overlap" in errors[1].reason] == [True, True]
    assert len(errors) == 2 and all(e.remedy for e in errors)
    _, errors, _ = read(tmp_path, openings="|".join(["hole 5 at 100 100"] * 41))
    assert "more than 40" in errors[0].reason
    # the words are read though the glass is not known
    _, errors, _ = read(tmp_path, glass="opal", openings="bore")
    assert [e.column for e in errors] == ["glass", "openings"] or [e.column for e in errors] == [
        "openings",
        "glass",
    ]


def test_beyond_a_limit_is_a_note(tmp_path: Path) -> None:
    found, errors, notes = read(tmp_path, openings="hole 35 at 100 25|hole 8 at 300 200")
    assert len(found) == 2 and not errors
    assert [("20 mm" in n.reason, bool(n.remedy)) for n in notes] == [
        (True, True),
        (False, False),
        (False, True),
    ]
    assert "common practice" in notes[1].reason
    assert "at least 10 mm" in notes[2].reason


def test_openings_take_no_glass_from_the_outline(tmp_path: Path) -> None:
    problems = Problems()
    path = tmp_path / "a.csv"
    path.write_text("order,panel,glass,width,height,openings\nA,p,clear-10,600,400,hole 35 at 100 200\n")
    (panel,) = read_panel_lists([path], SHOP, problems)
    assert area2(panel.finished) == 2 * mm(600) * mm(400)
    assert box(panel.cut) == (0, 0, mm(600), mm(400))


def test_a_shop_that_works_in_inches_has_the_limits_of_north_america(tmp_path: Path) -> None:
    # FACTS section 10, no. 36: half-inch glass (designated 12 mm) takes holes of 9/16 in and more
    shop = replace(SHOP, list_unit="in")
    row = {"glass": "clear", "thickness": "1/2", "width": "24", "height": "16"}
    assert read(tmp_path, shop, **row, openings="hole 9/16 at 12 8")[2] == []
    (note,) = read(tmp_path, shop, **row, openings="hole 35/64 at 12 8")[2]
    assert "at least 14.29 mm" in note.reason
