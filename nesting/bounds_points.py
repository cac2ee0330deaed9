"""Exact optima of one sheet with copies without limit: the unconstrained guillotine problem.

Each is an upper bound on the value of a pattern with limited copies. Without a break-out distance the table
runs over raster points, with one over all whole sizes (a reference for small sheets).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .optimizer.points import floor_index, most_inside, normal_points, raster_points
from .optimizer.points_distance import most_exactly

Offer = tuple[int, int, int]
"""Width, height and value of a rectangle of which there is no end."""


def _ways(width: int, height: int, offers: Sequence[Offer], turn: bool) -> list[Offer]:
    ways = set(offers)
    if turn:
        ways |= {(h, w, value) for w, h, value in offers}
    return sorted(o for o in ways if o[0] <= width and o[1] <= height and o[2] > 0)


def free_unlimited(width: int, height: int, offers: Sequence[Offer], *, turn: bool = False) -> int:
    """The most value from one sheet, any number of levels, no break-out distance.

    Parameters
    ----------
    width, height
        Of the sheet. [any unit]
    offers
        Rectangles with their values. [same unit]
    turn
        Whether they may turn a quarter.

    Notes
    -----
    Gilmore and Gomory 1966, Beasley 1985, Cintra, Miyazawa, Wakabayashi and Xavier 2008.
    """
    ways = _ways(width, height, offers, turn)
    if not ways:
        return 0
    iw, ih, iv = (np.array(column, dtype=np.int64) for column in zip(*ways, strict=True))
    px = raster_points(normal_points([(w, width // w) for w, _, _ in ways], width), width)
    py = raster_points(normal_points([(h, height // h) for _, h, _ in ways], height), height)
    table = most_inside(px, py, floor_index(px, width), floor_index(py, height), iw, ih, iv)
    return int(table[-1, -1])


def free_mindist(
    width: int,
    height: int,
    offers: Sequence[Offer],
    *,
    break_out: int,
    turn: bool = False,
    far_raw: tuple[bool, bool] = (False, False),
) -> int:
    """The most value from one sheet, any number of levels, with the break-out distance.

    Parameters
    ----------
    width, height
        Of the sheet's inner area. [whole units]
    offers
        Rectangles with their values; no side is shorter than the break-out distance. [same unit]
    break_out
        Every waste strip is nothing or at least this wide. [same unit]
    turn
        Whether they may turn a quarter.
    far_raw
        Whether the right, and the top side is raw: waste there may have any width.

    Raises
    ------
    ValueError
        A rectangle is narrower than the break-out distance.

    Notes
    -----
    Time grows with width * height * (width + height), memory with width * height.
    """
    ways = _ways(width, height, offers, turn)
    if any(min(w, h) < break_out for w, h, _ in ways):
        raise ValueError("a rectangle is narrower than the break-out distance")
    if not ways:
        return 0
    iw, ih, iv = (np.array(column, dtype=np.int64) for column in zip(*ways, strict=True))
    right, top = far_raw
    table = most_exactly(width, height, iw, ih, iv, break_out, int(right), int(top))
    return max(0, int(table[int(right) + 2 * int(top), width, height]))
