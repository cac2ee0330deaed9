"""`panewright stock reserve`: a plan file takes its glass after the fact."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import Desk, at_the_store, say_without, sheets_json
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.store.taken import Taken
    from panewright.nesting.plan import Plan


@click.command("reserve", short_help="Let a plan take its glass (commit it after the fact).")
@click.argument("path", metavar="PLAN", type=options.file_path)
@at_the_store(changes=True)
def command(desk: Desk, path: Path) -> Exit:
    """Let a PLAN, a plan file or a folder with a plan.json, take the glass that it uses.

    Every sheet is reserved in its case, every offcut that the plan will leave is expected. The plan must pass its
    check, and nothing is reserved unless all of it is there; sheets that the plan says are to be bought are waited for.

    \b
    Example:
      panewright stock reserve week-10
    """
    from panewright.io.plan_check import check_file
    from panewright.io.problems import shown
    from panewright.io.store.commit import commit_plan
    from panewright.io.store.errors import NotTaken

    checked = check_file(path)
    if checked.violations:
        raise Failure(
            tr(
                "{file}: the plan does not pass its check ({first}); it takes no glass",
                file=shown(path, 300),
                first=shown(str(checked.violations[0]), 200),
            ),
            Exit.INPUT,
        )
    try:
        with desk.store().writing() as connection:
            taken = commit_plan(connection, checked.plan, desk.because())
    except NotTaken:
        err(tr("plan its lists again on what is there: panewright plan ... --stock STORE --commit"))
        raise
    _tell(desk, taken, checked.plan)
    return say_without(_without(taken))


def _without(taken: Taken) -> list[tuple[str, int]]:
    return [*taken.stranded, *((taken.plan, number) for number in taken.without)]


def _tell(desk: Desk, taken: Taken, plan: Plan) -> None:
    from panewright.cli.stock_words import state_word
    from panewright.cli.tables import table
    from panewright.nesting.ledger import SheetState

    if desk.as_json:
        out_json(
            {
                "exit_code": int(Exit.LEFT_OVER if _without(taken) else Exit.DONE),
                "plan": taken.plan,
                "again": taken.again,
                "reserved": [{"sheet": n, "from": name} for n, name in sorted(taken.reserved.items())],
                "to_buy": list(taken.to_buy),
                "waits_for": [
                    {"sheet": n, "plan": p, "after_sheet": number}
                    for n, (p, number) in sorted(taken.waits_for.items())
                ],
                "without_glass": sheets_json(_without(taken)),
            }
        )
        return
    if taken.again:
        out(tr("Plan {plan} has taken its glass before; nothing is changed.", plan=taken.plan))
        return
    rows = []
    for layout in plan.layouts:
        number = layout.number
        if number in taken.waits_for:
            other, sheet = taken.waits_for[number]
            state = tr("after sheet {number} of plan {plan}", number=sheet, plan=other)
        elif number in taken.reserved:
            state = state_word(SheetState.RESERVED)
        else:
            state = state_word(SheetState.TO_BUY if number in taken.to_buy else SheetState.CUT)
        rows.append([str(number), layout.stock, taken.reserved.get(number, ""), state])
    headings = [tr("sheet"), tr("stock"), tr("case or offcut"), tr("state")]
    title = tr_count(
        "Plan {plan}: {count} sheet reserved",
        "Plan {plan}: {count} sheets reserved",
        len(taken.reserved),
        plan=taken.plan,
    )
    out(table(title, headings, rows, left=4))
