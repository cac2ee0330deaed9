"""`panewright stock withdraw`: a plan gives its glass back."""

from __future__ import annotations

import click

from panewright.cli.failures import Exit
from panewright.cli.output import out, out_json
from panewright.cli.stock_options import Desk, a_word, at_the_store, known_plan, say_without, sheets_json
from panewright.nesting.text import tr


@click.command("withdraw", short_help="Let a plan give back what it has taken and not cut.")
@click.argument("name", metavar="ID", callback=a_word(20))
@at_the_store(changes=True)
def command(desk: Desk, name: str) -> Exit:
    """Let the plan of this ID give back the glass that is not cut; what is cut stays cut.

    Sheets of other plans that waited for its offcuts are without glass then: they are named, and the exit code is 1.

    \b
    Example:
      panewright stock withdraw Q7K2-9DMX --why "order cancelled"
    """
    from panewright.io.store.commit import withdraw_plan

    with desk.store().writing() as connection:
        plan = known_plan(connection, name)
        stranded = withdraw_plan(connection, plan, desk.because())
    if desk.as_json:
        code = Exit.LEFT_OVER if stranded else Exit.DONE
        out_json({"exit_code": int(code), "plan": plan, "without_glass": sheets_json(stranded)})
    else:
        out(tr("Plan {plan} is withdrawn; what it had reserved is free.", plan=plan))
    return say_without(stranded)
