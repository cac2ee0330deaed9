"""`panewright stock move`: a case or offcut stands at another place now."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, a_word, at_the_store
from panewright.nesting.text import tr


@click.command("move", short_help="Say that cases or offcuts stand at another place now.")
@click.argument("names", nargs=-1, required=True, metavar="NUMBER...", callback=a_word(80))
@click.option(
    "--to", "place", required=True, callback=a_word(80), metavar="PLACE", help="Where they stand now."
)
@at_the_store(changes=True)
def command(desk: Desk, names: tuple[str, ...], place: str) -> Exit:
    """Say that cases or offcuts, by their NUMBERs, stand at another place now.

    \b
    Example:
      panewright stock move R-118 R-131 --to "B 2"
    """
    from panewright.io.store.moving import move_items

    if not place:
        raise click.BadParameter(tr("name the place"), param_hint="--to")
    with desk.store().writing() as connection:
        before = move_items(connection, names, place, desk.because())
    if desk.as_json:
        rows = [{"number": one.name, "from": one.place, "to": place} for one in before]
        out_json({"exit_code": int(Exit.DONE), "moved": rows})
        return Exit.DONE
    for one in before:
        out(tr("{name}: from {old} to {new}", name=one.name, old=one.place or tr("no place"), new=place))
    return Exit.DONE
