"""The sums of a waste report: whole numbers that add up, and the shares made of them.

The glass of sheets goes, by where it ends, into panels, spares, fillers, panels that broke, trim, cullet and offcuts;
and by whether a plan could have done without it, into panels (and so on), the unavoidable waste and the rest. Their
money goes the second way too, and adds up to the cost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Self

from ..figures import shares


@dataclass(slots=True, kw_only=True)
class WasteSums:
    """Sums over sheets, or over the parts of sheets that fall to an order; areas twice nm2, money 1/10,000.

    Parameters
    ----------
    sheets, from_offcuts
        Sheets and offcuts taken; of them offcuts. Parts of sheets count none.
    panels, broken
        Panels of orders that are whole, and panels that broke.
    sheet
        Area of the sheets.
    cut, finished
        Cut and finished area of the whole panels.
    spare, filler
        Cut area of spares and fillers.
    lost
        Cut area of what broke.
    trim, cullet, offcut
        Trim and cullet without what broke, and offcuts kept.
    thrown
        Of trim and cullet, offcuts that the plan wanted kept.
    rest
        Of trim, cullet and offcuts, what the plan took over its lower bound.
    cost
        Of the sheets.
    in_panels, in_extras, in_broken, in_rest
        Of the cost: whole panels, spares and fillers, what broke, and what the plan cost over its lower bound.
    worth
        Worth of the offcuts kept, by the shop's rule, on the day on which they were made.
    scrap_grams
        Trim, cullet and what broke. [g]
    """

    sheets: int = 0
    from_offcuts: int = 0
    panels: int = 0
    broken: int = 0
    sheet: int = 0
    cut: int = 0
    finished: int = 0
    spare: int = 0
    filler: int = 0
    lost: int = 0
    trim: int = 0
    cullet: int = 0
    offcut: int = 0
    thrown: int = 0
    rest: int = 0
    cost: int = 0
    in_panels: int = 0
    in_extras: int = 0
    in_broken: int = 0
    in_rest: int = 0
    worth: int = 0
    scrap_grams: int = 0

    def add(self, other: Self) -> None:
        """Add another part."""
        for name in FIELDS:
            setattr(self, name, getattr(self, name) + getattr(other, name))

    @classmethod
    def of(cls, parts: Iterable[Self]) -> Self:
        """All parts together."""
        out = cls()
        for part in parts:
            out.add(part)
        return out

    @property
    def beside(self) -> int:
        """Glass beside panels, spares and fillers that did not break. [twice nm2]"""
        return self.trim + self.cullet + self.offcut

    @property
    def unavoidable(self) -> int:
        """Of it what no plan avoids, by the lower bound. [twice nm2]"""
        return self.beside - self.rest

    @property
    def in_unavoidable(self) -> int:
        """Of the cost, what no plan avoids beside the panels. [1/10,000 of the currency]"""
        return self.cost - self.in_panels - self.in_extras - self.in_broken - self.in_rest

    @property
    def net_cost(self) -> int:
        """Cost less the worth of the offcuts kept. [1/10,000 of the currency]"""
        return self.cost - self.worth

    @property
    def gross_yield(self) -> Fraction | None:
        """Cut area of whole panels over sheet area, or None without a sheet."""
        return _over(self.cut, self.sheet)

    @property
    def net_yield(self) -> Fraction | None:
        """The same over sheet area less the offcuts kept."""
        return _over(self.cut, self.sheet - self.offcut)

    @property
    def finished_yield(self) -> Fraction | None:
        """Finished area over sheet area."""
        return _over(self.finished, self.sheet)

    @property
    def scrap(self) -> int:
        """Glass thrown away: trim, cullet and what broke. [twice nm2]"""
        return self.trim + self.cullet + self.lost

    def a_metre(self, money: int) -> int | None:
        """Money for each m2 of finished glass, halves rounded up; None without any. [1/10,000]"""
        if not self.finished:
            return None
        return (4 * money * 10**18 + self.finished) // (2 * self.finished)


FIELDS = tuple(field.name for field in fields(WasteSums))

_SHARED = ("spare", "filler", "trim", "cullet", "offcut", "thrown", "rest", "in_extras", "in_rest", "worth")
"""What panels bear together, by their cut area on the sheet."""


def _over(part: int, whole: int) -> Fraction | None:
    return Fraction(part, whole) if whole > 0 else None


def shared_out(whole: WasteSums, own: list[WasteSums]) -> None:
    """Give the parts of a sheet what their panels bear together, so that they add up to it.

    Parameters
    ----------
    whole
        The sheet.
    own
        What is theirs alone: panels, broken, cut, finished and lost. The rest is filled in.
    """
    weights = [part.cut + part.lost for part in own]
    if not any(weights):
        weights = [1, *(0 for _ in own[1:])]
    for name in _SHARED:
        for part, amount in zip(own, shares(getattr(whole, name), weights), strict=True):
            setattr(part, name, amount)
    for name, area in (("in_panels", "cut"), ("in_broken", "lost")):
        mine = [getattr(part, area) for part in own]
        for part, amount in zip(
            own, shares(getattr(whole, name), mine if any(mine) else weights), strict=True
        ):
            setattr(part, name, amount)
    free = shares(whole.in_unavoidable, weights)
    grams = shares(whole.scrap_grams, [part.scrap for part in own])
    for part, amount, mass in zip(own, free, grams, strict=True):
        part.cost = part.in_panels + part.in_extras + part.in_broken + part.in_rest + amount
        part.sheet = part.cut + part.spare + part.filler + part.lost + part.beside
        part.scrap_grams = mass
    # angled cuts: leaves are rounded to the nanometre and add up to the sheet within 1 mm2
    own[-1].sheet += whole.sheet - sum(part.sheet for part in own)
    own[-1].scrap_grams += whole.scrap_grams - sum(part.scrap_grams for part in own)
