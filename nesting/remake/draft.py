"""A whole answer while it is worked on, and how good it is."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ..panels import Panel, Purpose
from ..plan import Layout, LeafKind, Unplaced
from ..progress import GlassProgress
from ..shop import Shop
from ..stock import StockPiece
from .days import Calendar
from .giving import Gift, Need
from .racks import out_of_order
from .sheets import How, Sheet
from .tree import panels_on

Score = tuple[int, ...]
"""Panels unplaced, late ones, days late, cost, sheets changed, worth of offcuts lost in hundredths of a sheet,
panels behind a later slot of their rack, sheets cut up anew, pieces given, that worth exactly, cuts."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A whole answer.

    Parameters
    ----------
    sheets
        In the order in which they are cut.
    needs
        What is on them besides the panels of before.
    gifts
        Pieces that serve another panel from now on.
    left
        Needs for which there is no glass, with the reason.
    """

    sheets: tuple[Sheet, ...]
    needs: tuple[Need, ...] = ()
    gifts: tuple[Gift, ...] = ()
    left: tuple[Unplaced, ...] = field(default=())


class Judge:
    """Says what a draft costs.

    Parameters
    ----------
    shop
        Worth of offcuts, and how many a plan may leave.
    stock
        From which the price of the glass is taken.
    panels
        All panels by id.
    before
        The sheets as they were planned.
    calendar
        Gives sheets that have none a cutting day.
    """

    def __init__(
        self,
        shop: Shop,
        stock: Sequence[StockPiece],
        panels: Mapping[str, Panel],
        before: Sequence[Layout],
        calendar: Calendar,
    ) -> None:
        self.shop, self.panels, self.calendar = shop, panels, calendar
        self._price: dict[str, Fraction] = {}
        known = [(s.glass, s.is_offcut, Fraction(s.cost, s.width * s.height)) for s in stock]
        known += [(x.glass, x.is_offcut, Fraction(x.cost, x.width * x.height)) for x in before]
        for glass in sorted({g for g, _, _ in known}):
            whole = [price for g, offcut, price in known if g == glass and not offcut]
            any_price = [price for g, _, price in known if g == glass]
            self._price[glass] = shop.offcut_worth * min(whole) if whole else max(any_price)
        costs = [s.cost for s in stock if not s.is_offcut] or [x.cost for x in before]
        self._grain = max(1, min(costs, default=0) // 100)
        self._before = self.worth(before)

    def worth(self, layouts: Iterable[Layout]) -> int:
        """Worth of the offcuts that these sheets leave, as many as a plan may keep. [1/10,000 of the currency]"""
        found = sorted((row for x in layouts for row in self._offcuts(x)), reverse=True)
        return _rounded(sum((worth for _, worth in found[: self.shop.offcuts_a_plan]), Fraction(0)))

    def lost(self, old: Layout | None, new: Layout | None) -> int:
        """Worth of offcuts that one sheet leaves less than before. [1/10,000 of the currency]"""
        rows = [sum((w for _, w in self._offcuts(x)), Fraction(0)) if x else Fraction(0) for x in (old, new)]
        return _rounded(rows[0] - rows[1])

    def grains(self, lost: int) -> int:
        """A worth in hundredths of the cheapest sheet: less than that moves no panel."""
        return (2 * lost + self._grain) // (2 * self._grain)

    def _offcuts(self, layout: Layout) -> list[tuple[int, Fraction]]:
        out = []
        for leaf in layout.leaves:
            if leaf.kind is LeafKind.OFFCUT:
                area = (leaf.outline[2][0] - leaf.outline[0][0]) * (leaf.outline[2][1] - leaf.outline[0][1])
                out.append((area, self._price[layout.glass] * area))
        return out

    def score(self, draft: Draft, panels: Mapping[str, Panel]) -> Score:
        """Less is better, the first that differs decides."""
        sheets = self.calendar.dated(draft.sheets, panels)
        late, days = self.calendar.lateness(sheets, panels)
        layouts = [s.layout for s in sheets]
        lost = self._before - self.worth(layouts)
        return (
            len(draft.left),
            late,
            days,
            sum(x.cost for x in layouts),
            sum(s.changed for s in sheets),
            self.grains(lost),
            self._late_slots(sheets, panels),
            sum(s.anew and s.origin is not None for s in sheets),
            len(draft.gifts),
            lost,
            sum(len(x.cuts) for x in layouts),
        )

    def disorder(self, draft: Draft, panels: Mapping[str, Panel]) -> int:
        """How many racked panels come off behind a later slot, those left out that are cut again."""
        again = {n.panel.id for n in draft.needs if n.remakes is not None}
        return self._late_slots(self.calendar.dated(draft.sheets, panels), panels, again)

    def _late_slots(
        self, sheets: Sequence[Sheet], panels: Mapping[str, Panel], but: Collection[str] = ()
    ) -> int:
        if not any(p.rack for p in panels.values()):
            return 0
        return len(out_of_order([s.layout for s in sheets], panels, but))


def _rounded(value: Fraction) -> int:
    return int((2 * value + 1) // 2)


def own_panels(sheet: Sheet, panels: Mapping[str, Panel], *, fillers: bool = True) -> list[Panel]:
    """The panels of a sheet; without its fillers where they may give way."""
    found = [panels[p] for p in panels_on(sheet.layout)]
    return [p for p in found if fillers or p.purpose is not Purpose.FILLER]


def with_sheet(sheets: Sequence[Sheet], place: int, new: Sheet) -> tuple[Sheet, ...]:
    """The sheets with another one in a place."""
    return (*sheets[:place], new, *sheets[place + 1 :])


def added_to(sheet: Sheet, layout: Layout, *, anew: bool) -> Sheet:
    """A sheet with another layout of the same glass."""
    keep = replace(layout, number=sheet.layout.number, day=sheet.layout.day, buy=sheet.layout.buy)
    return replace(sheet, layout=keep, changed=True, anew=sheet.anew or (anew and sheet.how is How.TO_CUT))


def renamed(draft: Draft, need: Need, other: Need, gift: Gift) -> Draft:
    """The draft in which another panel is cut in the place of a need."""

    def layout(x: Layout) -> Layout:
        leaves = (replace(v, panel=other.panel.id) if v.panel == need.panel.id else v for v in x.leaves)
        return replace(x, leaves=tuple(leaves))

    sheets = tuple(
        replace(s, layout=layout(s.layout)) if need.panel.id in panels_on(s.layout) else s
        for s in draft.sheets
    )
    return Draft(
        sheets,
        tuple(other if n == need else n for n in draft.needs),
        (*draft.gifts, gift),
        tuple(replace(u, panel=other.panel.id) if u.panel == need.panel.id else u for u in draft.left),
    )


def waiting(need: Need) -> Unplaced:
    """Stands for a need until the first answer is there."""
    return Unplaced(panel=need.panel.id, rule="not enough stock", reason="")


def progress_of(draft: Draft, spent: int, done: bool) -> list[GlassProgress]:
    """Cost and number of sheets of every glass in a draft, beside what stays as it is."""
    out = []
    for glass in sorted({s.layout.glass for s in draft.sheets}):
        mine = [s for s in draft.sheets if s.layout.glass == glass]
        out.append(
            GlassProgress(
                glass=glass,
                cost=sum(s.layout.cost for s in mine),
                sheets=len(mine),
                bound=sum(s.layout.cost for s in mine if not s.changed),
                steps=spent,
                done=done,
            )
        )
    return out
