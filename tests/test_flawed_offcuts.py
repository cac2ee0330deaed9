"""Flaws and racks where a user relies on them: flawed offcuts, who has a tolerated flaw, racks that are open at once."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from panewright.cli.main import app
from panewright.io.flaw_words import sheet_flaw_words
from panewright.io.step_words import result_words
from panewright.nesting.flaw_parts import has_clear
from panewright.nesting.flaws import Flaw
from panewright.nesting.panels import Panel
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.sequence import steps_of
from panewright.nesting.sequencing.open_limit import OpenLimit
from panewright.nesting.sequencing.rack_order import slots_of
from panewright.nesting.shop import Shop
from panewright.nesting.spots import with_flaws
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import mm

BOXES = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 4), st.integers(0, 4)), max_size=5
)


@given(boxes=BOXES, sizes=st.tuples(*[st.integers(1, 9)] * 2), least=st.tuples(*[st.integers(1, 8)] * 2))
def test_a_piece_has_a_clear_rectangle_where_trying_all_places_finds_one(
    boxes: list[tuple[int, int, int, int]], sizes: tuple[int, int], least: tuple[int, int]
) -> None:
    """Corners on whole numbers are enough: all flaws have theirs there."""
    x0, y0 = 2, 1
    flaws = [Flaw(*one) for one in boxes]

    def clear(x: int, y: int, w: int, h: int) -> bool:
        return not any(
            f.x < x + w and f.x + f.width > x and f.y < y + h and f.y + f.height > y for f in flaws
        )

    found = any(
        clear(x, y, w, h)
        for w, h in (least, least[::-1])
        for x in range(x0, x0 + sizes[0] - w + 1)
        for y in range(y0, y0 + sizes[1] - h + 1)
    )
    assert has_clear(flaws, (x0, y0, x0 + sizes[0], y0 + sizes[1]), least) is found


@pytest.mark.parametrize(
    ("crack", "kept"), [(None, True), ((1000, 0, 1400, 1400), True), ((400, 200, 2000, 1200), False)]
)
def test_cracked_glass_is_kept_only_with_enough_sound_glass(
    crack: tuple[int, int, int, int] | None,
    kept: bool,
    make_panel: Callable[..., Panel],
    make_stock: Callable[..., StockPiece],
) -> None:
    flaws = () if crack is None else (Flaw(*(mm(v) for v in crack), "crack"),)
    stock = replace(make_stock(2400, 1400, on_hand=1, buyable=False), flaws=flaws)
    planner = Planner([make_panel(350, 1300)], [stock], Shop(), effort=5)
    planner.start()
    (layout,) = planner.finish("effort").layouts
    assert any(x.kind is LeafKind.OFFCUT for x in layout.leaves) is kept
    if crack is not None and kept:
        words = [result_words(r) for s in steps_of(planner.finish("effort"), layout) for r in s.makes]
        assert any(w.startswith("keep as offcut") and w.endswith("with crack") for w in words)


def test_a_tolerated_flaw_names_the_panel_that_has_it(hand_plan: Plan) -> None:
    layout = hand_plan.layouts[0]
    leaf = next(x for x in layout.leaves if x.panel is not None)
    waste = next(x for x in layout.leaves if x.kind is not LeafKind.PANEL)
    (ax, ay), (bx, by) = leaf.outline[0], leaf.outline[2]
    (cx, cy), (dx, dy) = waste.outline[0], waste.outline[2]
    spots = [
        Flaw((ax + bx) // 2, (ay + by) // 2, 1, 1, "seed"),
        Flaw((cx + dx) // 2, (cy + dy) // 2, 1, 1, "seed"),
    ]
    flawed = with_flaws(layout, spots, ("seed",))
    (line,) = sheet_flaw_words(flawed)
    assert line.count(" in ") == 2 and f" in {leaf.panel}" in line  # "in places", and the panel
    done = steps_of(hand_plan, flawed)
    told = {r.panel: r.flaws for s in done for r in s.makes if r.panel}
    assert told.pop(leaf.panel) == ("seed",) and not any(told.values())


LIST = "order,panel,glass,width,height,count,rack\n" + "".join(
    f"A,{name},clear-6,{w},{h},3,R-{name}\n"
    for name, w, h in (("a", 600, 400), ("b", 500, 300), ("c", 450, 350), ("d", 700, 500))
)
STOCK = "kind,glass,width,height,on hand\nsheet,clear-6,3210,2250,4\n"


@pytest.mark.parametrize(("limit", "habit"), [(1, "stop"), (2, "machine"), (2, "strip"), (None, "machine")])
def test_open_racks_are_counted_by_the_cuts(tmp_path: Path, limit: int | None, habit: str) -> None:
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    (tmp_path / "stock.csv").write_text(STOCK, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(f'[table]\nhabit = "{habit}"\n', encoding="utf-8")
    said = [
        "plan",
        "list.csv",
        "--stock",
        "stock.csv",
        "--shop",
        "shop.toml",
        "--effort",
        "60",
        "--out",
        "out",
    ]
    said = [
        str(tmp_path / part) if part.endswith((".csv", ".toml")) or part == "out" else part for part in said
    ]
    more = [] if limit is None else ["--open-racks", str(limit)]
    run = CliRunner().invoke(app, [*said, *more, "--json", "--no-panel-drawings"])
    assert run.exit_code == 0, run.output
    most = json.loads(run.stdout)["most_open_racks"]
    assert most <= limit if limit is not None else most > 2


def test_the_limit_takes_the_better_of_two_orders(hand_plan: Plan) -> None:
    """Racks of one panel each are full at once; one of two panels on one sheet is open between them."""
    layout = hand_plan.layouts[0]
    panels = [replace(p, rack="one", slot=k) for k, p in enumerate(hand_plan.panels, 1)]
    limit = OpenLimit([layout], slots_of(panels), 1)
    assert limit.open_on(layout) == 1
    limit.take(layout)
    assert limit.open_on(layout) == 0  # the rack is full
    none = OpenLimit([layout], slots_of(panels), 1)
    bare = replace(layout, leaves=())
    assert none.open_on(bare) == 0
    assert none.better(layout, bare) is layout  # it is within the limit
    assert OpenLimit([layout], slots_of(panels), 0).better(layout, bare) is bare
