"""Marks in words: where those of angled scores are, how to check them, what rounding does to the panels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from panewright.io.problems import shown
from panewright.nesting.mark_errors import size_errors
from panewright.nesting.pieces import CutFault
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.steps import Eaten, End, Mark, SizeError, Step
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import mm, show

TOLD = mm("0.05")
"""A smaller error is in the CSV alone: nobody cuts or measures glass closer. [nm]"""
NAMED = 3
"""More panels than this are counted, not named, in one line."""


def mark_words(mark: Mark, *, exact: bool = False) -> str:
    """One end of an angled score, as a person finds it along the edge.

    Parameters
    ----------
    mark
        The end.
    exact
        As computed; else rounded as it is marked at the table.
    """
    distance = mark.distance if exact else mark.table
    edge = tr(mark.edge.value)
    if not distance or distance == mark.edge_length:
        end = mark.other if distance else mark.end
        return tr("at the corner itself: {end} of the {edge} edge", end=tr(end.value), edge=edge)
    template = (
        "{distance} from the {end} of the {edge} edge, a sharp point: lay a rule to it, hook nothing"
        if mark.is_sharp
        else "{distance} from the {end} of the {edge} edge"
    )
    return tr(template, distance=show(distance), end=tr(mark.end.value), edge=edge)


def check_words(mark: Mark) -> str:
    """The second measure that tells whether the mark is right; empty where there is no use in one."""
    if not mark.can_check or not 0 < mark.table < mark.edge_length:
        return ""
    return _from_end(mark.check, mark.other)


def _from_end(distance: int, end: End) -> str:
    return tr("{distance} from the {end}", distance=show(distance), end=tr(end.value))


def square_words(step: Step) -> str:
    """That a marked score is square to an edge; empty where it is not."""
    if step.square_to is None:
        return ""
    return tr("square to the {edge} edge", edge=tr(step.square_to.value))


def error_words(error: SizeError | None) -> str:
    """How far a panel comes off its size, as in ``rounded marks: up to 0.16 mm short``; empty for little."""
    if error is None:
        return ""
    short, over = _at_most(error.missing), _at_most(error.extra)
    if min(error.missing, error.extra) >= TOLD:
        return tr("rounded marks: up to {short} short, {over} over", short=short, over=over)
    if error.missing >= TOLD:
        return tr("rounded marks: up to {short} short", short=short)
    return tr("rounded marks: up to {over} over", over=over) if error.extra >= TOLD else ""


def sheet_mark_words(plan: Plan, layout: Layout, steps: Sequence[Step]) -> str:
    """What is said of the marks of a sheet at its head; empty where none is rounded."""
    rules = plan.rules.get(layout.glass)
    step = rules.mark_step if rules else None
    if step is None or not any(s.marks or s.measure != s.exact for s in steps):
        return ""
    errors = [part.error for s in steps for part in s.makes if part.error is not None]
    told = [e for e in errors if error_words(e)]
    if not told:
        return tr("rounded to {step}; no panel is off by that", step=show(step))
    worst = max(told, key=lambda e: max(e.missing, e.extra))
    return tr_count(
        "rounded to {step}: {count} panel is off by that, {panel} up to {most}",
        "rounded to {step}: {count} panels are off by that, {panel} most, up to {most}",
        len(told),
        step=show(step),
        panel=shown(worst.panel, 60),
        most=_at_most(max(worst.missing, worst.extra)),
    )


def _at_most(length: int) -> str:
    """A length that something reaches at most; what is finer than any that is shown counts as the finest."""
    while length and show(length) == show(0):
        length *= 2
    return show(length)


def mark_warnings(plan: Plan, layouts: Iterable[Layout] | None = None) -> list[str]:
    """Where rounded marks eat the allowance of panels: warnings for the whole plan, or for some sheets."""
    found: dict[int, list[SizeError]] = {}
    for layout in plan.layouts if layouts is None else layouts:
        try:
            off = size_errors(plan, layout).values()
        except CutFault:
            continue  # whoever made the plan hears of it where its steps are written
        found.setdefault(plan.rules[layout.glass].mark_step or 0, []).extend(off)
    lines = []
    for step, errors in sorted(found.items()):
        gone = [e for e in errors if e.eaten is Eaten.ALL]
        half = [e for e in errors if e.eaten is Eaten.HALF]
        plain = [e for e in errors if e.as_cut >= TOLD]
        if gone:
            lines.append(
                tr(
                    "WARNING: marks rounded to {step} take more than the allowance of an edge; smaller than finished "
                    "come out {panels}. Mark the exact measures of the CSV, or round to less (marks in the shop file).",
                    step=show(step),
                    panels=_panels(gone),
                )
            )
        if half:
            lines.append(
                tr(
                    "Marks rounded to {step} take more than half of the allowance of an edge: {panels}. Little is "
                    "left to grind there.",
                    step=show(step),
                    panels=_panels(half),
                )
            )
        if plain:
            lines.append(
                tr(
                    "Marks rounded to {step} leave an edge without allowance short, and it stays so: {panels}.",
                    step=show(step),
                    panels=_panels(plain, as_cut=True),
                )
            )
    return lines


def _panels(errors: Sequence[SizeError], *, as_cut: bool = False) -> str:
    """The panels with the most that is missing, the worst first; many are counted."""

    def most(error: SizeError) -> int:
        return error.as_cut if as_cut else error.missing

    errors = sorted(errors, key=lambda e: (-most(e), e.panel))
    named = [
        tr("{panel} up to {short} short", panel=shown(e.panel, 60), short=_at_most(most(e)))
        for e in errors[:NAMED]
    ]
    if len(errors) > NAMED:
        named.append(tr("{count} more", count=len(errors) - NAMED))
    return ", ".join(named)
