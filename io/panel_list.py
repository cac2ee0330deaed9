"""Panel lists: rows of a CSV or XLSX list become panels, one for each piece of glass."""

from __future__ import annotations

from typing import Final

from panewright.io.lengths import BadValue
from panewright.io.list_limits import MAX_CELL
from panewright.io.panel_due import read_due
from panewright.io.panel_edges import (
    SIDES,
    edges_in_order,
    parse_corners,
    parse_edge,
    side_of_edges,
)
from panewright.io.panel_openings import read_openings
from panewright.io.problems import Problems, shown
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, Row, Table
from panewright.nesting.edgework import Edge
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.outlines import (
    Outline,
    Point,
    box,
    is_convex,
    make_outline,
    narrower_than,
    rectangle,
    reentrant_corners,
)
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.units import mm, show, show_size

COLUMNS: Final = (
    Column("order", ("order", "order number", "job", "commission"), about="the customer's order"),
    Column("panel", ("panel", "name", "part"), about="name of the panel in its order"),
    Column("quantity", ("quantity", "qty", "pieces", "count"), about="number of equal panels; empty is 1"),
    Column("width", ("width", "w"), number=True, about="finished width"),
    Column("height", ("height", "h"), number=True, about="finished height"),
    Column("glass", ("glass", "kind", "glass kind"), about="kind, or kind and thickness as in clear-10"),
    Column(
        "thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name such as 3/8 in"
    ),
    Column("due", ("due", "due day", "due date"), about="day on which it must be cut"),
    Column(
        "wanted",
        ("wanted", "wanted day", "delivery", "delivery day", "delivery date"),
        about="day on which the customer wants it; due follows from it by the lead days",
    ),
    Column(
        "edges",
        ("edges", "edgework", "all edges"),
        about="one edgework for all edges, or one an edge as in polished|cut|cut|cut",
    ),
    Column("bottom", ("bottom", "bottom edge"), about="edgework of this edge of a rectangle"),
    Column("right", ("right", "right edge"), about="edgework of this edge of a rectangle"),
    Column("top", ("top", "top edge"), about="edgework of this edge of a rectangle"),
    Column("left", ("left", "left edge"), about="edgework of this edge of a rectangle"),
    Column("turn", ("turn", "may turn"), about="turns allowed on the sheet: any, quarter, half, none"),
    Column("mirror", ("mirror", "may be mirrored"), about="yes or no: may be cut mirror-image"),
    Column("narrow", ("narrow", "may be narrow"), about="yes: may be narrower than the break-out distance"),
    Column(
        "corners",
        ("corners", "corner points", "outline"),
        number=True,
        about="corners of any other outline, as in 0 0 | 600 0 | 600 250",
    ),
    Column(
        "openings",
        ("openings", "holes"),
        about="holes and cut-outs, as in hole 35 at 100 400 | slot 200 x 25 at 300 500",
    ),
    Column(
        "from stock",
        ("from stock", "stock piece"),
        about="the only stock size or offcut it may be cut from, as in R-107",
    ),
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a panel list and the header words that mean them, the proper word first."""

LEAST_SIDE: Final = mm(10)
GREATEST_SIDE: Final = mm(7000)
SUSPICIOUS_SIDE: Final = mm(100)
"""A panel with no side longer than this is more likely typed in the wrong unit."""
ANY_THICKNESS: Final = mm(10)
"""Stands in where the glass of a row is not known, so that its other cells are still checked."""
MAX_QUANTITY: Final = 10_000

_FREEDOM: Final = (Turn.NONE, Turn.HALF, Turn.QUARTER, Turn.ANY)


def panel_of(table: Table, row: Row, shop: Shop, problems: Problems) -> tuple[Panel, int] | None:
    """The panel of a row, with order and name as its id, and its quantity."""
    cells = Cells(table, row, shop, problems)
    cells.read_unit()
    order, name = cells.line("order"), cells.line("panel")
    quantity = cells.whole("quantity", 1, MAX_QUANTITY, default=1)
    glass = cells.glass()
    due = read_due(cells, drilled=bool(cells.text("openings")))
    narrow = cells.yes_no("narrow", False)
    from_stock = cells.line("from stock") if cells.text("from stock") else None
    outline, corners = _outline(cells)
    if outline is not None:
        _check_size(cells, outline)
    openings = read_openings(cells, outline, glass[1] if glass else ANY_THICKNESS)
    if outline is None or glass is None or order is None or name is None or quantity is None:
        if outline is not None:
            _edges(cells, glass[1] if glass else ANY_THICKNESS, outline, corners)  # for its problems
        return None
    key, thickness = glass
    edges = _edges(cells, thickness, outline, corners)
    kind = shop.kinds[key.rpartition("-")[0]]
    turn = _turn(cells, kind.turn, kind.kind)
    mirror = kind.mirror
    if cells.text("mirror"):
        wanted = cells.yes_no("mirror", mirror)
        if wanted and not mirror:
            cells.bad(
                "mirror",
                tr("{kind} glass cannot be cut mirror-image", kind=kind.kind),
                tr("write no, or leave the cell empty"),
            )
        mirror = wanted
    if not cells.fine or edges is None:
        return None
    try:
        cut = cut_of(outline, edges)
    except InvalidOutline as error:
        cells.bad("corners" if corners else "width", error.reason, error.remedy)
        return None
    rules = shop.rules(key)
    if not narrow and narrower_than(cut, rules.break_out):
        cells.note(
            "corners" if corners else "width",
            tr("the panel is narrower than {distance} can be broken off", distance=show(rules.break_out)),
            tr("write yes in the column narrow where the cutters can do it"),
        )
    _shape_notes(cells, outline)
    order, name = map(cells.normal, (order, name))
    panel = Panel(
        id=f"{order}/{name}",
        order=order,
        name=name,
        due=due,
        glass=key,
        thickness=thickness,
        finished=outline,
        cut=cut,
        edges=edges,
        narrow=narrow,
        turn=turn,
        mirror=mirror,
        from_stock=from_stock,
        note=shown(" ".join(cells.text("note").split()), MAX_CELL),
        openings=openings,
    )
    return panel, quantity


def _outline(cells: Cells) -> tuple[Outline | None, list[Point]]:
    """The finished outline with its lower left at 0, 0, and the corners where they were listed."""
    if not cells.text("corners"):
        width, height = cells.length("width"), cells.length("height")
        if width is None or height is None:
            return None, []
        if min(width, height) <= 0:
            name = "width" if width <= 0 else "height"
            cells.bad(name, tr("the size is 0"), tr("correct it"))
            return None, []
        return rectangle(width, height), []
    try:
        corners = parse_corners(cells.text("corners"), cells.corner_unit(), cells.table.decimal)
        outline = make_outline(corners)
    except (BadValue, InvalidOutline) as error:
        cells.bad("corners", error.reason, error.remedy)
        return None, []
    x0, y0, x1, y1 = box(outline)
    for name, size in (("width", x1 - x0), ("height", y1 - y0)):
        if cells.text(name):
            given = cells.length(name)
            if given is not None and given != size:
                cells.bad(
                    name,
                    tr("the corners span {size}, not {given}", size=show(size), given=show(given)),
                    tr("correct one of them, or leave the cell empty"),
                )
    corners = [(x - x0, y - y0) for x, y in corners]
    return tuple((x - x0, y - y0) for x, y in outline), corners


def _check_size(cells: Cells, outline: Outline) -> None:
    """Sizes that no panel of a tank has, and sizes that look typed in the wrong unit."""
    _, _, width, height = box(outline)
    by_corners = bool(cells.text("corners"))
    named = any(cells.named_unit(n) for n in (("corners",) if by_corners else ("width", "height")))
    unit_remedy = tr("if it is in another unit, write mm or in in the column unit or behind the number")
    for name, side in (("width", width), ("height", height)):
        where = "corners" if by_corners else name
        if side < LEAST_SIDE:
            cells.bad(
                where,
                tr("{side} is below the least side {least}", side=show(side), least=show(LEAST_SIDE)),
                unit_remedy,
            )
        elif side > GREATEST_SIDE:
            cells.bad(
                where,
                tr("{side} is above the greatest side {most}", side=show(side), most=show(GREATEST_SIDE)),
                unit_remedy,
            )
    if LEAST_SIDE <= max(width, height) < SUSPICIOUS_SIDE and min(width, height) >= LEAST_SIDE:
        inch_shop = cells.shop.list_unit == "in"
        if not named and not inch_shop:
            cells.bad(
                "corners" if by_corners else "width",
                tr("a panel of {size} is so small that the unit is in doubt", size=show_size(width, height)),
                tr("write mm or in in the column unit or behind the numbers"),
            )
        elif inch_shop and cells.in_mm("corners" if by_corners else "width"):
            cells.bad(
                "corners" if by_corners else "width",
                tr("a panel of {size} in a shop that works in inches", size=show_size(width, height)),
                tr("if the figures are inches, take mm away; if not, write the size in inches"),
            )


def _edges(cells: Cells, thickness: int, outline: Outline, corners: list[Point]) -> tuple[Edge, ...] | None:
    """One edge for each of the outline's, from the columns for all and for single edges."""

    def read(column: str, text: str) -> Edge | None:
        try:
            return parse_edge(text, cells.shop, thickness, cells.table.decimal)
        except BadValue as error:
            cells.bad(column, error.reason, error.remedy, text)
            return None

    count = len(corners) or 4
    words = [part.strip() for part in cells.text("edges").split("|")]
    if len(words) not in (1, count):
        cells.bad(
            "edges",
            tr("{given} edgeworks for {count} edges", given=len(words), count=count),
            tr("give one for all edges, or one an edge in their order, set apart by |"),
        )
        return None
    listed = [read("edges", word or "cut") for word in words]
    good = [edge for edge in listed if edge is not None]
    if len(good) < len(listed):
        return None
    if len(good) == 1:
        edges = good * len(outline)
    else:
        try:
            edges = list(edges_in_order(good, corners or outline, outline))
        except BadValue as error:
            cells.bad("edges", error.reason, error.remedy)
            return None
    places = side_of_edges(outline)
    for side in SIDES:
        if not cells.text(side):
            continue
        if side not in places:
            cells.bad(
                side,
                tr("only a rectangle has a {side} edge", side=side),
                tr("list the edges in the column edges, in the order of the corners, set apart by |"),
            )
            continue
        edge = read(side, cells.text(side))
        if edge is not None:
            edges[places[side]] = edge
    return tuple(edges)


def _turn(cells: Cells, allowed: Turn, kind: str) -> Turn:
    """The turns of a row: those of the glass, or fewer."""
    text = cells.text("turn").lower()
    if text in ("", "yes"):
        return allowed
    words = {turn.value: turn for turn in Turn} | {"no": Turn.NONE}
    wanted = words.get(text)
    if wanted is None:
        cells.bad("turn", tr("this turn is not known"), tr("write any, quarter, half or none"))
        return allowed
    if _FREEDOM.index(wanted) > _FREEDOM.index(allowed):
        cells.bad(
            "turn",
            tr("{kind} glass allows the turns {allowed} alone", kind=kind, allowed=allowed.value),
            tr("leave the cell empty, or restrict it further"),
        )
        return allowed
    return wanted


def _shape_notes(cells: Cells, outline: Outline) -> None:
    """Corners that scoring cannot make, and tips that break off."""
    if not is_convex(outline):
        for i in reentrant_corners(outline):
            x, y = outline[i]
            cells.note(
                "corners",
                tr("the corner at {x}, {y} turns inwards and cannot be scored", x=show(x), y=show(y)),
                tr("what lies outside the outline there is left to saw, drill or water jet"),
            )
    n = len(outline)
    for i, (x, y) in enumerate(outline):
        (px, py), (qx, qy) = outline[i - 1], outline[(i + 1) % n]
        ax, ay, bx, by = px - x, py - y, qx - x, qy - y
        dot, turned = ax * bx + ay * by, ax * by - ay * bx
        # below 30 degrees: cos^2 over 3/4; only corners that turn outwards have a tip
        if turned < 0 < dot and 4 * dot * dot > 3 * (ax * ax + ay * ay) * (bx * bx + by * by):
            cells.note(
                "corners",
                tr("the corner at {x}, {y} is sharper than 30 degrees", x=show(x), y=show(y)),
                tr("its tip is lost when it is cut"),
            )
