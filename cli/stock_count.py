"""`panewright stock count`: stock-taking, with the differences before anything is changed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure, already_there, writing
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import (
    Desk,
    at_the_store,
    glass_option,
    kind_option,
    place_option,
    say_changed,
    sheets_json,
)
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from panewright.io.count_list import Counts
    from panewright.io.store.counting import Difference
    from panewright.io.store.moving import Changed


def _counts(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[str, int], ...]:
    """Numbers of cases and offcuts with their pieces, of texts such as ``C-0001=12``."""
    from panewright.io.lengths import BadValue
    from panewright.io.store.words import checked_word

    found: dict[str, int] = {}
    for text in value:
        name, _, number = (word.strip() for word in text.rpartition("="))
        if not name or not re.fullmatch(r"[0-9]{1,6}", number) or int(number) > 100_000:
            raise click.BadParameter(tr("write NUMBER=PIECES, as in C-0001=12"), ctx, parameter)
        try:
            name = checked_word(name, 80)
        except BadValue as error:
            raise click.BadParameter(str(error), ctx, parameter) from None
        if name in found:
            raise click.BadParameter(tr("{name} was counted twice", name=name), ctx, parameter)
        found[name] = int(number)
    return tuple(found.items())


@click.command("count", short_help="Take stock: differences first, then --post sets them down.")
@click.argument("counts", nargs=-1, metavar="[NUMBER=PIECES...]", callback=_counts)
@click.option(
    "--from",
    "lists",
    multiple=True,
    type=options.file_path,
    metavar="LIST",
    help="A list that was filled in; may be given again.",
)
@click.option(
    "--template",
    "template",
    type=options.file_path,
    metavar="FILE",
    help="Write the list to fill in, by place, as .csv or .xlsx.",
)
@click.option("--replace", is_flag=True, help="Write over the list of --template.")
@click.option("--post", "post", is_flag=True, help="Set the counts down as movements.")
@glass_option
@kind_option
@place_option
@at_the_store(changes=True)
def command(
    desk: Desk,
    counts: tuple[tuple[str, int], ...],
    lists: tuple[Path, ...],
    template: Path | None,
    replace: bool,
    post: bool,
    glass: str | None,
    kind: str | None,
    place: str | None,
) -> Exit:
    """Hold what was counted against the store: differences in pieces, m2 and money.

    Nothing is changed without --post. With it every count becomes a movement, those without a difference too. Where
    fewer pieces are there than plans have taken, sheets of plans are without glass: they are named, and the exit
    code is 1. --glass, --kind and --place choose what --template lists.

    \b
    Example:
      panewright stock count --template monday.csv --place A
      panewright stock count --from monday.csv
      panewright stock count --from monday.csv --post
      panewright stock count C-0001=11 R-118=0 --post
    """
    if template is not None:
        if counts or lists or post:
            raise click.UsageError(tr("--template only writes the list; give the counts in another call"))
        return _write(desk, template, replace, glass, kind, place)
    if not counts and not lists:
        raise click.UsageError(tr("give counts as in C-0001=12, a list by --from, or --template"))
    from panewright.io.count_list import Counts
    from panewright.io.store.counting import post_counts

    read = Counts(desk.problems)
    read.counted.update(counts)
    for path in lists:
        read.read_list(path, desk.shop)
    desk.stop_at_errors()
    if not read.counted:
        raise Failure(tr("nothing is counted in these lists; fill in the column counted"), Exit.INPUT)
    store = desk.store()
    changed: list[Changed] = []
    if not post:
        with store.reading() as connection:
            found = _differences(desk, connection, read)
    if post or any(d.lost for d in found):
        # to name the sheets that lose their glass, the counts are set down and taken back
        with store.writing() as connection:
            found = _differences(desk, connection, read)
            changed = post_counts(connection, found, desk.because())
            if not post:
                connection.rollback()
    desk.say_problems()
    return _tell(desk, read, found, changed, post)


def _write(
    desk: Desk, path: Path, replace: bool, glass: str | None, kind: str | None, place: str | None
) -> Exit:
    from panewright.io.count_list import count_list
    from panewright.io.store.rack import in_racks

    with desk.store().reading() as connection:
        items = in_racks(connection, glass=glass, kind=kind, place=place)
    content = count_list(items, path)
    if content is None:
        raise Failure(tr("{path} is none of .csv, .xlsx; give it such an ending", path=path), Exit.USAGE)
    if path.exists() and not replace:
        raise already_there(path)
    with writing(path), path.open("wb" if replace else "xb") as stream:
        stream.write(content)
    if desk.as_json:
        out_json({"exit_code": int(Exit.DONE), "written": str(path), "items": len(items)})
    err(tr("wrote {path}: fill in the column counted; leave it empty where nothing was counted", path=path))
    return Exit.DONE


def _differences(desk: Desk, connection: Connection, read: Counts) -> list[Difference]:
    """Against the store as it is; names that it does not know are told with their rows."""
    from panewright.io.store.counting import differences
    from panewright.io.store.errors import UnknownName
    from panewright.io.store.items import find_item
    from panewright.io.store.moving import OnePiece
    from panewright.io.store.rack import in_racks
    from panewright.io.store.valuing import Prices

    prices = Prices(desk.shop, in_racks(connection), desk.today)
    for name, cells in read.cells.items():
        try:
            one = find_item(connection, name)
            differences(connection, {name: read.counted[name]}, prices)
        except (UnknownName, OnePiece) as error:
            column = "number" if isinstance(error, UnknownName) else "counted"
            cells.bad(column, str(error), tr("correct the row, or receive it"))
            continue
        said = read.listed.get(name)
        if said is not None and said != one.balance.on_hand:
            cells.warn(
                "in the rack",
                tr(
                    "the store said {then} when the list was written, and says {now} now",
                    then=said,
                    now=one.balance.on_hand,
                ),
                tr("count it again if pieces moved after it was counted"),
            )
    desk.stop_at_errors()
    return differences(connection, read.counted, prices)


def _tell(
    desk: Desk, read: Counts, found: Sequence[Difference], changed: Sequence[Changed], post: bool
) -> Exit:
    from panewright.io.numbers_text import money, square_metres

    stranded = [sheet for one in changed for sheet in one.stranded]
    off = [d for d in found if d.pieces]
    if desk.as_json:
        out_json(
            {
                "exit_code": int(Exit.LEFT_OVER if stranded and post else Exit.DONE),
                "posted": post,
                "counted": len(found),
                "not_counted": read.left_out,
                "rows": [
                    {
                        "number": d.item.name,
                        "place": d.item.place,
                        "in_rack": d.item.balance.on_hand,
                        "counted": d.counted,
                        "difference": d.pieces,
                        "area_m2": square_metres(d.area2),
                        "worth": money(d.worth),
                        "reserved_beyond": d.lost,
                    }
                    for d in found
                ],
                "difference_m2": square_metres(sum(d.area2 for d in found)),
                "difference_worth": money(sum(d.worth for d in found)),
                "without_glass": sheets_json(stranded),
            }
        )
    else:
        if off:
            out(_table(desk, off))
        out(
            tr_count(
                "{count} counted, {same} of them as the store says; {left} rows without a count",
                "{count} counted, {same} of them as the store says; {left} rows without a count",
                len(found),
                same=len(found) - len(off),
                left=read.left_out,
            )
        )
        if post:
            out(tr("The counts are set down."))
        else:
            out(tr("Nothing is changed yet; --post sets the counts down."))
    for one in changed:
        say_changed(one, done=post)
    return Exit.LEFT_OVER if stranded and post else Exit.DONE


def _table(desk: Desk, off: Sequence[Difference]) -> str:
    from panewright.cli.tables import table
    from panewright.io.numbers_text import said_metres
    from panewright.nesting.units import show_money, show_size

    rows = [
        [
            d.item.place,
            d.item.name,
            d.item.glass,
            show_size(d.item.width, d.item.height),
            str(d.item.balance.on_hand),
            str(d.counted),
            f"{d.pieces:+d}",
            said_metres(d.area2),
            show_money(d.worth),
        ]
        for d in off
    ]
    rows.append(
        [
            "",
            tr("total"),
            "",
            "",
            str(sum(d.item.balance.on_hand for d in off)),
            str(sum(d.counted for d in off)),
            f"{sum(d.pieces for d in off):+d}",
            said_metres(sum(d.area2 for d in off)),
            show_money(sum(d.worth for d in off), desk.shop.currency),
        ]
    )
    headings = [
        tr("place"),
        tr("number"),
        tr("glass"),
        tr("size"),
        tr("in the rack"),
        tr("counted"),
        tr("difference"),
        tr("m2"),
        tr("worth"),
    ]
    return table(tr("Differences"), headings, rows, left=4)
