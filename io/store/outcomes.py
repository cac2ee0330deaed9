"""What an event came to in the store."""

from __future__ import annotations

from dataclasses import dataclass

from panewright.io.record_file import Event

SheetKey = tuple[str, int]
"""Id of a plan and number of a sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one event changed.

    Parameters
    ----------
    event
        The event; of an undoing, the one that undoes.
    plan
        The plan that stands now.
    changed
        False where it only tells what the store knew.
    item
        The case or offcut that it is about, where there is one.
    stranded
        Plan and number of sheets that lost their glass by it.
    replan
        The sheet has its glass, and is to be planned around a flaw.
    notes
        Worth knowing, worded for the user.
    """

    event: Event
    plan: str
    changed: bool
    item: str | None = None
    stranded: tuple[SheetKey, ...] = ()
    notes: tuple[str, ...] = ()
    replan: bool = False
