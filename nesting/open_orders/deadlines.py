"""Due days as work: how much may be cut until an order is complete.

Work is two numbers, sheets and seconds (see `cutting_days.Load`). The due days of orders can be held
together if, and only if, for every one of them all sheets of the orders due by then fit what the table
cuts by then: these sets of sheets are nested, so that cutting them one after another holds all.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..cutting_days import Load
from .table import bits, union

ENDLESS = Load(10**9, 10**12)
"""Latest of an order that may be complete at any time."""
_BYTE = 8
_HIGH = 48


def within(load: Load, most: Load) -> bool:
    """Whether work fits a limit."""
    return load.sheets <= most.sheets and load.seconds <= most.seconds


def rank(load: Load) -> tuple[int, int]:
    """By this limits are sorted."""
    return load.sheets, load.seconds


class Deadlines:
    """What must be complete when how much is done.

    Parameters
    ----------
    loads
        Of each unit of sheets.
    holds
        Units of each order, as bit sets.
    latest
        The greatest load done, its own sheets too, with which each order is in time.

    Raises
    ------
    ValueError
        Two of the latest are not comparable: one has more sheets and fewer seconds than the other.
    """

    def __init__(self, loads: Sequence[Load], holds: Sequence[int], latest: Sequence[Load]) -> None:
        self.holds, self.latest = tuple(holds), tuple(latest)
        self.levels = sorted({load for load in latest if load != ENDLESS}, key=rank)
        for a, b in zip(self.levels, self.levels[1:]):
            if b.seconds < a.seconds:
                raise ValueError(f"{a} and {b} are not comparable")
        self._due = [
            union(1 << c for c, x in enumerate(latest) if x != ENDLESS and within(x, level))
            for level in self.levels
        ]
        # sums of eight units at a time, so that a set of sixty takes eight look-ups
        packed = [(load.sheets << _HIGH) + load.seconds for load in loads]
        self._sums = [_sums(packed[i : i + _BYTE]) for i in range(0, len(packed), _BYTE)]
        self._held: dict[int, int] = {}

    def load(self, units: int) -> Load:
        """Load of a set of units."""
        total = 0
        for sums in self._sums:
            total += sums[units & 255]
            units >>= _BYTE
        return Load(total >> _HIGH, total & ((1 << _HIGH) - 1))

    def _units_of(self, orders: int) -> int:
        known = self._held.get(orders)
        if known is None:
            known = self._held[orders] = union(self.holds[c] for c in bits(orders))
        return known

    def fits(self, done: int, waiting: int) -> bool:
        """Whether all waiting orders can be in time once these units are done, and nothing else before them.

        Parameters
        ----------
        done
            Units, as a bit set.
        waiting
            Orders that are not complete before, as a bit set.
        """
        for due, level in zip(self._due, self.levels, strict=True):
            orders = due & waiting
            if orders and not within(self.load(done | self._units_of(orders)), level):
                return False
        return True

    def kept_by(self, order: Sequence[int]) -> bool:
        """Whether an order of the units is in time for all."""
        return all(within(done, self.latest[c]) for c, done in self.completed(order).items())

    def completed(self, order: Sequence[int]) -> dict[int, Load]:
        """The load done when each order is complete, in an order of the units."""
        ends = {}
        for place, u in enumerate(order):
            ends[u] = place
        done, loads = 0, []
        for u in order:
            done |= 1 << u
            loads.append(self.load(done))
        return {c: loads[max(ends[u] for u in bits(mask))] for c, mask in enumerate(self.holds) if mask}


def _sums(values: Sequence[int]) -> list[int]:
    out = [0]
    for value in values:
        out += [s + value for s in out]
    return out


def relaxed(loads: Sequence[Load], holds: Sequence[int], wanted: Sequence[Load]) -> list[Load]:
    """The limits that can be held together, few of them later than wanted.

    Parameters
    ----------
    loads, holds, wanted
        As in `Deadlines`.

    Notes
    -----
    Where the orders due by a day do not fit, the one is given up whose sheets the others need least. Those
    given up get, in the order of their due days, the first of all the limits that leaves the others in time.
    A heuristic: the fewest late orders are a knapsack problem with items in common.
    """
    levels = sorted({w for w in wanted if w != ENDLESS}, key=rank)
    sums = Deadlines(loads, holds, wanted)
    kept = list(wanted)
    late: list[int] = []
    for level in levels:
        while True:
            due = [c for c, x in enumerate(kept) if x != ENDLESS and within(x, level)]
            once, more = 0, 0
            for c in due:
                more |= once & holds[c]
                once |= holds[c]
            if within(sums.load(once), level):
                break

            def gain(c: int, alone: int = once & ~more) -> tuple[int, int, tuple[int, int], int]:
                load = sums.load(holds[c] & alone)
                return load.seconds, load.sheets, rank(kept[c]), -c

            given_up = max(due, key=gain)
            kept[given_up] = ENDLESS
            late.append(given_up)
    everything = (1 << len(holds)) - 1
    for c in sorted(late, key=lambda c: (rank(wanted[c]), c)):
        for level in levels:
            if within(wanted[c], level) and level != wanted[c]:
                kept[c] = level
                if Deadlines(loads, holds, kept).fits(0, everything):
                    break
        else:
            kept[c] = ENDLESS
    return kept
