"""Panel lists of four tanks, worked out by hand in the comments. t is the glass, g the joint; mm.

Edgework takes off what the default shop file says: ground 1, polished 1.5 (glass under 12 mm), mitre 1.5,
seamed 0. Edges are told from the bottom: bottom, right, top, left, seen from outside.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from panewright.io.order_lists import Orders, read_orders
from panewright.io.panel_list_text import edges_text
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.outlines import box, is_rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.units import INCH, inch, mm

SHOP = default_shop()
INCH_SHOP = replace(SHOP, list_unit="in", length_style=INCH)

Golden = dict[str, tuple[tuple[float, float], tuple[float, float], str]]
"""Name: finished size, cut size [mm], edges."""


@pytest.fixture
def order(tmp_path: Path):
    """Reads the one tank of a list."""

    def read(shop: Shop = SHOP, **row: str) -> list[Panel]:
        path = tmp_path / "orders.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, ["order", *(key.replace("_", " ") for key in row)])
            writer.writeheader()
            writer.writerow({"order": "G"} | {key.replace("_", " "): value for key, value in row.items()})
        problems = Problems()
        orders: Orders = read_orders([path], shop, problems)
        assert not problems, list(problems.lines())
        return orders.panels

    return read


def sizes(panels: list[Panel]) -> Golden:
    out: Golden = {}
    for panel in panels:
        x0, y0, x1, y1 = box(panel.cut)
        _, _, width, height = box(panel.finished)
        out[panel.name] = (
            (width / 10**6, height / 10**6),
            ((x1 - x0) / 10**6, (y1 - y0) / 10**6),
            edges_text(panel.edges),
        )
    return out


def test_a_metric_rimless_tank(order) -> None:
    """1200 x 500 x 600, t 10, g 1, walls on the base (FACTS 6: base L x W, front L x (H - t - g), sides
    (W - 2t - 2g) x (H - t - g), common practice)."""
    panels = order(
        shape="rectangle",
        length="1200",
        width="500",
        height="600",
        glass="clear-10",
        rim="rimless",
        joint="1",
    )
    # front and back run through: their ends show and are polished, as the top edge is
    front = ((1200, 589), (1200 + 1.5 + 1.5, 589 + 1 + 1.5), "ground|polished|polished|polished")
    # the sides end on them: 500 - 2 * 10 - 2 * 1 = 478, their ends are bonded and ground
    side = ((478, 589), (478 + 1 + 1, 589 + 1 + 1.5), "ground|ground|polished|ground")
    assert sizes(panels) == {
        "base": ((1200, 500), (1202, 502), "ground"),
        "front": front,
        "right": side,
        "back": front,
        "left": side,
    }
    assert [p.id for p in panels] == ["G/base/1", "G/front/1", "G/right/1", "G/back/1", "G/left/1"]
    assert {p.glass for p in panels} == {"clear-10"}


def test_an_inch_framed_tank(order) -> None:
    """36 x 18 x 20 in of 3/8 in glass, which is 10 mm by its designation (ASTM C1036), joints 1/16 in."""
    panels = order(
        INCH_SHOP, shape="rectangle", length="36", width="18", height="20", glass="clear", thickness="3/8",
        rim="frame", joint="1/16",
    )  # fmt: skip
    # 20 in = 508; 1/16 in = 1.5875; 508 - 10 - 1.5875 = 496.4125; the top edge goes into the frame: seamed
    # 18 in = 457.2; 457.2 - 2 * 10 - 2 * 1.5875 = 434.025
    front = ((914.4, 496.4125), (917.4, 497.4125), "ground|polished|seamed|polished")
    side = ((434.025, 496.4125), (436.025, 497.4125), "ground|ground|seamed|ground")
    assert sizes(panels) == {
        "base": ((914.4, 457.2), (916.4, 459.2), "ground"),
        "front": front,
        "right": side,
        "back": front,
        "left": side,
    }
    assert box(panels[0].finished)[2:] == (inch(36), inch(18))
    assert {p.glass for p in panels} == {"clear-10"}


def test_a_corner_pentagon(order) -> None:
    """Legs 650, returns 260, height 500, t 10, g 1. The joint of a mitre takes g / 2 / cos 22.5 degrees =
    0.541196 off either wall; lengths come on ticks of 0.000625."""
    panels = order(
        shape="corner", length="650", width="650", side="260", height="500", glass="clear-10", rim="rimless"
    )
    high, cut = 500 - 10 - 1, 500 - 10 - 1 + 1 + 1.5
    # front: sqrt 2 * (650 - 260) = 551.543289, less 2 * 0.541196 = 550.460897
    # a return: 260, less t + g where it ends on its leg, less 0.541196 at the mitre = 248.458804
    # the left wall runs through at both ends: 650; the right one at its return only: 650 - 10 - 1 = 639
    assert sizes(panels) == {
        "base": ((650, 650), (652, 652), "ground"),
        "front": ((550.460625, high), (553.460625, cut), "ground|mitre 22.5 down|polished|mitre 22.5 down"),
        "right return": ((248.45875, high), (250.95875, cut), "ground|ground|polished|mitre 22.5 down"),
        "right wall": ((639, high), (641.5, cut), "ground|ground|polished|polished"),
        "left wall": ((650, high), (653, cut), "ground|polished|polished|polished"),
        "left return": ((248.45875, high), (250.95875, cut), "ground|mitre 22.5 down|polished|ground"),
    }
    base = panels[0]
    # the corner of the room at 0, 0; the front first
    assert base.finished == tuple(
        (mm(x), mm(y)) for x, y in ((650, 260), (260, 650), (0, 650), (0, 0), (650, 0))
    )
    # the slanted edge x + y = 910 moves out by 1: x + y = 910 + sqrt 2, met at x = 651: y = 260.414214
    assert base.cut == (
        (mm(651), 260_414_214),
        (260_414_214, mm(651)),
        (-mm(1), mm(651)),
        (-mm(1), -mm(1)),
        (mm(651), -mm(1)),
    )
    assert not is_rectangle(base.cut)


def test_the_mirrored_corner_pentagon_lets_the_other_leg_run_through(order) -> None:
    panels = order(
        shape="corner", length="650", width="650", side="260", height="500", glass="clear-10", rim="rimless",
        hand="right",
    )  # fmt: skip
    found = sizes(panels)
    assert found["right wall"][0] == (650, 489) and found["left wall"][0] == (639, 489)


def test_an_octagon_across_flats(order) -> None:
    """600 across flats, height 450, t 10, g 1: every wall 600 (sqrt 2 - 1) = 248.528137 outside."""
    panels = order(
        shape="octagon", length="600", across="flats", height="450", glass="clear-10", rim="rimless"
    )
    # less a half joint at either mitre, 2 * 0.541196: 247.445745, on ticks 247.445625
    wall = ((247.445625, 439), (250.445625, 441.5), "ground|mitre 22.5 down|polished|mitre 22.5 down")
    names = ["front", *(f"wall {k}" for k in range(2, 9))]
    assert sizes(panels) == {"base": ((600, 600), (602, 602), "ground")} | dict.fromkeys(names, wall)
    base = panels[0]
    # its corners: (600 - 248.528137) / 2 = 175.735931, on ticks 175.735625; 424.264069, on ticks 424.264375
    a, b, c = 175_735_625, 424_264_375, mm(600)
    assert base.finished == ((a, 0), (b, 0), (c, a), (c, b), (b, c), (a, c), (0, b), (0, a))
    # every edge moves out by 1, a corner along it by tan 22.5 degrees = 0.414214; on ticks within 1 um
    x, y = base.cut[0]
    assert y == -mm(1) and x == pytest.approx(a - 414_214, abs=1000)


def test_a_second_tank_of_the_order_goes_on_counting(order) -> None:
    row = {"shape": "rectangle", "length": "600", "width": "300", "height": "300", "glass": "clear-6"}
    ids = [p.id for p in order(quantity="2", tank="low one", **row)]
    assert ids[:4] == ["G/low one base/1", "G/low one base/2", "G/low one front/1", "G/low one front/2"]
    assert len(set(ids)) == len(ids) == 10
