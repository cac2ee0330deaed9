"""The fewest orders open at once, exactly: a search that closes orders, not sheets.

An order of the sheets is fixed by the order in which the orders close: closing one cuts all its sheets that
are left. The search asks for a growing number whether that many open orders are enough (Chu and Stuckey
2009, "Minimizing the maximum number of open stacks by customer search", CP 2009; second-hand). Its rules:
an order that opens nothing new is closed at once; so is one that opens one order when none opens nothing;
an order is left out where another one opens a part of what it opens; a set of closed orders that failed is
not looked at again. Due days (see `deadlines`) forbid an order to close before those that would then be
late. With them the first two rules hold only for orders that need no further sheet save those that the
next due day needs anyway, and the third where the further sheets of one are among those of the other: then
the one may go first in every order of the sheets without making another late.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .deadlines import Deadlines
from .least import neighbours
from .table import bits

NODES = 20_000
"""States that are looked at before the search gives up: some seconds for a hundred orders."""

MOST_ORDERS = 400
"""More orders than this are closed by the greedy rules alone."""


@dataclass(frozen=True, slots=True)
class Closed:
    """Orders in the order in which they close, most open at once, the bound on that, and states looked at."""

    closing: tuple[int, ...]
    most: int
    bound: int
    nodes: int


class _OutOfNodes(Exception):
    """The number of states is used up."""


class Closing:
    """The problem as the search sees it: orders, what they share sheets with, and their units.

    Parameters
    ----------
    masks
        Orders on each unit of sheets, as bit sets.
    orders
        Number of orders.
    begun
        Orders that are open at the start.
    due
        Limits that can be held together, or None for no due days.
    """

    def __init__(self, masks: Sequence[int], orders: int, begun: int, due: Deadlines | None) -> None:
        self.masks = tuple(masks)
        self.near = neighbours(masks, orders)
        self.holds = [sum(1 << u for u, mask in enumerate(masks) if mask >> c & 1) for c in range(orders)]
        self.begun, self.due = begun, due
        self.all = sum(1 << c for c in range(orders) if self.near[c])
        self.nodes = 0

    # ------------------------------------------------------------------ greedy

    def greedy(self) -> Closed:
        """The order that opens fewest new ones, again and again; the best of four rules for equal ones."""
        rules: tuple[Callable[[int, int, int], tuple[int, ...]], ...] = (
            lambda c, opened, done: (c,),
            lambda c, opened, done: ((self.holds[c] & ~done).bit_count(), c),
            lambda c, opened, done: (-(self.near[c] & opened).bit_count(), c),
            lambda c, opened, done: (self.near[c].bit_count(), -c),
        )
        return min((self._greedy(rule) for rule in rules), key=lambda x: x.most)

    def _greedy(self, rule: Callable[[int, int, int], tuple[int, ...]]) -> Closed:
        waiting, opened, done = self.all, self.begun, 0
        most, closed = self.begun.bit_count(), 0
        closing = []
        while waiting:
            ranked = sorted(
                bits(waiting),
                key=lambda c: ((self.near[c] & ~opened).bit_count(), *rule(c, opened, done)),
            )
            unmet = self.due.unmet(done) if self.due else []
            c = next(c for c in ranked if self.due is None or self.due.fits(self.holds[c], unmet))
            opened |= self.near[c]
            most = max(most, opened.bit_count() - closed)
            done |= self.holds[c]
            waiting &= ~(1 << c)
            closed += 1
            closing.append(c)
        return Closed(tuple(closing), most, 0, 0)

    # ------------------------------------------------------------------- exact

    def search(self, bound: int, limit: int) -> Closed:
        """The fewest open orders; the greedy order with what is proven where the limit of states is reached.

        Parameters
        ----------
        bound
            A lower bound.
        limit
            Of the states looked at.
        """
        found = self.greedy()
        self.nodes = 0
        most = bound
        while most < found.most:
            closing = self._try(most, limit)
            if closing is None:
                return Closed(found.closing, found.most, most, self.nodes)
            if closing:
                return Closed(tuple(closing), most, most, self.nodes)
            most += 1
        return Closed(found.closing, found.most, min(most, found.most), self.nodes)

    def _try(self, most: int, limit: int) -> list[int] | None:
        """An order with at most so many open: empty where there is none, None where the limit is reached."""
        failed: set[int] = set()
        closing: list[int] = []
        near, holds, due = self.near, self.holds, self.due

        def visit(waiting: list[int], opened: int, done: int, closed: int) -> bool:
            length = len(closing)
            unmet = due.unmet(done) if due else []
            while True:
                beside = unmet[0][0] if unmet else 0
                news = [(near[c] & ~opened, c) for c in waiting]
                c = _forced(news, holds, beside, most - opened.bit_count() + closed >= 1)
                if c < 0:
                    break
                opened |= near[c]
                if due and holds[c] & ~done:
                    done |= holds[c]
                    unmet = due.unmet(done)
                waiting.remove(c)
                closed += 1
                closing.append(c)
            if not waiting:
                return True
            state = sum(1 << c for c in waiting)
            if state in failed:
                del closing[length:]
                return False
            self.nodes += 1
            if self.nodes > limit:
                raise _OutOfNodes
            for c in self._choices(news, unmet, most - opened.bit_count() + closed):
                closing.append(c)
                left = [x for x in waiting if x != c]
                if visit(left, opened | near[c], done | holds[c], closed + 1):
                    return True
                closing.pop()
            failed.add(state)
            del closing[length:]
            return False

        try:
            return closing if visit(list(bits(self.all)), self.begun, 0, 0) else []
        except _OutOfNodes:
            return None

    def _choices(
        self, news: Sequence[tuple[int, int]], unmet: Sequence[tuple[int, int, int]], room: int
    ) -> list[int]:
        """Orders that may close next with at most so many new ones, the fewest new ones first."""
        beside = unmet[0][0] if unmet else 0
        found = []
        for new, c in news:
            number = new.bit_count()
            if number <= room and (not unmet or self.due is None or self.due.fits(self.holds[c], unmet)):
                units = self.holds[c] & beside
                found.append((number, units.bit_count(), c, new, units))
        found.sort()
        out: list[int] = []
        taken: list[tuple[int, int]] = []
        for _, _, c, new, units in found:
            # the first of those with the same sets stands for them
            for a, b in taken:
                if not (a & ~new or b & ~units):
                    break
            else:
                taken.append((new, units))
                out.append(c)
        return out

    def units(self, closing: Sequence[int]) -> list[int]:
        """The units in the order in which these orders close; of one order those first that open fewest."""
        done, opened = 0, self.begun
        out: list[int] = []
        for c in closing:
            left = list(bits(self.holds[c] & ~done))
            done |= self.holds[c]
            while left:
                new = [((self.masks[u] & ~opened).bit_count(), u) for u in left]
                u = min(new)[1]
                left.remove(u)
                opened |= self.masks[u]
                out.append(u)
        return out


def _forced(news: Sequence[tuple[int, int]], holds: Sequence[int], beside: int, room: bool) -> int:
    """An order that may be closed at once without a loss, or -1.

    Parameters
    ----------
    news
        For each waiting order those that it opens, as a bit set, and its number.
    holds
        Units of each order.
    beside
        Units that are neither done nor needed by the next due day.
    room
        Whether one more may be open.
    """
    one, waits = -1, False
    for new, c in news:
        if not new:
            if not holds[c] & beside:
                return c
            # that one opens nothing either, and may be the better one
            waits = True
        elif one < 0 and not new & (new - 1) and not holds[c] & beside:
            one = c
    return one if room and not waits else -1
