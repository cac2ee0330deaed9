"""Problems drawn anew by the rules of published sets, so that no tuning can have seen them.

Classes 1 to 6 by Berkey and Wang 1987, 7 to 10 by Martello and Vigo 1998. The ranges of classes 7 to 10
were compared with the 500 published problems (there the two thirds are rounded down, so a long side
begins at 66 of 100); those of classes 1 to 6 are from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.io.bench_data import Problem
from panewright.io.bench_draw import Draw

EQUAL: Final = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}
"""Classes 1 to 6: largest side of a rectangle (the least is 1), side of the square sheet."""
SIDE: Final = 100
"""Side of the square sheet of classes 7 to 10."""
_LONG, _SHORT, _HALF_UP = (2 * SIDE // 3, SIDE), (1, SIDE // 2), (SIDE // 2, SIDE)
KINDS: Final = ((_LONG, _SHORT), (_SHORT, _LONG), (_HALF_UP, _HALF_UP), (_SHORT, _SHORT))
"""Ranges of width and height of the four kinds of rectangle in classes 7 to 10."""
MAIN_SHARE: Final = 70
"""Share of the main kind of a class; each of the others has 10. [%]"""
NUMBERS: Final = (20, 40, 60, 80, 100)
"""Rectangles of a problem."""
EACH: Final = 2
"""Problems of each class and number."""


def _kind(draw: Draw, main: int) -> int:
    """Index of a kind: the main one in 70 of 100 draws."""
    ticket = draw.below(100)
    if ticket < MAIN_SHARE:
        return main
    others = [kind for kind in range(len(KINDS)) if kind != main]
    return others[(ticket - MAIN_SHARE) * len(others) // (100 - MAIN_SHARE)]


def fresh_problem(seed: int, group: int, number: int, copy: int) -> Problem:
    """One problem of a class.

    Parameters
    ----------
    seed
        Of the draw.
    group
        Class, 1 to 10.
    number
        Rectangles.
    copy
        Counts the problems of the same class and number from 1.
    """
    draw = Draw(seed, group, number, copy)
    if group in EQUAL:
        largest, side = EQUAL[group]
        items = [(draw.between(1, largest), draw.between(1, largest)) for _ in range(number)]
    else:
        side, items = SIDE, []
        for _ in range(number):
            width, height = KINDS[_kind(draw, group - 7)]
            items.append((draw.between(*width), draw.between(*height)))
    return Problem(f"draw{seed}_cl{group:02d}_{number:03d}_{copy:02d}", group, side, side, tuple(items))


def fresh(seed: int, classes: Sequence[int]) -> list[Problem]:
    """Ten problems of each class: two each of 20, 40, 60, 80 and 100 rectangles."""
    return [
        fresh_problem(seed, group, number, copy)
        for group in classes
        for number in NUMBERS
        for copy in range(1, EACH + 1)
    ]


def counterparts(drawn: Sequence[Problem], published: Sequence[Problem]) -> dict[str, Problem]:
    """A published problem of the same class and number for each one drawn, by the name of the latter.

    Parameters
    ----------
    drawn, published
        All problems of one class.
    """
    out: dict[str, Problem] = {}
    for number in NUMBERS:
        pairs = zip(
            [p for p in drawn if len(p.items) == number], [p for p in published if len(p.items) == number]
        )
        out |= {fresh.name: old for fresh, old in pairs}
    return out
