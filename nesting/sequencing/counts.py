"""What a sequence asks of the people at the table: turns, re-grips, settings, marks, mass moved, minutes.

Counts are facts of the sequence. Minutes are modelled by the shop's own rates, and no better than these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

from ..pieces import Direction
from ..plan import CutKind
from ..shop_table import Habit, Rates
from ..steps import Result, Step
from .work import HARD, METRE


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """The work on a sheet, or on several.

    Parameters
    ----------
    sheets, cuts
        Sheets, and scores and breaks.
    turns
        Quarter turns of the piece in hand.
    grips
        Pieces taken up that had been waiting.
    settings
        Times that the stop is set, and different measures (on each sheet) that it is set to.
    marks
        Marks made along an edge.
    placements
        Pieces laid down to be marked and scored as a whole.
    gram_moves
        Mass of a piece each time that it is brought to the stop or the edge of the table for a break, or
        laid down for a whole placement, added up; taking it up and turning it are part of that move. [g]
    changes
        Cuts in another direction than the one before.
    far, hard
        Breaks that leave less than a quarter on one side; narrow strips off wide pieces.
    waiting
        The most pieces that wait at once, still to be cut.
    score
        Length of all scores. [nm]
    milliseconds
        By the rates of the shop.
    """

    sheets: int = 0
    cuts: int = 0
    turns: int = 0
    grips: int = 0
    settings: int = 0
    measures: int = 0
    marks: int = 0
    placements: int = 0
    gram_moves: int = 0
    changes: int = 0
    far: int = 0
    hard: int = 0
    waiting: int = 0
    score: int = 0
    milliseconds: int = 0

    def __add__(self, other: Counts) -> Counts:
        added = {f.name: getattr(self, f.name) + getattr(other, f.name) for f in fields(self)}
        added["waiting"] = max(self.waiting, other.waiting)
        return Counts(**added)


def counts_of(steps: Sequence[Step], habit: Habit, rates: Rates) -> Counts:
    """The counts of one sheet.

    Parameters
    ----------
    steps
        Of the sheet, see `sequence.steps_of`.
    habit, rates
        Of the sheet and of the shop.
    """
    total = Counts(sheets=1, milliseconds=rates.sheet)
    before: bool | None = None
    measures: set[int] = set()
    for step in steps:
        upright = _is_upright(step)
        changed = before is not None and upright is not None and upright != before
        before = before if upright is None else upright
        total += _of_step(step, habit, rates, changed)
        if step.table is not None:
            measures.add(step.table)
    return total + Counts(measures=len(measures) if habit is Habit.STOP else 0)


def step_milliseconds(step: Step, habit: Habit, rates: Rates) -> int:
    """How long one step takes by the rates; a placement is laid, marked and slid at its first break. [ms]"""
    return _of_step(step, habit, rates, False).milliseconds


def _is_upright(step: Step) -> bool | None:
    if step.kind is CutKind.SHAPE:
        return None
    return step.makes[0].part in (Direction.LEFT, Direction.RIGHT)


def _of_step(step: Step, habit: Habit, rates: Rates, changed: bool) -> Counts:
    mass = step.piece.mass
    turns, grips = int(step.turns), int(step.takes_up)
    by_hand = habit is not Habit.MACHINE or step.kind is CutKind.SHAPE
    alone = by_hand and step.placement is None
    # what is laid down once is trimmed, scored and broken where it lies
    lies = habit is Habit.STRIP and step.piece.made_by is not None and not (turns or grips)
    moved = int(not lies)
    setting = int(habit is Habit.STOP and step.distance is not None and not step.stays_set)
    marks = len(step.marks)
    if habit is Habit.STRIP:
        marks += len(step.placement.marks) if step.placement and step.is_first else 0
        marks += int(alone and step.distance is not None)
    small, whole = _parts(step.makes)
    far = rates.snap_metre * step.score * (whole - 2 * small) ** 2 // (METRE * whole * whole)
    hard = small < HARD and whole - small > 3 * small
    time = rates.snap + far + (rates.hard if hard else 0)
    time += turns * (rates.turn + rates.turn_kg * mass // 1000)
    time += grips * (rates.grip + rates.grip_kg * mass // 1000)
    time += setting * rates.setting + marks * rates.mark
    if by_hand:
        time += rates.score + rates.score_metre * step.score // METRE
    if by_hand and moved:
        time += rates.slide + rates.slide_kg * mass // 1000
    return Counts(
        cuts=1,
        turns=turns,
        grips=grips,
        settings=setting,
        marks=marks,
        placements=int(step.is_first),
        gram_moves=mass * moved,
        changes=int(changed),
        far=int(4 * small < whole),
        hard=int(hard),
        waiting=len(step.waiting),
        score=step.score,
        milliseconds=time,
    )


def _parts(makes: tuple[Result, Result]) -> tuple[int, int]:
    """The smaller of both parts across the score, and both together; of angled ones by their boxes."""
    upright = makes[0].part in (Direction.LEFT, Direction.RIGHT)
    a, b = ((p.width if upright else p.height) for p in makes)
    return min(a, b), max(1, a + b)
