"""`panewright stock plans`: the plans that have taken glass."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, at_the_store
from panewright.nesting.text import tr


@click.command("plans", short_help="Show the plans that have taken glass, and how far they are.")
@click.option(
    "--all",
    "every",
    is_flag=True,
    help="Those that are wholly cut, withdrawn or followed by others too; the newest 200.",
)
@at_the_store()
def command(desk: Desk, every: bool) -> Exit:
    """Show the committed plans with sheets to cut, the newest first, and their sheets by state.

    \b
    Example:
      panewright stock plans
    """
    from panewright.cli.stock_words import state_word
    from panewright.cli.tables import table
    from panewright.io.store.plan_lists import committed_plans
    from panewright.nesting.ledger import SheetState

    with desk.store().reading() as connection:
        found = committed_plans(connection, every=every)
    if desk.as_json:
        rows_json = [
            {
                "plan": p.plan,
                "state": p.state.value,
                "committed": p.at.isoformat(),
                "who": p.who,
                "sheets": {state.value: p.sheets.get(state, 0) for state in SheetState},
            }
            for p in found
        ]
        out_json({"exit_code": int(Exit.DONE), "plans": rows_json})
        return Exit.DONE
    if not found:
        out(tr("No plan has taken glass."))
        return Exit.DONE
    states = [s for s in SheetState if s is not SheetState.RELEASED or every]
    rows = [
        [
            p.plan,
            tr(p.state.value),
            p.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            p.who,
            *(str(p.sheets[s]) if s in p.sheets else "-" for s in states),
        ]
        for p in found
    ]
    headings = [tr("plan"), tr("state"), tr("committed"), tr("who"), *map(state_word, states)]
    out(table(tr("Plans, the newest first; sheets by state"), headings, rows, left=4))
    for p in found:
        if p.sheets.get(SheetState.WITHOUT_GLASS):
            out(tr("Plan {plan} has sheets without glass: panewright remake {plan}", plan=p.plan))
    return Exit.DONE
