"""When an order came in and what it counts as: columns that order lists may have, and histories have."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column
from panewright.nesting.panels import Panel

BOOKED_COLUMNS: Final = (
    Column("booked", ("booked", "booked on", "order date"), about="day on which the order came in"),
    Column(
        "product",
        ("product", "counted as"),
        about="what orders are counted by, a free word; empty: from shape and glass",
    ),
)
"""What every order list may have beside the columns of panels and tanks."""

HISTORY_COLUMNS: Final = (
    *BOOKED_COLUMNS,
    Column(
        "cut", ("cut", "cut on", "cutting day"), about="day on which it was really cut; empty: it is open"
    ),
    Column("cancelled", ("cancelled", "canceled", "called off"), about="day on which it was called off"),
    Column("remake", ("remake", "is a remake"), about="yes: it replaces panels that broke"),
)
"""What order histories have beside them."""


@dataclass(frozen=True, slots=True)
class Booked:
    """What a row says of its order: the day on which it came in, and its product; both may be missing."""

    day: date | None = None
    product: str = ""

    def on(self, panels: Iterable[Panel]) -> list[Panel]:
        """Panels that bear it."""
        if self == Booked():
            return list(panels)
        return [replace(panel, booked=self.day, product=self.product) for panel in panels]


def read_booked(cells: Cells) -> Booked:
    """What a row says of its order; nothing, with errors in the cells, where that is wrong."""
    product = cells.line("product") if cells.text("product") else None
    return Booked(cells.day("booked"), "" if product is None else cells.normal(" ".join(product.split())))
