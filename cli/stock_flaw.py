"""`panewright stock flaw`: flaws of what is in the racks, found or not there after all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli.failures import Exit
from panewright.cli.flaw_options import drawn_flaws, flaw_options, typed_flaws
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import (
    Desk,
    a_word,
    at_the_store,
    changed_json,
    say_changed,
    say_served,
    sheets_json,
)
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panewright.io.store.items import Item
    from panewright.io.store.marking import Marked
    from panewright.nesting.flaws import Flaw


@click.command("flaw", short_help="Mark flaws on an offcut or on a sheet of a case.")
@click.argument("name", metavar="NUMBER", callback=a_word(80))
@flaw_options
@click.option(
    "--none",
    "none",
    is_flag=True,
    help="After a second look: what was marked before is not there (needs --why).",
)
@at_the_store(changes=True)
def command(
    desk: Desk, name: str, flaws: tuple[str, ...], kinds: tuple[str, ...], drawing: Path | None, none: bool
) -> Exit:
    """Mark flaws on an offcut, or on one sheet of a case, by its NUMBER.

    No panel is planned over a flaw and no cut through one. The sheet of a case gets a number of its own. Flaws add up;
    with --none only those hold that are given with it. Where a plan has taken the piece, its sheet is named and must
    be planned again; the exit code is 1.

    \b
    Example:
      panewright stock flaw C-0003 --flaw 900,400,30,20 --kind scratch
      panewright stock flaw R-118 --drawing R-118.dxf
      panewright stock flaw R-118 --none --why "was dirt"
    """
    from panewright.io.store.items import find_item
    from panewright.io.store.marking import mark_flaws

    if not flaws and drawing is None and not none:
        raise click.UsageError(tr("say what is marked: --flaw, --drawing, or --none"))
    if none and not desk.why:
        raise click.UsageError(tr("say with --why how --none is known"))
    typed = typed_flaws(flaws, kinds, desk.shop.length_style.unit)
    store = desk.store()
    with store.writing() as connection:
        one = find_item(connection, name)
        found = _on_piece(
            desk, one, [*typed, *drawn_flaws(drawing, kinds, one.width, one.height, desk.problems)]
        )
        if none and not one.is_one_piece:
            raise click.UsageError(tr("no sheet of case {name} has flaws; name the flawed sheet", name=name))
        done = mark_flaws(connection, name, found, desk.because(), anew=none)
    return _tell(desk, done)


def _on_piece(desk: Desk, one: Item, flaws: Sequence[Flaw]) -> list[Flaw]:
    """The flaws; leaves where one does not lie on the piece."""
    from panewright.io.flaw_text import outside

    for flaw in flaws:
        reason = outside(flaw, one.width, one.height)
        if reason is not None:
            desk.problems.add(
                "--flaw", reason, tr("give x and y from the lower left corner, then width and height")
            )
    desk.stop_at_errors()
    desk.say_problems()
    return list(flaws)


def _tell(desk: Desk, done: Marked) -> Exit:
    from panewright.io.flaw_words import flaw_words

    one = done.item
    again = Exit.LEFT_OVER if done.replan else Exit.DONE
    lost = done.changed is not None and bool(done.changed.stranded)
    if desk.as_json:
        rest = {} if done.changed is None else changed_json(done.changed)
        out_json(
            {
                "exit_code": int(Exit.LEFT_OVER if lost else again),
                "number": one.name,
                "from_case": done.before.name if done.changed is not None else None,
                "flaws": flaws_json(one.flaws),
                "to_remake": sheets_json(done.replan),
                **rest,
            }
        )
    else:
        if done.changed is not None:
            words = tr("one sheet of case {case} is {name} now, {left} are left", case=done.before.name, name=one.name,
                       left=done.changed.on_hand)  # fmt: skip
            out(words)
        flaws = "; ".join(map(flaw_words, one.flaws))
        out(tr("{name}: {flaws}", name=one.name, flaws=flaws or tr("no flaws")))
    say_served(done.served)
    for plan, number in done.replan:
        err(
            tr(
                "WARNING: plan {plan}: sheet {number} is cut from it; plan it around the flaws: panewright remake {plan}",
                plan=plan,
                number=number,
            )
        )
    return max(again, say_changed(done.changed) if done.changed is not None else Exit.DONE)


def flaws_json(flaws: Sequence[Flaw]) -> list[list[object]]:
    """Flaws for programs: x, y, width and height in mm, and the kind where it is known."""
    from panewright.io.numbers_text import length

    return [[*map(length, f.box), *([f.kind] if f.kind else [])] for f in flaws]


def flaws_words(one: Item) -> str:
    """How many flaws an item has, and of which kinds; empty without any."""
    from panewright.io.flaw_words import kind_word

    kinds = sorted({f.kind for f in one.flaws if f.kind})
    if not one.flaws or one.set_aside:
        return ""
    words = ", ".join(map(kind_word, kinds))
    count = tr_count("{count} flaw", "{count} flaws", len(one.flaws))
    return f"{count}: {words}" if words else count
