"""`panewright stock receive`: what comes into the racks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import out, out_json
from panewright.cli.purchase_words import say_taken, taken_json
from panewright.cli.stock_options import Desk, at_the_store, say_served, sheets_json
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.delivery_list import Deliveries
    from panewright.io.store.purchases import TakenOff
    from panewright.io.store.receiving import Received

OPTIONS: Final = {
    "glass": "--glass",
    "width": "--size",
    "height": "--size",
    "on hand": "--count",
    "case": "--case",
    "number": "--offcut",
    "raw sides": "--raw",
    "price": "--price",
    "supplier": "--supplier",
    "place": "--place",
    "measured": "--measured",
    "flaws": "--flaws",
    "take": "--take",
    "note": "--note",
}
"""Column of a delivery list -> option that says the same."""
SHOWN: Final = 200
"""Longest table of what came in; beyond that it is only counted."""


@click.command("receive", short_help="Put sheets or offcuts into the racks, from options or lists.")
@click.argument("lists", nargs=-1, metavar="[LIST...]", type=options.file_path)
@click.option("--glass", default="", metavar="GLASS", help="Glass of one case or offcut, as in clear-10.")
@click.option("--size", default="", metavar="WIDTHxHEIGHT", help="Its size, as in 3210x2250.")
@click.option("--count", default="", metavar="N", help="Sheets in the case.")
@click.option("--case", default="", metavar="NUMBER", help="Number of the case; default: one is made up.")
@click.option("--offcut", default="", metavar="NUMBER", help="It is an offcut with this number.")
@click.option("--raw", default="", metavar="SIDES", help="Raw sides of the offcut: left,bottom, none or all.")
@click.option("--price", default="", metavar="PRICE", help="Price of one sheet.")
@click.option("--supplier", default="", metavar="NAME", help="Who delivered it.")
@click.option("--place", default="", metavar="PLACE", help="Where it stands.")
@click.option("--measured", default="", metavar="LENGTH", help="Its thickness as measured.")
@click.option(
    "--flaws", default="", metavar="FLAWS", help="Its flaws, as in '900,400,30,20 seed; ...', or a DXF file."
)
@click.option("--take", default="", metavar="N", help="Its place in the order in which sheets are taken.")
@click.option("--note", default="", metavar="TEXT", help="Free text.")
@click.option(
    "--day",
    "day",
    callback=options.read_day,
    metavar="DAY",
    help="Day from which its age counts; default: today.",
)
@click.option("--more", is_flag=True, help="Known cases get more sheets; a list may be received once more.")
@at_the_store(changes=True)
def command(desk: Desk, lists: tuple[Path, ...], day: date | None, more: bool, **given: str) -> Exit:
    """Put one case or offcut into the racks, or all that LISTs say.

    A list has the columns of a stock list and case, supplier, place, measured and day. Nothing of it is received
    unless all rows are fine, and a list that was received before only with --more. Sheets for which committed
    plans wait are theirs at once. What was set down with `stock order` is taken off what is on order, the oldest
    purchase of that glass, size and supplier first. The store is made where there is none.

    \b
    Example:
      panewright stock receive --glass clear-10 --size 3210x2250 --count 12 --price 61.40 --place A1
      panewright stock receive --offcut R-118 --glass clear-6 --size 1240x815 --raw left,bottom
      panewright stock receive delivery.csv
    """
    from panewright.io.store.purchases import take_deliveries
    from panewright.io.store.receiving import NotReceived, receive_all

    filled = [f"--{name}" for name, text in given.items() if text]
    if lists and filled:
        raise click.UsageError(tr("give lists, or the options of one case: {names}", names=", ".join(filled)))
    if not lists and not filled:
        raise click.UsageError(tr("give a list, or a case by --glass, --size and --count"))
    found = _read(desk, lists, given, day or desk.today)
    desk.stop_at_errors()
    if not found.rows:
        raise Failure(tr("nothing came in by these lists"), Exit.INPUT)
    try:
        with desk.store(create=True).writing() as connection:
            done = receive_all(connection, found.rows, desk.because(), marks=found.marks, more=more)
            taken = take_deliveries(connection, found.rows)
    except NotReceived as error:
        found.refuse(error.refusals)
        desk.stop_at_errors()
        raise
    desk.say_problems()
    _tell(desk, done, taken)
    return Exit.DONE


def _read(desk: Desk, lists: Sequence[Path], given: dict[str, str], day: date) -> Deliveries:
    """What lists say, or options, which are read like a row."""
    from panewright.io.delivery_list import Deliveries, OptionCells, delivery_of, read_deliveries

    if lists:
        return read_deliveries(lists, desk.shop, day, desk.problems)
    width, cross, height = given["size"].lower().replace("×", "x").partition("x")
    row = {
        "kind": "offcut" if given["offcut"] else "sheet",
        "width": width if cross else given["size"],
        "height": height,
        **{column: given[option[2:]] for column, option in OPTIONS.items() if option != "--size"},
    }
    cells = OptionCells(row, OPTIONS, desk.shop, desk.problems)
    one = delivery_of(cells, day)
    if one is None and not desk.problems:
        cells.bad("on hand", tr("none of it came"), tr("give the number of sheets"))
    return Deliveries([one] if one else [], [cells], [None])


def _tell(desk: Desk, done: Sequence[Received], taken: Sequence[TakenOff]) -> None:
    from panewright.cli.tables import table
    from panewright.io.numbers_text import length, money
    from panewright.nesting.units import show_money, show_size

    served = [sheet for one in done for sheet in one.served]
    if desk.as_json:
        rows = [
            {
                "number": one.item.name,
                "kind": one.item.kind,
                "glass": one.item.glass,
                "width": length(one.item.width),
                "height": length(one.item.height),
                "count": one.count,
                "price": None if one.item.price is None else money(one.item.price),
                "place": one.item.place,
                "new": one.is_new,
                "reserved_for": sheets_json(one.served),
            }
            for one in done
        ]
        out_json({"exit_code": int(Exit.DONE), "received": rows, "off_purchases": taken_json(taken)})
        return
    title = tr_count("Received: {count} case or offcut", "Received: {count} cases and offcuts", len(done))
    if len(done) > SHOWN:
        out(tr("{title}, {pieces} pieces", title=title, pieces=sum(one.count for one in done)))
        say_served(served)
        say_taken(taken, sum(one.count for one in done if not one.item.is_offcut))
        return
    rows_text = [
        [
            one.item.name,
            one.item.glass,
            show_size(one.item.width, one.item.height),
            one.item.place,
            str(one.count),
            "" if one.item.price is None else show_money(one.item.price),
        ]
        for one in done
    ]
    headings = [tr("number"), tr("glass"), tr("size"), tr("place"), tr("pieces"), tr("price")]
    out(table(title, headings, rows_text, left=4))
    say_served(served)
    say_taken(taken, sum(one.count for one in done if not one.item.is_offcut))
