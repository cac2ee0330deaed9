"""`panewright stock ordered`: what is on order, what is overdue, how long suppliers took."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, at_the_store, glass_option
from panewright.nesting.text import local_number, tr, tr_count

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panewright.io.store.purchases import LeadTime, Purchase


@click.command("ordered", short_help="Show what is on order and overdue, and how long suppliers took.")
@glass_option
@click.option("--all", "every", is_flag=True, help="What has come or was called off too, the newest first.")
@click.option("--took", is_flag=True, help="How many days suppliers took, by size, of what has wholly come.")
@click.option(
    "--cancel",
    "cancelled",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="NUMBER",
    help="No more of this purchase will come; may be repeated.",
)
@at_the_store(changes=True)
def command(desk: Desk, glass: str | None, every: bool, took: bool, cancelled: tuple[int, ...]) -> Exit:
    """Show the sheets that are on order, those promised first at the top.

    Exit code 1 says that something is overdue.

    \b
    Example:
      panewright stock ordered
      panewright stock ordered --cancel 7 --why "the supplier is sold out"
      panewright stock ordered --took
    """
    from panewright.io.store.purchases import cancel, lead_times, purchases

    store = desk.store()
    dropped: list[Purchase] = []
    if cancelled:
        with store.writing() as connection:
            dropped = [cancel(connection, number, desk.because()) for number in dict.fromkeys(cancelled)]
    with store.reading() as connection:
        found = purchases(connection, every=every, glass=glass)
        times = lead_times(connection) if took else {}
    late = [p for p in found if p.to_come and p.promised < desk.today]
    code = Exit.LEFT_OVER if late else Exit.DONE
    if desk.as_json:
        out_json(_json(code, found, dropped, times, took))
        return code
    title = tr("Purchases, the newest first") if every else tr("On order")
    _say(desk, title, found, dropped, late)
    if took:
        _say_times(times)
    return code


def _json(
    code: Exit,
    found: list[Purchase],
    dropped: list[Purchase],
    times: Mapping[tuple[str, str], LeadTime],
    took: bool,
) -> dict[str, object]:
    from panewright.cli.purchase_words import purchase_json
    from panewright.io.numbers_text import Raw

    said: dict[str, object] = {
        "exit_code": int(code),
        "ordered": [purchase_json(p) for p in found],
        "cancelled": [p.key for p in dropped],
    }
    if took:
        said["took"] = [
            {
                "stock": name,
                "supplier": supplier,
                "purchases": t.count,
                "days": Raw(f"{t.mean:.2f}"),
                "spread_days": Raw(f"{t.spread:.2f}"),
            }
            for (name, supplier), t in times.items()
        ]
    return said


def _say(
    desk: Desk, title: str, found: list[Purchase], dropped: list[Purchase], late: list[Purchase]
) -> None:
    from panewright.cli.purchase_words import purchase_table

    for p in dropped:
        out(
            tr_count(
                "Purchase {number} ({name}): {count} sheet will not come",
                "Purchase {number} ({name}): {count} sheets will not come",
                p.to_come,
                number=p.key,
                name=p.name,
            )
        )
    if not found:
        out(tr("Nothing is on order."))
        return
    out(purchase_table(title, found, desk.today))
    if late:
        sheets = sum(p.to_come for p in late)
        out(tr_count("Overdue: {count} sheet", "Overdue: {count} sheets", sheets))


def _say_times(times: Mapping[tuple[str, str], LeadTime]) -> None:
    from panewright.cli.tables import table

    if not times:
        out(tr("No purchase has wholly come yet."))
        return
    rows = [
        [name, supplier, str(t.count), local_number(f"{t.mean:.1f}"), local_number(f"{t.spread:.1f}")]
        for (name, supplier), t in times.items()
    ]
    headings = [tr("stock size"), tr("supplier"), tr("purchases"), tr("days"), tr("give or take")]
    out(table(tr("Days from the order to the last sheet"), headings, rows, left=2))
