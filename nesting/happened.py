"""What really happened to the sheets of a plan: what is cut, what broke and at which work, what is no good."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from .flaws import Flaw


class AtStep(Enum):
    """At which work a panel broke; the order is that of the numbers in a record code."""

    SCORING = "scoring"
    BREAKING = "breaking"
    EDGING = "edging"
    DRILLING = "drilling"
    HANDLING = "handling"


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTable:
    """A piece of a half cut sheet, as it was measured on the table. [nm]"""

    sheet: int
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """The state of a plan at the table.

    Parameters
    ----------
    cut
        Numbers of the sheets that are cut: nothing on them moves any more.
    half
        Sheets in the cutting: number -> the last step of the sequence that is done.
    pieces
        Pieces of half cut sheets, measured, where a break ran off and the sequence tells no longer.
    broken
        Panel id -> at which work it broke.
    flawed
        Sheets that cannot be cut as planned: number -> why (a flaw, a short size, broken in the rack).
        Nobody said where, so that the sheet is lost.
    flaws
        Flaws found on sheets and where they lie: number -> those marked since the plan was made. What is not
        cut yet is planned around them.
    begun
        Sheets in the cutting of which it need not be known how far they are.
    gone
        Offcuts (numbers of stock pieces) that a sheet of this plan was to be cut from and that are not there.
    """

    cut: frozenset[int] = frozenset()
    half: Mapping[int, int] = field(default_factory=dict)
    pieces: tuple[OnTable, ...] = ()
    broken: Mapping[str, AtStep] = field(default_factory=dict)
    flawed: Mapping[int, str] = field(default_factory=dict)
    flaws: Mapping[int, tuple[Flaw, ...]] = field(default_factory=dict)
    begun: frozenset[int] = frozenset()
    gone: frozenset[str] = frozenset()
