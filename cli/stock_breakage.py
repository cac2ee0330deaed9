"""`panewright stock breakage`: rates from what broke, the loss of a week, and which panels are worth a spare."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import store_option
from panewright.nesting.text import tr


@click.command("breakage", short_help="How often panels break, what it costs, which are worth a spare.")
@click.argument("plan_path", required=False, metavar="[PLAN]", type=options.file_path)
@options.breakage_option
@click.option(
    "--weeks",
    type=click.IntRange(1, 1000),
    metavar="N",
    help="Weeks that the counts span, for the loss of a mean week; default: since the first cut in the store.",
)
@store_option
@options.shop_option
@options.json_option
@click.pass_context
def command(
    ctx: click.Context,
    plan_path: Path | None,
    breakage_path: Path | None,
    weeks: int | None,
    stock: str | None,
    shop_path: Path | None,
    as_json: bool,
) -> None:
    """Say how often panels break by step, glass and size, and what that costs in a mean week.

    With PLAN, a plan file, its folder or its id in the store, also what is expected to break of it, and
    which of its panels are worth a spare. Rates start from the shop file and follow the counts the more
    panels these hold: what is recorded in the stock store, or the list of --breakage in its place.

    \b
    Example:
      panewright stock breakage
      panewright stock breakage --breakage counts.csv --weeks 12
      panewright stock breakage week-10 --breakage counts.csv
    """
    from panewright.cli.breakage_tables import report_text
    from panewright.cli.evidence import evidence
    from panewright.io.breakage_json import report_json
    from panewright.io.plan_check import check_file
    from panewright.io.plan_reader import loads
    from panewright.io.problems import Problems, shown
    from panewright.io.store.address import address_of, found_address
    from panewright.io.store.engine import open_store
    from panewright.io.store.plan_lists import plan_text
    from panewright.nesting.breakage.report import breakage_report
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    text = stock or (found_address() if breakage_path is None else None)
    found = evidence(breakage_path, shop, problems, None if text is None else address_of(text))
    for line in problems.lines():
        err(line)
    if problems:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        ctx.exit(Exit.INPUT)
    plan = None
    if plan_path is not None and text is not None and not plan_path.exists():
        with open_store(text) as store, store.reading() as connection:
            plan = loads(plan_text(connection, str(plan_path)), source=str(plan_path))
    elif plan_path is not None:
        checked = check_file(plan_path)
        if checked.violations:
            raise Failure(
                tr(
                    "{file}: the plan does not pass its check ({first}); do not cut after it",
                    file=shown(plan_path, 300),
                    first=shown(str(checked.violations[0]), 200),
                ),
                Exit.INPUT,
            )
        plan = checked.plan
    report = breakage_report(found.counts, shop, weeks=weeks or found.weeks, plan=plan)
    if as_json:
        out_json({"exit_code": 0, **report_json(report, found.source, found.counts, shop.currency)})
    else:
        out(report_text(report, found, shop.currency))
