"""`panewright waste`: what was wasted in a period, what of it no plan avoids, and what it cost whom."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.from_store import now
from panewright.cli.output import err, out, out_json
from panewright.cli.stock_options import glass_option, store_option
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.io.problems import Problems
    from panewright.io.waste_data import By, WasteOver
    from panewright.nesting.shop import Shop

WEEKS = 8
"""Weeks of the period where none is given, that of today with them."""
MOST_ORDERS = 20
"""Rows of a table on the screen."""


@click.command(
    "waste", short_help="Waste of a period: planned and recorded, by week, glass, kind, size, order."
)
@click.argument("folders", nargs=-1, type=options.file_path, metavar="[FOLDER]...")
@click.option(
    "--from",
    "first",
    callback=options.read_day,
    metavar="DAY",
    help="The first day; default: a Monday, so that 8 weeks are told. With folders: all days of their plans.",
)
@click.option("--to", "last", callback=options.read_day, metavar="DAY", help="The last day; default: today.")
@click.option(
    "--by",
    type=click.Choice(["week", "month"]),
    default="week",
    show_default=True,
    help="What the period is told by.",
)
@glass_option
@store_option
@options.shop_option
@click.option(
    "--out",
    "out_path",
    type=options.file_path,
    metavar="DIR",
    help="Folder for the report as XLSX, HTML, PDF, JSON.",
)
@click.option("--replace", is_flag=True, help="Replace an earlier report in the out folder.")
@options.json_option
def command(
    folders: tuple[Path, ...],
    first: date | None,
    last: date | None,
    by: By,
    glass: str | None,
    stock: str | None,
    shop_path: Path | None,
    out_path: Path | None,
    replace: bool,
    as_json: bool,
) -> None:
    """Tell what was wasted, and what of it better plans could have saved.

    Of every sheet that was planned for the period or cut in it: panels, spares, what broke, trim, cullet and
    offcuts; what no plan avoids, by the lower bounds, and what the plans cost above them; what of the cost falls to
    which order and kind of tank, for pricing. From the stock store; without one from FOLDERS with a plan.json and
    the records beside it.

    \b
    Example:
      panewright waste
      panewright waste --from 2027-01-01 --to 2027-03-31 --by month --out first-quarter
      panewright waste week-10 week-11
    """
    from panewright.io.problems import Problems
    from panewright.nesting.units import use_style

    if folders and stock is not None:
        raise click.UsageError(tr("give folders or --stock, not both"))
    if replace and out_path is None:
        raise click.UsageError(tr("give --replace together with --out"))
    period = _period(first, last, bare=bool(folders))
    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    use_style(shop.length_style)
    if out_path is not None:
        from panewright.io.report.files import report_folder

        report_folder(out_path, replace=replace).check()
    found = None
    try:
        if not problems.error_count:
            found = (
                _of_folders(folders, shop, problems, period, by)
                if folders
                else _of_store(stock, shop, period, by)
            )
    except Failure as error:
        if as_json:
            out_json({"exit_code": int(error.code), "error": error.format_message()})
        raise
    for line in problems.lines():
        err(line)
    if found is None:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        raise Failure(tr("errors: {count}; nothing was added up", count=problems.error_count), Exit.INPUT)
    if glass is not None:
        from panewright.io.waste_data import only_glass

        found = only_glass(found, glass)
    _say(found, shop, out_path, replace=replace, as_json=as_json)


def _period(first: date | None, last: date | None, *, bare: bool) -> tuple[date, date] | None:
    """The days that are looked at; None where folders are given and no day."""
    from panewright.nesting.demand.weeks import monday, week_of

    if bare and first is None and last is None:
        return None
    end = last or now().date()
    start = first or monday(week_of(end) - WEEKS + 1)
    if end < start:
        if last is None:
            raise click.UsageError(tr("--from lies after today; give --to too"))
        raise click.UsageError(tr("--to lies before --from"))
    return start, end


def _of_folders(
    folders: tuple[Path, ...], shop: Shop, problems: Problems, period: tuple[date, date] | None, by: By
) -> WasteOver | None:
    from panewright.io.waste_folders import waste_of_folders

    return waste_of_folders(folders, shop, problems, period=period, by=by)


def _of_store(stock: str | None, shop: Shop, period: tuple[date, date] | None, by: By) -> WasteOver:
    from panewright.cli.recording import opened
    from panewright.io.store.address import found_address
    from panewright.io.store.waste_rows import known_days, waste_over
    from panewright.io.waste_data import days_of

    assert period is not None
    if stock is None and found_address() is None:
        raise Failure(
            tr("there is no stock store here; give --stock stock.db, or folders with plans"), Exit.USAGE
        )
    with opened(stock) as connection:
        known = known_days(connection)
        if known is None:
            raise Failure(
                tr(
                    "the store has no plan yet, so nothing can be told of waste; `panewright plan --commit` takes a "
                    "plan into it, or give folders with plans"
                ),
                Exit.USAGE,
            )
        found = waste_over(connection, days_of(*period, by), shop)
    if found.is_empty:
        err(
            tr(
                "plans were committed and sheets cut from {first} to {last}; choose days with --from and --to",
                first=known[0].isoformat(),
                last=known[1].isoformat(),
            )
        )
    return found


def _say(found: WasteOver, shop: Shop, out_path: Path | None, *, replace: bool, as_json: bool) -> None:
    from panewright.cli.report_screen import report_screen
    from panewright.io.problems import shown
    from panewright.io.waste_json import waste_json
    from panewright.io.waste_report import waste_report

    report = waste_report(found)
    files: list[str] = []
    if found.is_empty:
        for note in found.notes:
            err(shown(note, 500))
        err(tr("Nothing was planned, cut, kept or broken ({days}).", days=report.about))
    elif out_path is not None:
        from panewright.io.report.files import write_report

        files = write_report(report, out_path, shop, replace=replace)
    if as_json:
        out_json({"exit_code": int(Exit.DONE), **waste_json(found), "files": files})
        return
    if not found.is_empty:
        out(report_screen(report, most=MOST_ORDERS))
    if files:
        out("")
        out(tr("Written to {folder}: {files}.", folder=shown(out_path, 300), files=", ".join(files)))
