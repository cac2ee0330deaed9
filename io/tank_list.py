"""Tank orders: a row of an order list becomes a tank, as it was ordered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

from panewright.io.panel_due import read_due
from panewright.io.panel_outline import read_tips
from panewright.io.problems import Problems, shown
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column
from panewright.io.tank_glass import tank_glass
from panewright.io.tank_shape import SHAPES, read_shape
from panewright.io.tank_words import Words
from panewright.nesting.shop_tanks import BaseSupport, WallsAt
from panewright.nesting.tanks.tank import Given, Tank, Top, Water
from panewright.nesting.tanks.vessel import PINWHEEL
from panewright.nesting.tanks.walls import CornerJoint
from panewright.nesting.text import tr
from panewright.nesting.units import mm, show

TANK_COLUMNS: Final = (
    Column("tank", ("tank", "tank name"), about="name of the tank in its order; may be empty"),
    Column("shape", ("shape", "plan shape"), about=f"a tank: {', '.join(SHAPES)}"),
    Column("sizes", ("sizes", "measured"), about="outside (also where empty) or inside sizes"),
    Column("length", ("length", "l"), number=True, about="left to right; the measure of a regular tank"),
    Column(
        "volume", ("volume", "litres"), number=True, about="wanted instead of one size, as in 300 l or 80 gal"
    ),
    Column("sides", ("sides", "number of sides"), about="of a regular tank, 3 to 16"),
    Column(
        "across",
        ("across", "measured across"),
        about="length of a regular tank is its side, or across its flats or corners (circle inside, outside)",
    ),
    Column(
        "front", ("front", "front length"), number=True, about="front of a trapezoid, middle of a bent front"
    ),
    Column(
        "side", ("side", "returns"), number=True, about="returns of a corner tank, side walls of a bent front"
    ),
    Column(
        "corner",
        ("corner", "corner cut"),
        number=True,
        about="cut-off corner, point or notch, as in 200 | 150",
    ),
    Column("hand", ("hand",), about="left, or right for the mirror image"),
    Column(
        "drawing", ("drawing", "dxf"), about="DXF file with the outline of the base, or of a single panel"
    ),
    Column("other glass", ("other glass", "glass by role"), about="as in front: low-iron | base: clear-12"),
    Column("walls", ("walls", "walls stand"), about="on base or around base"),
    Column("corner joints", ("corner joints", "corners meet"), about="auto, butt or mitre"),
    Column(
        "through",
        ("through", "run through"),
        about="walls that run through at butt corners, the first before the second; or pinwheel",
    ),
    Column("joint", ("joint", "joint thickness"), number=True, about="thickness of the bonded joints"),
    Column(
        "rim", ("rim",), about="rimless, frame, braces 80, cross 2 x 120, removable cross 120, set apart by |"
    ),
    Column("covers", ("covers", "cover"), about="lid 2 or sliding 2"),
    Column("inside", ("inside", "insides"), about="dividers, baffles and overflow boxes, set apart by |"),
    Column("water", ("water",), about="fresh or sea"),
    Column(
        "freeboard", ("freeboard", "below rim"), number=True, about="stated water level below the top edge"
    ),
    Column(
        "stands", ("stands", "support"), about="bedded (on its whole base) or rim (held at its rim alone)"
    ),
)
"""The columns that only tanks have, beside those of `panel_list`."""

PANEL_ONLY: Final = (
    "panel",
    "edges",
    "bottom",
    "right",
    "top",
    "left",
    "turn",
    "mirror",
    "narrow",
    "from stock",
    "slot",
)
"""Columns that a row with a tank leaves empty."""

MOST_TANKS: Final = 1000


def tank_of(cells: Cells, folder: Path, problems: Problems) -> Tank | None:
    """The tank of a row, or None where something in it is wrong.

    Parameters
    ----------
    cells
        The row; ``shape`` is not empty.
    folder
        Where drawings are looked for.
    problems
        Collects what is wrong with a drawing.
    """
    shop, habits = cells.shop, cells.shop.tanks
    cells.read_unit()
    words = Words(cells.unit, cells.table.decimal, habits)
    for name in PANEL_ONLY:
        if cells.text(name):
            cells.bad(
                name, tr("only a single panel has this"), tr("leave the cell empty in a row with a tank")
            )
    order = cells.line("order")
    name = (cells.line("tank") or "") if cells.text("tank") else ""
    quantity = cells.whole("quantity", 1, MOST_TANKS, default=1)
    given = cells.word("sizes", {g.value: g for g in Given}, Given.OUTSIDE)
    found = read_shape(cells, words, folder, problems)
    glass = tank_glass(cells, () if found is None else found.walls)
    top = cells.attempt("rim", lambda: words.top(cells.text("rim"))) or Top()
    tips = read_tips(cells)
    covers = cells.attempt("covers", lambda: words.covers(cells.text("covers"))) or ()
    insides = cells.attempt("inside", lambda: words.insides(cells.text("inside"))) or ()
    openings = cells.attempt("openings", lambda: words.openings(cells.text("openings"))) or ()
    through = _through(cells, () if found is None else found.walls)
    joint = _optional(cells, "joint", habits.joint, 0, mm(10))
    freeboard = _optional(cells, "freeboard", habits.freeboard, 0, mm(500))
    due = read_due(cells, drilled=bool(openings))
    walls = cells.word("walls", {w.value: w for w in WallsAt}, habits.walls)
    corners = cells.word("corner joints", {c.value: c for c in CornerJoint}, CornerJoint.AUTO)
    water = cells.word("water", {w.value: w for w in Water}, Water.FRESH)
    stands = cells.word("stands", {b.value: b for b in BaseSupport}, shop.strength.base)
    if found is not None and top.rim is not None:
        for wall in top.rim.walls:
            if wall not in found.walls:
                cells.bad("rim", tr("this tank has no wall {name}", name=wall), _names(found.walls))
    if not cells.fine or found is None or order is None or quantity is None or glass is None:
        return None
    return Tank(
        order=cells.normal(order),
        name=cells.normal(name),
        quantity=quantity,
        shape=found.shape,
        given=given,
        height=found.height,
        glass=glass,
        walls=walls,
        corners=corners,
        through=through,
        joint=joint,
        top=replace(top, covers=covers),
        insides=insides,
        openings=openings,
        water=water,
        freeboard=freeboard,
        base=stands,
        due=due,
        wish=found.wish,
        tips=tips,
        measured=habits.measured,
        note=shown(" ".join(cells.text("note").split()), 200),
    )


def _optional(cells: Cells, name: str, default: int, least: int, most: int) -> int:
    if not cells.text(name):
        return default
    length = cells.length(name)
    if length is None:
        return default
    if not least <= length <= most:
        cells.bad(name, tr("the length is out of range"), tr("give at most {most}", most=show(most)))
    return length


def _names(walls: tuple[str, ...]) -> str:
    return tr("its walls are {names}", names=", ".join(walls))


def _through(cells: Cells, walls: tuple[str, ...]) -> tuple[str, ...]:
    text = cells.text("through").lower()
    if text == PINWHEEL:
        return (PINWHEEL,)
    found = tuple(" ".join(w.split()) for w in text.replace("|", ",").split(",") if w.strip())
    for wall in found:
        if walls and wall not in walls:
            cells.bad("through", tr("this tank has no wall {name}", name=wall), _names(walls))
    return found
