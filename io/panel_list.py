"""Panel lists: rows of a CSV or XLSX list become panels, one for each piece of glass."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from panewright.io.lengths import BadValue
from panewright.io.list_limits import MAX_CELL
from panewright.io.panel_due import read_due
from panewright.io.panel_edges import SIDES, edges_in_order, parse_edge, side_of_edges
from panewright.io.panel_openings import read_openings
from panewright.io.panel_outline import FoundOutline, check_size, note_straight, read_outline_of, read_tips
from panewright.io.panel_racks import RACK_COLUMNS
from panewright.io.problems import Problems, shown
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, Row, Table
from panewright.nesting.cut_shape import cut_shape, least_blank
from panewright.nesting.edgework import Edge
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.hole_limits import region_of
from panewright.nesting.laid_square import Laid, laid_square
from panewright.nesting.openings import CutOut, Opening, relocated
from panewright.nesting.outlines import Outline, box, is_rectangle, narrower_than
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.rules import Rules
from panewright.nesting.shape_findings import ShapeFinding, shape_findings
from panewright.nesting.shop import Shop
from panewright.nesting.text import local_number, tr
from panewright.nesting.tips import TipRule
from panewright.nesting.to_the_mark import to_the_mark
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
        "tips",
        ("tips", "sharp corners"),
        about="sharp corners of the cut outline: keep, cut back, or how far they may reach, as in 5 mm",
    ),
    Column(
        "from stock",
        ("from stock", "stock piece"),
        about="the only stock size or offcut it may be cut from, as in R-107",
    ),
    *RACK_COLUMNS,
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a panel list and the header words that mean them, the proper word first."""

ANY_THICKNESS: Final = mm(10)
"""Stands in where the glass of a row is not known, so that its other cells are still checked."""
MAX_QUANTITY: Final = 10_000
ROUNDED: Final = 20_000
"""What is left of a square outline whose corners were listed at an angle with two decimals. [nm]"""

_FREEDOM: Final = (Turn.NONE, Turn.HALF, Turn.QUARTER, Turn.ANY)


@dataclass(frozen=True, slots=True)
class Read:
    """A row that names a panel.

    Parameters
    ----------
    panel
        With order and name as its id.
    quantity
        How many of it.
    names
        Numbers of its corners in the list.
    findings
        What is to be said of its shape.
    """

    panel: Panel
    quantity: int
    names: tuple[int, ...]
    findings: tuple[ShapeFinding, ...]


def panel_of(table: Table, row: Row, folder: Path, shop: Shop, problems: Problems) -> Read | None:
    """The panel of a row, or None where something in it is wrong.

    Parameters
    ----------
    table, row
        Where it stands.
    folder
        Where drawings are looked for.
    shop
        Glasses, allowances and rules.
    problems
        Collects what is wrong.
    """
    cells = Cells(table, row, shop, problems)
    cells.read_unit()
    order, name = cells.line("order"), cells.line("panel")
    quantity = cells.whole("quantity", 1, MAX_QUANTITY, default=1)
    glass = cells.glass()
    due = read_due(cells, drilled=bool(cells.text("openings")))
    narrow = cells.yes_no("narrow", False)
    from_stock = cells.line("from stock") if cells.text("from stock") else None
    found = read_outline_of(cells, folder, problems)
    if found is not None:
        check_size(cells, found)
    tips = read_tips(cells)
    thickness = glass[1] if glass else ANY_THICKNESS
    openings = read_openings(cells, found.outline if found else None, thickness)
    if found is None or glass is None or order is None or name is None or quantity is None:
        if found is not None:
            _edges(cells, thickness, found)  # for its problems
        return None
    key = glass[0]
    edges = _edges(cells, thickness, found)
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
    if edges is not None:
        _check_reach(cells, tips, edges)
    if not cells.fine or edges is None:
        return None
    outline = found.outline
    rules, step = shop.rules(key), shop.tape_step(key)
    try:
        edges, plain = to_the_mark(outline, edges, step), edges
        shape = cut_shape(outline, edges, rules, turn, tips, found.traced.names)
        laid = laid_square(outline) if turn is Turn.ANY else None
        if laid is not None:
            flat = to_the_mark(laid.outline, plain, step)
            along = cut_shape(laid.outline, flat, rules, turn, tips, found.traced.names)
            better = is_rectangle(laid.outline) or _smaller(along.outline, shape.outline, rules)
            if better and _laid(cells, found, laid, openings):
                outline, edges, shape = laid.outline, flat, along
                openings = tuple(
                    relocated(o, lambda points: tuple(map(laid.place, points))) for o in openings
                )
    except InvalidOutline as error:
        cells.bad(found.column, error.reason, error.remedy)
        return None
    if not narrow and narrower_than(shape.outline, rules.break_out):
        cells.note(
            found.column,
            tr("the panel is narrower than {distance} can be broken off", distance=show(rules.break_out)),
            tr("write yes in the column narrow where the cutters can do it"),
        )
    region = region_of(shop.list_unit)
    findings = shape_findings(outline, edges, shape, rules, thickness, region, found.traced.names)
    for finding in findings:
        cells.note(found.column, finding.words, finding.remedy)
    order, name = map(cells.normal, (order, name))
    panel = Panel(
        id=f"{order}/{name}",
        order=order,
        name=name,
        due=due,
        glass=key,
        thickness=thickness,
        finished=outline,
        cut=shape.outline,
        edges=edges,
        narrow=narrow,
        turn=turn,
        mirror=mirror,
        from_stock=from_stock,
        note=shown(" ".join(cells.text("note").split()), MAX_CELL),
        openings=openings,
        tips=shape.tips,
    )
    return Read(panel, quantity, found.traced.names, tuple(findings))


def _smaller(one: Outline, other: Outline, rules: Rules) -> bool:
    """Whether a cut outline has a smaller blank than another, by more than rounding."""
    a, b = least_blank(one, rules, Turn.ANY), least_blank(other, rules, Turn.ANY)
    return a is not None and (b is None or 1000 * a < 999 * b)


def _laid(cells: Cells, found: FoundOutline, laid: Laid, openings: tuple[Opening, ...]) -> bool:
    """Whether an outline that stands at an angle can be laid along the axes, which is said."""
    angle = local_number(f"{laid.angle % 180:.1f}")
    if any(isinstance(opening, CutOut) for opening in openings):
        cells.note(
            found.column,
            tr("the outline stands at an angle of {angle} degrees, and has cut-outs", angle=angle),
            tr("list it along its longest edge: then a smaller blank does"),
        )
        return False
    cells.note(
        found.column,
        tr(
            "the outline stands at an angle of {angle} degrees: it is laid on its longest edge, {size}",
            angle=angle,
            size=show_size(*box(laid.outline)[2:]),
        ),
        tr("plan and drawings show it so; write quarter under turn to keep it as it stands"),
    )
    said = [line for line in laid.lines if line.off > ROUNDED]
    note_straight(cells, found.column, said, found.traced.names)
    return True


def _check_reach(cells: Cells, tips: TipRule, edges: tuple[Edge, ...]) -> None:
    """A tip cannot be cut back into the glass that edgework needs."""
    larger = max(edge.allowance for edge in edges)
    if tips.reach is not None and tips.reach < larger:
        cells.bad(
            "tips",
            tr(
                "{reach} is less than the {allowance} that edgework removes",
                reach=show(tips.reach),
                allowance=show(larger),
            ),
            tr("give at least that, or write cut back"),
        )


def _edges(cells: Cells, thickness: int, found: FoundOutline) -> tuple[Edge, ...] | None:
    """One edge for each of the outline's, from the columns for all and for single edges."""
    outline = found.outline

    def read(column: str, text: str) -> Edge | None:
        try:
            return parse_edge(text, cells.shop, thickness, cells.table.decimal)
        except BadValue as error:
            cells.bad(column, error.reason, error.remedy, text)
            return None

    count = found.count
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
            edges = list(edges_in_order(good, found.traced))
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
