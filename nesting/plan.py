"""The plan: layouts of all sheets with their cuts and leaves, as the plan file holds them.

Coordinates run right and up from the lower left corner of the sheet. [nm]
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import Enum

from .flaws import Flaw
from .outlines import Outline, Point
from .panels import Panel
from .rules import Rules
from .stock import Side, Trim
from .units import LengthUnit

SCHEMA = "panewright.plan/1"


class CutKind(Enum):
    """Trim (level 0), main cut, last trimming cut, or shape cut inside a blank."""

    TRIM = "trim"
    MAIN = "main"
    LAST = "last"
    SHAPE = "shape"


class LeafKind(Enum):
    """What a piece that is never cut again is."""

    PANEL = "panel"
    OFFCUT = "offcut"
    CULLET = "cullet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One score and break: the straight line from `start` to `end` through a piece in hand.

    ``makes[0]`` lies to the left of start -> end, ``makes[1]`` to its right. Cuts of one `placement` are
    marked and scored together, before the first of them is broken.
    """

    step: int
    piece: str
    start: Point
    end: Point
    makes: tuple[str, str]
    kind: CutKind
    level: int | None
    placement: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """A piece that is never cut again.

    Parameters
    ----------
    piece
        Its name in the cut tree.
    outline
        In place on the sheet, counter-clockwise. [nm]
    kind
        Panel, offcut or cullet.
    panel
        Id of the panel, else None.
    turned
        Counter-clockwise rotation of the panel's frame. [1e-9 degree]
    mirrored
        Reflected (x -> -x) before turning.
    offcut
        Number of the offcut, else None.
    raw
        Raw sides that an offcut keeps.
    """

    piece: str
    outline: Outline
    kind: LeafKind
    panel: str | None = None
    turned: int = 0
    mirrored: bool = False
    offcut: str | None = None
    raw: tuple[Side, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One sheet or offcut taken, with all its cuts.

    `buy` says that it is not in the rack and must be bought; `habit` how it is cut, None as
    the plan says. `flaws` are boxes (x, y, width, height), `flaw_kinds` their kinds where they are known, and
    `spots` flaws of kinds that a panel of the plan tolerates. [nm] `take` is the number by which it is taken.
    """

    number: int
    glass: str
    stock: str
    is_offcut: bool
    cost: int
    width: int
    height: int
    raw: tuple[Side, ...]
    trim: Trim
    cuts: tuple[Cut, ...]
    leaves: tuple[Leaf, ...]
    flaws: tuple[tuple[int, int, int, int], ...] = ()
    flaw_kinds: tuple[str, ...] = ()
    spots: tuple[Flaw, ...] = ()
    day: date | None = None
    buy: bool = False
    habit: str | None = None
    take: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplaced:
    """A panel that is on no layout, and the rule that forbids it."""

    panel: str
    rule: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A lower bound on the cost of stock taken, over the panels that are placed.

    Parameters
    ----------
    cost
        [1/10,000 of the currency]
    sheets
        Least number of sheets and offcuts.
    by
        The method that gave it.
    valid_for
        The class of cutting plans for which it holds.
    """

    cost: int
    sheets: int
    by: str
    valid_for: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassOutcome:
    """What the search says about one glass: bound, status and stop reason."""

    bound: Bound
    optimal: bool
    stopped_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The layouts for a set of orders.

    Parameters
    ----------
    id
        First eight characters of the hash over seed and leaves (see `plan_id`).
    program
        Name and version that made it.
    seed, effort
        Of the search; effort None when it ran by the clock.
    habit
        How a strip is cut: ``"stop"``, ``"strip"`` or ``"machine"``.
    length_unit, currency
        As the shop shows them.
    rules
        The rules of each glass key.
    panels, layouts, unplaced
        Everything asked for, and where it went.
    outcomes
        Bound and status by glass key.
    """

    id: str
    program: str
    seed: int
    effort: int | None
    length_unit: LengthUnit
    currency: str
    rules: dict[str, Rules]
    panels: tuple[Panel, ...]
    layouts: tuple[Layout, ...]
    unplaced: tuple[Unplaced, ...]
    outcomes: dict[str, GlassOutcome]
    habit: str = "stop"
    extra: dict[str, object] = field(default_factory=dict)

    def panel(self, panel_id: str) -> Panel:
        """The panel of this id; raises KeyError."""
        return self._index()[panel_id]

    def _index(self) -> dict[str, Panel]:
        return {panel.id: panel for panel in self.panels}
