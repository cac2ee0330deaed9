"""`panewright stock order`: what was ordered from suppliers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, at_the_store
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from panewright.io.arriving_list import OnOrder
    from panewright.io.row_cells import Cells
    from panewright.io.store.purchases import Purchase

OPTIONS: Final = {
    "glass": "--glass",
    "width": "--size",
    "height": "--size",
    "sheets": "--count",
    "supplier": "--supplier",
    "price": "--price",
    "note": "--note",
}
"""Column of a list of what is on order -> option that says the same."""


@click.command("order", short_help="Set down what was ordered from suppliers, from options or lists.")
@click.argument("lists", nargs=-1, metavar="[LIST...]", type=options.file_path)
@click.option("--glass", default="", metavar="GLASS", help="Glass of the sheets, as in clear-10.")
@click.option("--size", default="", metavar="WIDTHxHEIGHT", help="Their size, as in 3210x2250.")
@click.option("--count", default="", metavar="N", help="How many sheets.")
@click.option("--supplier", default="", metavar="NAME", help="From whom.")
@click.option("--price", default="", metavar="PRICE", help="Price of one sheet.")
@click.option("--note", default="", metavar="TEXT", help="Free text.")
@click.option(
    "--day",
    "promised",
    callback=options.read_day,
    metavar="DAY",
    help="Day on which they are promised; default: after the lead days of the shop file.",
)
@click.option(
    "--ordered",
    "ordered",
    callback=options.read_day,
    metavar="DAY",
    help="Day on which they were ordered; default: today.",
)
@click.option("--more", is_flag=True, help="A list that was set down before is ordered once more.")
@at_the_store(changes=True)
def command(
    desk: Desk, lists: tuple[Path, ...], promised: date | None, ordered: date | None, more: bool, **given: str
) -> Exit:
    """Set down one size that was ordered, or all that LISTs say: `forecast` and `buy` count on it.

    Nothing is sent to anybody. A list has the columns glass, width, height, sheets, day (on which they are
    promised), supplier, price, ordered and note. `stock receive` takes what comes off it, `stock ordered` shows
    what is still to come.

    \b
    Example:
      panewright stock order --glass clear-10 --size 3210x2250 --count 12 --supplier "Gannet Depot" --day 2027-03-19
      panewright stock order on-order.csv
    """
    from panewright.io.store.purchases import list_mark, set_down

    filled = [f"--{name}" for name, text in given.items() if text]
    if lists and filled:
        raise click.UsageError(tr("give lists, or the options of one size: {names}", names=", ".join(filled)))
    if not lists and not filled:
        raise click.UsageError(tr("give a list, or a size by --glass, --size and --count"))
    wanted: list[Purchase] = []
    marks: list[str | None] = []
    for rows in _rows(desk, lists, given):
        mine = [
            found
            for cells, row in rows
            if (found := _purchase(cells, row, promised, ordered or desk.today)) is not None
        ]
        wanted += mine
        marks += [list_mark(mine) if lists else None] * len(mine)
    desk.stop_at_errors()
    if not wanted:
        raise Failure(tr("nothing was ordered by these lists"), Exit.INPUT)
    with desk.store(create=True).writing() as connection:
        if not more:
            _refuse_known(connection, marks)
        done = set_down(connection, wanted, desk.because(), marks=marks)
    desk.say_problems()
    _tell(desk, done)
    return Exit.DONE


def _rows(desk: Desk, lists: Sequence[Path], given: dict[str, str]) -> list[list[tuple[Cells, OnOrder]]]:
    """The rows of each list, or the options, which are read like a row."""
    from panewright.io.arriving_list import on_order_of, read_on_order
    from panewright.io.delivery_list import OptionCells

    if lists:
        return [read_on_order(path, desk.shop, desk.problems) for path in lists]
    width, cross, height = given["size"].lower().replace("×", "x").partition("x")
    row = {
        "width": width if cross else given["size"],
        "height": height,
        **{column: given[option[2:]] for column, option in OPTIONS.items() if option != "--size"},
    }
    cells = OptionCells(row, OPTIONS, desk.shop, desk.problems)
    one = on_order_of(cells)
    return [[] if one is None else [(cells, one)]]


def _purchase(cells: Cells, row: OnOrder, promised: date | None, today: date) -> Purchase | None:
    """What a row orders; None, with an error, where it would come before it was ordered."""
    from panewright.io.arriving_list import LONGEST
    from panewright.io.store.purchases import Purchase

    ordered = row.ordered or today
    day = row.day or promised or ordered + timedelta(days=row.lead_days)
    if not ordered <= day <= ordered + LONGEST:
        cells.bad(
            "day",
            tr("sheets that were ordered on {day} cannot be promised for then", day=ordered.isoformat()),
            tr("correct one of the two days"),
            day.isoformat(),
        )
        return None
    return Purchase(
        glass=row.size.glass,
        width=row.size.width,
        height=row.size.height,
        sheets=row.sheets,
        price=row.price,
        supplier=row.supplier,
        note=row.note,
        ordered=ordered,
        promised=day,
    )


def _refuse_known(connection: Connection, marks: Sequence[str | None]) -> None:
    """A list that was set down before: twice on order is twice too much."""
    from panewright.io.store.purchases import listed_before

    for mark in dict.fromkeys(m for m in marks if m is not None):
        day = listed_before(connection, mark)
        if day is not None:
            raise Failure(
                tr(
                    "a list that says the same was set down on {day}; give --more if it was ordered once more",
                    day=day,
                ),
                Exit.INPUT,
            )


def _tell(desk: Desk, done: Sequence[Purchase]) -> None:
    from panewright.cli.purchase_words import purchase_json, purchase_table

    if desk.as_json:
        out_json({"exit_code": int(Exit.DONE), "ordered": [purchase_json(p) for p in done]})
        return
    title = tr_count("Set down: {count} purchase", "Set down: {count} purchases", len(done))
    out(purchase_table(title, done, desk.today))
