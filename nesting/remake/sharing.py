"""A few missing panels shared out among sheets and free stock at the least cost, each sheet cut up anew or filled."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ..panels import Panel
from ..stock import StockPiece
from .assign import Choice, Cost, cheapest_choice
from .draft import added_to, own_panels
from .gate import passes
from .giving import Need
from .recut import cut_anew, piece_cut_anew, sheet_cut_anew
from .sheets import How, Sheet
from .tree import descendants, spots_of

if TYPE_CHECKING:
    from .search import Remaking

Masks = Generator[tuple[int, list[Need]], bool, None]
MOST = 4
"""Needs up to which every set of them is tried on every sheet."""
FROM_STOCK = 40
"""Pieces of free stock that are tried, the cheapest first."""


class Sharing:
    """Shares what is missing of one glass out among its sheets.

    Parameters
    ----------
    remaking
        The search that it is part of.
    glass
        Its key.
    """

    def __init__(self, remaking: Remaking, glass: str) -> None:
        self.it, self.glass = remaking, glass
        self.sheets, self.needs = remaking.of_glass(glass)

    def offers(self) -> Generator[None, None, None]:
        """Offer what is found; yields after every sheet."""
        if not self.needs:
            return
        if len(self.needs) <= MOST:
            yield from self._table()
        else:
            yield from self._one_by_one()

    # ------------------------------------------------------------------ few needs

    def _table(self) -> Generator[None, None, None]:
        choices: list[Choice] = []
        sheets: dict[tuple[int, int], Sheet] = {}
        copies: list[int] = []
        there = [i for i, s in enumerate(self.sheets) if not s.fixed]
        for number, place in enumerate(there):
            copies.append(1)
            for choice, sheet in self._on_sheet(number, self.sheets[place]):
                choices.append(choice)
                sheets[number, choice.mask] = sheet
            yield
        free = [s for s in self.it.stock_left(self.sheets) if s.glass == self.glass and s.is_there]
        free.sort(key=lambda s: (s.cost, s.name))
        for number, piece in enumerate(free[:FROM_STOCK], len(there)):
            copies.append(len(self.needs) if piece.buyable else piece.on_hand)
            for choice, sheet in self._on_piece(number, piece):
                choices.append(choice)
                sheets[number, choice.mask] = sheet
            yield
        alone: list[Cost] = [(1, *(0,) * 8) for _ in self.needs]
        _, taken, left = cheapest_choice(len(self.needs), choices, copies, alone)
        if left:
            return  # the first answer has the reasons
        out, more = list(self.sheets), []
        for choice in taken:
            sheet = sheets[choice.bin, choice.mask]
            if choice.bin < len(there):
                out[there[choice.bin]] = sheet
            else:
                more.append(sheet.layout)
        self.it.offer(self.it.together(self.glass, out, more, ()))

    def _masks(self, room: int, may: Sequence[bool]) -> Masks:
        """Sets of needs whose area is in the room [nm2, doubled], small ones first; told which of them fit."""
        good: set[int] = set()
        count = len(self.needs)
        for mask in sorted(range(1, 1 << count), key=lambda m: (m.bit_count(), m)):
            members = [n for i, n in enumerate(self.needs) if mask >> i & 1]
            if not all(may[i] for i in range(count) if mask >> i & 1):
                continue
            # a set of which a part does not fit will hardly fit
            if mask.bit_count() > 1 and any(
                mask >> i & 1 and mask & ~(1 << i) not in good for i in range(count)
            ):
                continue
            if sum(n.panel.cut_area2 for n in members) > room:
                continue
            if (yield mask, members):
                good.add(mask)

    def _on_sheet(self, number: int, sheet: Sheet) -> Iterator[tuple[Choice, Sheet]]:
        may = [self.it.may_lie(n, sheet.layout) for n in self.needs]
        masks = self._masks(self.it.free_area(sheet.layout), may)
        row = next(masks, None)
        while row is not None:
            mask, members = row
            best: tuple[Cost, Sheet] | None = None
            for new in self._ways(sheet, members):
                found = self._cost(sheet, new, members), new
                if best is None or found[0] < best[0]:
                    best = found
            if best is not None:
                yield Choice(number, mask, best[0]), best[1]
            row = _answer(masks, best is not None)

    def _ways(self, sheet: Sheet, members: Sequence[Need]) -> Iterator[Sheet]:
        it = self.it
        into, left = it.into_waste([sheet], members)
        if not left:
            yield into[0]
            if it.judge.grains(it.judge.lost(sheet.layout, into[0].layout)) <= 0:
                return
        more = [n.panel for n in members]
        rules = it.shop.rules(self.glass)
        if sheet.how is How.TO_CUT:
            own, ordered = (own_panels(sheet, it.panels, fillers=f) for f in (True, False))
            # fillers give way where they must
            for held in (own,) if len(own) == len(ordered) else (own, ordered):
                made = sheet_cut_anew(sheet.layout, [*held, *more], rules, it.counter)
                if made is not None and passes(made, it.panels, it.shop):
                    yield added_to(sheet, made, anew=True)
                    return
        else:
            yield from self._on_table(sheet, more)

    def _on_table(self, sheet: Sheet, more: Sequence[Panel]) -> Iterator[Sheet]:
        """Every piece that waits on the table, cut up for what was to come out of it and these panels."""
        it, layout = self.it, sheet.layout
        spots = spots_of(layout)
        made = {name: cut.step for cut in layout.cuts for name in cut.makes}
        for cut in layout.cuts:
            spot = spots.get(cut.piece)
            waits = cut.step not in sheet.done and made.get(cut.piece, 0) in (*sheet.done, 0)
            if not waits or spot is None or spot.piece == "s":
                continue
            below = descendants(layout, cut.piece)
            own = [it.panels[x.panel] for x in layout.leaves if x.panel is not None and x.piece in below]
            new = piece_cut_anew(layout, spot, [*own, *more], it.shop.rules(self.glass), it.counter)
            if new is not None and passes(new, it.panels, it.shop):
                yield added_to(sheet, new, anew=False)

    def _on_piece(self, number: int, piece: StockPiece) -> Iterator[tuple[Choice, Sheet]]:
        it = self.it
        may = [n.panel.from_stock in (None, piece.name) for n in self.needs]
        masks = self._masks(2 * piece.inner_width * piece.inner_height, may)
        row = next(masks, None)
        while row is not None:
            mask, members = row
            made = cut_anew([n.panel for n in members], piece, it.shop.rules(self.glass), it.counter)
            if made is not None and not passes(made, it.panels, it.shop):
                made = None
            if made is not None:
                sheet = Sheet(layout=made, changed=True, anew=True)
                yield Choice(number, mask, self._cost(None, sheet, members)), sheet
            row = _answer(masks, made is not None)

    def _cost(self, old: Sheet | None, new: Sheet, members: Sequence[Need]) -> Cost:
        it = self.it
        dated = new
        if old is None and it.calendar.has_days:
            # the day that it would have alone
            marked = replace(new, layout=replace(new.layout, number=-1))
            dated = next(s for s in it.calendar.dated([*it.base, marked], it.panels) if s.layout.number == -1)
        days = [it.lateness(n, dated) for n in members]
        moved = old is not None and new.anew
        lost = it.judge.lost(old.layout if old else None, new.layout)
        return (
            0,
            sum(d > 0 for d in days),
            sum(days),
            0 if old is not None else new.layout.cost,
            int(old is None or not old.changed),
            it.judge.grains(lost),
            int(moved),
            lost,
            len(new.layout.cuts) - (len(old.layout.cuts) if old else 0),
        )

    # ------------------------------------------------------------------ many needs

    def _one_by_one(self) -> Generator[None, None, None]:
        """The emptiest sheets cut up anew with as many as they take; what is left goes on free stock."""
        it = self.it
        out, left = list(self.sheets), list(self.needs)
        order = [i for i, s in enumerate(out) if s.how is How.TO_CUT]
        order.sort(key=lambda i: (not out[i].changed, -it.free_area(out[i].layout), i))
        for i in order:
            for need in list(left):
                if need.panel.cut_area2 > it.free_area(out[i].layout) or not it.may_lie(need, out[i].layout):
                    continue
                own = own_panels(out[i], it.panels)
                rules = it.shop.rules(self.glass)
                made = sheet_cut_anew(out[i].layout, [*own, need.panel], rules, it.counter)
                day: date = out[i].layout.day or date.min
                if made is None or day > need.due or not passes(made, it.panels, it.shop):
                    continue
                out[i] = added_to(out[i], made, anew=True)
                left.remove(need)
            yield
            if not left:
                break
        layouts, unplaced = yield from it.on_stock([n.panel for n in left], out, 60)
        it.offer(it.together(self.glass, out, layouts, unplaced))


def _answer(masks: Masks, fits: bool) -> tuple[int, list[Need]] | None:
    """Say whether the last set fits, and take the next."""
    try:
        return masks.send(fits)
    except StopIteration:
        return None
