"""A good order of breaks: a level-synchronised beam over what lies on the table.

All states of a level have made as many breaks, so that they compare fairly: time so far, and the least
time that the rest can take (interval programme of `Work.least`, grips of what waits, and one setting for
each measure still needed). Widths of 20 and 60 came within 0.1 and 0.03 per cent of the best order on
sheets small enough to be solved to the end [own study].
"""

from __future__ import annotations

from collections.abc import Callable

from ..shop_table import Habit
from .rack_order import RackOrder
from .tree import Broken
from .work import Move, PieceKey, Work

WIDTH = 20
State = tuple[int, int, tuple[PieceKey, ...], "int | None", tuple[PieceKey, ...], "Trail | None"]
Trail = tuple[Broken, "Trail | None"]
Keeps = Callable[[Work, tuple[PieceKey, ...]], int]
"""Pieces on the table that a state is kept out of the beam for: none, those there are, or those to come too."""
_KEEPS: tuple[Keeps, ...] = (lambda work, pieces: 0, lambda work, pieces: len(pieces), Work.room)


MORE_WAITING = 3
"""So many more pieces may wait where no order was found that keeps the racks; then any number."""


def best_order(work: Work, *, waiting: int, width: int = WIDTH) -> list[Broken]:
    """The breaks of a sheet in a good order.

    Parameters
    ----------
    work
        The sheet and the rates of the table.
    waiting
        Pieces still to be cut that may wait beside the one in hand; where no order keeps to that, the
        least number more that lets one through is taken.
    width
        Of the beam.
    """
    while True:
        # the less a beam keeps out, the better its orders; but those that cannot keep to the limit may crowd
        # out all that can. The last of the three always ends where an order keeps to it
        for keeps in _KEEPS:
            found = _beam(work, waiting, width, keeps)
            if found is not None:
                return found
        waiting += 1


def best_in_racks(work: Work, racks: RackOrder, *, waiting: int, width: int = WIDTH) -> list[Broken] | None:
    """The breaks of a sheet in a good order that keeps its racks, or None where the search finds none."""
    if not racks.hopeful(work.start()):
        return None
    for most in (*range(waiting, waiting + MORE_WAITING + 1), work.cuts(work.start()) + 1):
        for keeps in _KEEPS:
            found = _beam(work, most, width, keeps, racks)
            if found is not None:
                return found
    return None


def _beam(
    work: Work, waiting: int, width: int, keeps: Keeps, racks: RackOrder | None = None
) -> list[Broken] | None:
    first = work.start()
    setting = work.rates.setting if work.habit is Habit.STOP else 0
    level: list[State] = [(0, 0, (first,), None, (first,), None)]
    for _ in range(work.cuts(first)):
        found: dict[tuple[tuple[PieceKey, ...], int | None, tuple[PieceKey, ...]], State] = {}
        for _, spent, pieces, last, made, trail in level:
            if len(pieces) - 1 > waiting:
                continue
            for piece in pieces:
                grip = 0 if piece in made else work.grip(piece)
                rest = tuple(p for p in pieces if p != piece)
                for move in work.moves(piece):
                    cost = spent + grip + move.cost
                    measure = last
                    if move.measure is not None:
                        if move.measure != last:
                            cost += setting
                        measure = move.measure
                    after = tuple(sorted(rest + move.makes)) if move.makes else rest
                    if keeps(work, after) - 1 > waiting:
                        continue
                    if racks is not None and not _in_order(racks, move, after):
                        continue
                    key = (after, measure, move.makes)
                    known = found.get(key)
                    if known is None or cost < known[1]:
                        found[key] = (0, cost, after, measure, move.makes, (move.what, trail))
        if not found:
            return None
        level = _best(work, found, setting, width)
    done = level[0][5]
    order: list[Broken] = []
    while done is not None:
        order.append(done[0])
        done = done[1]
    return order[::-1]


def _in_order(racks: RackOrder, move: Move, after: tuple[PieceKey, ...]) -> bool:
    return racks.may(move.what, after) and all(racks.hopeful(piece) for piece in move.makes)


def _best(
    work: Work,
    found: dict[tuple[tuple[PieceKey, ...], int | None, tuple[PieceKey, ...]], State],
    setting: int,
    width: int,
) -> list[State]:
    """The states of least estimate; ties end in the pieces, then in the measure."""
    judged = []
    known, bit = work.known, work.bit
    for _, spent, pieces, last, made, trail in found.values():
        rest, needed, waits = spent, 0, 0
        for piece in pieces:
            least, mask, grip = known.get(piece) or work.judged(piece)
            rest += least
            needed |= mask
            if piece not in made:
                rest += grip
            elif len(made) == 2:
                # of two parts in hand one has to wait
                waits = grip if not waits or grip < waits else waits
        rest += waits
        if setting:
            rest += setting * (needed & ~bit(last)).bit_count()
        judged.append((rest, spent, pieces, last, made, trail))
    judged.sort(key=lambda s: (s[0], s[2], -1 if s[3] is None else s[3], s[4]))
    return judged[:width]


def modelled(work: Work, order: list[Broken]) -> int:
    """Time of an order, each break measured from the edge that serves best, those inside blanks left out. [ms]"""
    made: tuple[PieceKey, ...] = (work.start(),)
    setting = work.rates.setting if work.habit is Habit.STOP else 0
    # least time so far by the measure that the stop is set to
    ways: dict[int | None, int] = {None: 0}
    laid = 0
    for what in order:
        piece: PieceKey = (what[0], what[1], what[2])
        grip = 0 if piece in made else work.grip(piece)
        # what a placement makes lies there side by side, to be broken on
        beside = made if what[4] and what[4] == laid else ()
        laid = what[4]
        after: dict[int | None, int] = {}
        for move in work.ways(what):
            for last, spent in ways.items():
                measure = last if move.measure is None else move.measure
                cost = spent + grip + move.cost + (setting if measure != last else 0)
                after[measure] = min(cost, after.get(measure, cost))
            made = (*beside, *move.makes)
        ways = after
    return min(ways.values())


__all__ = ["WIDTH", "Move", "best_order", "modelled"]
