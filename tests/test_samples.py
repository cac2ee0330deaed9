"""The sample week reads without a problem, fits its stock and holds together as tanks."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from panewright.io.order_lists import read_panel_lists
from panewright.io.problems import Problems
from panewright.io.shop_file import read_shop
from panewright.io.stock_list import read_stock_list
from panewright.nesting.blanks import candidates
from panewright.nesting.outlines import box, is_convex, narrower_than
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import inch, mm

LISTS = ("week-panels.csv", "week-panels-inch.csv", "week-panels-sumps.xlsx")
Week = tuple[list[Panel], list[StockPiece], Shop]


@pytest.fixture(scope="module")
def week() -> Week:
    """Panels, stock and shop of the sample week."""
    problems = Problems()
    with as_file(files("panewright.samples")) as folder:
        shop = read_shop(Path(folder) / "shop.toml", problems)
        panels = read_panel_lists([Path(folder) / name for name in LISTS], shop, problems)
        stock = read_stock_list(Path(folder) / "stock.csv", shop, problems)
    assert not problems.lines()
    return panels, stock, shop


def test_the_week_is_a_full_one(week: Week) -> None:
    panels, stock, _ = week
    assert len(panels) >= 180
    assert sum(p.name == "base" for p in panels) >= 25
    assert {p.glass for p in panels} == {"clear-6", "clear-10", "clear-12", "low-iron-12"}
    assert {p.due for p in panels} == {date(2027, 3, d) for d in range(8, 13)}
    assert date(2027, 3, 8).weekday() == 0
    assert len({p.id for p in panels}) == len(panels)
    offcuts = [s for s in stock if s.is_offcut]
    assert 6 <= len(offcuts) <= 8
    assert any(s.raw for s in offcuts)
    assert any(not s.buyable and s.on_hand for s in stock if not s.is_offcut)


def test_every_panel_fits_a_buyable_sheet_and_can_be_broken_out(week: Week) -> None:
    panels, stock, shop = week
    for panel in panels:
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
        if panel.name.startswith("brace"):
            assert short >= mm(80)


def test_rectangular_tanks_stand_on_their_base(week: Week) -> None:
    # walls on the base: front and back L x (H - t - g), sides (W - 2 t - 2 g) x (H - t - g), joint g = 1 mm
    panels, _, _ = week
    orders: dict[str, dict[str, list[Panel]]] = defaultdict(lambda: defaultdict(list))
    for panel in panels:
        orders[panel.order][panel.name].append(panel)
    tanks = [o for o in orders.values() if {"base", "front", "back", "side"} <= set(o)]
    assert len(tanks) >= 15
    for tank in tanks:
        count = len(tank["base"])
        assert [len(tank[name]) for name in ("front", "back", "side")] == [count, count, 2 * count]
        (_, _, length, width), (_, _, front, high) = (box(tank[n][0].finished) for n in ("base", "front"))
        _, _, side, side_high = box(tank["side"][0].finished)
        assert front == length
        assert high == side_high
        metric = length % mm(1) == 0
        # 3/8 in is 10 mm glass (ASTM C1036): with a joint of 1.1 mm it takes 7/16 in
        wall = tank["front"][0].thickness + mm(1) if metric else inch("7/16")
        assert side == width - 2 * wall
        assert tank["front"][0].thickness + mm(1) <= wall


def test_odd_shapes_are_convex_and_their_corners_break(week: Week) -> None:
    panels, _, shop = week
    odd = [p for p in panels if not p.is_rectangle]
    corners = Counter(len(p.finished) for p in odd)
    assert set(corners) == {3, 4, 5, 8}
    for panel in odd:
        assert is_convex(panel.finished)
        rules = shop.rules(panel.glass)
        assert candidates(panel.cut, panel.turn, rules), panel.id
        x0, y0, x1, y1 = box(panel.cut)
        for i, (ax, ay) in enumerate(panel.cut):
            bx, by = panel.cut[(i + 1) % len(panel.cut)]
            w, h = abs(bx - ax), abs(by - ay)
            if not w or not h:
                continue
            assert {ax, bx} & {x0, x1}
            assert {ay, by} & {y0, y1}
            # right-angled corner: its depth square to the score is w h / sqrt(w2 + h2)
            assert (w * h) ** 2 >= rules.corner_depth**2 * (w * w + h * h)
            # its sharper angle is at least 30 degrees: tan2 of it is at least 1/3
            assert 3 * min(w, h) ** 2 >= max(w, h) ** 2
