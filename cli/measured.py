"""`--measured`: glass that is thicker or thinner than its name, for the panels between walls of tanks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import click

from panewright.io.lengths import BadValue, parse_length
from panewright.io.problems import Problems
from panewright.nesting.shop import Shop, split_key
from panewright.nesting.text import tr
from panewright.nesting.units import show

if TYPE_CHECKING:
    from panewright.cli.from_store import FromStore

FROM_STOCK: Final = "stock"
MOST_OFF: Final = 15
"""Float glass deviates less: 1/2 in stock by 12 % from 12 mm (ASTM C1036), others by at most 7 % (EN 572-2). [%]"""

measured_option = click.option(
    "--measured",
    "measured",
    multiple=True,
    metavar="GLASS=THICKNESS",
    help="Thickness of the sheets as measured, as in clear-10=9.7: panels between walls of tanks follow it. "
    f"`{FROM_STOCK}` takes what the cases in the stock store say. May be given again.",
)


def with_measured(shop: Shop, texts: Sequence[str], store: FromStore | None, problems: Problems) -> Shop:
    """The shop with the thicknesses of a command line; what is wrong with them is collected."""
    found: dict[str, int] = {}
    for text in texts:
        if text.strip().lower() == FROM_STOCK:
            found = {**_of_stock(shop, store, problems), **found}
            continue
        key, _, length = (word.strip() for word in text.partition("="))
        if not shop.has(key):
            problems.add(
                "--measured",
                tr("the shop has no such glass"),
                tr("write GLASS=THICKNESS, as in clear-10=9.7"),
                value=text,
            )
            continue
        try:
            thickness = parse_length(length, shop.list_unit)
        except BadValue as error:
            problems.add("--measured", error.reason, error.remedy, value=text)
            continue
        if _sane(key, thickness, text, problems):
            found[key] = thickness
    if not found:
        return shop
    return replace(shop, tanks=replace(shop.tanks, measured=found))


def _sane(key: str, thickness: int, text: str, problems: Problems) -> bool:
    nominal = split_key(key)[1]
    if 100 * abs(thickness - nominal) <= MOST_OFF * nominal:
        return True
    problems.add(
        "--measured",
        tr("no {glass} is {thickness} thick", glass=key, thickness=show(thickness)),
        tr("measure again, or correct the glass"),
        value=text,
    )
    return False


def _of_stock(shop: Shop, store: FromStore | None, problems: Problems) -> dict[str, int]:
    """The thickness of each glass of which all cases in the racks say the same; others count as nominal."""
    if store is None:
        problems.add(
            "--measured",
            tr("there is no stock store"),
            tr("give --stock stock.db, or write GLASS=THICKNESS"),
            value=FROM_STOCK,
        )
        return {}
    from panewright.io.store.engine import open_store
    from panewright.io.store.errors import StoreError
    from panewright.io.store.items import items_there

    said: dict[str, set[int | None]] = defaultdict(set)
    try:
        with open_store(store.address) as opened, opened.reading() as connection:
            for one in items_there(connection):
                if not one.is_offcut and one.balance.free and shop.has(one.glass):
                    said[one.glass].add(one.measured)
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
    out = {}
    for glass, values in sorted(said.items()):
        whole = sorted(v for v in values if v is not None)
        if len(values) == 1 and whole:
            if _sane(glass, whole[0], FROM_STOCK, problems):
                out[glass] = whole[0]
        elif whole:
            problems.note(
                "--measured",
                tr("the cases of {glass} differ in thickness, or not all are measured", glass=glass),
                tr("it counts as nominal"),
                value=", ".join(show(v) for v in whole),
            )
    return out


def measured_lines(shop: Shop) -> list[str]:
    """What a plan has to say of it."""
    return [
        tr(
            "{glass} counts as {thickness} thick between walls, as measured; its cut sizes fit such sheets alone.",
            glass=key,
            thickness=show(thickness),
        )
        for key, thickness in sorted(shop.tanks.measured.items())
    ]
