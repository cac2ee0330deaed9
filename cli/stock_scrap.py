"""`panewright stock scrap`: pieces that are thrown away or broke in the rack."""

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


@click.command("scrap", short_help="Take out what is thrown away or broke in the rack.")
@click.argument("name", metavar="NUMBER", callback=a_word(80))
@click.option(
    "--count", type=click.IntRange(1, 100_000), default=1, show_default=True, metavar="N", help="Pieces."
)
@click.option("--broken", is_flag=True, help="They broke in the rack; else they are thrown away.")
@at_the_store(changes=True, why=why_needed)
def command(desk: Desk, name: str, count: int, broken: bool) -> Exit:
    """Take pieces of a case, or an offcut, out of the racks for good.

    Where plans have taken more than is left, their sheets are without glass: they are named, and the exit code is 1.

    \b
    Example:
      panewright stock scrap R-131 --why "scratched"
      panewright stock scrap C-0003 --count 2 --broken --why "fell over"
    """
    from panewright.io.store.moving import take_out

    with desk.store().writing() as connection:
        done = take_out(connection, name, count, desk.because(), broken=broken)
    if desk.as_json:
        out_json(
            {
                "exit_code": int(Exit.LEFT_OVER if done.stranded else Exit.DONE),
                "number": done.item.name,
                "taken_out": count,
                **changed_json(done),
            }
        )
    else:
        out(tr("{name}: {count} taken out, {left} in the rack", name=name, count=count, left=done.on_hand))
    return say_changed(done)
