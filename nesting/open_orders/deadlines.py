"""Due days as work: how much may be cut until an order is complete.

Work is two numbers, sheets and seconds (see `cutting_days.Load`). The due days of orders can be held
together if, and only if, for every one of them all sheets of the orders due by then fit what the table
cuts by then: these sets of sheets are nested, so that cutting them one after another holds all.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..cutting_days import Load
from .table import union

ENDLESS = Load(10**9, 10**12)
"""Latest of an order that may be complete at any time."""
_BYTE = 8
_HIGH = 48
_LOW = (1 << _HIGH) - 1


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
        self.levels = sorted({load for load in latest if load != ENDLESS}, key=rank)
        for one, other in zip(self.levels, self.levels[1:]):
            if other.seconds < one.seconds:
                raise ValueError(f"{one} and {other} are not comparable")
        due = ([c for c, x in enumerate(latest) if x != ENDLESS and within(x, y)] for y in self.levels)
        self.needed = [union(holds[c] for c in orders) for orders in due]
        """The units of the orders due by each level, as bit sets; every one holds the one before."""
        # sums of eight units at a time, so that a set of sixty takes eight look-ups
        self._packed = [(load.sheets << _HIGH) + load.seconds for load in loads]
        self._sums = [_sums(self._packed[i : i + _BYTE]) for i in range(0, len(loads), _BYTE)]
        self._most = [(level.sheets, level.seconds) for level in self.levels]

    def _load(self, units: int) -> int:
        """Load of a set of units, both numbers in one."""
        total = 0
        for sums in self._sums:
            total += sums[units & 255]
            units >>= _BYTE
        return total

    def load(self, units: int) -> Load:
        """Load of a set of units."""
        total = self._load(units)
        return Load(total >> _HIGH, total & _LOW)

    def unmet(self, done: int) -> list[tuple[int, int, int]]:
        """The levels that are not complete: what they do not need, and the load that may be spent on that.

        Parameters
        ----------
        done
            Units, as a bit set.

        Returns
        -------
        list of (int, int, int)
            Units neither done nor needed by the level, sheets and seconds left for these.
        """
        out = []
        for needed, (sheets, seconds) in zip(self.needed, self._most, strict=True):
            if needed & ~done:
                total = self._load(done | needed)
                out.append((~(done | needed), sheets - (total >> _HIGH), seconds - (total & _LOW)))
        return out

    def fits(self, units: int, unmet: Sequence[tuple[int, int, int]]) -> bool:
        """Whether all that is due can be in time when these units are cut next.

        Parameters
        ----------
        units
            As a bit set.
        unmet
            What `unmet` gave for the units done.
        """
        for beside, sheets, seconds in unmet:
            extra = units & beside
            if extra:
                total = self._load(extra)
                if total >> _HIGH > sheets or total & _LOW > seconds:
                    return False
        return True

    def feasible(self) -> bool:
        """Whether all limits can be held together."""
        return all(sheets >= 0 and seconds >= 0 for _, sheets, seconds in self.unmet(0))

    def kept_by(self, order: Sequence[int]) -> bool:
        """Whether an order of the units is in time for all."""
        total = done = level = 0
        for u in order:
            total += self._packed[u]
            done |= 1 << u
            while level < len(self.levels) and not self.needed[level] & ~done:
                sheets, seconds = self._most[level]
                if self.needed[level] and (total >> _HIGH > sheets or total & _LOW > seconds):
                    return False
                level += 1
        return True


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
    for c in sorted(late, key=lambda c: (rank(wanted[c]), c)):
        for level in levels:
            if within(wanted[c], level) and level != wanted[c]:
                kept[c] = level
                if Deadlines(loads, holds, kept).feasible():
                    break
        else:
            kept[c] = ENDLESS
    return kept
