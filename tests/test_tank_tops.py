"""Braces, covers and interior panels fit inside the walls with their joints, and not into each other.

Everything is seen from above and put into a room of our own: the inner outline moved inwards by lines
that cross, in floats.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from math import hypot
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle

from panewright.io.shop_file import default_shop
from panewright.nesting.shop_tanks import WallsAt
from panewright.nesting.tanks import plan_shapes as shapes
from panewright.nesting.tanks.build import Built, build
from panewright.nesting.tanks.findings import findings
from panewright.nesting.tanks.made import Edges
from panewright.nesting.tanks.plan_shapes import Across, PlanShape
from panewright.nesting.tanks.tank import (
    Cover,
    CrossBraces,
    Divider,
    Given,
    GlassWish,
    OverflowBox,
    RimBraces,
    Role,
    Tank,
    Top,
)
from panewright.nesting.tanks.vessel import InvalidTank
from panewright.nesting.units import TICK, mm

SHOP = default_shop()
EDGES = Edges(SHOP)
XY = tuple[float, float]
MICROMETRE = 1000.0
NOTHING = mm(300) * MICROMETRE
"""Area that rounding to ticks leaves between two panels. [nm2]"""

SHAPES = {
    "rectangle": shapes.rectangular(mm(1200), mm(500)),
    "corner": shapes.corner_pentagon(mm(900), mm(800), mm(300), mm(350)),
    "hexagon": shapes.regular(6, mm(500), Across.SIDE),
    "octagon": shapes.regular(8, mm(900), Across.FLATS),
    "long octagon": shapes.long_octagon(mm(1300), mm(600), mm(200), mm(180)),
    "long hexagon": shapes.long_hexagon(mm(1300), mm(600), mm(250)),
    "trapezoid": shapes.trapezoid(mm(1200), mm(800), mm(500)),
    "right trapezoid": shapes.right_trapezoid(mm(1200), mm(800), mm(500)),
    "bent front": shapes.bent_front(mm(1200), mm(600), mm(700), mm(400)),
    "L": shapes.l_shape(mm(1400), mm(900), mm(500), mm(300)),
}


def tank(
    shape: PlanShape, *, wall: str | int = 10, brace: str | int = 10, joint: str | int = 1, **more: Any
) -> Tank:
    glass = {role: GlassWish("clear", mm(wall)) for role in Role}
    glass |= {Role.BRACE: GlassWish("clear", mm(brace)), Role.INSIDE: GlassWish("clear", mm(6))}
    return Tank(
        order="A", shape=shape, given=Given.INSIDE, height=mm(500), glass=glass, joint=mm(joint), **more
    )


def room(inner: Sequence[tuple[int, int]], by: Sequence[float]) -> list[XY]:
    """The inner outline with every face moved inwards by its own distance. [nm]"""
    lines = []
    for i, p in enumerate(inner):
        q = inner[(i + 1) % len(inner)]
        far = hypot(q[0] - p[0], q[1] - p[1])
        u = (q[0] - p[0]) / far, (q[1] - p[1]) / far
        lines.append(((p[0] - u[1] * by[i], p[1] + u[0] * by[i]), u))
    out = []
    for i, (q, v) in enumerate(lines):
        p, u = lines[i - 1]
        s = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / (u[0] * v[1] - u[1] * v[0])
        out.append((p[0] + s * u[0], p[1] + s * u[1]))
    return out


def at_wall(built: Built, wall: int, points: Sequence[XY], corner: XY | None = None) -> Polygon:
    """Points along a wall and inwards from its inner face, seen from above."""
    inner = built.vessel.inner
    (ax, ay), (bx, by) = inner[wall], inner[(wall + 1) % len(inner)]
    far = hypot(bx - ax, by - ay)
    u = (bx - ax) / far, (by - ay) / far
    ox, oy = corner or (ax, ay)
    return Polygon([(ox + u[0] * x - u[1] * y, oy + u[1] * x + u[0] * y) for x, y in points])


def rim_widths(one: Tank) -> list[int]:
    rim = one.top.rim
    assert rim is not None
    return [rim.width if not rim.walls or name in rim.walls else 0 for name in one.shape.walls]


def rim_polygons(built: Built) -> dict[str, Polygon]:
    """Rim braces in their place: x counts from the corner of the opening that they leave."""
    widths = rim_widths(built.tank)
    joint = built.tank.joint
    opening = room(built.vessel.inner, [joint + w for w in widths])
    out = {}
    for piece in built.pieces:
        if piece.role is Role.BRACE and piece.wall is not None:
            x0 = piece.place[0]
            width = widths[piece.wall]
            points = [(x0 + x, y - width) for x, y in piece.finished]
            # y runs inwards from the outer edge, which is `width` behind the opening
            out[piece.name] = at_wall(built, piece.wall, points, opening[piece.wall])
    return out


def apart(polygons: Sequence[Polygon]) -> None:
    for one, other in combinations(polygons, 2):
        assert one.intersection(other).area <= NOTHING


def names_of(shape: PlanShape) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(shape.walls), unique=True, max_size=len(shape.walls)).map(tuple)


@given(st.data(), st.sampled_from(sorted(SHAPES)), st.integers(40, 110), st.sampled_from(["0.5", "1", "2.5"]))
def test_rim_braces_lie_a_joint_from_the_walls_and_from_each_other(
    data: st.DataObject, kind: str, width: int, joint: str
) -> None:
    shape = SHAPES[kind]
    walls = data.draw(names_of(shape))
    built = build(tank(shape, joint=joint, top=Top(rim=RimBraces(width=mm(width), walls=walls))), EDGES)
    braces = rim_polygons(built)
    assert set(braces) == {f"brace {wall}" for wall in walls or shape.walls}
    inner, gap = built.vessel.inner, mm(joint)
    seat = Polygon(room(inner, [gap] * len(inner)))
    for polygon in braces.values():
        # within the walls less a joint
        assert polygon.is_valid and polygon.difference(seat.buffer(MICROMETRE)).area <= NOTHING
    apart(list(braces.values()))
    for one, other in combinations(braces.values(), 2):
        # where two meet there is a joint between them
        assert one.distance(other) >= gap - 2 * MICROMETRE
    # all that is missing of the ring is the joints where two braces meet
    opening = Polygon(room(inner, [gap + w for w in rim_widths(built.tank)]))
    missing = seat.difference(opening).area - sum(p.area for p in braces.values())
    n = len(shape.walls)
    meet = sum(bool(rim_widths(built.tank)[i - 1] and rim_widths(built.tank)[i]) for i in range(n))
    # a joint runs over the width of a brace, or over a slanted end, at most three times as long here
    assert -NOTHING * n <= missing <= meet * gap * 3 * mm(width) + NOTHING * n
    assert meet == 0 or missing >= meet * gap * mm(width) * 0.9
    for piece in built.pieces:
        if piece.role is Role.BRACE:
            assert piece.place[2] + piece.thickness == built.vessel.height


@pytest.mark.parametrize("removable", [False, True])
@pytest.mark.parametrize("walls", [None, (), ("front",), ("front", "back")])
@given(st.data(), st.sampled_from(sorted(SHAPES)), st.integers(1, 4), st.integers(60, 150), st.booleans())
def test_cross_braces_reach_from_joint_to_joint(
    walls: tuple[str, ...] | None,
    removable: bool,
    data: st.DataObject,
    kind: str,
    count: int,
    width: int,
    lapped: bool,
) -> None:
    shape = SHAPES[kind]
    assume(walls is None or set(walls) <= set(shape.walls))
    rim = None if walls is None else RimBraces(width=mm(data.draw(st.integers(50, 90))), walls=walls)
    lapped = lapped and walls in ((), ("front", "back"))
    some = CrossBraces(count=count, width=mm(width), removable=removable, lapped=lapped)
    one = tank(shape, top=Top(rim=rim, cross=(some,)))
    try:
        built = build(one, EDGES)
    except InvalidTank as error:
        assert error.about == "top"
        return
    crossing = [p for p in built.pieces if p.role is Role.BRACE and p.wall is None]
    assert len(crossing) == count
    inner, gap = built.vessel.inner, mm(1)
    seat = Polygon(room(inner, [gap] * len(inner)))
    rims = list(rim_polygons(built).values()) if rim else []
    placed = []
    for piece in crossing:
        assert bool(piece.bonded) is not removable
        wide, long = piece.finished[2]
        assert wide == mm(width)
        start = gap + (rim.width + gap if rim and not lapped and braced(one, "front") else 0)
        x = piece.place[0]
        polygon = at_wall(
            built, 0, [(x, start), (x + wide, start), (x + wide, start + long), (x, start + long)]
        )
        assert polygon.difference(seat.buffer(MICROMETRE)).area <= NOTHING
        # as far from the glass behind it as from that before it
        beyond = at_wall(
            built, 0, [(x, start), (x + wide, start), (x + wide, start + mm(5000)), (x, start + mm(5000))]
        )
        if rim and not lapped:
            for other in rims:
                assert polygon.distance(other) >= gap - 2 * MICROMETRE
        free = seat.difference(unite(rims).buffer(gap)) if rim and not lapped else seat
        assert abs(beyond.intersection(free).area - polygon.area) <= mm(width) * 3 * MICROMETRE or not (
            shape.kind in ("rectangle", "L", "long octagon")
        )
        top = piece.place[2] + piece.thickness
        under = piece.thickness + gap if lapped else 0
        assert top == built.vessel.height - under
        placed.append(polygon)
    apart(placed)


def braced(one: Tank, name: str) -> bool:
    assert one.top.rim is not None
    return not one.top.rim.walls or name in one.top.rim.walls


def unite(polygons: Sequence[Polygon]) -> Polygon:
    out = Polygon()
    for polygon in polygons:
        out = out.union(polygon)
    return out


@given(st.integers(300, 1500), st.integers(1, 4), st.integers(60, 200), st.integers(40, 120))
def test_cross_braces_keep_a_joint_from_the_braces_at_the_sides(
    length: int, count: int, width: int, rim: int
) -> None:
    shape = shapes.rectangular(mm(length), mm(500))
    top = Top(rim=RimBraces(width=mm(rim)), cross=(CrossBraces(count=count, width=mm(width)),))
    try:
        built = build(tank(shape, top=top), EDGES)
    except InvalidTank:
        # they would not fit: so much of the front is taken
        places = [length * k / (count + 1) for k in range(1, count + 1)]
        beside = any(b - a < width for a, b in pairwise(places))
        assert beside or places[0] - width / 2 < rim + 2.01
        return
    rims = rim_polygons(built)
    for piece in built.pieces:
        if piece.role is Role.BRACE and piece.wall is None:
            x0, x1 = piece.place[0], piece.place[0] + piece.finished[2][0]
            y0 = mm(rim) + 2 * mm(1)
            polygon = at_wall(built, 0, [(x0, y0), (x1, y0), (x1, mm(500) - y0), (x0, mm(500) - y0)])
            for side in ("brace left", "brace right"):
                assert polygon.distance(rims[side]) >= mm(1) - MICROMETRE


@given(st.sampled_from(sorted(SHAPES)), st.integers(1, 4))
def test_lids_keep_their_clearance_from_the_walls_and_from_each_other(kind: str, count: int) -> None:
    shape = SHAPES[kind]
    built = build(tank(shape, top=Top(covers=(Cover(count=count),))), EDGES)
    lids = [piece for piece in built.pieces if piece.role is Role.COVER]
    assert [p.name for p in lids] == (["lid"] if count == 1 else [f"lid {k}" for k in range(1, count + 1)])
    clear = SHOP.tanks.cover_clearance
    inside = Polygon(room(built.vessel.inner, [clear] * len(shape.walls)))
    x0, y0, x1, y1 = inside.bounds
    pane = (x1 - x0 - (count - 1) * clear) / count
    for k, piece in enumerate(lids):
        low = x0 + k * (pane + clear)
        part = inside.intersection(rectangle(low, y0 - 1, low + pane, y1 + 1))
        px, py, _, _ = part.bounds
        laid = translate(Polygon(piece.finished), px, py)
        assert laid.symmetric_difference(part).area <= part.length * MICROMETRE
        assert piece.place[2] == built.vessel.height


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("sides", range(3, 17))
def test_lids_of_regular_tanks_have_no_edge_without_length(sides: int, count: int) -> None:
    built = build(
        tank(shapes.regular(sides, mm(500), Across.SIDE), top=Top(covers=(Cover(count=count),))), EDGES
    )
    for piece in built.pieces:
        if piece.role is Role.COVER:
            corners = piece.finished
            assert all(hypot(q[0] - p[0], q[1] - p[1]) > TICK for p, q in pairwise([*corners, corners[0]]))
    findings(built, SHOP)  # divided by the length of such an edge


@given(st.integers(1, 5), st.integers(1, 400), st.integers(300, 1500))
def test_sliding_covers_overlap_as_ordered_and_fill_the_opening(
    count: int, overlap: int, length: int
) -> None:
    shape = shapes.rectangular(mm(length), mm(450))
    cover = Cover(count=count, sliding=True, overlap=mm(overlap))
    clear = SHOP.tanks.cover_clearance
    wide = mm(length) - 2 * clear
    try:
        built = build(tank(shape, top=Top(covers=(cover,))), EDGES)
    except InvalidTank as error:
        # a pane that overlaps its neighbour by more than half its width cannot be pushed open
        assert error.about == "covers" and count > 1
        assert 2 * mm(overlap) * count > wide + (count - 1) * mm(overlap)
        return
    panes = [piece for piece in built.pieces if piece.role is Role.COVER]
    assert len(panes) == count
    for pane in panes:
        width, deep = pane.finished[2]
        assert deep == mm(450) - 2 * clear and width <= wide
        assert abs(count * width - (count - 1) * mm(overlap) - wide) <= count * TICK


@given(
    st.sampled_from(sorted(SHAPES)),
    st.integers(150, 1100),
    st.sampled_from([None, 0, 25]),
    st.sampled_from(["0.5", "2"]),
)
def test_dividers_and_baffles_stand_a_joint_from_front_and_back(
    kind: str, at: int, gap: int | None, joint: str
) -> None:
    shape = SHAPES[kind]
    divider = Divider(at=mm(at), gap=mm(gap or 0), height=None if gap is None else mm(300))
    one = tank(shape, joint=joint, insides=(divider,))
    try:
        built = build(one, EDGES)
    except InvalidTank as error:
        # only where it would stand in the pointed end or outside
        x0, _, x1, _ = Polygon(shape.outline).bounds
        assert error.about == "insides" and not mm(10) < mm(at) < x1 - x0 - mm(10)
        return
    piece = built.piece(divider.name)
    inner = built.vessel.inner
    seat = Polygon(room(inner, [mm(joint)] * len(inner)))
    x0 = min(x for x, _ in inner)
    left = x0 + piece.place[0] - piece.thickness / 2
    long, high = piece.finished[2]
    glass = rectangle(left, piece.place[1], left + piece.thickness, piece.place[1] + long)
    assert glass.difference(seat.buffer(MICROMETRE)).area <= NOTHING
    # it cannot be a tick longer: the strip that its glass stands in is full
    strip = seat.intersection(rectangle(left, -1, left + piece.thickness, mm(5000)))
    front, back = ends_of(strip)
    assert abs((back - front) - long) <= 2 * TICK or kind == "L"
    foot, base = piece.place[2], built.vessel.base_thickness
    assert foot - base == (mm(gap) if gap else mm(joint))
    water = built.vessel.height - one.freeboard
    assert foot + high == (water if gap is None else foot + mm(300))
    assert foot + high <= built.vessel.height


def ends_of(strip: Polygon) -> tuple[float, float]:
    """The tightest front and back of an upright strip: over both faces of the glass."""
    x0, _, x1, _ = strip.bounds
    low, high = [], []
    for x in (x0, x1):
        near = strip.intersection(rectangle(x - 1, -1, x + 1, mm(5000)))
        low.append(near.bounds[1])
        high.append(near.bounds[3])
    return max(low), min(high)


@pytest.mark.parametrize("walls", [WallsAt.ON_BASE, WallsAt.AROUND_BASE])
@given(
    st.sampled_from([("back", "left"), ("left", "back"), ("right", "back"), ("front", "right")]),
    st.integers(100, 400),
    st.integers(80, 300),
    st.integers(0, 80),
    st.sampled_from(["0.5", "1", "3"]),
)
def test_a_corner_overflow_box_has_its_outside_size(
    walls: WallsAt, at: tuple[str, str], along: int, deep: int, weir: int, joint: str
) -> None:
    box = OverflowBox(walls=at, along=mm(along), deep=mm(deep), weir=mm(weir))
    built = build(tank(SHAPES["rectangle"], joint=joint, insides=(box,), walls=walls), EDGES)
    face, side = built.piece("overflow face"), built.piece("overflow side")
    g, t = mm(joint), face.thickness
    # measured from the corner of the two inner faces
    f = rectangle(g, mm(deep) - t, g + face.finished[2][0], mm(deep))
    s = rectangle(mm(along) - t, g, mm(along), g + side.finished[2][0])
    assert f.bounds[2] == s.bounds[2] == mm(along)
    assert f.bounds[1] - s.bounds[3] == g
    check_weir(built, weir, joint)


@given(
    st.sampled_from(["front", "back", "left"]),
    st.integers(100, 400),
    st.integers(80, 300),
    st.one_of(st.none(), st.integers(0, 1300)),
)
def test_an_overflow_box_in_the_middle_of_a_wall(wall: str, along: int, deep: int, at: int | None) -> None:
    box = OverflowBox(
        walls=(wall,), along=mm(along), deep=mm(deep), weir=mm(40), at=None if at is None else mm(at)
    )
    far = 1200 if wall in ("front", "back") else 500
    middle = far / 2 if at is None else at
    fits = along / 2 <= middle <= far - along / 2
    try:
        built = build(tank(SHAPES["rectangle"], insides=(box,)), EDGES)
    except InvalidTank as error:
        assert error.about == "insides" and not fits
        return
    assert fits
    face, left, right = (built.piece(f"overflow {part}") for part in ("face", "left side", "right side"))
    start, t = face.place[0], face.thickness
    assert abs(start + mm(along) / 2 - mm(middle)) <= 1 if isinstance(middle, int) else True
    f = rectangle(start, mm(deep) - t, start + face.finished[2][0], mm(deep))
    assert left.finished == right.finished and face.finished[2][0] == mm(along)
    sides = [rectangle(x, mm(1), x + t, mm(1) + left.finished[2][0]) for x in (start, start + mm(along) - t)]
    for side in sides:
        assert f.bounds[1] - side.bounds[3] == mm(1)
    assert sides[0].distance(sides[1]) == mm(along) - 2 * t > 0
    check_weir(built, 40, "1")


def check_weir(built: Built, weir: int, joint: str) -> None:
    """All parts stand a joint above the base and end at the weir."""
    for piece in built.pieces:
        if piece.role is Role.INSIDE:
            assert piece.place[2] == built.vessel.base_thickness + mm(joint)
            assert piece.place[2] + piece.finished[2][1] == built.vessel.height - mm(weir)


def test_interior_panels_are_numbered_where_there_are_several() -> None:
    baffles = (Divider(at=mm(at), gap=mm(30), baffle=True) for at in (450, 600))
    insides = (Divider(at=mm(300)), *baffles)
    built = build(tank(SHAPES["rectangle"], insides=insides), EDGES)
    assert [p.name for p in built.pieces if p.role is Role.INSIDE] == ["divider", "baffle 1", "baffle 2"]
    assert built.piece("divider").bonded == (0, 1, 3) and built.piece("baffle 1").bonded == (1, 3)


@pytest.mark.parametrize(
    "wrong",
    [
        {"top": Top(rim=RimBraces(width=mm(260)))},
        {"top": Top(cross=(CrossBraces(count=20, width=mm(80)),))},
        {"insides": (Divider(at=mm(1300)),)},
        {"insides": (Divider(at=mm(300), gap=mm(400), height=mm(200)),)},
        {"insides": (OverflowBox(walls=("front", "back"), along=mm(200), deep=mm(100), weir=mm(40)),)},
        {"insides": (OverflowBox(walls=("front",), along=mm(1300), deep=mm(100), weir=mm(40)),)},
        {"insides": (OverflowBox(walls=("front",), along=mm(200), deep=mm(600), weir=mm(40)),)},
        {"insides": (OverflowBox(walls=("back", "left"), along=mm(200), deep=mm(500), weir=mm(40)),)},
        {"insides": (OverflowBox(walls=("roof",), along=mm(200), deep=mm(100), weir=mm(40)),)},
    ],
    ids=lambda wrong: next(iter(wrong)),
)
def test_what_does_not_fit_is_refused(wrong: dict[str, Any]) -> None:
    good = tank(SHAPES["rectangle"])
    build(good, EDGES)
    with pytest.raises(InvalidTank) as caught:
        build(replace(good, **wrong), EDGES)
    assert caught.value.about == next(iter(wrong))
