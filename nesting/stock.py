"""Stock: sheets as bought and offcuts, with their raw sides, trims, price and number on hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from .flaws import Flaw


class Side(Enum):
    """A side of a sheet or piece as it lies: x to the right, y up."""

    LEFT = "left"
    RIGHT = "right"
    BOTTOM = "bottom"
    TOP = "top"


ALL_SIDES: tuple[Side, ...] = tuple(Side)


@dataclass(frozen=True, slots=True)
class Trim:
    """The strip along each side in which no panel may lie; 0 on a side that is not raw. [nm]"""

    left: int = 0
    right: int = 0
    bottom: int = 0
    top: int = 0

    def on(self, raw: Iterable[Side]) -> Trim:
        """The trim that is left when only these sides are raw."""
        sides = set(raw)
        return Trim(*(getattr(self, side.value) if side in sides else 0 for side in Side))


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPiece:
    """A stock size, or one offcut.

    Parameters
    ----------
    name
        Name of the stock size (``clear-10 3210x2250``) or number of the offcut; unique.
    glass
        Glass key.
    width, height
        Nominal size. [nm]
    is_offcut
        An offcut is there once and cannot be bought.
    raw
        The sides that are still as bought.
    trim
        Trim on the raw sides, 0 on the others. [nm]
    cost
        Price of a sheet, or the whole worth of an offcut. [1/10,000 of the currency]
    on_hand
        Pieces in the rack.
    buyable
        Whether more can be bought at this price.
    lead_days
        Days until a bought one is here, or None.
    flaws
        In which no panel may lie; such a piece cannot be bought.
    take
        Sheets of a glass with a number are taken in rising order of it, none passed over (a case that is
        opened from the front), and before all others; None: in any order.
    """

    name: str
    glass: str
    width: int
    height: int
    is_offcut: bool = False
    raw: tuple[Side, ...] = ALL_SIDES
    trim: Trim = Trim()
    cost: int = 0
    on_hand: int = 0
    buyable: bool = False
    lead_days: int | None = None
    flaws: tuple[Flaw, ...] = ()
    take: int | None = None

    def never_runs_out(self, panels: int) -> bool:
        """Whether this stock piece alone is sure to do for so many panels."""
        return not self.is_offcut and (self.buyable or self.on_hand >= panels)

    @property
    def is_there(self) -> bool:
        """Whether it is in the rack or can be bought."""
        return self.buyable or self.on_hand > 0

    @property
    def inner_width(self) -> int:
        """Width in which panels may lie. [nm]"""
        return self.width - self.trim.left - self.trim.right

    @property
    def inner_height(self) -> int:
        """Height in which panels may lie. [nm]"""
        return self.height - self.trim.bottom - self.trim.top


def rooms_of(stock: Iterable[StockPiece]) -> list[tuple[int, int]]:
    """Inner sizes of the stock that is there, where panels may lie in it at all. [nm]"""
    sizes = [(s.inner_width, s.inner_height) for s in stock if s.is_there]
    return [size for size in sizes if min(size) > 0]
