"""`panewright shop`: write a shop file to fill in, or check one."""

from __future__ import annotations

from pathlib import Path

import click

from panewright.cli import options
from panewright.cli.failures import Exit, writing
from panewright.cli.output import err, out, out_json
from panewright.nesting.text import tr

_file = click.argument("path", metavar="[FILE]", type=options.file_path, default=Path(options.SHOP_NAME))


@click.group("shop")
def command() -> None:
    """Write a shop file to fill in, check one, or get its times from cuts that were timed.

    \b
    Example:
      panewright shop write
      panewright shop check
      panewright shop times week-10 timed.csv
    """


@command.command("write", short_help="Write every setting with its value and its source.")
@_file
@click.option("--replace", is_flag=True, help="Replace the file if it is there.")
def write(path: Path, replace: bool) -> None:
    """Write every setting with its built-in value and its source (default: shop.toml).

    \b
    Example:
      panewright shop write
    """
    from panewright.io.shop_file import write_shop

    with writing(path):
        write_shop(path, replace=replace)
    err(tr("wrote {path}: put in your own stock sizes, prices and rules", path=path))


@command.command("check", short_help="Say what is wrong with a shop file.")
@_file
@options.json_option
@click.pass_context
def check(ctx: click.Context, path: Path, as_json: bool) -> None:
    """Check a shop file, or say what is wrong with it (default: shop.toml).

    \b
    Example:
      panewright shop check
      panewright shop check monday.toml --json
    """
    from panewright.cli.language import of_the_shop
    from panewright.io.problems import Problems
    from panewright.io.shop_file import read_shop

    problems = Problems()
    shop = read_shop(path, problems, speak=of_the_shop)
    if as_json:
        glasses = shop.glass_keys() if not problems else []
        out_json({"file": str(path), **problems.to_json(), "glasses": glasses})
    else:
        for line in problems.lines():
            err(line)
        if not problems:
            out(
                tr(
                    "{path}: {glasses} glasses, {sizes} stock sizes, all settings in range",
                    path=path,
                    glasses=len(shop.glass_keys()),
                    sizes=len(shop.stock_sizes),
                )
            )
    ctx.exit(Exit.INPUT if problems else Exit.DONE)


@command.command("times", short_help="The times of [table] from ten cuts that were timed.")
@click.argument("plan_path", metavar="PLAN", type=options.file_path)
@click.argument("times_path", metavar="TIMES", type=options.file_path)
@options.shop_option
@options.json_option
@click.pass_context
def times(
    ctx: click.Context, plan_path: Path, times_path: Path, shop_path: Path | None, as_json: bool
) -> None:
    """Fit the times of the shop file to a list TIMES of timed cuts of PLAN.

    TIMES has the columns sheet, step and seconds, from the end of the step before to the end of this one;
    ten cuts at least. All times are scaled by one factor; the lines for the shop file go to stdout.

    \b
    Example:
      panewright shop times week-10 timed.csv >> shop-new.toml
    """
    from panewright.io.numbers_text import decimal
    from panewright.io.plan_check import check_file
    from panewright.io.problems import Problems
    from panewright.io.shop_table import rates_toml
    from panewright.io.time_list import read_times
    from panewright.nesting.sequencing.calibrate import calibrated

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    plan = check_file(plan_path).plan
    timed = read_times(times_path, plan, shop, problems)
    for line in problems.lines():
        err(line)
    if problems:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        ctx.exit(Exit.INPUT)
    found = calibrated(plan, timed, shop.work.rates, shop.lifts)
    if as_json:
        out_json(
            {
                "cuts": len(timed),
                "measured_seconds": decimal(found.measured, 3),
                "modelled_seconds": decimal(found.modelled, 3),
                "factor": decimal(round(found.factor * 1000), 3),
                "table": rates_toml(found.rates).splitlines()[1:],
            }
        )
        return
    err(
        tr(
            "{count} cuts took {measured} s, modelled {modelled} s; put these lines into the shop file:",
            count=len(timed),
            measured=found.measured / 1000,
            modelled=found.modelled / 1000,
        )
    )
    out(rates_toml(found.rates))
