"""`panewright stock adjust`: corrections of what was set down wrongly."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import (
    Desk,
    a_word,
    at_the_store,
    changed_json,
    say_changed,
    why_needed,
)
from panewright.nesting.text import tr


@click.command("adjust", short_help="Correct what was set down wrongly: pieces, price, supplier, note.")
@click.argument("name", metavar="NUMBER", callback=a_word(80))
@click.option(
    "--by",
    "by",
    type=click.IntRange(-100_000, 100_000),
    default=0,
    metavar="N",
    help="So many pieces more, or fewer, as in --by -2.",
)
@click.option("--price", default="", metavar="PRICE", help="The right price of one sheet.")
@click.option("--measured", default="", metavar="LENGTH", help="The right measured thickness.")
@click.option("--supplier", callback=a_word(80), metavar="NAME", help="The right supplier.")
@click.option("--note", callback=a_word(400), metavar="TEXT", help="The right note.")
@at_the_store(changes=True, why=why_needed)
def command(
    desk: Desk, name: str, by: int, price: str, measured: str, supplier: str | None, note: str | None
) -> Exit:
    """Correct a case or offcut by its NUMBER; what it said before stays in the history.

    Use count for what was counted, scrap for what is thrown away. Where plans have taken more than is left, their
    sheets are without glass: they are named, and the exit code is 1.

    \b
    Example:
      panewright stock adjust C-0003 --by -2 --why "delivery note says 10"
      panewright stock adjust C-0003 --price 61.40 --why "invoice 4711"
    """
    from panewright.io.delivery_list import OptionCells
    from panewright.io.store.moving import Changed, Correction, adjust_count, correct

    cells = OptionCells(
        {"price": price, "measured": measured},
        {"price": "--price", "measured": "--measured"},
        desk.shop,
        desk.problems,
    )
    new = Correction(
        price=cells.money("price") if cells.text("price") else None,
        measured=cells.length("measured") if cells.text("measured") else None,
        supplier=supplier,
        note=note,
    )
    desk.stop_at_errors()
    if not by and new == Correction():
        raise click.UsageError(tr("say what is wrong: --by, --price, --measured, --supplier or --note"))
    with desk.store().writing() as connection:
        one = correct(connection, name, new, desk.because())
        done = (
            adjust_count(connection, name, by, desk.because())
            if by
            else Changed(item=one, on_hand=one.balance.on_hand)
        )
    if desk.as_json:
        code = Exit.LEFT_OVER if done.stranded else Exit.DONE
        out_json({"exit_code": int(code), "number": one.name, **changed_json(done)})
    else:
        out(tr("{name}: corrected, {left} in the rack", name=one.name, left=done.on_hand))
    return say_changed(done)
