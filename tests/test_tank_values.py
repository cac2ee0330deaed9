"""Check values of tank geometry, masses, openings and tolerances, with their sources.

[R] read in a public page, [C] computed by hand from the formula named, [M] from memory.
"""

from __future__ import annotations

from fractions import Fraction
from math import hypot
from typing import Any

import pytest

from panewright.io.shop_file import default_shop
from panewright.nesting.glass import mass_grams
from panewright.nesting.hole_limits import LIMITS, PART_OF_SIDE, Rule, check_openings
from panewright.nesting.openings import Hole
from panewright.nesting.outlines import area2, box, is_convex, rectangle
from panewright.nesting.shop_tanks import ToleranceLevel, WallsAt
from panewright.nesting.tanks import plan_shapes as shapes
from panewright.nesting.tanks.build import Built, build
from panewright.nesting.tanks.by_products import by_products
from panewright.nesting.tanks.made import Edges
from panewright.nesting.tanks.plan_shapes import Across, PlanShape
from panewright.nesting.tanks.tank import Given, GlassWish, Role, Tank, Water
from panewright.nesting.tanks.vessel import Vessel, vessel_of
from panewright.nesting.tanks.walls import CornerJoint, EndKind
from panewright.nesting.tolerances import tolerance
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, inch, mm

SHOP = default_shop()
GALLON = 3.785411784
"""Litres; 231 cubic inches, the exact definition of the US gallon [M]."""
POUND = 453.59237
"""Grams, the exact definition of the avoirdupois pound [M]."""


def tank(shape: PlanShape, height: int, thickness: str = "10", **more: Any) -> Tank:
    glass = {role: GlassWish("clear", mm(thickness)) for role in Role}
    return Tank(order="A", shape=shape, height=height, glass=glass, **more)


def made(shape: PlanShape, height: int, thickness: str = "10", **more: Any) -> Built:
    return build(tank(shape, height, thickness, **more), Edges(SHOP))


def inside(shape: PlanShape, height: int) -> Vessel:
    return vessel_of(tank(shape, height, given=Given.INSIDE))


def gallons(vessel: Vessel) -> float:
    return vessel.volume() / (100 * NM_PER_MM) ** 3 / GALLON


def side(vessel: Vessel, wall: int) -> float:
    """Length of the inner face of a wall. [in]"""
    (ax, ay), (bx, by) = vessel.inner[wall], vessel.inner[(wall + 1) % len(vessel.inner)]
    return hypot(bx - ax, by - ay) / NM_PER_INCH


def test_1_us_gallons() -> None:
    """96 x 24 x 30 in inside hold 69,120 / 231 = 299.221 gal [C]."""
    assert gallons(inside(shapes.rectangular(inch(96), inch(24)), inch(30))) == pytest.approx(
        299.221, abs=0.01
    )


def test_1_the_by_products_say_the_same() -> None:
    """299.221 gal are 1,132.67 l; sea water of 1,025 kg/m3 [R] in it weighs 1,160.98 kg."""
    built = made(shapes.rectangular(inch(96), inch(24)), inch(30), given=Given.INSIDE, water=Water.SEA)
    more = by_products(built, SHOP.tanks, SHOP.lifts)
    assert more.litres_brim / 1000 / GALLON == pytest.approx(299.221, abs=0.01)
    assert (more.filled_grams - more.glass_grams) / 1000 == pytest.approx(1160.98, abs=0.01)


def test_2_mass_of_a_panel() -> None:
    """1200 x 600 x 12 mm weigh 21.60 kg: 2.5 kg per m2 and mm (EN 572-1) [R]."""
    assert mass_grams(area2(rectangle(mm(1200), mm(600))), mm(12)) / 1000 == pytest.approx(21.60, abs=0.01)


def test_3_mass_of_a_jumbo_sheet() -> None:
    """6000 x 3210 x 10 mm weigh 481.5 kg [C]."""
    assert mass_grams(area2(rectangle(mm(6000), mm(3210))), mm(10)) / 1000 == pytest.approx(481.5, abs=0.1)


def test_4_pounds_a_square_foot() -> None:
    """6 mm glass weighs 3.072 lb/ft2: 0.512 lb/ft2 and mm [R]."""
    grams = mass_grams(area2(rectangle(inch(1200), inch(1200))), mm(6))
    assert grams / POUND / 100**2 == pytest.approx(3.072, abs=0.005)


@pytest.mark.parametrize(("sides", "mitre"), [(8, "22.5"), (6, "30"), (5, "36")])
@pytest.mark.parametrize("given", Given)
def test_27_mitres_of_regular_tanks(sides: int, mitre: str, given: Given) -> None:
    """180 / n degrees from square: octagon 22.5, hexagon 30, pentagon 36, exactly [R, C]."""
    built = made(shapes.regular(sides, mm(500), Across.SIDE), mm(400), given=given)
    for piece in built.pieces:
        if piece.role is Role.WALL:
            angles = [piece.edges[k].mitre for k in (1, 3)]
            assert angles == [int(Fraction(mitre) * 1000)] * 2
            assert [piece.edges[k].small_face for k in (1, 3)] == ["down", "down"]


@pytest.mark.parametrize(("thickness", "loss"), [("10", 4.142), ("12", 4.971), ("19", 7.870)])
def test_28_mitre_loss(thickness: str, loss: float) -> None:
    """Outer face less inner face at a corner of 135 degrees: t tan 22.5, 4.971 mm for 12 mm [C]."""
    vessel = vessel_of(tank(shapes.regular(8, mm(500), Across.SIDE), mm(400), thickness))
    for wall in vessel.ends:
        assert wall.left.kind is wall.right.kind is EndKind.MITRE
        assert (wall.outer_length - wall.inner_length) / 2 / NM_PER_MM == pytest.approx(loss, abs=0.001)


def test_29_side_of_an_octagon() -> None:
    """36 in across flats: a side of 36 (sqrt 2 - 1) = 14.9117 in [C]."""
    vessel = inside(shapes.regular(8, inch(36), Across.FLATS), inch(24))
    assert [side(vessel, k) for k in range(8)] == pytest.approx([14.9117] * 8, abs=1e-4)


def test_30_volume_of_an_octagon() -> None:
    """36 in across flats, 24 in high: 111.547 gal [C]."""
    assert gallons(inside(shapes.regular(8, inch(36), Across.FLATS), inch(24))) == pytest.approx(
        111.547, abs=0.01
    )


def test_31_hexagon() -> None:
    """30 in across flats, 24 in high: sides of 30 / sqrt 3 = 17.3205 in, 80.979 gal [C]."""
    vessel = inside(shapes.regular(6, inch(30), Across.FLATS), inch(24))
    assert side(vessel, 0) == pytest.approx(17.3205, abs=1e-3)
    assert gallons(vessel) == pytest.approx(80.979, abs=1e-3)


def test_32_corner_pentagon() -> None:
    """Legs 36, returns 15, 24 in high: front sqrt 2 (36 - 15) = 29.6985 in, 1,075.5 in2, 111.740 gal [C]."""
    vessel = inside(shapes.corner_pentagon(inch(36), inch(36), inch(15), inch(15)), inch(24))
    assert side(vessel, 0) == pytest.approx(29.6985, abs=1e-3)
    assert area2(vessel.inner) / 2 / NM_PER_INCH**2 == pytest.approx(1075.5, abs=1e-3)
    assert gallons(vessel) == pytest.approx(111.740, abs=1e-3)


def test_32_mitres_of_a_corner_pentagon() -> None:
    """Angles 90, 90, 135, 135, 90: mitres of 22.5 degrees at the two ends of the front alone [C]."""
    built = made(shapes.corner_pentagon(inch(36), inch(36), inch(15), inch(15)), inch(24))
    angles = {p.name: (p.edges[3].mitre, p.edges[1].mitre) for p in built.pieces if p.role is Role.WALL}
    assert angles == {
        "front": (22_500, 22_500),
        "right return": (22_500, 0),
        "right wall": (0, 0),
        "left wall": (0, 0),
        "left return": (0, 22_500),
    }


@pytest.mark.parametrize(
    ("walls", "sizes"),
    [
        # front and back L x (H - t - g), sides (W - 2t - 2g) x (H - t - g)
        (WallsAt.ON_BASE, {"base": (1200, 500), "front": (1200, 589), "left": (478, 589)}),
        # front and back L x H, sides (W - 2t - 2g) x H, base (L - 2t - 2g) x (W - 2t - 2g)
        (WallsAt.AROUND_BASE, {"base": (1178, 478), "front": (1200, 600), "left": (478, 600)}),
    ],
    ids=["33", "34"],
)
def test_33_and_34_panels(walls: WallsAt, sizes: dict[str, tuple[int, int]]) -> None:
    """1200 x 500 x 600 mm, glass 10 mm, joints 1 mm; exactly [C]."""
    built = made(shapes.rectangular(mm(1200), mm(500)), mm(600), walls=walls, joint=mm(1))
    found = {p.name: box(p.finished)[2:] for p in built.pieces}
    wanted = {name: (mm(w), mm(h)) for name, (w, h) in sizes.items()}
    assert found == wanted | {"back": wanted["front"], "right": wanted["left"]}


def test_35_hole_limits_of_en_type() -> None:
    """10 mm glass: diameter 10, edge 20, between 20, corner 60 mm; at most a third of the side [R]."""
    found = {rule: limit.at(mm(10)) for rule, limit in LIMITS["EN"].items()}
    assert found[Rule.LEAST_DIAMETER] == mm(10)
    assert found[Rule.EDGE] == found[Rule.BETWEEN] == mm(20)
    assert found[Rule.CORNER] == mm(60)
    assert PART_OF_SIDE == 3


def test_36_hole_limits_of_north_american_type() -> None:
    """Half-inch glass (12 mm its designation): 9/16, 1, 1, 3-1/4 in, fillet 1/2 in; its thickness in inches [R]."""
    found = {rule: limit.at(inch("1/2")) for rule, limit in LIMITS["US"].items()}
    assert found[Rule.LEAST_DIAMETER] == inch("9/16")
    assert found[Rule.EDGE] == found[Rule.BETWEEN] == inch(1)
    assert found[Rule.CORNER] == inch("13/4")
    assert found[Rule.RADIUS] == inch("1/2")


@pytest.mark.parametrize(
    ("rule", "at", "diameter", "fine"),
    [
        # hole edge 20 mm from the glass edge: centre at 20 + r
        (Rule.EDGE, (300, 220), 400, True),
        (Rule.EDGE, (300, 219.99), 400, False),
        (Rule.LEAST_DIAMETER, (300, 300), 10, True),
        (Rule.LEAST_DIAMETER, (300, 300), 9.99, False),
        # a third of 1200
        (Rule.GREATEST_DIAMETER, (600, 600), 400, True),
        (Rule.GREATEST_DIAMETER, (600, 600), 400.01, False),
    ],
)
def test_35_the_limits_are_held_against_a_hole(
    rule: Rule, at: tuple[float, float], diameter: float, fine: bool
) -> None:
    """Neither a hair inside nor a hair outside a limit of EN type counts as the other [R]."""
    hole = Hole(center=(mm(str(at[0])), mm(str(at[1]))), diameter=mm(str(diameter)))
    found = check_openings(rectangle(mm(1200), mm(1200)), mm(10), [hole], "EN")
    assert (rule not in [f.rule for f in found]) is fine


def test_37_diagonals() -> None:
    """10 mm float, 1200 x 600 mm: 4.0 mm between the diagonals (EN 572-8:2012+A1:2016) [R]."""
    assert tolerance(ToleranceLevel.EN, mm(10), mm(1200), mm(600)).diagonal == mm(4)


def test_47_waste_of_an_octagon() -> None:
    """A regular octagon leaves 1 - 2 (sqrt 2 - 1) = 17.157 % of its square [C]."""
    built = made(shapes.regular(8, mm(800), Across.FLATS), mm(400))
    base = built.piece("base").finished
    _, _, width, height = box(base)
    assert is_convex(base) and width == height == mm(800)
    assert 100 - 50 * area2(base) / (width * height) == pytest.approx(17.157, abs=1e-3)


def test_the_angle_of_a_butt_end_at_135_degrees() -> None:
    """Of two walls at 135 degrees, the one that ends on the other is ground at 45 from square [C]."""
    shape = shapes.regular(8, mm(600), Across.SIDE)
    built = made(shape, mm(400), corners=CornerJoint.BUTT, through=("pinwheel",))
    front = built.piece("front")
    assert [front.edges[k].mitre for k in (3, 1)] == [45_000, 0]
