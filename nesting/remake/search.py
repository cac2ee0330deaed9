"""Plans again with the least change: a whole answer at once, then better ones for as long as the caller likes."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import replace

from ..optimizer.params import NODES_A_STEP
from ..optimizer.runner import Counter
from ..panels import Panel, Purpose
from ..plan import Layout, Plan, Unplaced
from ..progress import GlassProgress
from ..slices import to_the_end
from ..stock import StockPiece
from .days import Calendar, earliest
from .draft import Draft, Judge, Score, added_to, own_panels, progress_of, renamed, waiting
from .gate import passes
from .giving import Found, Gift, Need, exchanged, free_gifts, later_orders, pieces
from .harder import tried_harder
from .history import History, again_id
from .insert import inserted
from .marking import with_spoiled
from .request import Request
from .sharing import Sharing
from .sheets import How, Sheet, left_of, standing, without, without_flawed
from .stock_search import by_order, planned
from .tree import panels_on
from .written import Ending, written

GROWTH = (0, 1, 2, 3, 5, 8, 13, 21, 34)
"""How many sheets are cut up anew together with what is missing, in turn."""
WINDOWS = 6
"""Sets of sheets of each number."""
EFFORT = 60
"""Search steps of a set, times its sheets; four times as many each round."""
ROUNDS = 3


class Remaking:
    """Makes a plan again after something happened.

    Parameters
    ----------
    request
        What happened, and what is wanted.
    effort
        Search steps, or None for no limit.
    program
        Name and version for the plan.

    Raises
    ------
    CannotRemake
        Where the request does not fit the plan.
    """

    def __init__(self, request: Request, *, effort: int | None = None, program: str = "panewright") -> None:
        request.check()
        self.history = History(request.earlier)
        request = replace(request, happened=self.history.since(request.happened))
        self.request, self.effort, self.program = request, effort, program
        self.shop = request.shop
        self.panels = dict(self.history.panels)
        self.steps = 0
        self.first_score: Score | None = None  # of the first whole answer
        self._counter = Counter()
        self._slices: Generator[None, None, None] | None = None
        self._later: dict[str, tuple[Need, Gift, Found]] = {}
        self._ended = False
        self._state()

    # ------------------------------------------------------------------ what is to be done

    def _state(self) -> None:
        request, history = self.request, self.history
        self.given_up = request.given_up(history)
        self.unwanted = self.given_up | frozenset(history.cancelled)
        found = standing(request, history, self._counter)
        self.dropped, self.relaid, self.marked = list(found.dropped), found.relaid, found.marked
        self.request = request = with_spoiled(request, found.marked)
        self.stock: list[StockPiece] = [
            s for s in request.stock if s.name not in request.happened.gone
        ] + list(found.pieces)
        self.stock = without_flawed(self.stock, request, {m.number for m in found.marked if m.useless})
        self.broken = [n for n in sorted(request.happened.broken) if n not in history.broken]
        needs = self._needs(found.lost)
        self.panels |= {n.panel.id: n.panel for n in needs}
        sound = list(pieces(found.sheets, history, {*history.broken, *self.broken}))
        # only what stands in the plan as broken can be told to have another piece
        lost = set(found.lost)
        for_gifts = [n for n in needs if n.remakes is not None and n.remakes not in lost]
        left, self.gifts = free_gifts(for_gifts, sound, history, self.given_up)
        given = {g.piece for g in self.gifts}
        needs = [n for n in needs if n not in for_gifts or n in left]
        self.needs = sorted(needs, key=lambda n: (-n.panel.cut_area2, n.due, n.panel.id))
        self._look_for_later(sound, given, left)
        gone = {f.panel.id for f in sound if f.serves in self.unwanted} - given
        sheets, empty = without(found.sheets, frozenset(gone), self.panels, self.shop, self._counter)
        self.dropped += empty
        self.base = tuple(sheets)
        self.stock = without_flawed(self.stock, request, set(empty))
        self.calendar = Calendar(request.earlier, self.shop)
        self.judge = Judge(self.shop, self.stock, self.panels, request.earlier.layouts, self.calendar)

    def _needs(self, lost: Sequence[str]) -> list[Need]:
        history, out = self.history, []
        taken = set(history.panels)
        for piece in [*self.broken, *(p for p in lost if p not in self.broken)]:
            serves = history.serves(piece)
            target = history.panels.get(serves)
            if target is None or serves in self.unwanted or target.purpose is not Purpose.ORDER:
                continue
            # out of its rack's order it is another piece as well
            if piece not in self.broken and serves == piece and not target.rack:
                out.append(Need(panel=target))
                continue
            name = again_id(serves, taken)
            taken.add(name)
            out.append(Need(panel=replace(target, id=name), remakes=serves))
        for entry in self.request.earlier.unplaced:
            # perhaps there is glass for it now
            panel, remakes = history.panels[entry.panel], history.remakes.get(entry.panel)
            if entry.panel not in self.unwanted and panel.rack and remakes is None:
                name = again_id(panel.id, taken)
                taken.add(name)
                out.append(Need(panel=replace(panel, id=name), remakes=panel.id))
            elif entry.panel not in self.unwanted:
                out.append(Need(panel=panel, remakes=remakes))
        return [*out, *(Need(panel=p) for p in self.request.added)]

    def _look_for_later(self, sound: Sequence[Found], given: set[str], pressing: Sequence[Need]) -> None:
        """An equal piece of a later order for each need; with `swap` those that are cut already are taken."""
        givers = later_orders(pressing, sound, given, self.unwanted)
        taken = set(self.panels)
        for need, giver in zip(pressing, givers, strict=True):
            if giver is None:
                continue
            name = again_id(giver.panel.id, taken)
            taken.add(name)
            other, gift = exchanged(need, giver, name)
            self.panels[name] = other.panel
            if self.request.swap and giver.sheet.how is How.CUT:
                self.needs[self.needs.index(need)] = other
                self.gifts.append(gift)
            else:
                self._later[need.panel.id] = (other, gift, giver)

    # ------------------------------------------------------------------ the first answer

    def start(self) -> None:
        """Make a first whole answer: into waste, and what is left on free stock; or all of it on free stock."""
        glasses = sorted({n.panel.glass for n in self.needs})
        self.best = self._exchanged(
            Draft(self.base, (), tuple(self.gifts), tuple(waiting(n) for n in self.needs))
        )
        self.best_score = self.judge.score(self.best, self.panels)
        for glass in glasses:
            sheets, needs = self.of_glass(glass)
            self.best = self.finished(glass, sheets, needs)
            self.best_score = self.judge.score(self.best, self.panels)
            into, left = self.into_waste(sheets, needs)
            if len(left) < len(needs):
                self.offer(self.finished(glass, into, left))
        self.first_score = self.best_score
        self._slices = self._improve()

    def into_waste(self, sheets: Sequence[Sheet], needs: Sequence[Need]) -> tuple[list[Sheet], list[Need]]:
        """One need after the other where the least is lost, all else unchanged; and what finds no room."""
        left, out = [], list(sheets)
        for need in needs:
            found = self._best_insert(out, need)
            if found is None:
                left.append(need)
            else:
                out[found[0]] = found[1]
            self.steps += 1
        return out, left

    def finished(self, glass: str, sheets: Sequence[Sheet], left: Sequence[Need]) -> Draft:
        """The best answer with these sheets of a glass, and what is left on free stock."""
        layouts, unplaced = to_the_end(self.on_stock([n.panel for n in left], sheets, 0))
        return self.together(glass, sheets, layouts, unplaced)

    def _best_insert(self, sheets: Sequence[Sheet], need: Need) -> tuple[int, Sheet] | None:
        tried = []
        for place, sheet in enumerate(sheets):
            if sheet.fixed or not self.may_lie(need, sheet.layout):
                continue
            late = self.lateness(need, sheet)
            rules = self.shop.rules(sheet.layout.glass)
            for number, layout in enumerate(inserted(sheet.layout, need.panel, rules, sheet.done)):
                lost = self.judge.lost(sheet.layout, layout)
                cuts = len(layout.cuts) - len(sheet.layout.cuts)
                tried.append(((late, not sheet.changed, max(0, lost), lost, cuts, place, number), layout))
        for key, layout in sorted(tried, key=lambda row: row[0]):
            if passes(layout, self.panels, self.shop):
                place = key[5]
                return place, added_to(sheets[place], layout, anew=False)
        return None

    def may_lie(self, need: Need, layout: Layout) -> bool:
        """Whether a panel may be cut from this sheet."""
        return need.panel.glass == layout.glass and need.panel.from_stock in (None, layout.stock)

    def lateness(self, need: Need, sheet: Sheet) -> int:
        """Days late on this sheet, where sheets have days; a later order may take its place."""
        if sheet.layout.day is None:
            return 0
        due = need.due
        if need.panel.id in self._later:
            due = max(due, self._later[need.panel.id][0].due)
        return max(0, (sheet.layout.day - due).days)

    # ------------------------------------------------------------------ pieces of later orders

    def _exchanged(self, draft: Draft) -> Draft:
        """The draft with pieces of later orders for those that would be late or find no glass."""
        sheets = self.calendar.dated(draft.sheets, self.panels)
        day_of = {p: s.layout.day for s in sheets for p in panels_on(s.layout)}
        unchanged = {s.layout.number for s in draft.sheets if not s.changed and s.origin is not None}
        without_glass = {u.panel for u in draft.left}
        for need in draft.needs:
            row = self._later.get(need.panel.id)
            if row is None or row[2].sheet.layout.number not in unchanged:
                continue
            other, gift, _ = row
            day = day_of.get(need.panel.id)
            late = day is not None and need.panel.due is not None and day > need.panel.due
            if late or need.panel.id in without_glass:
                draft = renamed(draft, need, other, gift)
        return draft

    # ------------------------------------------------------------------ better answers

    def offer(self, draft: Draft) -> bool:
        """Take a draft where it is better than the best so far, and no rack comes out of its order."""
        score = self.judge.score(draft, self.panels)
        disorder = self.judge.disorder(draft, self.panels) if score < self.best_score else 0
        if score >= self.best_score or disorder > self.judge.disorder(self.best, self.panels):
            return False
        self.best, self.best_score = draft, score
        return True

    @property
    def perfect(self) -> bool:
        """Whether nothing better can be had: all in time, no more stock, one sheet changed, nothing lost."""
        left, late, _, cost, changed, lost, *_ = self.best_score
        base = sum(s.layout.cost for s in self.base)
        already = sum(s.changed for s in self.base)
        return (
            not self.given_up
            and (left, late) == (0, 0)
            and cost <= base
            and (changed <= already + 1 and lost <= 0)
        )

    @property
    def _costs(self) -> bool:
        """Whether stock, or a due day, might still be saved."""
        left, late, _, cost, *_ = self.best_score
        freed = any(s.changed and s.how is How.TO_CUT for s in self.base) or bool(self.dropped)
        return (
            bool(left or late)
            or cost > sum(s.layout.cost for s in self.base)
            or (freed and bool(self.given_up))
        )

    def of_glass(self, glass: str) -> tuple[list[Sheet], list[Need]]:
        """The sheets of a glass as they stand, and what is to be planned of it."""
        sheets = [s for s in self.base if s.layout.glass == glass]
        return sheets, [n for n in self.needs if n.panel.glass == glass]

    def beside(self, glass: str) -> Draft:
        """The best answer so far for all other glasses, and the free gifts of this one."""
        gifts = [g for g in self.gifts if self.panels[g.piece].glass == glass]
        return Draft(
            tuple(s for s in self.best.sheets if s.layout.glass != glass),
            tuple(n for n in self.best.needs if n.panel.glass != glass),
            (*(g for g in self.best.gifts if self.panels[g.piece].glass != glass), *gifts),
            tuple(u for u in self.best.left if self.panels[u.panel].glass != glass),
        )

    def together(
        self, glass: str, sheets: Sequence[Sheet], more: Sequence[Layout], unplaced: Sequence[Unplaced]
    ) -> Draft:
        """The best answer with that of one glass put in its place."""
        other = self.beside(glass)
        new = [Sheet(layout=x, changed=True, anew=True) for x in more]
        place = {x.number: i for i, x in enumerate(self.request.earlier.layouts)}
        every = sorted(
            [*other.sheets, *sheets, *new],
            key=lambda s: len(place) if s.origin is None else place[s.origin],
        )
        needs = (*other.needs, *(n for n in self.needs if n.panel.glass == glass))
        return self._exchanged(Draft(tuple(every), needs, other.gifts, (*other.left, *unplaced)))

    def on_stock(
        self, panels: Sequence[Panel], sheets: Sequence[Sheet], effort: int, seed: int = 0
    ) -> Generator[None, None, tuple[list[Layout], list[Unplaced]]]:
        """Layouts for panels of one glass on what these sheets leave of the stock, and what finds no glass."""
        if not panels:
            return [], []
        stock = self.stock_left(sheets)
        slices = planned(panels, stock, self.shop, effort=effort, seed=self.request.seed + seed)
        while True:
            try:
                self.steps += next(slices)
            except StopIteration as end:
                layouts, unplaced = end.value
                return [replace(x, day=None) for x in layouts], unplaced
            yield

    def stock_left(self, sheets: Sequence[Sheet]) -> list[StockPiece]:
        """The stock that is free beside these sheets; those that are cut are not in it any more."""
        cut = self.request.happened.cut
        return left_of(self.stock, [s.layout for s in sheets if s.origin is None or s.origin not in cut])

    def _improve(self) -> Generator[None, None, None]:
        yield from tried_harder(self)
        glasses = sorted({s.layout.glass for s in self.base} | {n.panel.glass for n in self.needs})
        for glass in glasses:
            if not self.perfect:
                yield from Sharing(self, glass).offers()
        effort = EFFORT
        for turn in range(ROUNDS):
            for count in GROWTH:
                for glass in glasses:
                    yield from self._grow(glass, count, effort, turn)
            effort *= 4

    def _grow(self, glass: str, count: int, effort: int, turn: int) -> Generator[None, None, None]:
        """Sets of so many sheets cut up anew together with what is missing."""
        base, needs = self.of_glass(glass)
        ordered = by_order(glass, self.panels.values(), self.stock, self.shop)
        mine = [] if ordered else [i for i, s in enumerate(base) if s.free]
        if count > len(mine) or not (needs or (count and any(base[i].changed for i in mine))):
            return
        mine.sort(key=lambda i: (not base[i].changed, -self.free_area(base[i].layout), i))
        names = {n.panel.id for n in needs}
        for window in range(min(WINDOWS, -(-len(mine) // count)) if count else 1):
            chosen = set(mine[window * count : (window + 1) * count])
            if len(chosen) < count or not self._costs:
                break
            sheets = [s for i, s in enumerate(base) if i not in chosen]
            days = sorted(x for i in chosen if (x := base[i].layout.day) is not None)
            panels = [p for i in sorted(chosen) for p in own_panels(base[i], self.panels)]
            panels += [n.panel for n in needs]
            layouts, unplaced = yield from self.on_stock(panels, sheets, effort * max(1, count), turn)
            if any(u.panel not in names for u in unplaced):
                continue
            layouts.sort(key=lambda x: earliest(x, self.panels))
            dated = [replace(x, day=days[i] if i < len(days) else None) for i, x in enumerate(layouts)]
            self.offer(self.together(glass, sheets, dated, unplaced))

    def free_area(self, layout: Layout) -> int:
        """Area of a sheet that is no panel. [nm2, doubled]"""
        return 2 * layout.width * layout.height - sum(self.panels[p].cut_area2 for p in panels_on(layout))

    # ------------------------------------------------------------------ as a planner

    @property
    def nothing(self) -> bool:
        """Whether there is nothing to be made again."""
        changed = any(s.changed for s in self.base)
        done = self.broken or self.needs or self.given_up or self.dropped or self.relaid
        return not (done or changed or self.marked)

    @property
    def counter(self) -> Counter:
        """Nodes of the beams."""
        return self._counter

    @property
    def spent(self) -> int:
        """Search steps so far."""
        return self.steps + self._counter.nodes // NODES_A_STEP

    def advance(self) -> bool:
        """One slice of search; False when there is nothing left to try."""
        if self._ended or self._slices is None or (self.effort is not None and self.spent >= self.effort):
            return False
        try:
            next(self._slices)
        except StopIteration:
            self._ended = True
            return False
        return True

    def progress(self) -> list[GlassProgress]:
        """Cost and number of sheets of every glass in the best answer, beside what stays as it is."""
        return progress_of(self.best, self.spent, self._ended)

    def finish(self, stopped_by: str) -> Plan:
        """The plan of the best answer."""
        self.ending: Ending = written(self, stopped_by)
        return self.ending.plan
