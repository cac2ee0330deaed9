"""Exact table of the most value from every plate at whole units, with the break-out distance.

Copies without limit, any number of levels. With a distance D a plate may not be shrunk to a lower point,
since what is left over must be nothing or at least D wide: the states are all whole sizes.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from .moves import jit

NEVER = np.int64(-1)


@jit
def most_exactly(
    width: int, height: int, iw: Any, ih: Any, iv: Any, distance: int, far_x: int, far_y: int
) -> Any:
    """Table of the most value from a plate cut up without rest, -1 where it must all be waste or is no plate.

    Parameters
    ----------
    width, height
        Of the largest plate.
    iw, ih, iv
        Width, height and value of each way to lay a panel; no side shorter than the distance.
    distance
        Break-out distance D.
    far_x, far_y
        Whether the far side of the plate, in x and in y, is raw: waste there may have any width.

    Returns
    -------
    array
        `table[f, x, y]`, f = 1 where the plate reaches a raw far side in x, plus 2 for y.
    """
    table = np.full((4, width + 1, height + 1), NEVER, np.int64)
    for f in range(4):
        right = f & 1
        top = f >> 1
        if (right != 0 and far_x == 0) or (top != 0 and far_y == 0):
            continue
        # the near part of a cut square to x reaches the top alone, that of one square to y the right alone
        beside = table[f & 2]
        below = table[f & 1]
        own = table[f]
        lone_x = 1 if right != 0 else max(1, distance)
        lone_y = 1 if top != 0 else max(1, distance)
        for k in range(iw.shape[0]):
            if iw[k] <= width and ih[k] <= height:
                own[iw[k], ih[k]] = max(own[iw[k], ih[k]], iv[k])
        for x in range(1, width + 1):
            for y in range(1, height + 1):
                best = own[x, y]
                for k in range(1, x):
                    a = beside[k, y]
                    if a < 0:
                        continue
                    if x - k >= lone_x and y >= distance:
                        best = max(best, a)
                    if own[x - k, y] >= 0:
                        best = max(best, a + own[x - k, y])
                for k in range(1, y):
                    a = below[x, k]
                    if a < 0:
                        continue
                    if y - k >= lone_y and x >= distance:
                        best = max(best, a)
                    if own[x, y - k] >= 0:
                        best = max(best, a + own[x, y - k])
                own[x, y] = best
    return table
