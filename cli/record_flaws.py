"""Events of flaws that are typed or drawn."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from panewright.cli.failures import Exit, Failure
from panewright.cli.flaw_options import drawn_flaws, typed_flaws
from panewright.cli.output import err, out_json
from panewright.cli.recording import Telling
from panewright.io.flaw_text import without_covered
from panewright.io.problems import Problems
from panewright.io.record_file import Event
from panewright.io.record_making import flawed_event
from panewright.nesting.flaws import Flaw
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr


def flawed_events(
    plan: Plan,
    number: int,
    told: Telling,
    *,
    size: tuple[int, int] | None,
    flaws: Sequence[str],
    kinds: Sequence[str],
    drawing: Path | None,
    begun: bool,
) -> list[Event]:
    """An event for each flaw of a sheet, or one without a place where none is given.

    Parameters
    ----------
    plan, number
        The sheet.
    told
        Who says it.
    size
        Its real size, where it is another one. [nm]
    flaws, kinds, drawing
        As on the command line.
    begun
        The sheet is in the cutting.

    Raises
    ------
    Failure
        The drawing cannot be used, or it marks nothing.
    NotOfThePlan, OffTheSheet
        As `flawed_event`.
    """
    problems = Problems()
    found: list[Flaw] = typed_flaws(flaws, kinds, plan.length_unit)
    layout = next((x for x in plan.layouts if x.number == number), None)
    if layout is not None and drawing is not None:
        found += drawn_flaws(drawing, kinds, *(size or (layout.width, layout.height)), problems)
    for line in problems.lines():
        err(line)
    if problems.error_count:
        if told.as_json:
            out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
        raise Failure(tr("errors: {count}; nothing was recorded", count=problems.error_count), Exit.INPUT)
    marked = without_covered(found) or (None,)
    return [
        flawed_event(plan, number, told.teller, size=size, flaw=flaw, begun=begun and flaw is not None)
        for flaw in marked
    ]
