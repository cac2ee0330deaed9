"""Stock lists: sheets and offcuts in the rack, and sheets that can be bought."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Final

from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.stock_flaws import SheetNames, check_one_of_a_kind, read_flaws_of, read_take
from panewright.io.table_reader import Column, Row, Table, read_table
from panewright.nesting.shop import Shop, StockSize
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import mm, show, show_size

COLUMNS: Final = (
    Column("kind", ("kind", "what"), about="sheet or offcut"),
    Column("glass", ("glass", "glass kind"), about="kind, or kind and thickness as in clear-10"),
    Column("thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name"),
    Column("width", ("width", "w"), number=True, about="nominal width"),
    Column("height", ("height", "h"), number=True, about="nominal height"),
    Column("on hand", ("on hand", "in rack", "quantity"), about="number in the rack, or unlimited"),
    Column("price", ("price", "price a sheet"), number=True, about="price of one sheet; empty: shop file"),
    Column("buy", ("buy", "may be bought"), about="yes or no: more can be bought"),
    Column("lead days", ("lead days", "days to come"), about="days until a bought sheet is here"),
    Column("number", ("number", "offcut number"), about="number of an offcut, unique; of a flawed sheet too"),
    Column("raw sides", ("raw sides", "raw"), about="raw sides of an offcut: left bottom, none, all"),
    Column(
        "flaws",
        ("flaws", "flaw"),
        about="x, y, width, height from the lower left corner, as in 900,400,30,20 seed; ... or a DXF file",
    ),
    Column("take", ("take", "take as"), about="order in which sheets are taken: 1 first, none passed over"),
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a stock list and the header words that mean them, the proper word first."""

REQUIRED: Final = (("kind",), ("glass",), ("width",), ("height",))
LEAST_SHEET: Final = mm(300)
LEAST_OFFCUT: Final = mm(50)
GREATEST: Final = mm(12_000)
MAX_ON_HAND: Final = 100_000
UNLIMITED: Final = ("unlimited", "any")


def offcut_cost(shop: Shop, area: int, price_per_area: Fraction) -> int:
    """Whole worth of an offcut: the shop's share of the price of so much new glass.

    Parameters
    ----------
    shop
        Gives the share.
    area
        [nm2]
    price_per_area
        Cheapest price of its glass. [1/10,000 of the currency per nm2]

    Returns
    -------
    int
        Halves rounded up. [1/10,000 of the currency]
    """
    share = shop.offcut_worth * price_per_area
    return (2 * share.numerator * area + share.denominator) // (2 * share.denominator)


def cheapest(shop: Shop, key: str, listed: Iterable[StockPiece] = ()) -> Fraction | None:
    """Cheapest price per area of a glass, among stock sizes and listed sheets, or None.

    [1/10,000 of the currency per nm2]
    """
    prices = [Fraction(s.price, s.width * s.height) for s in shop.sizes_of(key)]
    # a flawed sheet may be let go for nothing; whole glass is worth what whole sheets cost
    prices += [
        Fraction(p.cost, p.width * p.height)
        for p in listed
        if p.glass == key and not p.is_offcut and not p.flaws
    ]
    return min(prices, default=None)


def shop_stock(shop: Shop) -> list[StockPiece]:
    """The stock sizes of the shop file, none on hand and all to be bought.

    Sizes too large for the shop's tables are left out.
    """
    return [
        StockPiece(
            name=size.name,
            glass=size.glass,
            width=size.width,
            height=size.height,
            trim=shop.trim(size.glass, size.trim),
            cost=size.price,
            buyable=True,
            lead_days=size.lead_days,
        )
        for size in shop.stock_sizes
        if fits_tables(shop, size.glass, size.width, size.height)
    ]


def fits_tables(shop: Shop, key: str, width: int, height: int) -> bool:
    """Whether a sheet [nm] fits the shop's tables."""
    largest = shop.rules(key).largest_piece
    return largest is None or (max(width, height) <= max(largest) and min(width, height) <= min(largest))


def read_stock_list(path: Path, shop: Shop, problems: Problems) -> list[StockPiece]:
    """Read a stock list.

    Parameters
    ----------
    path
        A CSV or XLSX file (``file.xlsx#Sheet`` names a sheet).
    shop
        Glasses, trims, prices of stock sizes and the worth of offcuts.
    problems
        Collects every problem; with errors in it the stock is not complete.

    Returns
    -------
    list of StockPiece
        In the order of the rows, sheets too large for the tables left out.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    found: list[tuple[Cells, StockPiece]] = []
    rows: dict[str, int] = {}
    names = SheetNames()
    for row in table.rows:
        made = _piece(table, row, path.parent, shop, problems)
        if made is None:
            continue
        cells, piece = made
        piece = names.named(cells, piece)
        if piece.name in rows:
            column = "number" if piece.is_offcut or cells.text("number") else "width"
            cells.bad(
                column,
                tr("{name} stands in row {row} already", name=piece.name, row=rows[piece.name]),
                tr("give every offcut its own number, and every sheet size one row"),
            )
            continue
        rows[piece.name] = row.number
        found.append((cells, piece))
    return _with_worth(found, shop)


def _with_worth(found: list[tuple[Cells, StockPiece]], shop: Shop) -> list[StockPiece]:
    """The pieces that fit the tables, offcuts with their worth."""
    sheets = [piece for _, piece in found if not piece.is_offcut]
    least: dict[str, Fraction | None] = {}
    stock: list[StockPiece] = []
    for cells, piece in found:
        if not fits_tables(shop, piece.glass, piece.width, piece.height):
            cells.note(
                "width",
                tr(
                    "{size} is too large for the tables and is left out",
                    size=show_size(piece.width, piece.height),
                ),
                tr("see largest_piece in the shop file"),
            )
            continue
        if piece.is_offcut:
            if piece.glass not in least:
                least[piece.glass] = cheapest(shop, piece.glass, sheets)
            price = least[piece.glass]
            if price is None:
                cells.bad(
                    "glass",
                    tr("no sheet of {glass} has a price, so the offcut has no worth", glass=piece.glass),
                    tr("add a stock size of it to the shop file"),
                )
                continue
            piece = replace(piece, cost=offcut_cost(shop, piece.width * piece.height, price))
        stock.append(piece)
    return stock


def read_size(cells: Cells, *, is_offcut: bool) -> tuple[int | None, int | None]:
    """Width and height of a sheet or offcut, within what glass is sold and kept in. [nm]"""
    width, height = cells.length("width"), cells.length("height")
    least = LEAST_OFFCUT if is_offcut else LEAST_SHEET
    for name, side in (("width", width), ("height", height)):
        if side is not None and not least <= side <= GREATEST:
            cells.bad(
                name,
                tr(
                    "{side} is not within {least} to {most}",
                    side=show(side),
                    least=show(least),
                    most=show(GREATEST),
                ),
                tr("if it is in another unit, write mm or in in the column unit or behind the number"),
            )
    return width, height


def _piece(
    table: Table, row: Row, folder: Path, shop: Shop, problems: Problems
) -> tuple[Cells, StockPiece] | None:
    cells = Cells(table, row, shop, problems)
    cells.read_unit()
    kind = cells.text("kind").lower()
    if kind not in ("sheet", "offcut"):
        cells.bad("kind", tr("this is neither sheet nor offcut"), tr("write sheet or offcut"))
    is_offcut = kind == "offcut"
    glass = cells.glass()
    width, height = read_size(cells, is_offcut=is_offcut)
    if glass is None or width is None or height is None:
        return None
    piece = StockPiece(
        name="",
        glass=glass[0],
        width=width,
        height=height,
        is_offcut=is_offcut,
        flaws=read_flaws_of(cells, width, height, folder, problems),
        take=read_take(cells),
    )
    piece = _offcut(cells, piece) if is_offcut else _sheet(cells, piece)
    if cells.fine and min(piece.inner_width, piece.inner_height) <= 0:
        cells.bad("width", tr("the trim leaves nothing of it"), tr("correct the size or the trim"))
    return (cells, piece) if cells.fine else None


def _sheet(cells: Cells, piece: StockPiece) -> StockPiece:
    shop = cells.shop
    size = StockSize(glass=piece.glass, width=piece.width, height=piece.height, price=0)
    alike = [
        s
        for s in shop.sizes_of(piece.glass)
        if sorted((s.width, s.height)) == sorted((piece.width, piece.height))
    ]
    if cells.text("raw sides") and cells.text("raw sides").lower() != "all":
        cells.bad("raw sides", tr("all sides of a sheet are raw"), tr("write all, or call it an offcut"))
    unlimited = cells.text("on hand").lower() in UNLIMITED
    there = check_one_of_a_kind(cells, piece)
    on_hand = 0 if unlimited else cells.whole("on hand", 0, MAX_ON_HAND, default=there)
    buy = cells.yes_no("buy", unlimited)
    if unlimited and not buy:
        cells.bad("buy", tr("unlimited sheets are those that can be bought"), tr("write yes"))
    lead_days = cells.whole("lead days", 0, 1000) if cells.text("lead days") else None
    price: int | None = 0
    if cells.text("price"):
        price = cells.money("price")
    elif alike:
        price = alike[0].price
    else:
        cells.bad(
            "price",
            tr("neither the list nor the shop file has a price for {size}", size=size.name),
            tr("fill in the price of one sheet"),
        )
    if lead_days is None and alike:
        lead_days = alike[0].lead_days
    # the trim of a stock size is told by side, so it only fits a sheet that lies the same way
    own = [s.trim for s in alike if s.width == piece.width and s.trim is not None]
    trim = shop.trim(piece.glass, own[0] if own else None)
    return replace(
        piece,
        name=size.name,
        trim=trim,
        cost=price or 0,
        on_hand=on_hand or 0,
        buyable=buy,
        lead_days=lead_days,
    )


def _offcut(cells: Cells, piece: StockPiece) -> StockPiece:
    for name in ("price", "lead days"):
        if cells.text(name):
            cells.note(name, tr("an offcut has none of its own; it is left out"))
    if cells.yes_no("buy", False):
        cells.bad("buy", tr("an offcut cannot be bought"), tr("write no, or leave the cell empty"))
    if cells.text("on hand") not in ("", "1"):
        cells.bad(
            "on hand",
            tr("an offcut is one piece"),
            tr("write 1, and give every other piece a row and a number of its own"),
        )
        return piece
    number = cells.line("number")
    raw = raw_sides(cells)
    return replace(
        piece,
        name=number or "",
        raw=raw,
        trim=cells.shop.trim(piece.glass).on(raw),
        on_hand=1,
    )


def raw_sides(cells: Cells) -> tuple[Side, ...]:
    """The raw sides of an offcut, from the cell ``raw sides``; none where it is empty."""
    text = cells.text("raw sides").lower()
    if text in ("", "none", "-"):
        return ()
    if text == "all":
        return ALL_SIDES
    words = [word for word in re.split(r"[\s,;+/|]+", text) if word and word != "and"]
    names = {side.value for side in Side}
    if not set(words) <= names:
        cells.bad("raw sides", tr("these are no sides"), tr("write left, right, bottom, top, none or all"))
        return ()
    return tuple(side for side in Side if side.value in words)
