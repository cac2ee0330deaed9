"""`panewright stock fits`: what an offcut is good for, and which offcuts would do for a panel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import (
    Desk,
    a_word,
    at_the_store,
    day_option,
    glass_option,
    place_option,
)
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.store.items import Item
    from panewright.io.store.offcut_uses import Use, WouldDo
    from panewright.io.store.uncut import Wanted
    from panewright.io.store.valuing import Prices
    from panewright.nesting.fits import Fit

SHOWN = 10
"""Rows of an offcut on the screen; the rest is counted."""


@click.command("fits", short_help="Say what offcuts are good for, or which would do for a panel.")
@click.argument("files", nargs=-1, metavar="[FILE...]", type=options.file_path)
@click.option(
    "--offcut",
    "names",
    multiple=True,
    callback=a_word(80),
    metavar="NUMBER",
    help="Only this offcut, taken or not; may be given again.",
)
@click.option(
    "--size",
    "size",
    callback=a_word(60),
    metavar="WIDTHxHEIGHT",
    help="The other way: the offcuts that would do for this cut size of --glass.",
)
@glass_option
@place_option
@click.option("--all", "every", is_flag=True, help=f"Show all panels of each offcut, not the first {SHOWN}.")
@day_option
@at_the_store()
def command(
    desk: Desk,
    files: tuple[Path, ...],
    names: tuple[str, ...],
    size: str | None,
    glass: str | None,
    place: str | None,
    every: bool,
    day: date | None,
) -> Exit:
    """Say which panels could be cut from the free offcuts, those of most area first.

    The panels are those of open committed plans that are not cut yet, or those of FILEs: order lists, plan files or
    folders with a plan.json. Each panel is looked at alone, by the rectangle around its cut outline; a plan may
    cut several from one offcut.

    \b
    Example:
      panewright stock fits --offcut R-118
      panewright stock fits week-11.csv
      panewright stock fits --glass clear-10 --size 600x400
    """
    from panewright.io.store.items import find_item
    from panewright.io.store.offcut_uses import usable_offcuts, uses_of
    from panewright.io.store.rack import in_racks
    from panewright.io.store.uncut import uncut_panels
    from panewright.io.store.valuing import Prices

    if size is not None and (files or names):
        raise click.UsageError(tr("give --size, or files and offcuts"))
    listed = _listed(desk, files)
    with desk.store().reading() as connection:
        items = in_racks(connection)
        named = [find_item(connection, name) for name in dict.fromkeys(names)]
        wanted = listed if files or size is not None else uncut_panels(connection)
    prices = Prices(desk.shop, items, day or desk.today)
    if size is not None:
        return _would_do(desk, items, size, glass, place, prices)
    for one in named:
        if not one.is_offcut:
            raise Failure(tr("{name} is a case of sheets, and no offcut", name=one.name), Exit.INPUT)
    shown = in_racks_of(items, glass, place)
    offcuts = named or usable_offcuts(shown, desk.shop)
    found = [(one, uses_of(one, wanted, desk.shop)) for one in offcuts if desk.shop.has(one.glass)]
    if desk.as_json:
        rows = [{"offcut": one.name, "panels": [_use_json(use) for use in uses]} for one, uses in found]
        out_json({"exit_code": int(Exit.DONE), "panels_looked_at": len(wanted), "offcuts": rows})
        return Exit.DONE
    if not wanted:
        err(tr("There is no panel to look at: no open plan has one that is not cut."))
    if not found:
        err(tr("There is no free offcut of this in the racks."))
    out("\n\n".join(_uses(one, uses, prices, every) for one, uses in found))
    return Exit.DONE


def in_racks_of(items: Sequence[Item], glass: str | None, place: str | None) -> list[Item]:
    """The items of a glass at places that begin alike."""
    from panewright.io.store.rack import is_of

    return [i for i in items if is_of(i.glass, glass) and i.place.startswith(place or "")]


def _listed(desk: Desk, files: Sequence[Path]) -> list[Wanted]:
    """The panels of order lists and plan files."""
    from panewright.io.order_lists import read_orders
    from panewright.io.plan_reader import load
    from panewright.io.store.uncut import Wanted, panels_of_plan

    out: list[Wanted] = []
    for path in files:
        if path.is_dir() or path.name.lower().endswith(".json"):
            out += panels_of_plan(load(path)[0])
        else:
            panels = read_orders([path], desk.shop, desk.problems).panels
            out += [Wanted(panel=panel, source=path.name) for panel in panels]
    desk.stop_at_errors()
    desk.say_problems()
    return out


def _would_do(
    desk: Desk, items: Sequence[Item], size: str, glass: str | None, place: str | None, prices: Prices
) -> Exit:
    from panewright.io.delivery_list import OptionCells
    from panewright.io.store.offcut_uses import usable_offcuts, would_do

    width_text, _, height_text = size.lower().replace("×", "x").partition("x")
    given = {"glass": glass or "", "width": width_text, "height": height_text}
    cells = OptionCells(
        given, {"glass": "--glass", "width": "--size", "height": "--size"}, desk.shop, desk.problems
    )
    key, width, height = cells.glass(), cells.length("width"), cells.length("height")
    desk.stop_at_errors()
    assert key is not None and width is not None and height is not None
    offcuts = usable_offcuts(in_racks_of(items, key[0], place), desk.shop)
    found = would_do(offcuts, key[0], width, height, desk.shop, prices)
    if desk.as_json:
        out_json({"exit_code": int(Exit.DONE), "offcuts": [_would_json(one) for one in found]})
    elif not found:
        err(tr("No free offcut would do."))
    else:
        out(_would_text(found, width, height, prices))
    return Exit.DONE


def left_text(fit: Fit) -> str:
    """The leftovers of a fit that are worth keeping."""
    from panewright.nesting.units import show_size

    return ", ".join(show_size(w, h) for w, h in fit.left) or "-"


def _uses(one: Item, uses: Sequence[Use], prices: Prices, every: bool) -> str:
    from panewright.cli.tables import table
    from panewright.io.numbers_text import said_metres
    from panewright.io.problems import shown
    from panewright.nesting.units import show_money, show_size

    title = tr(
        "{offcut}: {glass}, {size}, {place}, worth {worth}",
        offcut=shown(one.name),
        glass=one.glass,
        size=show_size(one.width, one.height),
        place=shown(one.place) or tr("no place"),
        worth=show_money(prices.of(one).each),
    )
    if not uses:
        return f"{title}\n  {tr('none of these panels')}"
    rows = [
        [
            use.wanted[0].panel.order,
            use.wanted[0].panel.name,
            use.wanted[0].source,
            ", ".join(str(w.sheet) for w in use.wanted if w.sheet is not None) or "-",
            "" if use.wanted[0].panel.due is None else use.wanted[0].panel.due.isoformat(),
            str(len(use.wanted)),
            show_size(use.width, use.height),
            said_metres(2 * use.area),
            left_text(use.fit),
        ]
        for use in (uses if every else uses[:SHOWN])
    ]
    headings = [
        tr("order"),
        tr("panel"),
        tr("plan or list"),
        tr("sheet"),
        tr("due"),
        tr("pieces"),
        tr("cut size"),
        tr("m2"),
        tr("left, worth keeping"),
    ]
    text = table(title, headings, rows, left=5, words=(8,))
    more = len(uses) - len(rows)
    if more:
        text += "\n" + tr_count(
            "  and {count} more panel; --all shows it", "  and {count} more panels; --all shows them", more
        )
    return text


def _would_text(found: Sequence[WouldDo], width: int, height: int, prices: Prices) -> str:
    from panewright.cli.tables import table
    from panewright.nesting.units import show_money, show_size

    rows = [
        [
            one.item.name,
            one.item.place,
            show_size(one.item.width, one.item.height),
            str(prices.age(one.item)),
            show_money(one.worth),
            left_text(one.fit),
        ]
        for one in found
    ]
    title = tr("Offcuts that would do for {size}, the least worth first", size=show_size(width, height))
    headings = [
        tr("offcut"),
        tr("place"),
        tr("size"),
        tr("days"),
        tr("worth"),
        tr("left, worth keeping"),
    ]
    return table(title, headings, rows, left=2, words=(5,))


def _fit_json(fit: Fit) -> dict[str, object]:
    from panewright.io.numbers_text import length

    return {"turned": fit.turned, "left": [[length(w), length(h)] for w, h in fit.left]}


def _use_json(use: Use) -> dict[str, object]:
    from panewright.io.numbers_text import length, square_metres

    first = use.wanted[0].panel
    return {
        "order": first.order,
        "panel": first.name,
        "ids": [w.panel.id for w in use.wanted],
        "source": use.wanted[0].source,
        "sheets": [w.sheet for w in use.wanted],
        "due": None if first.due is None else first.due.isoformat(),
        "width": length(use.width),
        "height": length(use.height),
        "area_m2": square_metres(2 * use.area),
        **_fit_json(use.fit),
    }


def _would_json(one: WouldDo) -> dict[str, object]:
    from panewright.io.numbers_text import length, money

    return {
        "offcut": one.item.name,
        "place": one.item.place,
        "width": length(one.item.width),
        "height": length(one.item.height),
        "worth": money(one.worth),
        **_fit_json(one.fit),
    }
