"""Edges off level or upright by noise are laid straight, those that lean for a reason are not."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from panewright.io.order_lists import read_orders
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.checker import check
from panewright.nesting.laid_square import laid_square
from panewright.nesting.outlines import (
    Outline,
    area2,
    is_convex,
    is_rectangle,
    make_outline,
    rectangle,
    sides,
)
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import Shop
from panewright.nesting.straight_edges import LONG, NOISE, straightened
from panewright.nesting.units import TICK, mm

Corners = list[tuple[float | str, float | str]]


def shape(*points: tuple[float | str, float | str]) -> Outline:
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in points])


# ---------------------------------------------------------------- what is laid straight


def test_the_roundest_coordinate_is_the_common_one() -> None:
    for off in ("300.0006", "300.04", "299.96", "300.05"):
        found = straightened(shape((0, 0), (600, 0), (600, off), (0, 300)))
        assert found.outline == rectangle(mm(600), mm(300))
        assert [(line.corners, line.axis) for line in found.lines] == [((2, 3), 1)]
        assert found.lines[0].off == abs(mm(off) - mm(300))


def test_of_equally_round_coordinates_the_outermost() -> None:
    noisy = shape((0, "0.01"), ("600.02", "0.02"), ("600.03", "300.04"), ("0.03", "300.03"))
    found = straightened(noisy)
    assert found.outline == ((0, mm("0.01")), *[(mm("600.03"), mm(y)) for y in ("0.01", "300.04")],
                             (0, mm("300.04")))  # fmt: skip


def test_a_size_is_round_seen_from_the_left_and_the_bottom() -> None:
    x, y = "12.37", "81.93"
    found = straightened(shape((x, y), ("612.37", y), ("612.4", "381.93"), (x, "381.9")))
    width, height = (max(p[k] for p in found.outline) - mm((x, y)[k]) for k in (0, 1))
    assert (width, height) == (mm(600), mm(300))


def test_an_outline_as_it_was_drawn_tells_which_number_is_round() -> None:
    drawn = [(99_999_999_700, 0), (100_600_000_000, 0), (100_600_000_400, 10**8), (100_000_000_000, 10**8)]
    outline = tuple((round((x - drawn[0][0]) / TICK) * TICK, y) for x, y in drawn)
    xs = [x for x, _ in straightened(outline, given=drawn).outline]
    assert max(xs) - min(xs) == mm(600)


def test_feet_that_stand_on_one_line_come_to_stand_on_it() -> None:
    arch = shape((0, 0), (100, 0), (100, 200), (500, 200), (500, "0.03"), (600, 0), (600, 400), (0, 400))
    ys = [y for _, y in straightened(arch).outline]
    assert ys.count(0) == 4


def test_parallel_edges_of_a_turned_trapezoid() -> None:
    """Off by 0.03 mm to its longest edge, at 3-4-5 and so exact when it is turned back."""
    trapezoid = [(0, 0), (600, 0), (450, 300), (150, "300.03")]
    turned = [(mm(str(x)), mm(str(y))) for x, y in trapezoid]
    at_angle = make_outline([((4 * x - 3 * y) // 5, (3 * x + 4 * y) // 5) for x, y in turned])
    assert straightened(at_angle).lines == ()
    laid = laid_square(at_angle)
    assert laid is not None
    ys = sorted(y for _, y in laid.outline)
    assert ys[0] == ys[1] and ys[2] == ys[3] and len(laid.lines) == 1


# ---------------------------------------------------------------- what stays


@pytest.mark.parametrize(
    "outline",
    [
        shape((0, 0), (600, 0), (600, "300.06"), (0, 300)),
        shape((0, 0), (600, 0), (600, "299.95"), ("599.95", 300), (0, 300)),  # a chamfer of 0.05 mm
        shape((0, 0), (600, 0), (600, "299.95"), ("599.1", 300), (0, 300)),  # 0.05 mm over 0.9
        shape(
            (0, 0), (600, 0), (600, 400), (300, 400), (300, "399.99"), (200, "399.99"), (200, 400), (0, 400)
        ),
        shape((0, 0), (300, "-0.04"), (600, "-0.09"), (600, 300), (0, 300)),  # a chain that drifts
        shape(
            (0, 0), (600, 0), (600, 300), (590, "300.04"), (0, "300.2")
        ),  # level, corner 4 would turn inwards
        rectangle(mm(600), mm(300)),
    ],
)
def test_what_was_meant_stays(outline: Outline) -> None:
    found = straightened(outline)
    assert (found.outline, found.lines) == (outline, ())
    assert found.kept == tuple(range(len(outline)))


def test_the_length_of_an_edge_decides_what_is_noise() -> None:
    for length, straight in ((LONG * 40_000, True), (LONG * 40_000 - TICK, False)):
        step = mm(300) - 40_000
        cut = ((0, 0), (mm(600), 0), (mm(600), step), (mm(600) - length, mm(300)), (0, mm(300)))
        assert bool(straightened(cut).lines) is straight


def test_a_corner_within_a_straight_line_goes_where_it_may() -> None:
    bent = shape((0, 0), (300, "-0.03"), (600, "-0.04"), (600, 300), (0, 300))
    found = straightened(bent)
    assert is_rectangle(found.outline) and found.kept == (0, 2, 3, 4)
    assert straightened(bent, fixed=range(9)).outline == bent


def test_a_line_that_would_spoil_the_outline_hinders_no_other() -> None:
    # laid on one line, the step of 0.03 mm in the top would be no edge any more
    step = shape((0, 0), (600, 0), (600, "300.02"), (300, 300), (300, "300.03"), ("0.02", "300.03"))
    found = straightened(step, fixed=range(9))
    assert len(found.outline) == 6 and found.lines
    assert found.outline[0][0] == found.outline[5][0]


def test_no_edge_collapses() -> None:
    # both parts of the top would come to lie at 300, and nothing would be left of the step
    step = shape((0, 0), (600, 0), (600, "300.02"), (300, 300), (300, "300.03"), (0, 300))
    found = straightened(step)
    assert len(found.outline) == 6 and len(found.lines) == 1


def test_a_slight_angle_is_left_to_laid_square() -> None:
    """3000 x 600 mm at 1 in 15,000: its short edges lean by 0.04 mm, its long ones by 0.2."""
    w, h = mm(3000), mm(600)
    askew = ((0, 0), (w, w // 15_000), (w - h // 15_000, h + w // 15_000), (-(h // 15_000), h))
    assert straightened(askew).lines == ()
    laid = laid_square(askew)
    assert laid is not None and is_rectangle(laid.outline)


# ---------------------------------------------------------------- properties

SHAPES: dict[str, list[tuple[int, int]]] = {
    "rectangle": [(0, 0), (60, 0), (60, 40), (0, 40)],
    "trapezoid": [(0, 0), (60, 0), (45, 40), (15, 40)],
    "right trapezoid": [(0, 0), (60, 0), (45, 40), (0, 40)],
    "L": [(0, 0), (60, 0), (60, 20), (20, 20), (20, 40), (0, 40)],
}
shapes = st.tuples(st.sampled_from(sorted(SHAPES)), st.integers(1, 50), st.integers(1, 50), st.integers(0, 5))


def made(drawn: tuple[str, int, int, int]) -> list[tuple[int, int]]:
    """A shape of 60 x 40 to 3000 x 2000 mm from one of its corners on. [nm]"""
    name, wide, high, first = drawn
    points = [(mm(x * wide), mm(y * high)) for x, y in SHAPES[name]]
    first %= len(points)
    return points[first:] + points[:first]


@given(shapes, st.data())
@settings(max_examples=300)
def test_noise_goes(drawn: tuple[str, int, int, int], data: st.DataObject) -> None:
    true = made(drawn)
    noise = st.integers(0, 40_000 // TICK).map(lambda n: n * TICK)
    outline = tuple((x + data.draw(noise), y + data.draw(noise)) for x, y in true)
    found = straightened(outline, fixed=range(9))
    # as many edges lie along the axes as do without noise, no corner has gone, none moved by more
    along = [a[0] == b[0] or a[1] == b[1] for a, b in sides(true)]
    for (a, b), meant in zip(sides(found.outline), along, strict=True):
        assert not meant or a[0] == b[0] or a[1] == b[1]
    assert found.kept == tuple(range(len(true)))
    for p, q in zip(outline, found.outline, strict=True):
        assert max(abs(p[0] - q[0]), abs(p[1] - q[1])) <= NOISE
        assert p[0] == q[0] or q[0] in {x for x, _ in outline}
    assert Polygon(found.outline).is_valid and area2(found.outline) > 0
    assert is_convex(found.outline) == (drawn[0] != "L")
    assert make_outline(found.outline) == found.outline
    assert straightened(found.outline, fixed=range(9)).lines == ()


@given(shapes, st.integers(1, 2**12 - 1))
def test_a_fifth_of_a_millimetre_is_no_noise(drawn: tuple[str, int, int, int], moved: int) -> None:
    true = made(drawn)
    bits = [moved >> k & 1 for k in range(2 * len(true))]
    outline = tuple(
        (x + bits[2 * k] * mm("0.2"), y + bits[2 * k + 1] * mm("0.2")) for k, (x, y) in enumerate(true)
    )
    assert straightened(outline).outline == outline


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=9),
    st.integers(1, 2_000_000),
    st.sampled_from([0, 9]),
)
def test_whatever_comes_stays_clean(points: list[tuple[int, int]], scale: int, fixed: int) -> None:
    try:
        outline = make_outline([(x * scale, y * scale) for x, y in points])
    except ValueError:
        return
    found = straightened(outline, fixed=range(fixed))
    assert make_outline(found.outline) == found.outline and Polygon(found.outline).is_valid
    assert not fixed or len(found.outline) == len(outline)
    for i, q in zip(found.kept, found.outline, strict=True):
        assert max(abs(outline[i][0] - q[0]), abs(outline[i][1] - q[1])) <= NOISE


# ---------------------------------------------------------------- plans


@pytest.mark.parametrize(
    ("corners", "turn", "cuts"),
    [
        ("0 0|600 0|600 300.0006|0 300", "", 0),
        ("0 0|600 0|600 300.0004|0 300", "", 0),
        ("0 0|600 0|600 300.0006|0 300", "none", 0),
        ("0 0|600 0|450 300.0006|150 300", "", 2),
        ("0 0|600 0|600 200|200 200|200 500|0 500.002", "", 1),
    ],
)
def test_plans_cut_it_plainly(  # type: ignore[no-untyped-def]
    tmp_path: Path, make_stock, outsider, corners: str, turn: str, cuts: int
) -> None:
    path = tmp_path / "n.csv"
    path.write_text(f"order,panel,glass,edges,corners,turn\nN,p,clear-10,cut,{corners},{turn}\n")
    problems = Problems()
    orders = read_orders([path], default_shop(), problems)
    assert not problems
    panels, stock, shop = list(orders.panels), [make_stock(3210, 2250)], Shop()
    planner = Planner(panels, stock, shop, effort=20, unplaced=impossible(panels, stock, shop))
    planner.start()
    while planner.advance():
        pass
    plan = planner.finish("effort")
    assert not plan.unplaced and check(plan) == []
    slanted = [c for c in plan.layouts[0].cuts if c.start[0] != c.end[0] and c.start[1] != c.end[1]]
    assert len(slanted) == cuts
    outsider(plan, tmp_path)
