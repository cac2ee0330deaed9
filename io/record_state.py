"""What records of a plan, or of the plans that it follows, say of its sheets and panels."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from pathlib import Path

from panewright.io.event_standing import standing
from panewright.io.file_names import RECORD_ENDING
from panewright.io.problems import Problems
from panewright.io.record_file import Event, Record, What, load_record
from panewright.io.record_making import BEGUN
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep, Happened
from panewright.nesting.kept import line_ids
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr


def records_beside(folder: Path) -> list[Path]:
    """The record files that lie in the folder of a plan."""
    if not folder.is_dir():
        folder = folder.parent
    return sorted(p for p in folder.iterdir() if p.name.lower().endswith(RECORD_ENDING) and p.is_file())


def read_records(
    plan: Plan, paths: Iterable[Path], beside: Collection[Path], problems: Problems
) -> list[Record]:
    """The records of a plan; those of other plans are errors, or passed over where they lie beside it."""
    line = line_ids(plan)
    out = []
    for path in dict.fromkeys([*paths, *beside]):
        record = load_record(path, problems)
        if record is None:
            continue
        if record.plan in line:
            out.append(record)
        elif path not in beside:
            reason = tr("it is a record of plan {plan}, not of {wanted}", plan=record.plan, wanted=plan.id)
            problems.add(path, reason, tr("give a record of this plan, or of one that it follows"))
    return out


def happened_of(records: Iterable[Record]) -> Happened:
    """The state that several records lead to; the same event in two of them counts once."""
    events: dict[str, Event] = {}
    for record in records:
        for event in record.events:
            events.setdefault(event.id, event)
    every = sorted(events.values(), key=lambda e: (e.at, e.id))
    done = Record(plan="", events=tuple(every)).done()
    stands = standing({e.id: e.undoes if e.what is What.UNDONE else None for e in every})
    flawed: dict[int, str] = {}
    flaws: dict[int, list[Flaw]] = {}
    begun: set[int] = set()
    for e in every:
        if e.what is not What.SHEET_FLAWED or e.sheet is None or not stands[e.id]:
            continue
        if e.extra.get(BEGUN) is True:
            begun.add(e.sheet)
        if e.located is None:
            flawed[e.sheet] = e.note or tr("a flaw")
        elif e.located not in flaws.setdefault(e.sheet, []):
            flaws[e.sheet].append(e.located)
    return Happened(
        cut=done.sheets,
        broken=dict(done.broken),
        flawed=flawed,
        flaws={n: tuple(sorted(found)) for n, found in sorted(flaws.items()) if n not in flawed},
        begun=frozenset(begun),
    )


def kept_offcuts(records: Iterable[Record]) -> dict[str, tuple[int, int] | None]:
    """Numbers of the offcuts that are kept, with the size where it was measured. [nm]"""
    out: dict[str, tuple[int, int] | None] = {}
    for record in records:
        kept = record.done().offcuts
        sizes = {e.offcut: e.size for e in record.events if e.what is What.OFFCUT_KEPT}
        out |= {name: sizes.get(name) for name, there in kept.items() if there}
    return out


def both(first: Happened, second: Happened) -> Happened:
    """Two accounts of the same plan in one."""
    half = {n: max(first.half.get(n, 0), second.half.get(n, 0)) for n in {*first.half, *second.half}}
    broken: dict[str, AtStep] = {**first.broken, **second.broken}
    flawed = {**first.flawed, **second.flawed}
    flaws = {
        n: tuple(sorted({*first.flaws.get(n, ()), *second.flaws.get(n, ())}))
        for n in sorted({*first.flaws, *second.flaws} - flawed.keys())
    }
    return replace(
        first,
        cut=first.cut | second.cut,
        half=dict(sorted(half.items())),
        pieces=(*first.pieces, *second.pieces),
        begun=first.begun | second.begun,
        broken=broken,
        flawed=flawed,
        flaws=flaws,
        gone=first.gone | second.gone,
    )
