"""`panewright check`: replay a plan file and hold it against its rules and its own figures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panewright.cli import options
from panewright.cli.failures import Exit, reason_of
from panewright.cli.output import out, out_json
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.plan_check import Checked


@click.command("check")
@click.argument("plan_path", metavar="PLAN", type=options.file_path)
@options.json_option
@options.steps_option
@options.waste_option
@click.pass_context
def command(ctx: click.Context, plan_path: Path, as_json: bool, show_steps: bool, show_waste: bool) -> None:
    """Replay PLAN, a plan file or a folder with a plan.json, cut by cut and check every rule.

    Rules come from the file itself. One line of figures and OK, or one line for each violation; the
    exit code is 1 where there is a violation, and 3 where the file cannot be read as a plan. OK speaks of the
    cutting alone: what the plan says of tanks that are too thin is repeated, not checked.

    \b
    Example:
      panewright check week-10/plan.json
      panewright check week-10 --steps --waste
    """
    from panewright.io.plan_check import check_file
    from panewright.io.plan_values import PlanFileError

    try:
        checked = check_file(plan_path)
    except (PlanFileError, OSError) as error:
        if as_json:
            out_json({"exit_code": int(Exit.INPUT), "error": reason_of(error)})
        raise
    if not as_json and not checked.violations:
        if show_steps:
            _show_steps(checked)
        if show_waste and checked.figures is not None:
            from panewright.cli.waste_tables import waste_tables

            out(waste_tables(checked.plan, checked.figures) + "\n")
    if as_json:
        out_json(_data(checked))
    else:
        out(_text(checked))
    ctx.exit(Exit.LEFT_OVER if checked.violations else Exit.DONE)


def _show_steps(checked: Checked) -> None:
    from panewright.cli.tables import as_text
    from panewright.io.sequence_files import screen_tables
    from panewright.nesting.units import style_for, use_style

    use_style(style_for(checked.plan.length_unit))
    out(as_text(screen_tables(checked.plan)))


def _text(checked: Checked) -> str:
    from panewright.io.plan_summary import plan_warnings
    from panewright.io.problems import shown

    lines = [shown(str(violation), 500) for violation in checked.violations]
    lines += [shown(line, 500) for line in plan_warnings(checked.plan)]
    return "\n".join([*lines, _figure_line(checked)])


def _figure_line(checked: Checked) -> str:
    from panewright.cli.summary import per_cent
    from panewright.io.problems import shown
    from panewright.io.rack_words import flawed, racks_of
    from panewright.nesting.late import late_of
    from panewright.nesting.units import show_money

    plan = checked.plan
    parts = [
        tr("plan {plan}", plan=shown(plan.id)),
        tr_count("{count} sheet", "{count} sheets", len(plan.layouts)),
        tr_count(
            "{placed} of {count} panel",
            "{placed} of {count} panels",
            len(plan.panels),
            placed=sum(1 for x in plan.layouts for leaf in x.leaves if leaf.panel is not None),
        ),
        tr("{count} unplaced", count=len(plan.unplaced)),
        *([tr("{count} late", count=len(late))] if (late := late_of(plan)) else []),
        tr_count("{count} cut", "{count} cuts", sum(len(x.cuts) for x in plan.layouts)),
        *(
            [tr_count("{count} rack", "{count} racks", len(racks))]
            if (racks := racks_of(plan.panels))
            else []
        ),
        *(
            [tr_count("{count} sheet with flaws", "{count} sheets with flaws", len(sheets))]
            if (sheets := flawed(plan))
            else []
        ),
    ]
    if checked.figures is not None:
        total = checked.figures.total
        parts += [
            tr("yield {value}", value=per_cent(total.gross_yield)),
            tr("cost {cost}", cost=show_money(total.cost, shown(plan.currency))),
        ]
    if checked.violations:
        verdict = tr_count("{count} violation", "{count} violations", len(checked.violations))
    else:
        verdict = tr("OK")
    return tr("{figures}: {verdict}", figures=", ".join(parts), verdict=verdict)


def _data(checked: Checked) -> dict[str, Any]:
    from panewright.io.plan_file import figures_json
    from panewright.io.plan_summary import plan_warnings
    from panewright.io.rack_words import racks_json

    plan, figures = checked.plan, checked.figures
    return {
        "plan": plan.id,
        "ok": not checked.violations,
        "violations": [
            {
                "rule": v.rule,
                "text": v.text,
                "sheet": v.sheet,
                "step": v.step,
                "piece": v.piece,
                "panel": v.panel,
            }
            for v in checked.violations
        ],
        "warnings": plan_warnings(plan),
        **racks_json(plan),
        "figures": None if figures is None else figures_json(plan, figures),
    }
