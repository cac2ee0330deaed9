"""`panewright stock history`: what happened to a case, an offcut or the glass of a plan."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import Desk, a_word, at_the_store, known_plan
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.io.store.history import Moved


@click.command("history", short_help="Show the movements of an item, a plan or a period.")
@click.argument("name", required=False, metavar="[NUMBER]", callback=a_word(80))
@click.option(
    "--plan", "plan", callback=a_word(20), metavar="ID", help="Only what a plan took, and its line."
)
@click.option("--from", "first", callback=options.read_day, metavar="DAY", help="From this day.")
@click.option("--to", "last", callback=options.read_day, metavar="DAY", help="To the end of this day.")
@click.option(
    "--last",
    "most",
    type=click.IntRange(0, 10_000_000),
    default=50,
    show_default=True,
    metavar="N",
    help="The newest so many; 0: all.",
)
@at_the_store()
def command(
    desk: Desk, name: str | None, plan: str | None, first: date | None, last: date | None, most: int
) -> Exit:
    """Show movements, the newest last: of a case or offcut by its NUMBER, of a plan, of a period, or all.

    Days are those of this system's clock; --json gives times in UTC.

    \b
    Example:
      panewright stock history C-0003
      panewright stock history --plan Q7K2-9DMX
      panewright stock history --from 2027-03-01 --to 2027-03-07 --last 0
    """
    from panewright.io.store.history import movements
    from panewright.io.store.items import find_item

    if first is not None and last is not None and last < first:
        raise click.UsageError(tr("the period ends before it begins"))
    with desk.store().reading() as connection:
        one = find_item(connection, name) if name else None
        found = movements(
            connection,
            key=None if one is None else one.key,
            plan=None if plan is None else known_plan(connection, plan),
            since=None if first is None else _begin(first),
            before=None if last is None else _begin(last + timedelta(days=1)),
            most=most,
        )
    if desk.as_json:
        out_json({"exit_code": int(Exit.DONE), "movements": [_json(m) for m in found]})
        return Exit.DONE
    if not found:
        out(tr("There is no movement of this."))
        return Exit.DONE
    if most and len(found) == most:
        err(tr("the newest {count}; --last says how many", count=most))
    out(_table(found))
    return Exit.DONE


def _begin(day: date) -> datetime:
    """The first moment of a day, by the clock of the system."""
    return datetime.combine(day, time()).astimezone()


def _table(found: Sequence[Moved]) -> str:
    from panewright.cli.stock_words import move_word
    from panewright.cli.tables import table
    from panewright.nesting.units import show_size

    rows = [
        [
            m.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            m.name,
            f"{m.glass} {show_size(m.width, m.height)}",
            move_word(m.kind),
            *(f"{n:+d}" if n else "" for n in (m.change.on_hand, m.change.reserved, m.change.expected)),
            m.plan or "",
            "" if m.sheet is None else str(m.sheet),
            m.place or "",
            m.who,
            m.why,
        ]
        for m in found
    ]
    headings = [
        tr("when"),
        tr("number"),
        tr("stock"),
        tr("what"),
        tr("in the rack"),
        tr("reserved"),
        tr("expected"),
        tr("plan"),
        tr("sheet"),
        tr("place"),
        tr("who"),
        tr("why"),
    ]
    return table(tr("Movements, the newest last"), headings, rows, left=4, words=(7, 9, 10, 11), wrap=True)


def _json(m: Moved) -> dict[str, object]:
    from panewright.io.numbers_text import length

    return {
        "id": m.key,
        "at": m.at.astimezone(UTC).isoformat(),
        "what": m.kind.value,
        "number": m.name,
        "glass": m.glass,
        "width": length(m.width),
        "height": length(m.height),
        "in_rack": m.change.on_hand,
        "reserved": m.change.reserved,
        "expected": m.change.expected,
        "plan": m.plan,
        "sheet": m.sheet,
        "panel": m.panel,
        "event": m.event,
        "place": m.place,
        "who": m.who,
        "why": m.why,
    }
