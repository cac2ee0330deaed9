"""What the command line of `remake` says of the table."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from panewright.io.flaw_text import parse_flaw
from panewright.io.lengths import BadValue, parse_length
from panewright.io.problems import Problems
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep, Happened, OnTable
from panewright.nesting.plan import Plan
from panewright.nesting.remake.history import History
from panewright.nesting.remake.steps_done import in_order_done, in_turn, steps_done_faults
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the command line says of the table: see the options of `remake`."""

    records: tuple[Path, ...] = ()
    cut: tuple[int, ...] | None = None
    broken: tuple[tuple[str, AtStep], ...] = ()
    half_cut: tuple[tuple[int, tuple[range, ...]], ...] = ()
    on_table: tuple[tuple[int, str], ...] = ()
    flawed: tuple[tuple[int, str], ...] = ()
    flaws: tuple[tuple[int, str], ...] = ()
    gone: tuple[str, ...] = ()


def steps_done(told: Told, earlier: Plan) -> dict[int, set[int]]:
    """The steps that are done by sheet, with those of which the plan knows."""
    known = History(earlier).half
    out: dict[int, set[int]] = {}
    for sheet, ranges in told.half_cut:
        steps = out.setdefault(sheet, set(range(1, known.get(sheet, 0) + 1)))
        for some in ranges:
            steps.update(some)
    return out


def cut_out_of_turn(told: Told, earlier: Plan) -> frozenset[int]:
    """Sheets of which others than the first steps are done."""
    return frozenset(n for n, steps in steps_done(told, earlier).items() if not in_turn(steps))


def as_it_was_cut(told: Told, earlier: Plan, problems: Problems) -> Plan:
    """The plan with the steps of sheets that were cut out of turn in the order that really happened."""
    done = steps_done(told, earlier)
    faults = steps_done_faults(earlier, done)
    for fault in faults:
        reason = tr("{where}: {reason}", where=fault.where, reason=fault.reason)
        problems.add("--half-cut", reason, fault.remedy)
    return earlier if faults else in_order_done(earlier, done)


def happened_as_told(told: Told, earlier: Plan, unit: LengthUnit, problems: Problems) -> Happened:
    """What happened, from the texts of the options; bare lengths are in this unit."""
    pieces = []
    for sheet, size in told.on_table:
        sides = size.lower().split("x")
        try:
            if len(sides) != 2:
                raise BadValue(tr("this is no size"), tr("write it as in 1200x800"))
            width, height = (parse_length(side, unit) for side in sides)
            if not (width and height):
                raise BadValue(tr("a size has a width and a height"), tr("write it as in 1200x800"))
        except BadValue as error:
            problems.add("--on-table", error.reason, error.remedy, value=size)
            continue
        pieces.append(OnTable(sheet=sheet, width=width, height=height))
    flaws: dict[int, list[Flaw]] = {}
    for sheet, text in told.flaws:
        try:
            flaws.setdefault(sheet, []).append(parse_flaw(text.replace(":", " ").replace(";", " "), unit))
        except BadValue as error:
            problems.add("--flaw", error.reason, error.remedy, value=text)
    lost = {n: why or tr("a flaw") for n, why in told.flawed}
    return Happened(
        cut=frozenset(told.cut if told.cut != () else [x.number for x in earlier.layouts])
        if told.cut is not None
        else frozenset(),
        half={n: len(steps) for n, steps in steps_done(told, earlier).items()},
        pieces=tuple(pieces),
        broken=dict(told.broken),
        flawed=lost,
        flaws={n: tuple(sorted(set(found))) for n, found in sorted(flaws.items()) if n not in lost},
        gone=frozenset(told.gone),
    )
