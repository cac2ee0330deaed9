"""The words of a cut sequence: what is in hand, where to measure, what comes off, what to mind."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from .pieces import Direction
from .plan import CutKind, LeafKind


class Lift(Enum):
    """Who or what lifts a piece."""

    ONE = "one person"
    TWO = "two persons"
    CRANE = "suction lifter or crane"


class End(Enum):
    """An end of an edge."""

    LEFT = "left end"
    RIGHT = "right end"
    LOWER = "lower end"
    UPPER = "upper end"


class Caution(Enum):
    """What to mind at a step; the value is the text, passed through `tr` when it is shown."""

    NARROW = "narrow strip: support its whole length, run the break with pliers"
    TWO = "lift with two persons"
    CRANE = "too heavy for hands: suction lifter or crane"
    RAW = "raw edge: sharp, and perhaps out of square"
    CORNER = "sharp points: break from the wide end, bin the corner at once"
    POINT = "sharp point: support it, break from the wide end, cover the point"
    TAPER = "runs to a point: support the whole score, start the break at the wide end"
    TURN = "cut mirror-image: turn over before edging"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """The piece in hand.

    Parameters
    ----------
    name
        In the cut tree.
    width, height
        Of its bounding box, as the drawing shows it. [nm]
    is_rectangle
        Whether it is one.
    mass
        [g]
    made_by
        Step that made it; None for the whole sheet.
    part
        Which part of that step it is.
    """

    name: str
    width: int
    height: int
    is_rectangle: bool
    mass: int
    made_by: int | None = None
    part: Direction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One end of an angled score: so far along this edge from the end where a tape hooks best.

    Parameters
    ----------
    edge
        Where the edge lies on the piece in hand.
    edge_length
        [nm]
    end
        The end of the edge from which it is measured.
    distance
        From there along the edge, 0 at the corner itself; exact to the nanometre. [nm]
    table
        The same as it is marked at the table, rounded to the step of the shop. [nm]
    step
        That step, or None where marks are exact. [nm]
    other
        The other end of the edge.
    is_square, is_sharp, is_raw
        Whether the corner at `end` is square; too sharp for the hook of a tape; hooked over a raw edge.
    can_check
        Whether the other corner takes a hook, so that a second measure tells whether the first is right.
    at, corner
        Where the score ends and where it is measured from, on the sheet. [nm]
    """

    edge: Direction
    edge_length: int
    end: End
    distance: int
    table: int
    step: int | None
    other: End
    is_square: bool
    is_sharp: bool
    is_raw: bool
    can_check: bool
    at: tuple[int, int]
    corner: tuple[int, int]

    @property
    def check(self) -> int:
        """The rounded mark measured from the other end, rounded as well. [nm]"""
        return rounded(self.edge_length - self.table, self.step, self.edge_length)


def rounded(distance: int, step: int | None, most: int) -> int:
    """A distance as it is marked: the nearest multiple of `step`, halves up, at most `most`. [nm]"""
    return distance if step is None else min((2 * distance + step) // (2 * step) * step, most)


class Eaten(Enum):
    """What rounded marks take of an edge's allowance at most."""

    LITTLE = "up to half of the allowance"
    HALF = "more than half of the allowance"
    ALL = "more than the allowance"


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeError:
    """How far a panel comes off its cut outline when marks are rounded.

    Parameters
    ----------
    panel
        Its id.
    missing, extra
        The most glass that is missing at an edge, and the most that is too much. [nm]
    eaten
        Over the edges that have an allowance.
    as_cut
        The most that is missing at an edge that gets no edgework: so much too small it stays. [nm]
    """

    panel: str
    missing: int
    extra: int
    eaten: Eaten
    as_cut: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One of the two pieces that a break makes.

    Parameters
    ----------
    name
        In the cut tree.
    part
        Where it lies, seen from the score.
    width, height, is_rectangle
        As in `Held`. [nm]
    kind
        Panel, offcut or cullet; None for a piece that is cut again.
    next_step
        The step that cuts it again, else None.
    panel, order, panel_name
        Of a panel, else None.
    rack, slot
        Where the panel goes; empty and None without a rack.
    offcut
        Number of an offcut, else None.
    mirrored
        The panel lies mirror-image and is turned over afterwards.
    error
        What rounded marks do to the size of a panel, or None.
    flaws
        Kinds of the flaws that a panel or an offcut has.
    """

    name: str
    part: Direction
    width: int
    height: int
    is_rectangle: bool
    kind: LeafKind | None = None
    next_step: int | None = None
    panel: str | None = None
    order: str | None = None
    panel_name: str | None = None
    rack: str = ""
    slot: int | None = None
    offcut: str | None = None
    mirrored: bool = False
    error: SizeError | None = None
    flaws: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A piece laid down once: all its parallel scores are marked from one edge and scored before the first break.

    Parameters
    ----------
    number
        On the sheet, from 1.
    piece
        What is laid down.
    edge
        Edge of that piece from which all marks are measured.
    edge_is_raw
        Whether that edge is still as bought.
    marks
        Distances of the scores from that edge, rising, as the tape shows them (see `Step.measure`). [nm]
    exact
        The same, not rounded. [nm]
    score
        Length of each score. [nm]
    """

    number: int
    piece: Held
    edge: Direction
    edge_is_raw: bool
    marks: tuple[int, ...]
    exact: tuple[int, ...]
    score: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One score and break as a person does it.

    Parameters
    ----------
    number, sheet
        Of the step on its sheet, and of the sheet.
    piece
        In hand.
    lift
        Who lifts it.
    edge
        Edge of the piece in hand from which the tape measures; None for an angled score.
    edge_is_raw
        Whether that edge is still as bought.
    distance
        From that edge square to the score: the size of the part on its side, exact. [nm]
    table
        The same as the tape shows it, rounded to the step of the shop. [nm]
    is_square
        The score is square to an edge that it ends on, along which the tape runs.
    square_to
        That edge, of a score with marks; else None.
    marks
        Both ends of an angled score, else empty.
    score
        Length of the score. [nm]
    kind, level
        Of the cut.
    makes
        Both parts, the one to be measured first.
    cautions
        What to mind.
    placement
        The placement that this break belongs to, or None where the piece is measured alone.
    mark
        The one of the marks of the placement at which it is broken. [nm]
    is_first
        Whether the placement is laid down, marked and scored before this break.
    is_scored
        The table has scored it already; what is left is the break.
    stays_set
        The stop is still set to this measure from the step before.
    turns
        Whether the piece in hand is turned a quarter, against the cut that made it.
    takes_up
        Whether it was waiting: it is no part of the step before.
    waiting
        Names of the pieces that wait on the table meanwhile and are still to be cut.
    """

    number: int
    sheet: int
    piece: Held
    lift: Lift
    edge: Direction | None
    edge_is_raw: bool
    distance: int | None
    table: int | None
    is_square: bool
    square_to: Direction | None
    marks: tuple[Mark, ...]
    score: int
    kind: CutKind
    level: int | None
    makes: tuple[Result, Result]
    cautions: tuple[Caution, ...]
    placement: Placement | None = None
    mark: int | None = None
    is_first: bool = False
    is_scored: bool = False
    stays_set: bool = False
    turns: bool = False
    takes_up: bool = False
    waiting: tuple[str, ...] = ()

    @property
    def measure(self) -> int | None:
        """What the tape shows: from the edge of the placement, else of the piece in hand; None with marks. [nm]"""
        return self.table if self.mark is None else self.mark

    @property
    def exact(self) -> int | None:
        """The measure before it is rounded; None with marks. [nm]"""
        if self.placement is None or self.mark is None:
            return self.distance
        return self.placement.exact[self.placement.marks.index(self.mark)]

    @property
    def measured_from(self) -> Direction | None:
        """The edge from which `measure` is taken."""
        return self.placement.edge if self.placement is not None else self.edge
