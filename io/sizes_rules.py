"""The table of what rules cost in a year, and rules in words."""

from __future__ import annotations

from collections.abc import Sequence

from panewright.io.report.model import Column, Table, Value
from panewright.io.sizes_tables import share_of, sizes_text
from panewright.nesting.assortment.rule_changes import RuleCost
from panewright.nesting.assortment.study import Study
from panewright.nesting.rules import Rules
from panewright.nesting.text import tr
from panewright.nesting.units import show, show_size


def rules_table(studies: Sequence[Study]) -> Table:
    """What rules cost in a year."""
    rows: list[tuple[Value, ...]] = []
    for study in studies:
        base = study.base
        for cost in study.found.rules:
            now, then = rule_words(study, cost)
            rows.append(
                (
                    study.glass,
                    rule_name(cost),
                    now,
                    then,
                    cost.by_lp,
                    None if cost.lp_share is None else share_of(cost.lp_share),
                    cost.by_plans,
                    None if cost.plan_share is None else share_of(cost.plan_share),
                    "" if base is None else sizes_text(study, base.sizes),
                )
            )
    return Table(
        title=tr("What a rule costs in a year"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("rule")),
            Column(name=tr("now")),
            Column(name=tr("instead")),
            Column(name=tr("saves by the LP"), kind="money"),
            Column(name=tr("of the glass"), kind="share"),
            Column(name=tr("saves by plans"), kind="money"),
            Column(name=tr("of the glass"), kind="share"),
            Column(name=tr("sizes")),
        ),
        rows=tuple(rows),
        note=tr(
            "By the LP: all weeks cut at once, sheets in parts, patterns of the levels named; to about half a per cent. By plans: every"
            " past week planned under both rules, as found; single sheets decide there. Below 0: it costs more."
        ),
    )


def rule_name(cost: RuleCost) -> str:
    """The rule in words."""
    match cost.change.rule:
        case "break-out distance":
            return tr("break-out distance")
        case "levels":
            return tr("levels")
        case "longest score":
            return tr("longest score")
        case "offcuts":
            return tr("offcuts")
    return tr("larger table")


def rule_words(study: Study, cost: RuleCost) -> tuple[str, str]:
    """The rule as it is, and as it is changed."""
    now, then = study.rules, cost.change.rules
    match cost.change.rule:
        case "break-out distance":
            return show(now.break_out), show(then.break_out)
        case "levels":
            return levels_text(now), levels_text(then)
        case "longest score":
            return show(now.longest_cut or 0), tr("no limit")
        case "offcuts":
            return tr("none carried on"), tr(
                "kept from {size} on and used in later weeks", size=show_size(*then.least_offcut)
            )
    largest = now.largest_piece
    best = " + ".join(show_size(s.width, s.height) for s in cost.change.case.stock)
    return ("" if largest is None else show_size(*largest)), tr("every size on offer: {sizes}", sizes=best)


def levels_text(rules: Rules) -> str:
    """Main levels in words."""
    return tr("free") if rules.levels is None else str(rules.levels)
