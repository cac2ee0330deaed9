"""The record file: what really happened at the table, event by event, written by the page and read by `record`."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import Any, Final, NoReturn

from panewright.io.event_standing import standing
from panewright.io.file_names import is_plan_id
from panewright.io.numbers_text import compact, length
from panewright.io.plan_values import Bad, PlanFileError, Values, parse, problem
from panewright.io.problems import Problems
from panewright.io.record_code import Done
from panewright.nesting.flaws import KINDS, Flaw
from panewright.nesting.happened import AtStep
from panewright.nesting.text import tr

SCHEMA: Final = "panewright.record/1"
MOST_BYTES: Final = 20 * 2**20
MOST_EVENTS: Final = 100_000
MOST_TEXT: Final = 400
MOST_ID: Final = 100
YEARS: Final = (2000, 2100)

_FILE_KEYS: Final = frozenset({"schema", "plan", "device", "events"})
_EVENT_KEYS: Final = frozenset(
    "id at who sheet what panel at_step offcut size flaw kind undoes note".split()  # noqa: SIM905
)


class What(Enum):
    """What an event tells."""

    SHEET_CUT = "sheet cut"
    PANEL_BROKEN = "panel broken"
    OFFCUT_KEPT = "offcut kept"
    OFFCUT_THROWN = "offcut thrown"
    SHEET_FLAWED = "sheet flawed"
    UNDONE = "undone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that happened.

    Parameters
    ----------
    id
        Random and unique: the same event read twice changes nothing.
    at
        With its zone.
    what
        What happened.
    sheet
        Number of the sheet; every event but one that undoes another has one.
    panel, at_step
        Of a panel that broke: its id and at which work.
    offcut, size
        Of an offcut: its number, and its size as measured where it differs. [nm]
    flaw
        Of a sheet with a flaw: x, y, width, height. [nm]
    kind
        Of that flaw, one of `KINDS`; empty where nobody said.
    undoes
        Id of the event that did not happen after all.
    who, note
        As typed.
    extra
        Keys that this version does not know.
    """

    id: str
    at: datetime
    what: What
    sheet: int | None = None
    panel: str | None = None
    at_step: AtStep | None = None
    offcut: str | None = None
    size: tuple[int, int] | None = None
    flaw: tuple[int, int, int, int] | None = None
    kind: str = ""
    undoes: str | None = None
    who: str = ""
    note: str = ""
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def located(self) -> Flaw | None:
        """The flaw that it tells of, where it says where that lies; of a sheet that is short it does not count."""
        return Flaw(*self.flaw, self.kind) if self.flaw is not None and self.size is None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What happened to a plan, as one device kept it."""

    plan: str
    device: str = ""
    events: tuple[Event, ...] = ()
    extra: Mapping[str, object] = field(default_factory=dict)

    def done(self) -> Done:
        """The state that the events lead to, in their order; what was undone counts as never done."""
        stands = standing({e.id: e.undoes if e.what is What.UNDONE else None for e in self.events})
        sheets: set[int] = set()
        broken: dict[str, AtStep] = {}
        offcuts: dict[str, bool] = {}
        for event in self.events:
            if not stands[event.id]:
                continue
            if event.what is What.SHEET_CUT and event.sheet is not None:
                sheets.add(event.sheet)
            elif event.what is What.PANEL_BROKEN and event.panel is not None and event.at_step is not None:
                broken[event.panel] = event.at_step
            elif event.what in (What.OFFCUT_KEPT, What.OFFCUT_THROWN) and event.offcut is not None:
                offcuts[event.offcut] = event.what is What.OFFCUT_KEPT
        at = max((event.at for event in self.events), default=None)
        return Done(sheets=frozenset(sheets), broken=broken, offcuts=offcuts, at=at)


class _RecordValues(Values):
    """Values of a record file, with the remedy that fits it."""

    def fail(self, path: str, value: object, reason: str, remedy: str = "") -> NoReturn:
        super().fail(path, value, reason, remedy or _remedy())

    def event(self, data: Any, path: str) -> Event:
        def maybe(key: str) -> Any:
            # the page leaves out what does not apply; others may write null or an empty text
            value = self.object(data, path).get(key)
            return None if value == "" else value

        what = self.choice(What, self.get(data, "what", path), f"{path}.what")
        needs = {
            What.SHEET_CUT: ("sheet",),
            What.PANEL_BROKEN: ("sheet", "panel", "at_step"),
            What.OFFCUT_KEPT: ("sheet", "offcut"),
            What.OFFCUT_THROWN: ("sheet", "offcut"),
            What.SHEET_FLAWED: ("sheet",),
            What.UNDONE: ("undoes",),
        }[what]
        for key in needs:
            if maybe(key) is None:
                self.fail(f"{path}.{key}", "", tr('an event "{what}" needs {key}', what=what.value, key=key))
        id_, sheet, at_step = self.get(data, "id", path), maybe("sheet"), maybe("at_step")
        size, flaw, kind = maybe("size"), maybe("flaw"), maybe("kind")
        if not self.text(id_, f"{path}.id", MOST_ID):
            self.fail(f"{path}.id", id_, tr("an event needs an id"))
        return Event(
            id=id_,
            at=self.time(self.get(data, "at", path), f"{path}.at"),
            what=what,
            sheet=None if sheet is None else self.whole(sheet, f"{path}.sheet", 1),
            panel=self.maybe_text(maybe("panel"), f"{path}.panel"),
            at_step=None if at_step is None else self.choice(AtStep, at_step, f"{path}.at_step"),
            offcut=self.maybe_text(maybe("offcut"), f"{path}.offcut"),
            size=None if size is None else self.size(size, f"{path}.size"),
            flaw=None if flaw is None else self.flaw(flaw, f"{path}.flaw"),
            kind="" if kind is None else self.kind(kind, f"{path}.kind"),
            undoes=self.maybe_text(maybe("undoes"), f"{path}.undoes", MOST_ID),
            who=self.maybe_text(maybe("who"), f"{path}.who") or "",
            note=self.maybe_text(maybe("note"), f"{path}.note") or "",
            extra=self.others(data, _EVENT_KEYS, path),
        )

    def maybe_text(self, value: Any, path: str, most: int = MOST_TEXT) -> str | None:
        return None if value is None else self.text(value, path, most)

    def time(self, value: Any, path: str) -> datetime:
        text = self.text(value, path, 40)
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            at = None
        if at is None or at.tzinfo is None or not YEARS[0] <= at.year < YEARS[1]:
            self.fail(path, value, tr("expected a time with its zone, such as 2027-03-08T09:41:00+01:00"))
        return at

    def size(self, value: Any, path: str) -> tuple[int, int]:
        size = self.point(value, path)
        if min(size) <= 0:
            self.fail(path, "", tr("expected two lengths above 0"))
        return size

    def flaw(self, value: Any, path: str) -> tuple[int, int, int, int]:
        if not isinstance(value, list) or len(value) != 4:
            self.fail(path, "", tr("expected x, y, width and height"))
        x, y, w, h = (self.width(v, f"{path}[{i}]") for i, v in enumerate(value))
        if not w or not h:
            self.fail(path, "", tr("a flaw has a width and a height"))
        return x, y, w, h

    def kind(self, value: Any, path: str) -> str:
        kind = self.text(value, path)
        if kind not in KINDS:
            self.fail(path, value, tr("expected one of {words}", words=", ".join(KINDS)))
        return kind

    def record(self, data: Any) -> Record:
        if (schema := self.get(data, "schema", "file")) != SCHEMA:
            self.fail("schema", schema, tr("expected {schema}", schema=SCHEMA))
        plan = self.text(self.get(data, "plan", "file"), "plan", 20)
        if not is_plan_id(plan):
            self.fail("plan", plan, tr("this is no plan id"))
        events = self.get(data, "events", "file")
        if isinstance(events, list) and len(events) > MOST_EVENTS:
            self.fail("events", len(events), tr("more than {most} events", most=MOST_EVENTS))
        once: dict[str, Event] = {}
        for i, event in enumerate(self.each(events, "events", self.event)):
            if once.setdefault(event.id, event) != event:
                with suppress(Bad):
                    self.fail(f"events[{i}].id", event.id, tr("two different events have this id"))
        device = self.maybe_text(data.get("device"), "device") or ""
        extra = self.others(data, _FILE_KEYS, "file")
        return Record(plan=plan, device=device, events=tuple(once.values()), extra=extra)


def _remedy() -> str:
    return tr("save the record from the page again")


def read_record(text: str, problems: Problems, *, source: str = "record.json") -> Record | None:
    """Read the text of a record file; None where anything is wrong with it.

    Parameters
    ----------
    text
        The whole file.
    problems
        Gets every fault found, each with its place.
    source
        Name of the file, for messages.

    Notes
    -----
    That sheets, panels and offcuts are those of the plan is for the reader of the plan to see.
    """
    values = _RecordValues(source)
    found = None
    if len(text) > MOST_BYTES:
        reason = tr("larger than {most} MB", most=MOST_BYTES // 2**20)
        values.problems.append(problem(source, "", "", reason, _remedy()))
    else:
        try:
            found = values.record(parse(text, source))
        except Bad:
            pass
        except PlanFileError as error:
            values.problems += [replace(p, remedy=_remedy()) for p in error.problems]
    for p in values.problems:
        problems.add(p.file, p.reason, p.remedy, column=p.column or None, value=p.value)
    return None if values.problems else found


def load_record(path: Path, problems: Problems) -> Record | None:
    """Read a record file; None where it cannot be read or anything is wrong with it."""
    try:
        with path.open("rb") as file:
            text = file.read(MOST_BYTES + 1).decode("utf-8-sig")
    except OSError as error:
        problems.add(path, error.strerror or type(error).__name__, tr("give the name of a record file"))
        return None
    except UnicodeDecodeError as error:
        problems.add(path, tr("not in UTF-8 from byte {place} on", place=error.start), _remedy())
        return None
    return read_record(text, problems, source=str(path))


def record_text(record: Record) -> str:
    """The record file, ending in a line end; what does not apply to an event is left out."""
    head = {"schema": SCHEMA, "plan": record.plan, "device": record.device, **record.extra}
    lines = ",\n".join(" " + compact(_event(event)) for event in record.events)
    return f'{compact(head)[:-1]}, "events": [\n{lines}\n]}}\n'


def _event(event: Event) -> dict[str, object]:
    told: dict[str, object] = {
        "id": event.id,
        "at": event.at.isoformat(),
        "who": event.who,
        "sheet": event.sheet,
        "what": event.what.value,
        "panel": event.panel,
        "at_step": event.at_step.value if event.at_step else None,
        "offcut": event.offcut,
        "size": [length(v) for v in event.size] if event.size else None,
        "flaw": [length(v) for v in event.flaw] if event.flaw else None,
        "kind": event.kind,
        "undoes": event.undoes,
        "note": event.note,
    }
    plain = {key: value for key, value in told.items() if value is not None and value != ""}
    return {**plain, **event.extra}
