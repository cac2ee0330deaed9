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
    """One end of an angled score: so far along this edge from its nearer end.

    Parameters
    ----------
    edge
        Where the edge lies on the piece in hand.
    edge_length
        [nm]
    end
        The nearer end.
    distance
        From there along the edge. [nm]
    """

    edge: Direction
    edge_length: int
    end: End
    distance: int


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
    offcut
        Number of an offcut, else None.
    mirrored
        The panel lies mirror-image and is turned over afterwards.
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
    offcut: str | None = None
    mirrored: bool = False


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
        From that edge square to the score: the size of the part on its side. [nm]
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
    """

    number: int
    sheet: int
    piece: Held
    lift: Lift
    edge: Direction | None
    edge_is_raw: bool
    distance: int | None
    marks: tuple[Mark, ...]
    score: int
    kind: CutKind
    level: int | None
    makes: tuple[Result, Result]
    cautions: tuple[Caution, ...]
