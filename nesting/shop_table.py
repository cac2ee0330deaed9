"""What the shop file says about work at the cutting table: who lifts, how strips are cut, how long things take.

Every time here is an assumption of ours [common practice] until the shop has timed ten cuts of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from .units import mm


class Table(Enum):
    """How the sheet is scored and broken; a machine asks for more trim."""

    HAND = "hand"
    MACHINE = "machine"


class Habit(Enum):
    """How a person or a machine works through a sheet.

    STOP: every cut is measured on the piece in hand, against a stop that stays set for equal measures.
    STRIP: a piece is laid down once, all its parallel scores are marked from one edge and scored, then
    it is broken by halves. MACHINE: the table scores the whole sheet, then it is broken out.
    """

    STOP = "stop"
    STRIP = "strip"
    MACHINE = "machine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifts:
    """What people lift by hand; above that a suction lifter or crane.

    Parameters
    ----------
    one_grams, two_grams
        Mass limit of one person and of two. [g]
    one_length
        Greatest length that one person carries. [nm]
    """

    one_grams: int = 25_000
    one_length: int = mm(1800)
    two_grams: int = 50_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """How long the parts of the work take, in whole milliseconds.

    Parameters
    ----------
    setting
        To set the stop, or the rule, to another measure.
    mark
        To make one mark along an edge.
    turn, turn_kg
        A quarter turn of the piece in hand, and what each kilogram adds.
    grip, grip_kg
        To put a piece away and take up another, and what each kilogram adds.
    slide, slide_kg
        To bring a piece to the stop, and what each kilogram adds.
    score, score_metre
        A score, and what each metre adds.
    snap, snap_metre
        A break, and what each metre adds when one part is much narrower than the other.
    hard
        More for the break of a narrow strip off a wide piece.
    loose
        To look after a panel that is left over instead of being measured.
    sheet
        To lay up a sheet and clear it away.
    """

    setting: int = 8_000
    mark: int = 3_000
    turn: int = 3_000
    turn_kg: int = 150
    grip: int = 3_000
    grip_kg: int = 100
    slide: int = 1_500
    slide_kg: int = 50
    score: int = 2_000
    score_metre: int = 1_500
    snap: int = 2_000
    snap_metre: int = 4_000
    hard: int = 5_000
    loose: int = 2_000
    sheet: int = 360_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TableWork:
    """How the table is worked.

    Parameters
    ----------
    habit
        Of every sheet; None: by the table and the mass of the sheet.
    strip_from
        From this mass on a sheet is cut by one placement a strip where `habit` is None. [g]
    waiting
        Pieces that may wait on the table beside the one in hand.
    scores_a_placement
        Parallel scores that may be made before the first of them is broken.
    to_the_mark
        Cut sizes of rectangles go up to what a tape shows, where an edge is worked anyway.
    rates
        How long the parts of the work take.
    """

    habit: Habit | None = None
    strip_from: int = 25_000
    waiting: int = 4
    scores_a_placement: int = 6
    to_the_mark: bool = False
    rates: Rates = field(default_factory=Rates)


@dataclass(frozen=True, slots=True, kw_only=True)
class Racks:
    """Where the panels of open orders wait for their edges.

    Parameters
    ----------
    names
        Of the racks, in the order in which they are filled.
    slots
        Places on each rack; one order has a place to itself while it is open.
    edging_metres
        Metres of edge that the edging line works on a day, or None where the shop does not say. [nm]
    """

    names: tuple[str, ...] = ("A", "B", "C")
    slots: int = 10
    edging_metres: int | None = None


class Paper(Enum):
    """A size of paper for the cut book and the labels."""

    A4 = "A4"
    LETTER = "Letter"

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, upright. A4 by ISO 216, Letter by ANSI/ASME Y14.1. [nm]"""
        return (mm(210), mm(297)) if self is Paper.A4 else (mm("215.9"), mm("279.4"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheet:
    """How labels lie on a sheet of them.

    Parameters
    ----------
    paper
        The sheet; None where a printer takes them from a roll, one a page.
    columns, rows
        Labels across and down.
    width, height
        Of one label. [nm]
    left, top
        From the edges of the paper to the first label. [nm]
    across, down
        From the left edge of a label to that of the next, and from top to top. [nm]
    """

    paper: Paper | None = Paper.A4
    columns: int = 2
    rows: int = 5
    width: int = mm(99)
    height: int = mm(57)
    left: int = mm(6)
    top: int = mm(6)
    across: int = mm(99)
    down: int = mm(57)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """Paper for the cut book and the labels.

    Parameters
    ----------
    paper
        Of the cut book.
    labels
        How the labels lie.
    """

    paper: Paper = Paper.A4
    labels: LabelSheet = field(default_factory=LabelSheet)
