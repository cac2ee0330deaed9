"""Panels: one finished piece of glass each, with its edgework and the outline it is cut to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum

from .edgework import Edge
from .flaws import Tolerance
from .glass import mass_grams
from .offsets import cut_outline
from .openings import Opening
from .outlines import Outline, area2, is_rectangle
from .tips import Tip


class Turn(Enum):
    """The rotations a panel may take on the sheet."""

    ANY = "any"
    QUARTER = "quarter"
    HALF = "half"
    NONE = "none"

    @property
    def by_quarter(self) -> bool:
        """Whether a quarter turn is allowed."""
        return self in (Turn.ANY, Turn.QUARTER)


class Purpose(Enum):
    """Why a panel is on the plan."""

    ORDER = "order"
    SPARE = "spare"
    FILLER = "filler"


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One piece of glass.

    Parameters
    ----------
    id
        Unique in a plan: order, name and a running number.
    order, name
        The customer's order and the panel's name in it.
    due
        The day on which it must be cut, or None.
    purpose
        Ordered, spare or filler.
    glass
        Glass key, for example ``clear-10``.
    thickness
        Nominal thickness. [nm]
    finished
        Finished outline, counter-clockwise. [nm]
    cut
        Cut outline in the same frame, convex. [nm]
    edges
        One an edge of the finished outline.
    narrow
        The order says that it may be narrower than the break-out distance.
    turn, mirror
        Rotations allowed; whether it may be cut mirror-image and turned over.
    from_stock
        Name of the only stock size or offcut that it may be cut from, or None.
    note
        Free text of the order.
    openings
        Holes and cut-outs, in the frame of the finished outline; not scored.
    tips
        Corners at which the cut outline is cut back, in their order.
    booked
        The day on which its order came in, or None where the list does not say.
    product
        What its order is counted by, where the list says so.
    rack, slot
        The rack (cart, furnace batch) that it leaves the table into, and its place there: those of one rack
        are cut in rising order of their slots. None without a rack.
    tolerates
        Flaws that the order takes, by kind and zone.
    """

    id: str
    order: str
    name: str
    glass: str
    thickness: int
    finished: Outline
    cut: Outline
    edges: tuple[Edge, ...]
    due: date | None = None
    purpose: Purpose = Purpose.ORDER
    narrow: bool = False
    turn: Turn = Turn.ANY
    mirror: bool = False
    from_stock: str | None = None
    note: str = ""
    openings: tuple[Opening, ...] = ()
    tips: tuple[Tip, ...] = ()
    booked: date | None = None
    product: str = ""
    rack: str = ""
    slot: int | None = None
    tolerates: tuple[Tolerance, ...] = ()

    @property
    def mass_grams(self) -> int:
        """Mass of the finished panel. [g]"""
        return mass_grams(area2(self.finished), self.thickness)

    @property
    def cut_area2(self) -> int:
        """Twice the area of the cut outline. [nm2]"""
        return area2(self.cut)

    @property
    def is_rectangle(self) -> bool:
        """Whether its cut outline is a rectangle along the axes of its frame."""
        return is_rectangle(self.cut)


def cut_of(finished: Outline, edges: tuple[Edge, ...]) -> Outline:
    """The cut outline of a finished outline with these edges (see `cut_outline`)."""
    return cut_outline(finished, [edge.allowance for edge in edges])
