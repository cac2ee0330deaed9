"""Second-level dual feasible functions: one function applied to the images of another.

A composition of dual feasible functions is dual feasible (Carlier, Clautiaux and Moukrim 2007), so the
bound holds for every way to cut. Pairs are chosen in floating point, by ascent over one axis after the
other; the value given is computed in whole numbers. Slower than `bounds` by far: for orders that are a sheet
or two above their bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from .bounds import Image, Size, images

STARTS = 12
"""Pairs from which the ascent begins, for each axis with the richer choice."""
DEEPEN = 6
"""Functions that are composed once more in each step of the ascent."""
ROUNDS = 2


def least_sheets_composed(
    side: Size, sizes: Sequence[Size], copies: Sequence[int], *, turn: bool = False
) -> int:
    """Least number of equal sheets, by pairs of composed functions.

    Parameters
    ----------
    side
        Inner width and height of the sheet. [any unit]
    sizes, copies
        Size and number of each panel type. [same unit]
    turn
        Whether every panel may turn a quarter; then the sheet must be square.

    Raises
    ------
    ValueError
        Panels turn and the sheet is not square.
    """
    if not sizes:
        return 0
    if turn and side[0] != side[1]:
        raise ValueError("with turns the sheet must be square")
    if turn:
        # each panel brings both its sides to each axis; every packing counts with its mirror
        both = [s for size in sizes for s in size]
        number = [c for c in copies for _ in (0, 1)]
        flipped = np.arange(len(both)) ^ 1
        axes = [_Axis(both, number, side[0])] * 2
    else:
        number, flipped = list(copies), np.arange(len(sizes))
        axes = [_Axis([size[k] for size in sizes], number, side[k]) for k in (0, 1)]
    weight = np.array(number, dtype=np.float64)
    halves = 2 if turn else 1
    best = 0
    for rich in (0, 1):
        starts = axes[rich].starts(axes[1 - rich], weight, flipped)
        for f, g in starts:
            best = max(best, _whole(f, g, number, flipped, halves))
        for f, _ in starts[:: max(1, STARTS // 3)]:
            here, at = f, rich
            for _ in range(2 * ROUNDS):
                found = axes[1 - at].against(here, weight, flipped)
                best = max(best, _whole(here, found, number, flipped, halves))
                here, at = found, 1 - at
    return best


def _whole(f: Image, g: Image, number: Sequence[int], flipped: Any, halves: int) -> int:
    """The bound of a pair, in whole numbers."""
    total: int = sum(v * g.values[k] * c for v, k, c in zip(f.values, flipped.tolist(), number, strict=True))
    return -(-total // (halves * f.capacity * g.capacity))


def _distinct(found: Sequence[Image]) -> list[Image]:
    """One image of each shape."""
    kept: dict[tuple[float, ...], Image] = {}
    for image in found:
        kept.setdefault(tuple(round(v / image.capacity, 9) for v in image.values), image)
    return list(kept.values())


def _matrix(found: Sequence[Image]) -> Any:
    return np.array([[v / image.capacity for v in image.values] for image in found], dtype=np.float64)


class _Axis:
    """All functions tried along one axis: the first level, and with the second."""

    def __init__(self, sizes: Sequence[int], number: Sequence[int], capacity: int) -> None:
        self.number = number
        self.first = _distinct(images(sizes, number, capacity))
        composed = [i for g in self.first for i in images(g.values, number, g.capacity)]
        self.all = _distinct([*self.first, *composed])
        self._first, self._all = _matrix(self.first), _matrix(self.all)

    def starts(self, other: _Axis, weight: Any, flipped: Any) -> list[tuple[Image, Image]]:
        """The best pairs of one of all here and one of the first level there."""
        score = (self._all * weight) @ other._first[:, flipped].T
        order = np.argsort(score, axis=None, kind="stable")[: -STARTS - 1 : -1]
        pairs = [divmod(int(k), score.shape[1]) for k in order]
        return [(self.all[i], other.first[j]) for i, j in pairs]

    def against(self, partner: Image, weight: Any, flipped: Any) -> Image:
        """The best function beside this one of the other axis, some of them composed once more."""
        shares = (np.array([v / partner.capacity for v in partner.values]) * weight)[flipped]
        order = np.argsort(self._all @ shares, kind="stable")[: -DEEPEN - 1 : -1]
        near = [self.all[int(k)] for k in order]
        more = _distinct([*near, *(i for g in near for i in images(g.values, self.number, g.capacity))])
        return more[int(np.argmax(_matrix(more) @ shares))]
