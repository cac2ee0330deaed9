"""Filler lists: stock items that may be cut from waste, with their worth and the most that is wanted."""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import Final

from panewright.io.lengths import BadValue
from panewright.io.panel_edges import parse_edge
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, Row, Table, read_table
from panewright.nesting.fillers import Filler
from panewright.nesting.outlines import narrower_than, rectangle
from panewright.nesting.panels import Panel, Purpose, cut_of
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.to_the_mark import to_the_mark
from panewright.nesting.units import mm, show

COLUMNS: Final = (
    Column("filler", ("filler", "item"), about="name of the stock item, unique"),
    Column("width", ("width", "w"), number=True, about="finished width"),
    Column("height", ("height", "h"), number=True, about="finished height"),
    Column("glass", ("glass", "kind", "glass kind"), about="kind, or kind and thickness as in clear-10"),
    Column("thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name"),
    Column("edges", ("edges", "edgework", "all edges"), about="edgework of all edges; empty is cut"),
    Column("worth", ("worth", "worth a piece"), number=True, about="what one piece is worth to the shop"),
    Column("most", ("most", "most wanted"), about="pieces the shop is glad to have, at most"),
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a filler list and the header words that mean them, the proper word first."""

REQUIRED: Final = (("filler",), ("glass",), ("width",), ("height",), ("worth",), ("most",))
LEAST: Final = mm(20)
GREATEST: Final = mm(7000)
MOST_PIECES: Final = 10_000
ORDER: Final = "filler"
"""Stands in the place of the order in the ids of fillers."""


def read_filler_list(path: Path, shop: Shop, problems: Problems) -> list[Filler]:
    """Read a filler list.

    Parameters
    ----------
    path
        A CSV or XLSX file (``file.xlsx#Sheet`` names a sheet).
    shop
        Glasses, allowances and rules.
    problems
        Collects every problem; with errors in it the fillers are not complete.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    out: list[Filler] = []
    rows: dict[str, int] = {}
    for row in table.rows:
        made = _filler(table, row, shop, problems, rows)
        if made is not None:
            out.append(made)
    return out


def _filler(table: Table, row: Row, shop: Shop, problems: Problems, rows: dict[str, int]) -> Filler | None:
    cells = Cells(table, row, shop, problems)
    cells.read_unit()
    name, glass = cells.line("filler"), cells.glass()
    worth, most = cells.money("worth"), cells.whole("most", 1, MOST_PIECES)
    size = (cells.length("width"), cells.length("height"))
    for column, side in zip(("width", "height"), size, strict=True):
        if side is not None and not LEAST <= side <= GREATEST:
            cells.bad(
                column,
                tr("{side} is not within {least} to {most}", side=show(side), least=show(LEAST),
                   most=show(GREATEST)),
                tr("if it is in another unit, write mm or in in the column unit or behind the number"),
            )  # fmt: skip
    if worth is not None and worth <= 0:
        cells.bad("worth", tr("a filler without a worth would never be cut"), tr("fill in its worth"))
    width, height = size
    if not cells.fine or name is None or glass is None or width is None or height is None:
        return None
    if worth is None or most is None:
        return None
    name = unicodedata.normalize("NFC", name)
    if name in rows:
        reason = tr("{name} stands in row {row} already", name=name, row=rows[name])
        cells.bad("filler", reason, tr("give every filler its own name"))
        return None
    rows[name] = row.number
    key, thickness = glass
    try:
        edge = parse_edge(cells.text("edges") or "cut", shop, thickness, table.decimal)
    except BadValue as error:
        cells.bad("edges", error.reason, error.remedy)
        return None
    finished = rectangle(width, height)
    edges = to_the_mark(finished, (edge,) * 4, shop.tape_step(key))
    cut = cut_of(finished, edges)
    if narrower_than(cut, shop.rules(key).break_out):
        cells.bad(
            "width",
            tr("it is narrower than {least} can be broken off", least=show(shop.rules(key).break_out)),
            tr("leave it out, or make it wider"),
        )
        return None
    kind = shop.kind_of(key)
    panel = Panel(
        id=f"{ORDER}/{name}",
        order=ORDER,
        name=name,
        glass=key,
        thickness=thickness,
        finished=finished,
        cut=cut,
        edges=edges,
        purpose=Purpose.FILLER,
        turn=kind.turn,
        mirror=kind.mirror,
    )
    return Filler(panel=panel, worth=worth, most=most)
