"""Breakage on the screen: rates, expected losses, and the panels that are worth a spare."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.cli.evidence import Evidence
from panewright.cli.tables import table
from panewright.io.breakage_words import (
    evidence_words,
    loss_headings,
    loss_rows,
    rate_headings,
    rate_row,
    spare_headings,
    spare_row,
)
from panewright.io.numbers_text import said_metres
from panewright.nesting.breakage.loss import Losses
from panewright.nesting.breakage.report import Report
from panewright.nesting.breakage.spares import SpareWish
from panewright.nesting.figures import figures_of
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr

SHOWN: Final = 30
"""Spares told one by one; the JSON lists them all."""


def report_text(report: Report, found: Evidence, currency: str) -> str:
    """The whole report."""
    parts = [
        evidence_words(found.source, found.counts),
        table(
            tr("Share of panels that break at each step; low, high: it lies between in 90 of 100 cases"),
            rate_headings(),
            [rate_row(rate) for rate in report.rates],
            left=3,
        ),
    ]
    if report.week is not None:
        title = tr("Expected loss of a mean week (weeks of the record: {weeks})", weeks=report.weeks)
        parts.append(_losses(title, report.week, currency))
    elif report.told:
        parts.append(tr("Give --weeks, the weeks that the record spans, to see what a mean week loses."))
    if report.plan is not None and report.loss is not None:
        parts.append(_losses(tr("Expected loss of plan {plan}", plan=report.plan.id), report.loss, currency))
        parts.append(spares_text(report.spares, report.plan, asked=False))
    return "\n\n".join(part.strip("\n") for part in parts)


def _losses(title: str, losses: Losses, currency: str) -> str:
    return table(title, loss_headings(currency), loss_rows(losses), left=2)


def spares_text(wishes: Sequence[SpareWish], plan: Plan, *, asked: bool = True) -> str:
    """Which spares are wanted, which of them the plan cuts, and why.

    Parameters
    ----------
    wishes
        Panels that are worth spares.
    plan
        The plan.
    asked
        Whether it was made with these wishes.
    """
    if not wishes:
        return tr("Spares: no panel is worth one; what breaks is made again for less.")
    more = len(wishes) - SHOWN
    said = table(
        tr("Spares"),
        spare_headings(),
        [spare_row(wish, plan.panels) for wish in wishes[:SHOWN]]
        + ([[tr("and {count} more", count=more), *[""] * 10]] if more > 0 else []),
        left=2,
    )
    cut = sum(p.purpose is Purpose.SPARE for p in plan.panels)
    wanted = sum(len(wish.worths) for wish in wishes)
    if asked:
        found = tr(
            "Spares cut from waste, not in the yield: {cut} of {wanted} wanted; {area} m2. A spare never costs a sheet: "
            "the others found no room in the waste, or the offcut there is worth more.",
            cut=cut,
            wanted=wanted,
            area=said_metres(figures_of(plan).total.spare),
        )
    else:
        found = tr(
            "Spares in this plan: {cut}; wanted by these rates: {wanted}. `panewright plan --spares` cuts them from "
            "waste, as far as it has room.",
            cut=cut,
            wanted=wanted,
        )
    meaning = tr(
        "A spare is worth the chance that it saves a remake times what that costs, less the work on it; "
        "recorded: panels of its glass and size behind the rate, at the step with the fewest; days late: if made "
        "again, at most."
    )
    return "\n".join([said.rstrip("\n"), meaning, found])
