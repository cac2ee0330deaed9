"""A record code as events: it tells a state, so only what the store does not know yet becomes one."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from typing import Any, Final

from sqlalchemy import Connection, select

from panewright.io.plan_reader import loads
from panewright.io.record_code import Done, decode, plan_of_code
from panewright.io.record_file import Event, Record, What
from panewright.io.store.events import find_event, told
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.schema import plan_sheet
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.nesting.ledger import SheetState
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import compact_json
from panewright.nesting.text import tr

DEVICE: Final = "code"


def events_of_code(connection: Connection, text: str, now: datetime) -> tuple[Record, list[str]]:
    """The events that a code tells, and what it leaves open.

    Parameters
    ----------
    connection
        Of the store, which has the plan of the code.
    text
        As typed or scanned.
    now
        The time of a code without one.

    Returns
    -------
    tuple
        A record whose ids come from plan, subject and what happened; and lines about what the store knows
        otherwise: a code never brings back what was undone, nor decides between kept and thrown.

    Raises
    ------
    RecordCodeError
        No code, or mistyped.
    UnknownName, Refused
        The store does not have its plan.
    """
    name = plan_of_code(text)
    plan = loads(plan_text(connection, name))
    done = decode(plan, text)
    reader = _Reader(connection, plan, plan_now(connection, name), done.at or now)
    return reader.record(done)


def code_id(plan: str, what: What, subject: str) -> str:
    """Id of an event that a code tells: the same from every code of a plan."""
    return f"code-{sha256(compact_json([plan, what.value, subject]).encode()).hexdigest()[:32]}"


class _Reader:
    def __init__(self, connection: Connection, plan: Plan, now: PlanNow, at: datetime) -> None:
        self.connection, self.plan, self.now, self.at = connection, plan, now, at
        self.notes: list[str] = []
        self.events: list[Event] = []

    def record(self, done: Done) -> tuple[Record, list[str]]:
        made_by = {leaf.offcut: x.number for x in self.plan.layouts for leaf in x.leaves if leaf.offcut}
        on_sheet = {leaf.panel: x.number for x in self.plan.layouts for leaf in x.leaves if leaf.panel}
        for number in sorted(done.sheets):
            if not self._is_cut(number):
                self._tell(self._event(What.SHEET_CUT, str(number), number))
        for panel, step in sorted(done.broken.items()):
            event = self._event(What.PANEL_BROKEN, panel, on_sheet[panel])
            self._tell(replace(event, panel=panel, at_step=step))
        for offcut, kept in sorted(done.offcuts.items()):
            what = What.OFFCUT_KEPT if kept else What.OFFCUT_THROWN
            other = What.OFFCUT_THROWN if kept else What.OFFCUT_KEPT
            if told(self.connection, self.now.line, [other], offcut=offcut):
                self.notes.append(
                    tr(
                        "offcut {name}: the store says {known}, the code {told}; "
                        "`panewright record kept` or `thrown` settles it",
                        name=offcut,
                        known=tr(other.value),
                        told=tr(what.value),
                    )
                )
                continue
            self._tell(replace(self._event(what, offcut, made_by[offcut]), offcut=offcut))
        return Record(plan=self.plan.id, device=DEVICE, events=tuple(self.events)), self.notes

    def _is_cut(self, number: int) -> bool:
        s = plan_sheet.c
        query = select(s.state).where(s.plan == self.now.id, s.number == number)
        return self.connection.execute(query).scalar() == SheetState.CUT.value

    def _tell(self, event: Event) -> None:
        """Add it, where it was never told; what was told and undone is named."""
        sheet = event.sheet if event.what is What.SHEET_CUT else None
        subject: dict[str, Any] = {"sheet": sheet, "panel": event.panel, "offcut": event.offcut}
        if told(self.connection, self.now.line, [event.what], **subject):
            return
        gone = told(self.connection, self.now.line, [event.what], stands=False, **subject)
        if gone or find_event(self.connection, event.id):
            self.notes.append(
                tr(
                    "{what} ({subject}): told before and undone since; record it by hand if it is so after all",
                    what=tr(event.what.value),
                    subject=event.offcut or event.panel or event.sheet,
                )
            )
            return
        self.events.append(event)

    def _event(self, what: What, subject: str, number: int) -> Event:
        return Event(id=code_id(self.plan.id, what, subject), at=self.at, what=what, sheet=number)
