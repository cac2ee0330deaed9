"""`panewright day`: what to cut today, where it waits, and what is late."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure, reason_of
from panewright.cli.output import err, out, out_json
from panewright.cli.sheet_numbers import numbers_in_order
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panewright.nesting.plan import Plan


def _done(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[str, int], ...]:
    """Plan ("" where it is not named) and number of every sheet in texts such as ``3,1-2``, as they stand."""
    out = []
    for text in value:
        plan, colon, numbers = text.rpartition(":")
        wrong = tr("write sheet numbers as in 3,1-2, with several plans as in Q7K2-9DMX:3,1-2")
        if colon and not plan.strip():
            raise click.BadParameter(wrong, ctx, parameter)
        out += [(plan.strip(), number) for number in numbers_in_order(numbers, ctx, parameter, wrong)]
    return tuple(out)


@click.command("day")
@click.argument("plan_paths", nargs=-1, required=True, metavar="PLAN...", type=options.file_path)
@click.option("--on", "on", callback=options.read_day, required=True, metavar="DAY", help="The cutting day.")
@options.shop_option
@options.out_option()
@click.option(
    "--done",
    "done",
    multiple=True,
    callback=_done,
    metavar="NUMBERS",
    help="Sheets that are cut already besides those that are recorded, as in 3,1-2, in the order in which they were: "
    "every order keeps its place on the racks. With several plans as in Q7K2-9DMX:3,1-2; may be given again.",
)
@click.option(
    "--stock",
    "stock",
    metavar="FILE|URL",
    help="The stock store, which knows what is cut.  [default: what PANEWRIGHT_STOCK names, else stock.db in the "
    "working folder, if it is there]",
)
@click.option(
    "--bought",
    "bought",
    callback=options.read_day,
    metavar="DAY",
    help="Day on which the sheets to buy were ordered; they are here after the days that the shop file gives.  "
    "[default: that of --on]",
)
@click.option("--replace", is_flag=True, help="Replace the lists of a day in the out folder.")
@options.print_option
@options.json_option
@click.pass_context
def command(
    ctx: click.Context,
    plan_paths: tuple[Path, ...],
    on: date,
    shop_path: Path | None,
    out_path: Path,
    done: tuple[tuple[str, int], ...],
    stock: str | None,
    bought: date | None,
    replace: bool,
    printed: bool,
    as_json: bool,
) -> None:
    """Say what is cut on a day from PLANs, plan files or folders with a plan.json.

    Sheets are put in an order in which each order is cut by its due day and few orders wait on the racks, and are
    given days by the hours of the table and the metres of the edging line; a sheet that is cut from an offcut comes
    after the one that leaves it. What is cut already is known from `panewright record`: the stock store and the
    record files beside the plans. The plans stay as they are. Lists by sheet and by order, for the edging line and
    for drill, saw and water jet are written to --out. The exit code is 1 where an order is late, a panel is on no
    sheet, or a sheet waits for an offcut that none of the plans leaves.

    \b
    Example:
      panewright day week-10 --on 2027-03-08 --out monday
      panewright record cut week-10 3,1-2
      panewright day week-10 --on 2027-03-09 --out tuesday
    """
    from panewright.cli.day_records import recorded
    from panewright.cli.day_tables import day_screen
    from panewright.io.day_files import day_files, day_folder
    from panewright.io.day_json import day_json
    from panewright.io.out_folder import OutFolderRefused
    from panewright.io.problems import Problems
    from panewright.nesting.day.day_plan import plan_day
    from panewright.nesting.errors import NestingError
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    for line in problems.lines():
        err(line)
    if problems:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        err(tr("errors: {count}; nothing was written", count=problems.error_count))
        ctx.exit(Exit.INPUT)
    folder = day_folder(out_path, replace=replace)
    try:
        folder.check()
        plans = _read(plan_paths)
        known = recorded(plan_paths, plans, stock)
        cut = [*known.done, *_keys(done, plans)]
        day = plan_day(plans, shop, on, done=cut, bought=bought, makers=known.makers)
    except (Failure, OutFolderRefused, NestingError, OSError) as error:
        if as_json:
            reason = error.format_message() if isinstance(error, Failure) else reason_of(error)
            code = Exit.USAGE if isinstance(error, OutFolderRefused) else Exit.INPUT
            out_json({"exit_code": int(code), "error": reason})
        raise
    data = day_json(day, shop)
    code = Exit.LEFT_OVER if day.late or day.unplaced or day.waiting else Exit.DONE
    files = day_files(day, shop, data, printed=printed)
    folder.write(files.items())
    if as_json:
        out_json({"exit_code": int(code), "out": str(out_path), "files": sorted(files), **data})
    else:
        out(day_screen(day, shop, out_path))
    ctx.exit(code)


def _read(paths: Sequence[Path]) -> list[Plan]:
    """The plans; one that its check refuses is not cut."""
    from panewright.io.plan_check import check_file
    from panewright.io.problems import shown

    plans: list[Plan] = []
    for path in paths:
        checked = check_file(path)
        if checked.violations:
            raise Failure(
                tr(
                    "{file}: the plan does not pass its check ({first}); do not cut after it",
                    file=shown(path, 300),
                    first=shown(str(checked.violations[0]), 200),
                ),
                Exit.INPUT,
            )
        if checked.plan.id in {plan.id for plan in plans}:
            raise click.UsageError(tr("plan {plan} is given twice", plan=shown(checked.plan.id, 20)))
        plans.append(checked.plan)
    return plans


def _keys(done: Sequence[tuple[str, int]], plans: Sequence[Plan]) -> list[tuple[str, int]]:
    """Sheets that are cut, with the plan of each."""
    ids = [plan.id for plan in plans]
    out = []
    for plan, number in done:
        if not plan and len(plans) > 1:
            raise click.UsageError(
                tr(
                    "say of which plan the sheets are cut, as in --done {plan}:{number}",
                    plan=ids[0],
                    number=number,
                )
            )
        if plan and plan not in ids:
            raise click.UsageError(
                tr("plan {plan} is not among those given: {ids}", plan=plan[:40], ids=", ".join(ids))
            )
        out.append((plan or ids[0], number))
    return out
