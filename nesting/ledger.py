"""Movements of stock: what each kind does to the pieces in the rack, reserved and expected.

The ledger is only ever added to. What is in the rack is the sum of its movements; a mistake is put right
by another movement, never by a change of one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from .errors import NestingError
from .text import tr


class Move(Enum):
    """The kinds of movement."""

    RECEIVED = "received"
    RESERVED = "reserved"
    RELEASED = "released"
    CUT = "cut"
    EXPECTED = "offcut expected"
    KEPT = "offcut kept"
    NOT_MADE = "offcut not made"
    BROKEN = "broken"
    SCRAPPED = "scrapped"
    COUNTED = "counted"
    MOVED = "moved"
    ADJUSTED = "adjusted"
    MARKED = "flaws marked"


@dataclass(frozen=True, slots=True)
class Balance:
    """Pieces of one item of stock, or a change of them.

    Parameters
    ----------
    on_hand
        In the rack.
    reserved
        Of those in the rack or expected, what plans have taken.
    expected
        Offcuts that a plan will leave.
    """

    on_hand: int = 0
    reserved: int = 0
    expected: int = 0

    def __add__(self, other: Balance) -> Balance:
        return Balance(
            self.on_hand + other.on_hand, self.reserved + other.reserved, self.expected + other.expected
        )

    def __neg__(self) -> Balance:
        return Balance(-self.on_hand, -self.reserved, -self.expected)

    @property
    def free(self) -> int:
        """Pieces in the rack that no plan has taken; an expected offcut may be taken before it is there."""
        return max(0, self.on_hand - self.reserved)

    @property
    def sound(self) -> bool:
        """Whether nothing is below zero and no plan has taken what is neither there nor expected."""
        return min(self.on_hand, self.reserved, self.expected) >= 0 and (
            self.reserved <= self.on_hand + self.expected
        )


SIGNS: Final[dict[Move, tuple[str, str, str]]] = {
    Move.RECEIVED: ("+", "0", "0"),
    Move.RESERVED: ("0", "+", "0"),
    Move.RELEASED: ("0", "-", "0"),
    Move.CUT: ("-", "-", "0"),
    Move.EXPECTED: ("0", "0", "+"),
    Move.KEPT: ("+", "0", "-"),
    Move.NOT_MADE: ("0", "0", "-"),
    Move.BROKEN: ("-0", "0", "0"),
    Move.SCRAPPED: ("-", "0", "0"),
    Move.COUNTED: ("+-0", "0", "0"),
    Move.MOVED: ("0", "0", "0"),
    Move.ADJUSTED: ("+-0", "+-0", "+-0"),
    Move.MARKED: ("0", "0", "0"),
}
"""Which way each kind may change the three counts. A panel that breaks moves nothing in the rack."""


def _sign(count: int) -> str:
    return "0" if not count else "+" if count > 0 else "-"


class WrongMovement(NestingError, ValueError):
    """A change that a kind of movement cannot make."""

    def __init__(self, kind: Move, change: Balance) -> None:
        self.kind, self.change = kind, change
        super().__init__(kind, change)

    def __str__(self) -> str:
        return tr(
            "a movement of kind {kind} cannot change in the rack by {on_hand}, reserved by {reserved}, "
            "expected by {expected}",
            kind=self.kind.value,
            on_hand=self.change.on_hand,
            reserved=self.change.reserved,
            expected=self.change.expected,
        )


def check_movement(kind: Move, change: Balance) -> None:
    """Raise `WrongMovement` where the kind cannot make this change."""
    counts = (change.on_hand, change.reserved, change.expected)
    if any(_sign(count) not in allowed for count, allowed in zip(counts, SIGNS[kind], strict=True)):
        raise WrongMovement(kind, change)


class SheetState(Enum):
    """How far a sheet of a committed plan is."""

    TO_BUY = "to buy"
    RESERVED = "reserved"
    CUT = "cut"
    WITHOUT_GLASS = "without glass"
    """What it was to be cut from is gone: it must be planned again."""
    RELEASED = "released"
    """The plan was withdrawn, or follows another way."""


class PlanState(Enum):
    """How a plan stands in the store."""

    OPEN = "open"
    FOLLOWED = "followed"
    """Another plan was made from it and stands in its place."""
    WITHDRAWN = "withdrawn"
