"""Records come into the store: every event once, in the order of time, all of them or none.

An event is known by its id. What it tells is held against what the store knows, so that the same thing told
twice by different events changes nothing the second time. An undoing turns an event back, whichever of
both comes first; it may be undone itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from heapq import merge
from typing import Final

from sqlalchemy import Connection, select

from panewright.io.problems import Problems
from panewright.io.record_file import Event, Record, What
from panewright.io.store import flaw_events, offcut_events, sheet_events
from panewright.io.store.errors import UnknownName
from panewright.io.store.events import (
    MOST_WHO,
    Refused,
    add_event,
    find_event,
    is_undone,
    plain,
    set_standing,
    told,
)
from panewright.io.store.ledger import Because
from panewright.io.store.outcomes import Outcome, SheetKey
from panewright.io.store.schema import item, plan_sheet
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.nesting.errors import NestingError
from panewright.nesting.ledger import SheetState
from panewright.nesting.text import tr

_DO: Final = {
    What.SHEET_CUT: sheet_events.cut,
    What.PANEL_BROKEN: sheet_events.broken,
    What.SHEET_FLAWED: flaw_events.flawed,
    What.OFFCUT_KEPT: offcut_events.kept_or_thrown,
    What.OFFCUT_THROWN: offcut_events.kept_or_thrown,
}


class NotRecorded(NestingError):
    """Records of which nothing was taken, with everything that is wrong in them."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        super().__init__(problems)

    def __str__(self) -> str:
        return "\n".join(self.problems.lines())


@dataclass(frozen=True, slots=True)
class Told:
    """A record and where it is from, for messages."""

    record: Record
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """What records came to.

    Parameters
    ----------
    plans
        Plan that a record named -> the plan that stands for it now.
    outcomes
        Of the events that were new, in the order in which they were done.
    known
        How many events the store knew already.
    unsaid
        Offcuts of cut sheets of these plans of which nothing is told yet: plan, sheet, number.
    """

    plans: dict[str, str]
    outcomes: tuple[Outcome, ...] = ()
    known: int = 0
    unsaid: tuple[tuple[str, int, str], ...] = ()

    @property
    def changed(self) -> bool:
        """Whether anything is other than before."""
        return any(outcome.changed for outcome in self.outcomes)

    @property
    def stranded(self) -> list[SheetKey]:
        """Sheets that must be planned again."""
        return list(dict.fromkeys(key for outcome in self.outcomes for key in outcome.stranded))

    @property
    def to_remake(self) -> list[str]:
        """Plans of which something must be planned again."""
        return self.to_remake_but(())

    def to_remake_but(self, needless: Collection[SheetKey]) -> list[str]:
        """The same where flaws hit nothing on the needless sheets."""
        again = [
            x.plan
            for x in self.outcomes
            if (x.changed and x.event.what is What.PANEL_BROKEN)
            or (x.changed and x.replan and (x.plan, x.event.sheet) not in needless)
        ]
        return list(dict.fromkeys([*again, *(plan for plan, _ in self.stranded)]))


def apply_events(
    connection: Connection, record: Record, because: Because, *, source: str = "record.json"
) -> Applied:
    """Take one record (see `apply_records`)."""
    return apply_records(connection, [Told(record, source)], because)


def apply_records(connection: Connection, records: Sequence[Told], because: Because) -> Applied:
    """Take records: what they tell that the store does not know yet.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    records
        As read from files, codes or the command line; they may speak of several plans.
    because
        Who records; of an event that names somebody, that one counts.

    Raises
    ------
    NotRecorded
        Anything in them does not fit; nothing is kept, if the caller lets the error end the transaction.
    """
    return _Recording(connection, because).run(records)


@dataclass(frozen=True, slots=True)
class _Place:
    """An event with where it stands."""

    event: Event
    record: Record
    plan: PlanNow
    source: str
    number: int


class _Recording:
    def __init__(self, connection: Connection, because: Because) -> None:
        self.connection, self.because = connection, because
        self.problems = Problems()
        self.outcomes: list[Outcome] = []
        self.plans: dict[str, PlanNow] = {}
        self.known = 0

    def run(self, records: Sequence[Told]) -> Applied:
        for place in merge(*map(self._places, records), key=lambda pair: pair[0]):
            self._take(place[1])
        if self.problems:
            raise NotRecorded(self.problems)
        now = {name: plan.id for name, plan in self.plans.items()}
        return Applied(
            plans=now,
            outcomes=tuple(self.outcomes),
            known=self.known,
            unsaid=tuple(unsaid_offcuts(self.connection, self.plans.values())),
        )

    def _places(self, source: Told) -> list[tuple[datetime, _Place]]:
        """The events of a record in its order; among several records the time decides."""
        plan = self._plan(source.record.plan, source.source)
        if plan is None:
            return []
        out: list[tuple[datetime, _Place]] = []
        for number, event in enumerate(source.record.events):
            at = max(event.at, out[-1][0]) if out else event.at
            out.append((at, _Place(event, source.record, plan, source.source, number)))
        return out

    def _plan(self, name: str, source: str) -> PlanNow | None:
        if name not in self.plans:
            try:
                self.plans[name] = plan_now(self.connection, name)
            except Refused as error:
                self.problems.add(source, error.reason, error.remedy, column="plan", value=name)
                return None
        return self.plans[name]

    def _take(self, place: _Place) -> None:
        event = place.event
        try:
            for text in (event.id, event.panel, event.offcut, event.undoes):
                if text is not None and "\x00" in text:
                    raise Refused(tr("a name holds a control character"), tr("save the record again"))
            before = find_event(self.connection, event.id)
            if before is not None:
                if not before.tells_the_same(event, place.plan.line):
                    raise Refused(
                        tr("the store has another event of this id"), tr("give the event an id of its own")
                    )
                self.known += 1
                return
            self._new(place)
        except (Refused, UnknownName) as error:
            remedy = error.remedy if isinstance(error, Refused) else ""
            self.problems.add(
                place.source,
                str(error),
                remedy,
                column=f"events[{place.number}]",
                value=tr(event.what.value),
            )

    def _new(self, place: _Place) -> None:
        event = place.event
        if event.what is What.UNDONE:
            self._refuse_ring(event)
        stands = not is_undone(self.connection, event.id)
        if event.what is What.UNDONE:
            self._write(place, stands)
            outcome = Outcome(event=event, plan=place.plan.id, changed=False)
            if stands:
                outcome = self._settle(event.undoes or "", event, place.plan)
            self.outcomes.append(outcome)
            return
        if stands:
            self.outcomes.append(
                _DO[event.what](self.connection, event, place.plan, self._because(event, place.plan))
            )
        else:
            note = tr("it was undone before it was told")
            self.outcomes.append(Outcome(event=event, plan=place.plan.id, changed=False, notes=(note,)))
        self._write(place, stands)

    def _write(self, place: _Place, stands: bool) -> None:
        add_event(
            self.connection,
            place.event,
            plan=place.plan.known,
            stands=stands,
            who=self.because.who,
            device=place.record.device,
        )

    def _because(self, event: Event, plan: PlanNow) -> Because:
        return replace(
            self.because,
            plan=plan.id,
            at=event.at,
            who=plain(event.who)[:MOST_WHO] or self.because.who,
            why=plain(event.note) or self.because.why,
            sheet=event.sheet,
            panel=event.panel,
            event=event.id,
        )

    def _refuse_ring(self, event: Event) -> None:
        seen = event.undoes
        while seen is not None:
            if seen == event.id:
                raise Refused(tr("this undoing undoes itself"), tr("give the id of another event"))
            before = find_event(self.connection, seen)
            seen = before.event.undoes if before is not None else None

    def _settle(self, key: str, by: Event, plan: PlanNow) -> Outcome:
        """Do or turn back the event of this id as the undoings of it say."""
        found = find_event(self.connection, key)
        if found is None:
            note = tr("the event that it undoes is not known yet; once it comes it changes nothing")
            return Outcome(event=by, plan=plan.id, changed=False, notes=(note,))
        now = self._plan(found.plan, key)
        if now is None or now.id != plan.id:
            raise Refused(
                tr("the event that it undoes is of plan {plan}", plan=found.plan),
                tr("record it for that plan"),
            )
        stands = not is_undone(self.connection, key)
        if stands == found.stands:
            return Outcome(event=by, plan=plan.id, changed=False)
        set_standing(self.connection, key, stands)
        if found.event.what is What.UNDONE:
            return self._settle(found.event.undoes or "", by, plan)
        if stands:
            done = _DO[found.event.what](self.connection, found.event, now, self._because(found.event, now))
            return replace(done, event=by)
        return self._turn_back(found.event, by, now)

    def _turn_back(self, event: Event, by: Event, plan: PlanNow) -> Outcome:
        because = replace(self._because(by, plan), sheet=event.sheet, panel=event.panel)
        changed = False
        stranded: list[SheetKey] = []
        notes: list[str] = []
        match event.what:
            case What.SHEET_CUT:
                changed = sheet_events.uncut(self.connection, event, plan, because)
                kept = told(self.connection, plan.line, [What.OFFCUT_KEPT], sheet=event.sheet)
                if changed and kept:
                    names = ", ".join(str(x.event.offcut) for x in kept)
                    notes.append(tr("still recorded as kept: {names}", names=names))
            case What.PANEL_BROKEN:
                changed = sheet_events.whole(self.connection, event, plan, because)
            case What.OFFCUT_KEPT | What.OFFCUT_THROWN:
                changed, stranded = offcut_events.unsaid(self.connection, event, plan, because)
            case What.SHEET_FLAWED:
                changed = flaw_events.sound(self.connection, event, plan, because)
        return Outcome(event=by, plan=plan.id, changed=changed, stranded=tuple(stranded), notes=tuple(notes))


def unsaid_offcuts(connection: Connection, plans: Iterable[PlanNow]) -> list[tuple[str, int, str]]:
    """Offcuts of cut sheets of which it is not told whether they were kept: plan, sheet, number."""
    out = []
    s, c = plan_sheet.c, item.c
    for plan in {plan.id: plan for plan in plans}.values():
        rows = connection.execute(
            select(c.made_sheet, c.name)
            .join(plan_sheet, (s.number == c.made_sheet) & (s.plan == plan.id))
            .where(c.made_plan.in_(list(plan.line)), c.expected > 0, s.state == SheetState.CUT.value)
            .order_by(c.made_sheet, c.id)
        )
        out += [(plan.id, row.made_sheet, row.name) for row in rows]
    return out
