"""`panewright draw`: the drawings of a plan file again, from that file alone."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panewright.cli import options
from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
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
    type=click.Choice(["dxf", "svg", "page"]),
    help="Format; may be given several times. page: one file for a tablet at the table, with all sheets.  "
    "[default: dxf and svg]",
)
@click.option("--sheets", callback=_ranges, metavar="N,N-N", help="Only these sheets and their panels.")
@options.sheets_alone_option
@click.option(
    "--unit", type=click.Choice(["mm", "in"]), help="Unit of the drawings.  [default: that of the plan]"
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
    replace: bool,
) -> None:
    """Draw PLAN, a plan file or a folder with a plan.json: one drawing a sheet and one a panel.

    A copy of the plan file goes with the drawings. In the folder of the same plan its other files
    stay. The exit code is 1 where the plan does not pass `panewright check`.

    \b
    Example:
      panewright draw week-10/plan.json --out for-the-machine --as dxf --sheets 1,3-5
    """
    from panewright.io.drawings import FORMATS, drawing_files
    from panewright.io.file_names import PLAN_FILE, is_plan_id
    from panewright.io.out_folder import OutFolder
    from panewright.io.plan_check import check_file
    from panewright.io.problems import shown
    from panewright.io.table_page import table_page, table_page_name
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
    chosen = [wanted for wanted in FORMATS if wanted in (formats or FORMATS)]
    with_page = "page" in formats
    in_unit = unit or plan.length_unit
    use_style(INCH if in_unit == "in" else MM)
    faults: tuple[str, ...] = ()
    if violations:
        fault = tr(
            "the plan does not pass its check ({first}); it is drawn as it stands, do not cut after it",
            first=shown(str(violations[0]), 200),
        )
        faults = (fault,)
        err(fault)
    beside = _beside(out_path, plan, original, replace)
    count = 0
    with OutFolder(out_path, plan_id=plan.id, replace=replace) as folder:
        folder.write(PLAN_FILE, original)
        drawn = drawing_files(
            plan,
            formats=chosen,
            # the page needs none of them
            sheets=bool(chosen) and (True if sheets is None else wanted_sheets),
            panels=bool(chosen) and not sheets_alone,
            unit=in_unit,
        )
        page = [(table_page_name(plan), table_page(plan, warnings=faults).encode())] if with_page else []
        for name, content in (*drawn, *page):
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
            formats=", ".join([*chosen, *(["page"] if with_page else [])]),
            folder=shown(out_path, 300),
        )
    )
    ctx.exit(Exit.LEFT_OVER if violations else Exit.DONE)


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
