"""Rows that name a stock size: glass, width and height, under the name that the shop file gives it."""

from __future__ import annotations

from dataclasses import dataclass

from panewright.io.row_cells import Cells
from panewright.io.stock_list import fits_tables, read_size
from panewright.nesting.panels import Turn
from panewright.nesting.shop import Shop, StockSize
from panewright.nesting.text import tr
from panewright.nesting.units import show_size


@dataclass(frozen=True, slots=True)
class Sized:
    """A stock size, and that of the shop file which is the same, if there is one."""

    size: StockSize
    known: StockSize | None


def read_sized(cells: Cells) -> Sized | None:
    """The stock size of a row, or None with errors in its cells.

    A size that the shop file has lying the other way is taken as the shop file has it, unless the glass has
    a pattern: then it is another size.
    """
    cells.read_unit()
    glass = cells.glass()
    width, height = read_size(cells, is_offcut=False)
    if glass is None or width is None or height is None:
        return None
    key = glass[0]
    size = StockSize(glass=key, width=width, height=height, price=0)
    known = known_size(cells.shop, size)
    size = known or size
    trim = cells.shop.trim(key, size.trim)
    if min(size.width - trim.left - trim.right, size.height - trim.bottom - trim.top) <= 0:
        cells.bad("width", tr("the trim leaves nothing of it"), tr("correct the size or the trim"))
        return None
    return Sized(size, known)


def known_size(shop: Shop, size: StockSize) -> StockSize | None:
    """The stock size of the shop file that is the same."""
    sizes = shop.sizes_of(size.glass)
    same = [s for s in sizes if (s.width, s.height) == (size.width, size.height)]
    if not same and shop.kind_of(size.glass).turn in (Turn.ANY, Turn.QUARTER):
        same = [s for s in sizes if (s.height, s.width) == (size.width, size.height)]
    return same[0] if same else None


def left_out_as_too_large(cells: Cells, size: StockSize) -> bool:
    """Whether a size fits no table of the shop, which is said."""
    if fits_tables(cells.shop, size.glass, size.width, size.height):
        return False
    cells.note(
        "width",
        tr("{size} is too large for the tables and is left out", size=show_size(size.width, size.height)),
        tr("see largest_piece in the shop file"),
    )
    return True
