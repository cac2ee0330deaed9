"""`panewright draw`: the drawings of a plan file again, from that file alone."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.draw_outputs import Wishes
    from panewright.nesting.plan import Plan
    from panewright.nesting.units import LengthUnit


_RANGE = re.compile(r"\s*([0-9]{1,9})\s*(?:-\s*([0-9]{1,9})\s*)?")


def _ranges(
    ctx: click.Context, parameter: click.Parameter, value: str | None
) -> tuple[tuple[int, int], ...] | None:
    """``1,3-5`` as first and last numbers of sheets; a range is never written out, so it may be long."""
    if value is None:
        return None
    ranges = []
    for word in value.split(","):
        found = _RANGE.fullmatch(word)
        first = int(found[1]) if found else 0
        last = int(found[2] or found[1]) if found else -1
        if last < first:
            raise click.BadParameter(
                tr("expected numbers of sheets such as 1,3-5, got {value!r}", value=value[:60])
            )
        ranges.append((first, last))
    return tuple(ranges)


@click.command("draw")
@click.argument("plan_path", metavar="PLAN", type=options.file_path)
@options.out_option()
@click.option(
    "--as",
    "formats",
    multiple=True,
    type=click.Choice(["dxf", "svg", "book", "labels", "page"]),
    help="What to make; may be given again. book: the cut book, labels: labels for panels and offcuts, both "
    "PDF; page: one HTML file for a tablet at the table.  [default: dxf and svg]",
)
@click.option("--sheets", callback=_ranges, metavar="N,N-N", help="Only these sheets and their panels.")
@options.sheets_alone_option
@click.option(
    "--unit", type=click.Choice(["mm", "in"]), help="Unit of the drawings.  [default: that of the plan]"
)
@options.shop_option
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    help="Paper of the cut book.  [default: that of the shop file]",
)
@click.option(
    "--first",
    type=click.IntRange(min=1),
    default=1,
    show_default=True,
    metavar="N",
    help="Position of the first label on its sheet, for one that was used in part.",
)
@options.replace_option
@click.pass_context
def command(
    ctx: click.Context,
    plan_path: Path,
    out_path: Path,
    formats: tuple[str, ...],
    sheets: tuple[tuple[int, int], ...] | None,
    sheets_alone: bool,
    unit: LengthUnit | None,
    shop_path: Path | None,
    paper: str | None,
    first: int,
    replace: bool,
) -> None:
    """Draw PLAN, a plan file or a folder with a plan.json: one drawing a sheet and one a panel.

    The cut book and the labels are for the table: sheets with their steps in big figures, and a label for
    every piece in the order in which it comes off. Their paper is that of the shop file. A copy of the plan file goes with the drawings. In the folder of the same plan its other files
    stay. The exit code is 1 where the plan does not pass `panewright check`.

    \b
    Example:
      panewright draw week-10/plan.json --out for-the-machine --as dxf --sheets 1,3-5
      panewright draw week-10 --out for-the-table --as book --as labels
    """
    from panewright.io.draw_outputs import NAMES, Wishes, output_files
    from panewright.io.drawings import FORMATS
    from panewright.io.file_names import PLAN_FILE, is_plan_id
    from panewright.io.out_folder import OutFolder
    from panewright.io.plan_check import check_file
    from panewright.io.problems import shown
    from panewright.nesting.units import INCH, MM, use_style

    checked = check_file(plan_path)
    plan, violations = checked.plan, checked.violations
    if not is_plan_id(plan.id):
        raise Failure(
            tr(
                "{file}: {id} is no plan id, and drawings are named by it; write the plan again, or undo what "
                "was changed in the file",
                file=shown(plan_path, 300),
                id=shown(plan.id, 60),
            ),
            Exit.INPUT,
        )
    source = plan_path / PLAN_FILE if plan_path.is_dir() else plan_path
    original = source.read_bytes()
    known = {layout.number for layout in plan.layouts}
    missing = sorted({end for ends in sheets or () for end in ends} - known)
    wanted_sheets = {number for number in known if any(a <= number <= b for a, b in sheets or ())}
    if missing:
        raise click.UsageError(
            tr_count(
                "the plan has no sheet {numbers}; it has {count} sheet",
                "the plan has no sheet {numbers}; it has {count} sheets",
                len(known),
                numbers=", ".join(map(str, missing)),
            )
        )
    chosen = [wanted for wanted in NAMES if wanted in (formats or FORMATS)]
    in_unit = unit or plan.length_unit
    use_style(INCH if in_unit == "in" else MM)
    wishes = Wishes(
        sheets=None if sheets is None else frozenset(wanted_sheets), panels=not sheets_alone, unit=in_unit
    )
    if shop_path is not None or not set(chosen) <= set(FORMATS):
        wishes = _at_the_table(wishes, shop_path, paper, first)
    if violations:
        fault = tr(
            "the plan does not pass its check ({first}); it is drawn as it stands, do not cut after it",
            first=shown(str(violations[0]), 200),
        )
        err(fault)
        wishes = dataclasses.replace(wishes, warnings=(fault,))
    beside = _beside(out_path, plan, original, replace)
    count = 0
    with OutFolder(out_path, plan_id=plan.id, replace=replace) as folder:
        folder.write(PLAN_FILE, original)
        for name, content in output_files(plan, chosen, wishes):
            folder.write(name, content)
            beside.pop(name.lower(), None)
            count += 1
        for name, content in beside.values():
            folder.write(name, content)
    out(
        tr_count(
            "plan {plan}: {count} drawing ({formats}) in {folder}",
            "plan {plan}: {count} drawings ({formats}) in {folder}",
            count,
            plan=plan.id,
            formats=", ".join(chosen),
            folder=shown(out_path, 300),
        )
    )
    ctx.exit(Exit.LEFT_OVER if violations else Exit.DONE)


def _at_the_table(wishes: Wishes, shop_path: Path | None, paper: str | None, first: int) -> Wishes:
    """The wishes with what the shop file says about paper, labels, lifting and how lengths are shown.

    Raises
    ------
    Failure
        When the shop file has errors.
    """
    from panewright.io.problems import Problems
    from panewright.nesting.shop_table import Paper
    from panewright.nesting.units import use_style

    problems = Problems()
    shop = options.choose_shop(shop_path, problems)
    for line in problems.lines():
        err(line)
    if problems:
        raise Failure(tr("errors: {count}; nothing was written", count=problems.error_count), Exit.INPUT)
    if shop.length_style.unit == wishes.unit:
        use_style(shop.length_style)
    printing = shop.printing
    if paper is not None:
        kinds = {kind.value.lower(): kind for kind in Paper}
        printing = dataclasses.replace(printing, paper=kinds[paper.lower()])
    form = printing.labels
    places = form.columns * form.rows if form.paper is not None else 1
    if first > places:
        raise click.UsageError(
            tr_count(
                "--first {first}: the shop file has {count} label a page",
                "--first {first}: the shop file has {count} labels a page",
                places,
                first=first,
            )
        )
    return dataclasses.replace(wishes, printing=printing, lifts=shop.lifts, first=first)


def _beside(folder: Path, plan: Plan, original: bytes, replace: bool) -> dict[str, tuple[str, bytes]]:
    """Files of the same plan that are in the folder already and stay there, by lower-case name.

    Raises
    ------
    Failure
        When the folder holds this plan with other contents and may not be replaced.
    """
    from panewright.io.file_names import PLAN_FILE, contents_name
    from panewright.io.held_plan import HeldPlan

    if folder.is_symlink() or not folder.is_dir():
        return {}
    held = HeldPlan.look(folder)
    if held.plan_id != plan.id:
        return {}
    if (folder / PLAN_FILE).read_bytes() != original:
        if replace:
            return {}
        raise Failure(
            tr(
                "the folder holds plan {plan} with another order of cuts or other figures; "
                "give --out another folder, or --replace to put this one in its place",
                plan=plan.id,
            ),
            Exit.USAGE,
        )
    own = [name for name in held.own if name not in (PLAN_FILE, contents_name(plan.id)) and plan.id in name]
    return {name.lower(): (name, (folder / name).read_bytes()) for name in own}
