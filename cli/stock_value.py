"""`panewright stock value`: what the racks are worth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from panewright.cli.failures import Exit
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import Desk, at_the_store, day_option, glass_option, place_option
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.io.store.valuing import Valued


@click.command("value", short_help="Say what the racks are worth, by glass.")
@glass_option
@place_option
@click.option("--items", "show_items", is_flag=True, help="Show every case and offcut too.")
@day_option
@at_the_store()
def command(desk: Desk, glass: str | None, place: str | None, show_items: bool, day: date | None) -> Exit:
    """Say what is in the racks is worth: sheets at what their case cost, offcuts at their worth by age.

    A case without a price counts by the shop file: the price of its size, else the cheapest price of its glass. What
    is set aside with flaws counts, and is shown apart.

    \b
    Example:
      panewright stock value
      panewright stock value --glass clear --items
    """
    from panewright.io.store.rack import in_racks
    from panewright.io.store.valuing import Basis, Prices

    with desk.store().reading() as connection:
        every = in_racks(connection)
        items = in_racks(connection, glass=glass, place=place) if glass or place else every
    prices = Prices(desk.shop, every, day or desk.today)
    there = prices.valued([i for i in items if i.balance.on_hand])
    unknown = [v for v in there if v.value.basis is Basis.UNKNOWN]
    if unknown:
        err(
            tr(
                "no price is known, and they count as nothing: {names}; give it with `panewright stock adjust`",
                names=", ".join(v.item.name for v in unknown[:5]) + (" ..." if len(unknown) > 5 else ""),
            )
        )
    if desk.as_json:
        out_json(_json(there, day or desk.today, desk.shop.currency))
        return Exit.DONE
    if not there:
        out(tr("There is nothing of this in the racks."))
        return Exit.DONE
    parts = [_by_glass(there, desk.shop.currency)]
    if show_items:
        parts.append(_items(there, desk.shop.currency))
    out("\n\n".join(parts))
    return Exit.DONE


Figures = dict[str, int]


def _figures(found: Sequence[Valued]) -> Figures:
    """Counts, areas (twice) and worths of sheets, offcuts and what is set aside, and the total."""
    out: Figures = defaultdict(int)
    for v in found:
        part = "set_aside" if v.item.set_aside else "offcut" if v.item.is_offcut else "sheet"
        n = v.item.balance.on_hand
        area = 2 * n * v.item.width * v.item.height
        out[f"{part}_pieces"] += n
        out[f"{part}_area2"] += area
        out[f"{part}_worth"] += v.total
        out["total_area2"] += area
        out["total_worth"] += v.total
    return out


def _groups(found: Sequence[Valued]) -> list[tuple[str, Figures]]:
    from panewright.io.store.rack import glass_order

    glasses = sorted({v.item.glass for v in found}, key=glass_order)
    return [(glass, _figures([v for v in found if v.item.glass == glass])) for glass in glasses]


def _by_glass(found: Sequence[Valued], currency: str) -> str:
    from panewright.cli.tables import table
    from panewright.io.numbers_text import said_metres
    from panewright.nesting.units import show_money

    aside = any(v.item.set_aside for v in found)
    parts = ["sheet", "offcut", *(["set_aside"] if aside else [])]
    headings = [tr("glass"), tr("sheets"), tr("m2"), tr("worth"), tr("offcuts"), tr("m2"), tr("worth")]
    if aside:
        headings += [tr("set aside"), tr("m2"), tr("worth")]
    headings += [tr("m2 in all"), tr("worth in all")]
    rows = []
    for name, f in [*_groups(found), (tr("total"), _figures(found))]:
        row = [name]
        for part in parts:
            row += [
                str(f[f"{part}_pieces"]),
                said_metres(f[f"{part}_area2"]),
                show_money(f[f"{part}_worth"]),
            ]
        rows.append([*row, said_metres(f["total_area2"]), show_money(f["total_worth"])])
    return table(tr("What the racks are worth, in {currency}", currency=currency), headings, rows)


def _items(found: Sequence[Valued], currency: str) -> str:
    from panewright.cli.tables import table
    from panewright.nesting.units import show_money, show_size

    rows = [
        [
            v.item.name,
            v.item.glass,
            show_size(v.item.width, v.item.height),
            v.item.place,
            tr(v.value.basis.value),
            str(v.item.balance.on_hand),
            show_money(v.value.each),
            show_money(v.total),
        ]
        for v in sorted(found, key=lambda v: (-v.total, v.item.name))
    ]
    headings = [
        tr("number"),
        tr("glass"),
        tr("size"),
        tr("place"),
        tr("by"),
        tr("pieces"),
        tr("each"),
        tr("worth"),
    ]
    return table(tr("Cases and offcuts, in {currency}", currency=currency), headings, rows, left=5)


def _json(found: Sequence[Valued], day: date, currency: str) -> dict[str, object]:
    from panewright.io.numbers_text import length, money, square_metres

    def figures(f: Figures) -> dict[str, object]:
        out: dict[str, object] = {}
        for part in ("sheet", "offcut", "set_aside"):
            out[f"{part}_pieces"] = f[f"{part}_pieces"]
            out[f"{part}_area_m2"] = square_metres(f[f"{part}_area2"])
            out[f"{part}_worth"] = money(f[f"{part}_worth"])
        return out | {
            "area_m2": square_metres(f["total_area2"]),
            "worth": money(f["total_worth"]),
        }

    return {
        "exit_code": int(Exit.DONE),
        "day": day.isoformat(),
        "currency": currency,
        "total": figures(_figures(found)),
        "by_glass": {glass: figures(f) for glass, f in _groups(found)},
        "items": [
            {
                "number": v.item.name,
                "kind": v.item.kind,
                "glass": v.item.glass,
                "width": length(v.item.width),
                "height": length(v.item.height),
                "pieces": v.item.balance.on_hand,
                "each": money(v.value.each),
                "worth": money(v.total),
                "by": v.value.basis.value,
            }
            for v in found
        ],
    }
