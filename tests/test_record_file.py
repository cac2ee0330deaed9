"""The record file: what is written comes back, what is wrong is named, and nothing hostile gets through."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.problems import Problems
from panewright.io.record_code import Done
from panewright.io.record_file import Event, Record, What, load_record, read_record, record_text
from panewright.nesting.happened import AtStep
from panewright.nesting.units import mm

EXAMPLE: dict[str, Any] = {
    "schema": "panewright.record/1",
    "plan": "Q7K2-9DMX",
    "device": "table 2",
    "events": [
        {"id": "7f0c", "at": "2027-03-08T09:41:00+01:00", "who": "", "sheet": 1, "what": "sheet cut"},
        {
            "id": "7f0d",
            "at": "2027-03-08T09:42:00+01:00",
            "sheet": 1,
            "what": "panel broken",
            "panel": "K-204/front/1",
            "at_step": "breaking",
            "note": "ran off",
        },
        {
            "id": "7f0e",
            "at": "2027-03-08T08:43:00Z",
            "sheet": 1,
            "what": "offcut kept",
            "offcut": "Q7K2-9DMX.1.a",
            "size": [900.5, 600],
        },
        {
            "id": "7f0f",
            "at": "2027-03-08T08:44:00Z",
            "sheet": 2,
            "what": "sheet flawed",
            "flaw": [10, 20, 30.25, 40],
        },
        {"id": "7f10", "at": "2027-03-08T08:45:00Z", "what": "undone", "undoes": "7f0c"},
    ],
}


def faults(data: object) -> list[str]:
    problems = Problems()
    text = data if isinstance(data, str) else json.dumps(data)
    assert read_record(text, problems, source="r.json") is None
    lines = [str(p) for p in problems.errors]
    assert lines and all(line.isprintable() and "r.json" in line for line in lines)
    return lines


def changed(event: int, **values: object) -> dict[str, Any]:
    data = json.loads(json.dumps(EXAMPLE))
    data["events"][event].update(values)
    return data


def read(data: object) -> Record:
    problems = Problems()
    record = read_record(json.dumps(data), problems)
    assert record is not None, problems.lines()
    return record


def test_the_form_of_the_contract_is_read() -> None:
    record = read(EXAMPLE)
    assert record.plan == "Q7K2-9DMX" and record.device == "table 2"
    cut, broken, kept, flawed, undone = record.events
    assert cut.what is What.SHEET_CUT and cut.sheet == 1
    assert cut.at == datetime.fromisoformat("2027-03-08T08:41:00+00:00")
    assert broken.at_step is AtStep.BREAKING and broken.panel == "K-204/front/1" and broken.note == "ran off"
    assert kept.size == (mm("900.5"), mm(600))
    assert flawed.flaw == (mm(10), mm(20), mm("30.25"), mm(40))
    assert undone.undoes == "7f0c"


def test_the_state_leaves_out_what_was_undone() -> None:
    done = read(EXAMPLE).done()
    assert done == Done(
        broken={"K-204/front/1": AtStep.BREAKING},
        offcuts={"Q7K2-9DMX.1.a": True},
        at=datetime.fromisoformat("2027-03-08T08:45:00+00:00"),
    )


def test_the_same_event_twice_counts_once() -> None:
    data = json.loads(json.dumps(EXAMPLE))
    data["events"].append(data["events"][0])
    assert read(data).events == read(EXAMPLE).events
    data["events"].append({**data["events"][0], "sheet": 2})
    assert any("7f0c" in line for line in faults(data))


@pytest.mark.parametrize(
    ("data", "place"),
    [
        ({**EXAMPLE, "schema": "panewright.record/2"}, "schema"),
        ({**EXAMPLE, "plan": "../../etc"}, "plan"),
        ({**EXAMPLE, "plan": 7}, "plan"),
        ({**EXAMPLE, "events": {}}, "events"),
        ({**EXAMPLE, "device": "x" * 500}, "device"),
        ({k: v for k, v in EXAMPLE.items() if k != "events"}, "file"),
        (changed(0, what="sheet eaten"), "events[0].what"),
        (changed(0, sheet=0), "events[0].sheet"),
        (changed(0, sheet=True), "events[0].sheet"),
        (changed(0, sheet=None), "events[0].sheet"),
        (changed(0, at="2027-03-08T09:41:00"), "events[0].at"),
        (changed(0, at="yesterday"), "events[0].at"),
        (changed(0, at="0001-01-01T00:00:00+14:00"), "events[0].at"),
        (changed(0, id=""), "events[0].id"),
        (changed(0, id="x" * 101), "events[0].id"),
        (changed(0, id=5), "events[0].id"),
        (changed(1, at_step="dreaming"), "events[1].at_step"),
        (changed(1, panel=""), "events[1].panel"),
        (changed(1, panel="\ud800"), "events[1].panel"),
        (changed(1, note="x" * 1000), "events[1].note"),
        (changed(2, size=[0, 5]), "events[2].size"),
        (changed(2, size=[1]), "events[2].size"),
        (changed(2, size=["9", 5]), "events[2].size"),
        (changed(2, offcut=None), "events[2].offcut"),
        (changed(3, flaw=[1, 2, 3]), "events[3].flaw"),
        (changed(3, flaw=[-1, 2, 3, 4]), "events[3].flaw"),
        (changed(3, flaw=[1, 2, 0, 4]), "events[3].flaw"),
        (changed(3, flaw=[1e9, 2, 3, 4]), "events[3].flaw"),
        (changed(4, undoes=""), "events[4].undoes"),
    ],
)
def test_faults_are_named_with_their_place(data: object, place: str) -> None:
    assert any(f'"{place}' in line for line in faults(data))


def test_all_faults_are_found_at_once() -> None:
    data = changed(0, sheet=-1)
    data["events"][1]["at_step"] = "?"
    data["events"][4]["undoes"] = 9
    assert len(faults(data)) == 3


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        "7",
        '{"schema": NaN}',
        '{"a": 1, "a": 2}',
        "[" * 100_000,
        "{}" + " " * (21 * 2**20),
    ],
)
def test_what_is_no_record_is_refused(text: str) -> None:
    faults(text)


def test_a_file_is_read_and_what_is_no_file_is_named(tmp_path: Path) -> None:
    path = tmp_path / "day.record.json"
    path.write_text(json.dumps(EXAMPLE), encoding="utf-8-sig")
    problems = Problems()
    assert load_record(path, problems) == read(EXAMPLE) and not problems
    path.write_bytes(b"\xff\xfe\x00")
    assert load_record(path, problems) is None and problems.error_count == 1
    assert load_record(tmp_path / "none", problems) is None and problems.error_count == 2
    assert load_record(tmp_path, problems) is None and problems.error_count == 3


def test_unknown_keys_are_kept() -> None:
    data = {**changed(0, colour="red", depth=2.5), "shift": {"late": True}}
    record = read(data)
    assert read(json.loads(record_text(record))) == record
    assert record.events[0].extra["colour"] == "red" and record.extra["shift"] == {"late": True}


NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=80)
ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
TIMES = st.builds(
    lambda minutes, zone: (datetime(2000, 1, 2, tzinfo=UTC) + timedelta(minutes=minutes)).astimezone(zone),
    st.integers(0, 99 * 365 * 24 * 60),
    ZONES,
)
LENGTHS = st.integers(1, 10**10)


@st.composite
def records(draw: st.DrawFn) -> Record:
    events = []
    for i in range(draw(st.integers(0, 5))):
        what = draw(st.sampled_from(What))
        is_offcut = what in (What.OFFCUT_KEPT, What.OFFCUT_THROWN)
        is_broken = what is What.PANEL_BROKEN
        events.append(
            Event(
                id=f"{i}-{draw(NAMES)}",
                at=draw(TIMES),
                what=what,
                sheet=None if what is What.UNDONE else draw(st.integers(1, 999)),
                panel=draw(NAMES) if is_broken else None,
                at_step=draw(st.sampled_from(AtStep)) if is_broken else None,
                offcut=draw(NAMES) if is_offcut else None,
                size=draw(st.none() | st.tuples(LENGTHS, LENGTHS)) if is_offcut else None,
                flaw=draw(st.none() | st.tuples(*[LENGTHS] * 4)) if what is What.SHEET_FLAWED else None,
                undoes=draw(NAMES) if what is What.UNDONE else None,
                who=draw(st.just("") | NAMES),
                note=draw(st.just("") | NAMES),
            )
        )
    return Record(plan="Q7K2-9DMX", device=draw(st.just("") | NAMES), events=tuple(events))


@settings(derandomize=True, max_examples=30, deadline=None)
@given(records())
def test_what_is_written_is_read_back(record: Record) -> None:
    assert read(json.loads(record_text(record))) == record
