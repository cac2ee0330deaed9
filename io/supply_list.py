"""Supply lists: which sheet sizes are offered, by whom, at which prices and terms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Final

from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.sized_rows import left_out_as_too_large, read_sized
from panewright.io.stock_list import shop_stock
from panewright.io.store.words import WORD, checked_word
from panewright.io.table_reader import Column, read_table
from panewright.nesting.buying.settings import PriceStep, Supply
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.units import show_money

COLUMNS: Final = (
    Column("glass", ("glass", "glass kind"), about="kind, or kind and thickness as in clear-10"),
    Column("thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name"),
    Column("width", ("width", "w"), number=True, about="nominal width"),
    Column("height", ("height", "h"), number=True, about="nominal height"),
    Column("supplier", ("supplier",), about="who offers it; may be empty"),
    Column("price", ("price", "price a sheet"), number=True, about="price of one sheet; empty: shop file"),
    Column(
        "from sheets",
        ("from sheets", "from count"),
        about="the price holds from so many sheets of an order on; one row a price; empty is 1",
    ),
    Column(
        "lead days", ("lead days", "days to come"), about="days until they are here; empty: shop file, or 7"
    ),
    Column("lead spread", ("lead spread", "give or take"), about="how many days that usually differs"),
    Column(
        "case", ("case", "sheets a case"), about="sheets in a case; only whole cases are sold; empty is 1"
    ),
    Column("least", ("least", "least order"), about="fewest sheets of an order; empty is 1"),
    Column("freight", ("freight", "freight a delivery"), number=True, about="freight of a delivery"),
    Column("freight a sheet", ("freight a sheet",), number=True, about="freight for each sheet in it"),
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a supply list and the header words that mean them, the proper word first."""
REQUIRED: Final = (("glass",), ("width",), ("height",))
LEAD_DAYS: Final = 7
"""Where neither list nor shop file says how long sheets take to come [our assumption]."""
MOST_DAYS: Final = 1000
MOST_SHEETS: Final = 100_000
MOST_PRICE: Final = 1_000_000 * 10_000
"""[1/10,000 of the currency]"""
TERMS: Final = ("lead days", "lead spread", "case", "least", "freight", "freight a sheet")
"""Columns that hold for all prices of a size and supplier."""


@dataclass(slots=True)
class _Offer:
    """The rows of one size and supplier: the terms, the prices, and the row that each came from."""

    cells: Cells
    supply: Supply
    steps: dict[int, tuple[int, Cells]]
    said: dict[str, int]


def read_supply(path: Path, shop: Shop, problems: Problems) -> list[Supply]:
    """Read a supply list; it is the list of offered sizes too.

    Parameters
    ----------
    path
        A CSV, XLSX, JSON or TOML file.
    shop
        Glasses, default unit, and the price and lead days of its stock sizes.
    problems
        Collects every problem; with errors in it the list is not complete.

    Returns
    -------
    list of Supply
        One for each size and supplier, in the order of their first rows; several rows of one are prices for
        more sheets. Sizes too large for the tables are left out.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    if not table.rows:
        problems.note(table.file, tr("the list has no rows"))
    offers: dict[tuple[str, str], _Offer] = {}
    for row in table.rows:
        _take(Cells(table, row, shop, problems), offers)
    return [_priced(offer) for offer in offers.values()]


def supply_of_shop(shop: Shop) -> list[Supply]:
    """The stock sizes of the shop file as offers without a supplier, those that fit the tables."""
    return [
        Supply(
            name=piece.name,
            glass=piece.glass,
            width=piece.width,
            height=piece.height,
            prices=(PriceStep(sheets=1, price=piece.cost),),
            lead_days=LEAD_DAYS if piece.lead_days is None else piece.lead_days,
        )
        for piece in shop_stock(shop)
    ]


def _take(cells: Cells, offers: dict[tuple[str, str], _Offer]) -> None:
    """Add a row to the offer that it belongs to."""
    sized = read_sized(cells)
    supplier = cells.attempt("supplier", lambda: checked_word(cells.text("supplier"), WORD))
    start = cells.whole("from sheets", 1, MOST_SHEETS, default=1)
    said = _terms(cells)
    price = _price(cells, None if sized is None or sized.known is None else sized.known.price)
    if sized is None or supplier is None or start is None or price is None or not cells.fine:
        return
    size = sized.size
    if left_out_as_too_large(cells, size):
        return
    supplier = cells.normal(supplier)
    offer = offers.get((size.name, supplier))
    if offer is None:
        days = LEAD_DAYS if sized.known is None or sized.known.lead_days is None else sized.known.lead_days
        supply = Supply(
            name=size.name,
            glass=size.glass,
            width=size.width,
            height=size.height,
            supplier=supplier,
            prices=(),
            lead_days=days,
        )
        offer = offers[(size.name, supplier)] = _Offer(cells, supply, {}, {})
    if start in offer.steps:
        cells.bad(
            "from sheets" if "from sheets" in cells.table.columns else "width",
            tr(
                "row {row} has a price of {name} from {count} sheets on already",
                row=offer.steps[start][1].row.number,
                name=size.name,
                count=start,
            ),
            tr("delete one of them, or name the supplier of each"),
        )
        return
    for name, value in said.items():
        if offer.said.setdefault(name, value) != value:
            cells.bad(
                name,
                tr("another row of this size and supplier says something else"),
                tr("say it once, in the first of its rows"),
            )
    offer.steps[start] = price, cells


def _terms(cells: Cells) -> dict[str, int]:
    """What the row says of terms; cells that are empty say nothing."""
    out: dict[str, int] = {}
    limits = {
        "lead days": (0, MOST_DAYS),
        "lead spread": (0, MOST_DAYS),
        "case": (1, MOST_SHEETS),
        "least": (1, MOST_SHEETS),
    }
    for name in TERMS:
        if cells.text(name):
            value = cells.whole(name, *limits[name]) if name in limits else _amount(cells, name)
            if value is not None:
                out[name] = value
    return out


def _amount(cells: Cells, name: str) -> int | None:
    amount = cells.money(name)
    if amount is not None and amount > MOST_PRICE:
        cells.bad(name, tr("this is more than {most}", most=show_money(MOST_PRICE)), tr("correct the amount"))
        return None
    return amount


def _price(cells: Cells, known: int | None) -> int | None:
    if not cells.text("price") and known is not None and not cells.text("from sheets"):
        return known
    if not cells.text("price"):
        cells.bad(
            "price",
            tr("neither the list nor the shop file has a price for this"),
            tr("fill in the price of one sheet"),
        )
        return None
    price = _amount(cells, "price")
    if price == 0:
        cells.bad("price", tr("the price is 0"), tr("fill in the price of one sheet"))
        return None
    return price


def _priced(offer: _Offer) -> Supply:
    """The offer with its terms and its prices, rising by sheets."""
    said = offer.said
    starts = sorted(offer.steps)
    least = max(said.get("least", 1), starts[0])
    if starts[0] > said.get("least", 1):
        offer.steps[starts[0]][1].note(
            "from sheets",
            tr("no row has a price for fewer sheets: that many are the least order"),
        )
    _tell_rising(offer, starts)
    spread = said.get("lead spread", 0)
    days = said.get("lead days", offer.supply.lead_days)
    if spread > days:
        offer.cells.note(
            "lead spread",
            tr("it differs by more days than it takes"),
            tr("correct one of them if it is wrong"),
        )
    prices = [PriceStep(sheets=n, price=offer.steps[n][0]) for n in starts]
    prices[0] = replace(prices[0], sheets=1)
    return replace(
        offer.supply,
        prices=tuple(prices),
        lead_days=days,
        lead_spread=spread,
        case=said.get("case", 1),
        least=least,
        freight=said.get("freight", 0),
        freight_a_sheet=said.get("freight a sheet", 0),
    )


def _tell_rising(offer: _Offer, starts: Sequence[int]) -> None:
    """More sheets at a higher price each are probably a slip of the pen."""
    for fewer, more in pairwise(starts):
        if offer.steps[more][0] > offer.steps[fewer][0]:
            offer.steps[more][1].note(
                "price",
                tr("from {count} sheets on each costs more than before", count=more),
                tr("correct it if it is wrong"),
            )
