"""`panewright stock list`: what is in the racks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import (
    Desk,
    at_the_store,
    day_option,
    glass_option,
    kind_option,
    place_option,
)
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.io.store.items import Item
    from panewright.io.store.rack import SizeRow
    from panewright.io.store.valuing import Prices


@click.command("list", short_help="Show what is in the racks, by size, case and offcut.")
@glass_option
@kind_option
@place_option
@day_option
@at_the_store()
def command(desk: Desk, glass: str | None, kind: str | None, place: str | None, day: date | None) -> Exit:
    """Show what is in the racks: sheets by size and by case, and offcuts, the oldest first.

    Free is what no plan has taken; to buy is what open plans wait for. An offcut is expected while its sheet is not
    cut. Set aside is what has a flaw of which nobody said where it lies; no plan takes it.

    \b
    Example:
      panewright stock list
      panewright stock list --glass clear-10 --kind offcut
    """
    from panewright.io.store.rack import by_size, in_racks, is_of, sheets_to_buy
    from panewright.io.store.valuing import Prices

    with desk.store().reading() as connection:
        every = in_racks(connection)
        items = in_racks(connection, glass=glass, kind=kind, place=place) if glass or kind or place else every
        waiting = {} if place else sheets_to_buy(connection)
    prices = Prices(desk.shop, every, day or desk.today)
    to_buy = {} if kind == "offcut" else {k: n for k, n in waiting.items() if is_of(k[0], glass)}
    sizes = by_size(items, to_buy)
    cases = [i for i in items if not i.is_offcut]
    offcuts = sorted((i for i in items if i.is_offcut), key=lambda i: (i.since, i.key))
    if desk.as_json:
        out_json(
            {
                "exit_code": int(Exit.DONE),
                "day": (day or desk.today).isoformat(),
                "sizes": [_size_json(s) for s in sizes],
                "cases": [item_json(i, prices) for i in cases],
                "offcuts": [item_json(i, prices) for i in offcuts],
            }
        )
        return Exit.DONE
    parts = []
    if sizes:
        parts += [_sizes(sizes), _cases(cases)] if cases else [_sizes(sizes)]
    if offcuts:
        parts.append(_offcuts(offcuts, prices))
    out("\n\n".join(parts) if parts else tr("There is nothing of this in the racks."))
    return Exit.DONE


def state_of(one: Item) -> str:
    """How an offcut or case stands, in a few words."""
    if one.set_aside:
        return tr("set aside")
    if one.balance.expected:
        return tr("expected, reserved") if one.balance.reserved else tr("expected")
    if not one.balance.free:
        return tr("reserved") if one.balance.on_hand else tr("gone")
    return tr("free")


def _sizes(rows: Sequence[SizeRow]) -> str:
    from panewright.cli.tables import table
    from panewright.nesting.units import show_size

    headings = [
        tr("glass"),
        tr("size"),
        tr("cases"),
        tr("in the rack"),
        tr("reserved"),
        tr("free"),
        tr("to buy"),
    ]
    cells = [
        [
            r.glass,
            show_size(r.width, r.height),
            *(str(n) if n else "-" for n in (r.cases, r.on_hand, r.reserved, r.free, r.to_buy)),
        ]
        for r in rows
    ]
    return table(tr("Sheets by size"), headings, cells, left=2)


def _cases(cases: Sequence[Item]) -> str:
    from panewright.cli.tables import table
    from panewright.nesting.units import show, show_money, show_size

    more = _columns(cases)
    headings = [
        tr("case"),
        tr("glass"),
        tr("size"),
        tr("place"),
        tr("in the rack"),
        tr("reserved"),
        tr("free"),
        tr("price"),
        tr("measured"),
        tr("since"),
        tr("supplier"),
        tr("note"),
        *(title for title, _ in more),
    ]
    cells = [
        [
            i.name,
            i.glass,
            show_size(i.width, i.height),
            i.place,
            str(i.balance.on_hand),
            str(i.balance.reserved),
            tr("set aside") if i.set_aside else str(i.balance.free),
            "" if i.price is None else show_money(i.price),
            "" if i.measured is None else show(i.measured),
            i.since.isoformat(),
            i.supplier,
            i.note,
            *_more(i, more),
        ]
        for i in sorted(cases, key=lambda i: (i.glass, i.width * i.height, i.width, i.key))
    ]
    words = (9, 10, 11, *(12 + k for k in range(len(more))))
    return table(tr("Cases"), headings, cells, left=4, words=words, wrap=True)


def _columns(items: Sequence[Item]) -> list[tuple[str, Callable[[Item], str]]]:
    """Headings and cells of columns that stand only where there is something in them."""
    from panewright.cli.stock_flaw import flaws_words

    out: list[tuple[str, Callable[[Item], str]]] = []
    if any(flaws_words(i) for i in items):
        out.append((tr("flaws"), flaws_words))
    if any(i.take is not None for i in items):
        out.append((tr("take"), lambda i: "" if i.take is None else str(i.take)))
    return out


def _more(one: Item, more: Sequence[tuple[str, Callable[[Item], str]]]) -> list[str]:
    return [cell(one) for _, cell in more]


def _offcuts(offcuts: Sequence[Item], prices: Prices) -> str:
    from panewright.cli.tables import table
    from panewright.io.numbers_text import said_metres
    from panewright.nesting.units import show_money, show_size

    more = _columns(offcuts)
    headings = [
        tr("offcut"),
        tr("glass"),
        tr("size"),
        tr("raw sides"),
        tr("place"),
        tr("state"),
        tr("m2"),
        tr("days"),
        tr("worth"),
        tr("note"),
        *(title for title, _ in more),
    ]
    cells = [
        [
            i.name,
            i.glass,
            show_size(i.width, i.height),
            " ".join(tr(side.value) for side in i.raw),
            i.place,
            state_of(i),
            said_metres(2 * i.width * i.height),
            str(prices.age(i)),
            show_money(prices.of(i).each),
            i.note,
            *_more(i, more),
        ]
        for i in offcuts
    ]
    words = (9, *(10 + k for k in range(len(more))))
    return table(tr("Offcuts, the oldest first"), headings, cells, left=6, words=words, wrap=True)


def _size_json(row: SizeRow) -> dict[str, object]:
    from panewright.io.numbers_text import length

    return {
        "stock": row.name,
        "glass": row.glass,
        "width": length(row.width),
        "height": length(row.height),
        "cases": row.cases,
        "in_rack": row.on_hand,
        "reserved": row.reserved,
        "free": row.free,
        "to_buy": row.to_buy,
    }


def item_json(one: Item, prices: Prices) -> dict[str, object]:
    """A case or offcut, for programs; lengths in mm."""
    from panewright.cli.stock_flaw import flaws_json
    from panewright.io.numbers_text import length, money

    value = prices.of(one)
    return {
        "number": one.name,
        "kind": one.kind,
        "glass": one.glass,
        "width": length(one.width),
        "height": length(one.height),
        "raw": [side.value for side in one.raw],
        "place": one.place,
        "in_rack": one.balance.on_hand,
        "reserved": one.balance.reserved,
        "free": 0 if one.set_aside else one.balance.free,
        "expected": one.balance.expected,
        "since": one.since.isoformat(),
        "days": prices.age(one),
        "price": None if one.price is None else money(one.price),
        "worth": money(value.each),
        "worth_by": value.basis.value,
        "measured": None if one.measured is None else length(one.measured),
        "supplier": one.supplier,
        "note": one.note,
        "made_by": None if one.made_by is None else {"plan": one.made_by[0], "sheet": one.made_by[1]},
        "flaws": flaws_json(one.flaws),
        "take": one.take,
    }
