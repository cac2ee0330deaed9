"""The sample week reads without a problem, fits its stock and holds together as tanks."""

from __future__ import annotations

from datetime import date
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from panewright.io.order_lists import Orders, read_orders
from panewright.io.problems import Problems
from panewright.io.shop_defaults import default_shop, shop_text
from panewright.io.shop_file import read_shop
from panewright.io.stock_list import read_stock_list
from panewright.io.tank_shape import SHAPES
from panewright.nesting.blanks import candidates
from panewright.nesting.outlines import box, is_convex, narrower_than
from panewright.nesting.shop import Shop
from panewright.nesting.shop_tanks import WallsAt
from panewright.nesting.stock import StockPiece
from panewright.nesting.tanks.tank import Divider, Given, OpeningKind, OverflowBox, Water

LISTS = ("week-tanks.csv", "week-tanks-inch.csv", "week-singles.csv", "week-sumps.xlsx")
Week = tuple[Orders, list[StockPiece], Shop]


@pytest.fixture(scope="module")
def week() -> Week:
    """Orders, stock and shop of the sample week."""
    problems = Problems()
    with as_file(files("panewright.samples")) as folder:
        shop = read_shop(Path(folder) / "shop.toml", problems)
        orders = read_orders([Path(folder) / name for name in LISTS], shop, problems)
        stock = read_stock_list(Path(folder) / "stock.csv", shop, problems)
    assert not problems
    return orders, stock, shop


def test_the_week_is_a_full_one(week: Week) -> None:
    orders, stock, _ = week
    panels = orders.panels
    assert len(panels) >= 300
    assert sum(p.name == "base" for p in panels) >= 40
    assert {p.glass for p in panels} == {"clear-6", "clear-10", "clear-12", "low-iron-12"}
    assert {p.due for p in panels} == {date(2027, 3, d) for d in range(8, 13)}
    assert date(2027, 3, 8).weekday() == 0
    assert len({p.id for p in panels}) == len(panels)
    offcuts = [s for s in stock if s.is_offcut]
    assert 6 <= len(offcuts) <= 8
    assert any(s.raw for s in offcuts)
    assert any(not s.buyable and s.on_hand for s in stock if not s.is_offcut)


def test_the_week_has_tanks_of_every_kind(week: Week) -> None:
    tanks = [order.settled.built.tank for order in week[0].tanks]
    assert {tank.shape.kind for tank in tanks} == set(SHAPES)
    assert {tank.given for tank in tanks} == set(Given)
    assert {tank.walls for tank in tanks} == set(WallsAt)
    assert {tank.water for tank in tanks} == set(Water)
    assert any(tank.through for tank in tanks)
    assert any(order.settled.advice for order in week[0].tanks)
    tops = [tank.top for tank in tanks]
    assert any(top.rimless for top in tops)
    assert any(top.framed for top in tops)
    assert any(top.rim for top in tops)
    assert {(c.removable, c.lapped) for top in tops for c in top.cross} == {(True, False), (False, True)}
    assert {c.sliding for top in tops for c in top.covers} == {True, False}
    insides = [inside for tank in tanks for inside in tank.insides]
    assert {i.name for i in insides if isinstance(i, Divider)} == {"divider", "baffle"}
    assert {len(i.walls) for i in insides if isinstance(i, OverflowBox)} == {1, 2}
    openings = [opening for tank in tanks for opening in tank.openings]
    assert {o.kind for o in openings} >= {OpeningKind.HOLE, OpeningKind.SLOT}
    assert any(o.panel == "base" for o in openings)


def test_no_glass_of_the_week_is_too_thin(week: Week) -> None:
    for order in week[0].tanks:
        assert not order.settled.check.worst, order.settled.built.tank.order


def test_every_panel_fits_a_buyable_sheet_and_can_be_broken_out(week: Week) -> None:
    orders, stock, shop = week
    for panel in orders.panels:
        x0, y0, x1, y1 = box(panel.cut)
        long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
        assert any(
            s.buyable
            and s.glass == panel.glass
            and long <= max(s.inner_width, s.inner_height)
            and short <= min(s.inner_width, s.inner_height)
            for s in stock
        ), panel.id
        assert not narrower_than(panel.cut, shop.rules(panel.glass).break_out), panel.id


def test_odd_shapes_can_be_cut_from_a_blank(week: Week) -> None:
    orders, _, shop = week
    odd = [p for p in orders.panels if not p.is_rectangle]
    assert {len(p.cut) for p in odd} >= {3, 4, 5, 6, 8}
    for panel in odd:
        assert is_convex(panel.cut)
        assert candidates(panel.cut, panel.turn, shop.rules(panel.glass)), panel.id


def test_the_sample_shop_file_has_every_setting_of_the_template_with_the_same_words() -> None:
    sample = (files("panewright.samples") / "shop.toml").read_text(encoding="utf-8").splitlines()
    settings = shop_text(default_shop()).split("# Stock sizes by glass")[0].splitlines()
    of_the_shop_itself = (
        "# The shop file",
        "name =",
        "# minutes",
        "# every setting",
        "to_the_mark",
        "# edging_metres",
        "shut =",
    )
    missing = [line for line in settings if line not in sample and not line.startswith(of_the_shop_itself)]
    assert missing == []
