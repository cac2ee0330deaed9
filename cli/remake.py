"""`panewright remake`: a plan again after something broke, was cancelled or came in, with the least change."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.nesting.happened import AtStep
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from panewright.cli.remake_told import Told

_SHEET = re.compile(r"[1-9][0-9]{0,5}")
DEFAULT_SECONDS = 5.0


def _works() -> str:
    return ", ".join(step.value for step in AtStep)


def _broken(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[str, AtStep], ...]:
    """Pairs of panel and work from texts such as ``K-204/front/1=edging``; without work it broke at the break."""
    out = []
    for text in value:
        panel, sign, work = (part.strip() for part in text.rpartition("="))
        if not sign:
            panel, work = text.strip(), AtStep.BREAKING.value
        if not panel or work not in {step.value for step in AtStep}:
            raise click.BadParameter(
                tr("write PANEL or PANEL=WORK, as in K-204/front/1=edging; works: {works}", works=_works()),
                ctx,
                parameter,
            )
        out.append((panel, AtStep(work)))
    return tuple(out)


def _after_sheet(ctx: click.Context, parameter: click.Parameter, text: str) -> tuple[int, str]:
    """The sheet and what follows the sign in texts such as ``7=12``."""
    sheet, sign, rest = (part.strip() for part in text.partition("="))
    if not sign or not rest or not _SHEET.fullmatch(sheet):
        raise click.BadParameter(
            tr("write the number of a sheet, =, and the rest, as in 7=12"), ctx, parameter
        )
    return int(sheet), rest


def _half_cut(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[int, tuple[range, ...]], ...]:
    """Sheets and their steps; one number alone means all up to it."""
    out: list[tuple[int, tuple[range, ...]]] = []
    for text in value:
        sheet, steps = _after_sheet(ctx, parameter, text)
        if re.fullmatch(r"[0-9]{1,6}", steps):
            out.append((sheet, (range(1, int(steps) + 1),)))
            continue
        ranges = tuple(_steps(part) for part in steps.split(","))
        if not all(ranges):
            wrong = tr("write SHEET=STEP or SHEET=STEPS, as in 7=12 or 7=1-12,14-25")
            raise click.BadParameter(wrong, ctx, parameter)
        out.append((sheet, ranges))
    return tuple(out)


def _steps(text: str) -> range:
    """The steps in ``14-25`` or ``14``; none where it is neither."""
    found = re.fullmatch(r"\s*([1-9][0-9]{0,5})\s*(?:-\s*([1-9][0-9]{0,5})\s*)?", text, re.ASCII)
    return range(int(found[1]), int(found[2] or found[1]) + 1) if found else range(0)


def _on_table(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[int, str], ...]:
    rows = [_after_sheet(ctx, parameter, text) for text in value]
    return tuple((sheet, size.strip()) for sheet, sizes in rows for size in sizes.split(","))


def _flawed(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[int, str], ...]:
    out = []
    for text in value:
        sheet, _, why = (part.strip() for part in text.partition("="))
        if not _SHEET.fullmatch(sheet):
            raise click.BadParameter(tr("write SHEET or SHEET=WHY, as in 7=scratch"), ctx, parameter)
        out.append((int(sheet), why))
    return tuple(out)


def _flaw(
    ctx: click.Context, parameter: click.Parameter, value: tuple[str, ...]
) -> tuple[tuple[int, str], ...]:
    out = []
    for text in value:
        sheet, sign, where = (part.strip() for part in text.partition(":"))
        if not sign or not where or not _SHEET.fullmatch(sheet):
            raise click.BadParameter(
                tr("write SHEET:X,Y,W,H or SHEET:X,Y,W,H:KIND, as in 4:900,400,30,20:scratch"), ctx, parameter
            )
        out.append((int(sheet), where))
    return tuple(out)


@click.command("remake")
@click.argument("plan_path", metavar="PLAN", type=options.file_path)
@options.out_option()
@click.option(
    "--record",
    "records",
    multiple=True,
    type=options.file_path,
    metavar="FILE",
    help="Record file of this plan or of one that it follows; those in the folder of PLAN are read anyway.",
)
@click.option(
    "--cut",
    callback=options.sheet_numbers,
    metavar="NUMBERS",
    help="Sheets that are cut, as in 1-4,7.",
)
@click.option(
    "--broken",
    multiple=True,
    callback=_broken,
    metavar="PANEL=WORK",
    help="A panel broke at scoring, breaking, edging, drilling or handling, as in K-204/front/1=edging; may "
    "be given again.",
)
@click.option(
    "--half-cut",
    "half_cut",
    multiple=True,
    callback=_half_cut,
    metavar="SHEET=STEPS",
    help="A sheet is cut up to this step of its sequence, as in 7=12, or these steps of it are done, as in "
    "7=1-12,14-25; a step whose score is on the glass counts as done. May be given again.",
)
@click.option(
    "--on-table",
    "on_table",
    multiple=True,
    callback=_on_table,
    metavar="SHEET=SIZE,SIZE",
    help="A break ran off on this sheet: what is left of it on the table, measured, as in 7=1200x800,600x450.",
)
@click.option(
    "--flawed",
    multiple=True,
    callback=_flawed,
    metavar="SHEET=WHY",
    help="A sheet that cannot be cut as planned (a flaw, a short size); may be given again.",
)
@click.option(
    "--flaw",
    "flaws",
    multiple=True,
    callback=_flaw,
    metavar="SHEET:X,Y,W,H:KIND",
    help="A flaw on this sheet, from its lower left corner, as in 4:900,400,30,20:scratch; what is not cut of the "
    "sheet is planned around it. KIND may be left out; may be given again.",
)
@click.option(
    "--gone", multiple=True, metavar="OFFCUT", help="An offcut that is not in the rack; may be given again."
)
@click.option(
    "--add",
    "added",
    multiple=True,
    type=options.file_path,
    metavar="LIST",
    help="Order list of what is ordered besides; may be given again.",
)
@click.option(
    "--cancel",
    "cancelled",
    multiple=True,
    metavar="ORDER|PANEL",
    help="An order, a panel (K-204/front) or a piece (K-204/front/2) that is wanted no longer; may be given "
    "again.",
)
@click.option(
    "--swap",
    is_flag=True,
    help="Take an equal piece of a later order wherever one is cut already; else only where that saves a due "
    "day or glass.",
)
@options.stock_option
@options.commit_option
@options.who_option
@options.shop_option
@options.seconds_option
@options.effort_option
@options.seed_option
@options.replace_option
@options.json_option
@options.print_option
@options.sheets_alone_option
@click.pass_context
def command(
    ctx: click.Context,
    plan_path: Path,
    out_path: Path,
    records: tuple[Path, ...],
    cut: tuple[int, ...] | None,
    broken: tuple[tuple[str, AtStep], ...],
    half_cut: tuple[tuple[int, tuple[range, ...]], ...],
    on_table: tuple[tuple[int, str], ...],
    flawed: tuple[tuple[int, str], ...],
    flaws: tuple[tuple[int, str], ...],
    gone: tuple[str, ...],
    added: tuple[Path, ...],
    cancelled: tuple[str, ...],
    swap: bool,
    stock_text: str | None,
    commit: bool,
    who: str | None,
    shop_path: Path | None,
    seconds: float | None,
    effort: int | None,
    seed: int,
    replace: bool,
    as_json: bool,
    printed: bool,
    sheets_alone: bool,
) -> None:
    """Plan again what broke, was flawed, cancelled or ordered besides, with the least change to PLAN.

    What is cut stays. A sheet with a flaw, also a half cut one, is planned around it, with as many of its panels as
    find room. Missing panels go into waste of sheets that are still to be cut, onto one of them cut up
    anew, onto offcuts, or onto one more sheet, whatever is in time and costs least, then changes the fewest
    sheets. The search ends after 5 seconds unless --seconds or --effort says otherwise; Ctrl-C keeps the best
    plan so far. Written are the new plan, what changed, and papers for changed sheets alone. --stock lists
    what is there now, the sheets included that PLAN takes and that are not cut yet; a stock store knows that
    by itself, and which sheets are cut, and --commit reserves there what the new plan uses.

    \b
    Example:
      panewright remake week-10 --cut 1-4 --broken K-204/front/1=edging --out week-10b
      panewright remake week-10 --record table-2.record.json --add urgent.csv --out week-10b
      panewright remake week-10 --half-cut 5=1-8,11-14 --flaw 5:900,400,30,20:scratch --out week-10b
      panewright remake week-10b --half-cut 7=12 --cancel K-207 --stock rack.csv --out week-10c
    """
    from panewright.io import kernel_cache, solver_banner

    options.one_limit(seconds, effort)
    kernel_cache.prepare()
    solver_banner.hush()

    from panewright.cli.remake_told import Told
    from panewright.cli.remaking import Run, run_remake
    from panewright.cli.searching import Limit

    stock, store = options.stock_source(stock_text, expected=False, commit=commit, who=who)
    if seconds is None and effort is None:
        seconds = DEFAULT_SECONDS
    told: Told = Told(
        records=records,
        cut=cut,
        broken=broken,
        half_cut=half_cut,
        on_table=on_table,
        flawed=flawed,
        flaws=flaws,
        gone=gone,
    )
    code = run_remake(
        Run(
            plan=plan_path,
            told=told,
            added=added,
            cancelled=cancelled,
            swap=swap,
            stock=stock,
            store=store,
            shop=shop_path,
            out=out_path,
            limit=Limit(seconds, effort),
            seed=seed,
            replace=replace,
            as_json=as_json,
            printed=printed,
            panel_drawings=not sheets_alone,
        )
    )
    ctx.exit(code)
