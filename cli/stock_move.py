"""`panewright stock move`: a case or offcut stands at another place now."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, a_word, at_the_store
from panewright.nesting.text import tr


@click.command("move", short_help="Say that cases or offcuts stand at another place now.")
@click.argument("names", nargs=-1, required=True, metavar="NUMBER...", callback=a_word(80))
@click.option("--to", "place", callback=a_word(80), metavar="PLACE", help="Where they stand now.")
@click.option(
    "--take",
    "take",
    type=click.IntRange(0, 100_000),
    metavar="N",
    help="Sheets of a glass with a number are taken in rising order of it, none passed over; 0: in any order.",
)
@at_the_store(changes=True)
def command(desk: Desk, names: tuple[str, ...], place: str | None, take: int | None) -> Exit:
    """Say that cases or offcuts, by their NUMBERs, stand at another place now, or in which order they are taken.

    \b
    Example:
      panewright stock move R-118 R-131 --to "B 2"
      panewright stock move C-0003 --take 1
    """
    from panewright.io.store.moving import move_items

    if place is not None and not place:
        raise click.BadParameter(tr("name the place"), param_hint="--to")
    if place is None and take is None:
        raise click.UsageError(tr("say where they stand now (--to), or when they are taken (--take)"))
    with desk.store().writing() as connection:
        before = move_items(connection, names, place, desk.because(), take=take)
    if desk.as_json:
        rows = [
            {"number": one.name, "from": one.place, "to": one.place if place is None else place}
            | ({} if take is None else {"take": take or None})
            for one in before
        ]
        out_json({"exit_code": int(Exit.DONE), "moved": rows})
        return Exit.DONE
    for one in before:
        if take is not None:
            out(
                tr("{name}: taken as number {take}", name=one.name, take=take)
                if take
                else tr("{name}: taken in any order", name=one.name)
            )
        if place is None:
            continue
        out(tr("{name}: from {old} to {new}", name=one.name, old=one.place or tr("no place"), new=place))
    return Exit.DONE
