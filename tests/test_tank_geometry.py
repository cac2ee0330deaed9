"""The walls and the base of a tank, put back together from their panels alone, close the vessel.

Nothing here uses the geometry of `nesting.tanks.faces` or `nesting.tanks.walls`: an inner outline of its
own (floats, lines that cross) takes the place of theirs, and every panel is put back from its finished
outline, the mitres of its edges and its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import acos, atan2, cos, degrees, hypot, radians, tan
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import Polygon
from shapely.ops import unary_union

from panewright.io.shop_file import default_shop
from panewright.nesting.edgework import Edge
from panewright.nesting.outlines import area2, is_convex
from panewright.nesting.shop_tanks import WallsAt
from panewright.nesting.tanks import plan_shapes as shapes
from panewright.nesting.tanks.build import Built, build
from panewright.nesting.tanks.by_products import by_products
from panewright.nesting.tanks.made import Edges, TankPiece
from panewright.nesting.tanks.plan_shapes import Across, PlanShape
from panewright.nesting.tanks.tank import Given, GlassWish, Role, Tank
from panewright.nesting.tanks.vessel import InvalidTank, vessel_of
from panewright.nesting.tanks.walls import CornerJoint
from panewright.nesting.units import TICK, inch, mm

SHOP = default_shop()
EDGES = Edges(SHOP)
XY = tuple[float, float]
MICROMETRE = 1000.0
KINDS = "rectangle corner regular octagon hexagon trapezoid right bent L corners".split()  # noqa: SIM905
NAMES_THROUGH = ("default", "pinwheel", "names")
THICK = st.sampled_from([6, 8, 10, 12, 15, 19])


# an inner outline of our own


def along(p: XY, q: XY) -> XY:
    far = hypot(q[0] - p[0], q[1] - p[1])
    return (q[0] - p[0]) / far, (q[1] - p[1]) / far


def crossing(p: XY, u: XY, q: XY, v: XY) -> XY:
    turn = u[0] * v[1] - u[1] * v[0]
    s = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / turn
    return p[0] + s * u[0], p[1] + s * u[1]


def offset(corners: Sequence[XY], out: Sequence[float]) -> list[XY]:
    """Every face moved outwards by its own distance; lines that cross. [nm]"""
    n = len(corners)
    lines = []
    for i, p in enumerate(corners):
        u = along(p, corners[(i + 1) % n])
        lines.append(((p[0] + u[1] * out[i], p[1] - u[0] * out[i]), u))
    return [crossing(*lines[i - 1], *lines[i]) for i in range(n)]


def distance(point: XY, p: XY, q: XY) -> float:
    """From the line p, q to a point, positive to its left (within a tank). [nm]"""
    u = along(p, q)
    return u[0] * (point[1] - p[1]) - u[1] * (point[0] - p[0])


def shoelace(corners: Sequence[XY]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, [*corners[1:], corners[0]])) / 2


def slack(edge: Edge, thickness: int) -> float:
    """A micrometre, and what a mitre loses where its angle is rounded to 1/1000 degree. [nm]"""
    lost = thickness * radians(0.0005) / cos(radians(edge.mitre / 1000)) ** 2
    return MICROMETRE + (lost if edge.mitre else 0)


@dataclass(frozen=True)
class Standing:
    """A wall panel back in its place, seen from above."""

    piece: TankPiece
    inner: tuple[XY, XY]
    outer: tuple[XY, XY]

    @property
    def polygon(self) -> Polygon:
        return Polygon([*self.inner[::-1], *self.outer])

    def end(self, right: bool) -> tuple[XY, XY]:
        """Inner and outer point of an end face."""
        return self.inner[right], self.outer[right]

    def edge(self, right: bool) -> Edge:
        return self.piece.edges[1 if right else 3]


def put_back(piece: TankPiece, corner: XY, after: XY) -> Standing:
    """A wall from its outline, its mitres and its place along the wall."""
    assert piece.finished[0] == (0, 0) and len(piece.finished) == 4
    width, t, u = piece.finished[2][0], piece.thickness, along(corner, after)
    reach = {"up": [0.0, float(width)], "down": [0.0, float(width)]}  # up is the outer face
    for right, edge in ((0, piece.edges[3]), (1, piece.edges[1])):
        if edge.mitre:
            assert edge.small_face in ("up", "down")
            back = t * tan(radians(edge.mitre / 1000))
            reach[edge.small_face][right] += -back if right else back

    def at(far: float, out: float) -> XY:
        far += piece.place[0]
        return corner[0] + u[0] * far + u[1] * out, corner[1] + u[1] * far - u[0] * out

    inner, outer = (
        (at(reach["down"][0], 0), at(reach["down"][1], 0)),
        (at(reach["up"][0], t), at(reach["up"][1], t)),
    )
    return Standing(piece, inner, outer)


# tanks of every kind


@st.composite
def plan_shape(draw: st.DrawFn) -> PlanShape:
    def length(low: int, high: int) -> int:
        # in 0.01 mm or in 64ths of an inch, as lists give it
        if draw(st.booleans()):
            return draw(st.integers(low * 100, high * 100)) * mm("0.01")
        return draw(st.integers(low * 64 // 25, high * 64 // 26)) * inch("1/64")

    kind = draw(st.sampled_from(KINDS))
    long, wide = length(600, 2500), length(500, 900)
    part = length(160, 220)
    match kind:
        case "rectangle":
            return shapes.rectangular(long, wide)
        case "corner":
            return shapes.corner_pentagon(long, wide, part, length(150, 300))
        case "regular":
            sides, across = draw(st.integers(3, 16)), draw(st.sampled_from(Across))
            measure = length(250, 600) if across is Across.SIDE else length(1500, 2500)
            return shapes.regular(sides, measure, across)
        case "octagon":
            return shapes.long_octagon(long, wide, part, length(100, 160))
        case "hexagon":
            return shapes.long_hexagon(long, wide, part)
        case "trapezoid":
            return shapes.trapezoid(long, length(500, 599), wide)
        case "right":
            back, front = draw(st.permutations([long, length(500, 599)]))
            return shapes.right_trapezoid(back, front, wide)
        case "bent":
            return shapes.bent_front(long, wide, length(200, 300), length(150, 300))
        case "L":
            return shapes.l_shape(long, wide, part, length(150, 220))
    # convex: on an ellipse, the corners in the order of their angles
    angles = sorted(draw(st.lists(st.integers(0, 15), min_size=4, max_size=9, unique=True)))
    wheel = shapes.regular(16, mm(1000), Across.CORNERS).outline
    corners = [(wheel[k][0] * 2 // TICK * TICK, wheel[k][1] // TICK * TICK) for k in angles]
    return shapes.polygon(corners)


def greatest_lean(tank: Tank) -> float:
    """The greatest angle from square that an end of a wall must be ground to. [degree]"""
    inner, outer = outlines(tank)
    n, most = len(inner), 0.0
    for i, p in enumerate(inner):
        before, after = along(inner[i - 1], p), along(p, inner[(i + 1) % n])
        turn = degrees(acos(max(-1, min(1, before[0] * after[0] + before[1] * after[1]))))
        if tank.corners is CornerJoint.BUTT:
            most = max(most, abs(90 - turn))
        elif tank.corners is CornerJoint.MITRE or abs(turn - 90) > 1e-6:
            across = outer[i][0] - p[0], outer[i][1] - p[1]
            for u in (before, after):
                # from the normal of the wall to the line from the inner corner to the outer one
                far, out = u[0] * across[0] + u[1] * across[1], u[1] * across[0] - u[0] * across[1]
                most = max(most, degrees(atan2(abs(far), abs(out))))
    return most


@st.composite
def tanks(
    draw: st.DrawFn, corners: CornerJoint | None = None, through: Sequence[str] = NAMES_THROUGH
) -> Tank:
    shape = draw(plan_shape())
    glass: dict[Any, GlassWish] = {role: GlassWish("clear", mm(draw(THICK))) for role in Role}
    for name in draw(st.lists(st.sampled_from(shape.walls), unique=True, max_size=2)):
        glass[name] = GlassWish("low-iron", mm(draw(THICK)))
    if corners is None:
        # only square corners that turn inwards can butt, so an L mitres or butts likewise
        corners = draw(st.sampled_from(CornerJoint))
    wish = draw(st.sampled_from(through))
    named = ()
    if wish == "pinwheel":
        named = ("pinwheel",)
    elif wish == "names":
        named = tuple(draw(st.lists(st.sampled_from(shape.walls), unique=True, min_size=1)))
    tank = Tank(
        order="A",
        shape=shape,
        given=draw(st.sampled_from(Given)),
        height=draw(st.integers(300_00, 900_00)) * mm("0.01"),
        glass=glass,
        walls=draw(st.sampled_from(WallsAt)),
        corners=corners,
        through=named,
        joint=draw(st.integers(0, 300)) * mm("0.01"),
    )
    try:
        vessel_of(tank)
    except InvalidTank as error:
        # nothing else may be refused than an edge that would lean by 80 degrees
        assert "would lean" in error.reason and greatest_lean(tank) > 79.99
        assume(False)
    return tank


def outlines(tank: Tank) -> tuple[list[XY], list[XY]]:
    """Our own inner and outer outline, the lower left of the outer one at 0, 0. [nm]"""
    thick = [tank.glass_of(Role.WALL, name).thickness or 0 for name in tank.shape.walls]
    given = [(float(x), float(y)) for x, y in tank.shape.outline]
    if tank.given is Given.OUTSIDE:
        inner, outer = offset(given, [-t for t in thick]), given
    else:
        inner, outer = given, offset(given, thick)
    x0, y0 = min(x for x, _ in outer), min(y for _, y in outer)
    return [(x - x0, y - y0) for x, y in inner], [(x - x0, y - y0) for x, y in outer]


def standing(built: Built, inner: Sequence[XY]) -> list[Standing]:
    walls = [piece for piece in built.pieces if piece.role is Role.WALL]
    assert [piece.name for piece in walls] == list(built.tank.shape.walls)
    return [put_back(piece, inner[i], inner[(i + 1) % len(inner)]) for i, piece in enumerate(walls)]


@given(tanks())
def test_panels_put_back_together_close_the_vessel(tank: Tank) -> None:
    built = build(tank, EDGES)
    inner, outer = outlines(tank)
    n = len(inner)
    walls = standing(built, inner)
    for i in range(n):
        before, after = walls[i - 1], walls[i]
        hold = slack(before.edge(True), before.piece.thickness) + slack(
            after.edge(False), after.piece.thickness
        )
        check_corner(tank, before, after, inner[i], outer[i], hold - MICROMETRE)
    for i, wall in enumerate(walls):
        # the outer faces lie on the outer outline
        for point in wall.outer:
            assert abs(distance(point, outer[i], outer[(i + 1) % n])) < MICROMETRE
    polygons = [wall.polygon for wall in walls]
    for i in range(n):
        assert polygons[i].is_valid and polygons[i].area > 0
        for j in range(i):
            # a tenth of a micrometre along a joint counts as nothing; ends are on ticks of 625 nm
            assert polygons[i].intersection(polygons[j]).area <= 4 * MICROMETRE * mm(20)
    # with the joints filled, the walls are one ring round the water
    ring = unary_union([p.buffer(tank.joint / 2 + 2 * MICROMETRE, join_style="mitre") for p in polygons])
    assert ring.geom_type == "Polygon" and len(ring.interiors) == 1
    room = Polygon(ring.interiors[0])
    assert room.symmetric_difference(Polygon(inner)).area <= (tank.joint + 8 * MICROMETRE) * ring.length


def check_corner(tank: Tank, before: Standing, after: Standing, inner: XY, outer: XY, hold: float) -> None:
    """The joint at a corner is as thick as ordered, at the inner and at the outer end of it."""
    a, b = before.end(True), after.end(False)
    joint = float(tank.joint)
    if before.edge(True).mitre and after.edge(False).mitre:
        for one, other in ((a, b), (b, a)):
            for point in one:
                assert abs(abs(distance(point, *other)) - joint) < hold
        # either face stands half a joint off the plane from the inner corner to the outer one
        assert abs(distance(a[0], inner, outer) + joint / 2) < hold
        assert abs(distance(b[1], inner, outer) - joint / 2) < hold
        return
    ends = []
    for on, through, right in ((before, after, True), (after, before, False)):
        face = on.end(right)
        convex = distance(on.inner[not right], *through.inner) > 0
        to = through.inner if convex else through.outer
        sign = 1 if convex else -1
        flush = on.outer if convex else on.inner
        # where the other one runs through, its end is flush with this wall
        reach = distance(through.end(not right)[0], *flush)
        if all(abs(sign * distance(p, *to) - joint) < hold for p in face) and abs(reach) < hold:
            ends.append(on)
    assert len(ends) == 1 or (not joint and ends), "one wall ends on the other"


@given(tanks())
def test_walls_and_base_fit_each_other_in_height_and_seat(tank: Tank) -> None:
    built = build(tank, EDGES)
    inner, outer = outlines(tank)
    base = built.piece("base")
    t = base.thickness
    height = tank.height + (t if tank.given is Given.INSIDE else 0)
    seat = [(x + base.place[0], y + base.place[1]) for x, y in base.finished]
    assert base.place[2] == 0 and all(x % TICK == y % TICK == 0 for x, y in base.finished)
    n = len(inner)
    if tank.walls is WallsAt.ON_BASE:
        foot = t + tank.joint
        for p, q in zip(seat, outer, strict=True):
            assert hypot(p[0] - q[0], p[1] - q[1]) < MICROMETRE
    else:
        foot = 0
        for i in range(n):
            for p in (seat[i], seat[(i + 1) % n]):
                assert abs(distance(p, inner[i], inner[(i + 1) % n]) - tank.joint) < MICROMETRE
    for wall in standing(built, inner):
        assert wall.piece.place[2] == foot
        assert abs(foot + wall.piece.finished[2][1] - height) < TICK
    # against the shoelace formula, brim-full
    depth = height - t
    true = shoelace(inner) * depth
    around = sum(hypot(p[0] - q[0], p[1] - q[1]) for p, q in zip(inner, [*inner[1:], inner[0]]))
    assert abs(built.vessel.volume() - true) <= 2 * around * depth
    litres = by_products(built, SHOP.tanks, SHOP.lifts).litres_brim / 1000
    assert litres == pytest.approx(true / mm(100) ** 3, abs=0.002)


@given(tanks())
def test_inside_to_outside_to_inside_is_the_identity(tank: Tank) -> None:
    first = vessel_of(replace(tank, given=Given.INSIDE))
    x0, y0 = min(x for x, _ in first.inner), min(y for _, y in first.inner)
    start = tank.shape.outline
    sx, sy = min(x for x, _ in start), min(y for _, y in start)
    moved = [(x - x0, y - y0) for x, y in first.inner]
    assert moved == [(x - sx, y - sy) for x, y in start]
    again = vessel_of(
        replace(
            tank,
            given=Given.OUTSIDE,
            shape=replace(tank.shape, outline=first.outer),
            height=tank.height + first.base_thickness,
        )
    )
    square = all(a[0] == b[0] or a[1] == b[1] for a, b in zip(start, [*start[1:], start[0]]))
    assert again.height == first.height and again.inner_height == tank.height
    for p, q in zip(again.inner, first.inner, strict=True):
        assert p == q if square else max(abs(p[0] - q[0]), abs(p[1] - q[1])) <= 2


def reflected(piece: TankPiece) -> TankPiece:
    """A wall as it is in a mirror: seen from outside, left is right."""
    bottom, right, top, left = piece.edges
    return piece._replace(edges=(bottom, left, top, right))


@given(tanks(through=("names", "default")))
def test_mirror_image_tanks_have_mirror_image_panels(tank: Tank) -> None:
    shape, n = tank.shape, len(tank.shape.walls)
    mirror = shape.mirrored()
    assert area2(mirror.outline) == area2(shape.outline) and is_convex(mirror.outline) == is_convex(
        shape.outline
    )
    # wall i of the mirror image is wall -i of the tank
    name = {shape.walls[-i % n]: mirror.walls[i] for i in range(n)}
    glass = {name.get(key, key) if isinstance(key, str) else key: wish for key, wish in tank.glass.items()}
    through = tuple(name[wall] for wall in tank.through)
    one = build(tank, EDGES)
    other = build(replace(tank, shape=mirror, glass=glass, through=through), EDGES)
    for i, wall in enumerate(shape.walls):
        left, right = reflected(one.piece(wall)), other.piece(mirror.walls[-i % n])
        assert abs(left.finished[2][0] - right.finished[2][0]) <= TICK
        assert left.finished[2][1] == right.finished[2][1] and left.thickness == right.thickness
        assert [(e.work, e.small_face) for e in left.edges] == [(e.work, e.small_face) for e in right.edges]
        assert all(abs(p.mitre - q.mitre) <= 1 for p, q in zip(left.edges, right.edges))
    assert abs(area2(one.piece("base").finished) - area2(other.piece("base").finished)) <= 8 * TICK * mm(
        12_000
    )


@given(tanks())
def test_a_tank_of_twice_the_size_has_panels_of_twice_the_size(tank: Tank) -> None:
    twice = replace(
        tank,
        shape=replace(tank.shape, outline=tuple((2 * x, 2 * y) for x, y in tank.shape.outline)),
        height=2 * tank.height,
        joint=2 * tank.joint,
        glass={key: GlassWish(wish.kind, 2 * (wish.thickness or 0)) for key, wish in tank.glass.items()},
    )
    for small, large in zip(build(tank, EDGES).pieces, build(twice, EDGES).pieces, strict=True):
        assert small.name == large.name
        for p, q in zip(small.finished, large.finished, strict=True):
            assert max(abs(q[0] - 2 * p[0]), abs(q[1] - 2 * p[1])) <= 2 * TICK
        assert all(abs(e.mitre - f.mitre) <= 1 for e, f in zip(small.edges, large.edges, strict=True))
