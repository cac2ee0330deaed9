"""Order lists: rows with a panel or with a tank, from CSV, XLSX, JSON or TOML, become panels to plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from panewright.io.order_booked import BOOKED_COLUMNS, Booked, read_booked
from panewright.io.panel_list import COLUMNS as PANEL_COLUMNS
from panewright.io.panel_list import Read, panel_of
from panewright.io.panel_racks import RackRows
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, Row, Table, read_table
from panewright.io.tank_list import TANK_COLUMNS, tank_of
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.strength.cautions import design_stress_caution
from panewright.nesting.tanks.build import panels_of
from panewright.nesting.tanks.findings import findings, removable_rule
from panewright.nesting.tanks.made import Edges, Finding
from panewright.nesting.tanks.settle import Settled, settle
from panewright.nesting.tanks.vessel import InvalidTank
from panewright.nesting.text import tr

COLUMNS: Final = (*PANEL_COLUMNS, *TANK_COLUMNS, *BOOKED_COLUMNS)
"""All columns of an order list: those of panels, then those that only tanks have, then those of the order."""
REQUIRED: Final = (("order",), ("panel", "shape"), ("glass",), ("width", "corners", "shape", "drawing"))
MAX_PANELS: Final = 200_000
FOR_PANELS: Final = ("drawing",)
"""Columns of tanks that single panels have too."""

CELL_OF: Final = {
    "shape": "shape",
    "height": "height",
    "thickness": "thickness",
    "glass": "other glass",
    "top": "rim",
    "covers": "covers",
    "insides": "inside",
    "openings": "openings",
    "volume": "volume",
}
"""Where the cause of an `InvalidTank` stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankOrder:
    """A tank of the lists, settled, and what is to be said about it."""

    settled: Settled
    findings: tuple[Finding, ...]
    file: str
    row: int


@dataclass(slots=True)
class Orders:
    """Everything that the lists order.

    Parameters
    ----------
    panels
        One a piece of glass, those of tanks included, in the order of the rows; ids are order, name and
        a running number that goes on where a name comes again.
    tanks
        The tanks among them.
    singles
        The rows with single panels.
    ends
        Of every row, in their order, the number of panels up to its end: what is ordered together.
    """

    panels: list[Panel] = field(default_factory=list)
    tanks: list[TankOrder] = field(default_factory=list)
    singles: list[Read] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)


def read_orders(paths: Sequence[Path], shop: Shop, problems: Problems) -> Orders:
    """Read order lists, in the order given and row by row.

    Parameters
    ----------
    paths
        CSV, XLSX (``file.xlsx#Sheet`` names a sheet), JSON or TOML files.
    shop
        Glasses, allowances, habits, default unit and date order.
    problems
        Collects every problem of every list; with errors in it the orders are not complete.
    """
    orders = Orders()
    numbers: Counter[str] = Counter()
    edges = Edges(shop)
    named: set[tuple[str, str]] = set()
    racks = RackRows()
    for path in paths:
        table = order_table(path, COLUMNS, problems)
        if table is None:
            continue
        for row in table.rows:
            cells = Cells(table, row, shop, problems)
            booked = read_booked(cells) if "booked" in row.cells or "product" in row.cells else Booked()
            if row.get("shape"):
                found = _tank(table, row, path, shop, edges, numbers, problems)
                if found is None:
                    continue
                tank, panels = found
                ordered = tank.settled.built.tank
                if (ordered.order, ordered.name) in named:
                    cells.note(
                        "tank" if "tank" in table.columns else "order",
                        tr("another tank of this order has the same name, and so have its panels"),
                        tr("give every tank of an order a name in the column tank"),
                    )
                named.add((ordered.order, ordered.name))
                orders.tanks.append(tank)
            else:
                single = single_of(table, row, path, shop, problems)
                if single is None:
                    continue
                panels = _numbered(single, numbers)
                orders.singles.append(single)
            if len(orders.panels) + len(panels) > MAX_PANELS:
                problems.add(
                    table.file,
                    tr("the lists hold more than {limit} panels", limit=MAX_PANELS),
                    tr("plan them in several runs"),
                    row=row.number,
                )
                return orders
            orders.panels += racks.on(cells, booked.on(panels), len(orders.panels))
            orders.ends.append(len(orders.panels))
    racks.settle(orders.panels)
    return orders


def order_table(path: Path, columns: Sequence[Column], problems: Problems) -> Table | None:
    """The rows of an order list; None where it cannot be read at all."""
    table = read_table(path, columns, REQUIRED, problems)
    if table is None:
        return None
    if "width" in table.columns and not {"height", "corners", "drawing"} & table.columns.keys():
        problems.add(
            table.file,
            tr("the header row has no column for {name}", name="height"),
            tr("add one"),
        )
        return None
    if not table.rows:
        problems.note(table.file, tr("the list has no rows"))
    return table


def heard_of(orders: Orders, shop: Shop) -> list[str]:
    """What a plan has to say of its tanks: verdicts that must be heard, and the design stress behind them."""
    lines = []
    for order in orders.tanks:
        tank, check = order.settled.built.tank, order.settled.check
        if check.worst or check.qualified or check.unchecked:
            lines.append(f"{tank.title}: {check.words}")
    if lines:
        lines += design_stress_caution(shop.strength)
    if any(some.removable for order in orders.tanks for some in order.settled.built.tank.top.cross):
        lines.append(removable_rule())
    return lines


def read_panel_lists(paths: Sequence[Path], shop: Shop, problems: Problems) -> list[Panel]:
    """The panels of order lists (see `read_orders`)."""
    return read_orders(paths, shop, problems).panels


def single_of(table: Table, row: Row, path: Path, shop: Shop, problems: Problems) -> Read | None:
    """What a row that names a panel orders; None where something is wrong."""
    if "panel" not in table.columns:
        Cells(table, row, shop, problems).bad(
            "shape", tr("the cell is empty"), tr("name the plan shape of the tank, or add a column panel")
        )
        return None
    odd = [c.name for c in TANK_COLUMNS if row.get(c.name) and c.name not in FOR_PANELS]
    if odd:
        cells = Cells(table, row, shop, problems)
        for name in odd:
            cells.bad(
                name,
                tr("a row without a shape is a single panel, which has no {name}", name=name),
                tr("fill in the column shape, or leave this cell empty"),
            )
        return None
    return panel_of(table, row, path.parent, shop, problems)


def _numbered(single: Read, numbers: Counter[str]) -> list[Panel]:
    """The panels of a row, with running numbers."""
    panel = single.panel
    out = []
    # a running number a text, so that ids stay unique whatever slashes a name holds
    for _ in range(single.quantity):
        numbers[panel.id] += 1
        out.append(replace(panel, id=f"{panel.id}/{numbers[panel.id]}"))
    return out


def _tank(
    table: Table, row: Row, path: Path, shop: Shop, edges: Edges, numbers: Counter[str], problems: Problems
) -> tuple[TankOrder, list[Panel]] | None:
    """The tank of a row, settled, and its panels; None where something is wrong."""
    cells = Cells(table, row, shop, problems)
    tank = tank_of(cells, path.parent, problems)
    if tank is None:
        return None
    try:
        settled = settle(tank, shop, edges)
        panels = list(panels_of(settled.built, shop, numbers))
    except InvalidTank as error:
        cells.bad(CELL_OF.get(error.about, "shape"), error.reason, error.remedy)
        return None
    said = (*findings(settled.built, shop), *settled.check.findings)
    _warn(cells, settled, said, shop)
    return TankOrder(settled=settled, findings=said, file=table.file, row=row.number), panels


def _warn(cells: Cells, settled: Settled, said: Sequence[Finding], shop: Shop) -> None:
    """What must be heard even where nobody asks for the panels: too thin glass first."""
    check = settled.check
    if check.worst:
        verdict = tr("{verdict} ({why})", verdict=check.words, why=check.worst)
        if check.weak_rims and not check.too_thin:
            remedy = tr("order wider rim braces, or have it calculated by a qualified person")
        elif not check.too_thin:
            remedy = tr(
                "give the joint a larger face: wider or lapped cross braces, thicker glass; or have it calculated by a"
                " qualified person"
            )
        elif settled.advice:
            remedy = tr("brace it otherwise, or have it calculated by a qualified person")
        else:
            remedy = tr(
                "write advise as its thickness, brace it, or have it calculated by a qualified person"
            )
        if shop.strength.stop:
            cells.bad("thickness", verdict, remedy)
        else:
            cells.warn("thickness", verdict, remedy)
    elif check.qualified:
        cells.warn(
            "shape", tr("beyond household size"), tr("have this tank calculated by a qualified person")
        )
    elif check.unchecked:
        cells.warn(
            "shape",
            tr("not checked: {names}", names=", ".join(check.unchecked)),
            tr("have this tank calculated by a qualified person"),
        )
    for finding in said:
        if finding.loud:
            cells.note("shape", finding.said, finding.remedy)
