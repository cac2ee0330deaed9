"""Exact tables of the most value from every plate: guillotine cuts, unlimited copies, no break-out distance.

Plates are named by points, the sums of panel sides. With copies without limit the table is exact
(Gilmore and Gomory 1966); with limited copies it is an upper bound, and the tighter the more each use of
a scarce panel is charged with a price.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from .moves import jit


def normal_points(sides: Sequence[tuple[int, int]], length: int) -> Any:
    """Lengths up to `length` that are sums of sides, 0 included, rising.

    Parameters
    ----------
    sides
        Pairs (side, most copies).
    length
        Of the plate.

    Notes
    -----
    Every cut of a best pattern lies at such a point when parts are pushed down and left (Herz 1972,
    Christofides and Whitlock 1977).
    """
    reach = np.zeros(length + 1, dtype=bool)
    reach[0] = True
    for side, copies in sides:
        if side > length:
            continue
        shifted = reach
        for _ in range(min(copies, length // side)):
            shifted = np.concatenate((np.zeros(side, dtype=bool), shifted[:-side]))
            if not (shifted & ~reach).any():
                break
            reach = reach | shifted
    return np.flatnonzero(reach).astype(np.int64)


def raster_points(points: Any, length: int) -> Any:
    """The normal points that matter for a plate of this length: what is left beside each, rounded down.

    Terno, Lindemann and Scheithauer 1987; Scheithauer 1997.
    """
    index = floor_index(points, length)
    return np.unique(points[index[length - points]])


def floor_index(points: Any, length: int) -> Any:
    """For every length from 0 up to `length`: the index of the greatest point that is no longer."""
    return (np.searchsorted(points, np.arange(length + 1), side="right") - 1).astype(np.int64)


@jit
def most_inside(px: Any, py: Any, fx: Any, fy: Any, iw: Any, ih: Any, iv: Any) -> Any:
    """Table of the most value from a plate px[i] wide and py[j] high.

    `fx` and `fy` are the floor indexes; `iw`, `ih`, `iv` width, height and value of each way to lay a
    panel (int64). A value of 0 or less is never taken.
    """
    nx = px.shape[0]
    ny = py.shape[0]
    table = np.zeros((nx, ny), np.int64)
    for k in range(iw.shape[0]):
        if iw[k] < fx.shape[0] and ih[k] < fy.shape[0] and iv[k] > 0:
            # the first point that holds the panel: all larger plates follow by the running maximum
            i = fx[iw[k]]
            if px[i] < iw[k]:
                i += 1
            j = fy[ih[k]]
            if py[j] < ih[k]:
                j += 1
            if i < nx and j < ny and table[i, j] < iv[k]:
                table[i, j] = iv[k]
    for i in range(1, nx):
        row = table[i]
        for j in range(ny):
            row[j] = max(row[j], table[i - 1, j])
        for k in range(1, i):
            if 2 * px[k] > px[i]:
                break
            a = table[k]
            b = table[fx[px[i] - px[k]]]
            for j in range(ny):
                row[j] = max(row[j], a[j] + b[j])
        for j in range(1, ny):
            best = max(row[j], row[j - 1])
            for k in range(1, j):
                if 2 * py[k] > py[j]:
                    break
                best = max(best, row[k] + row[fy[py[j] - py[k]]])
            row[j] = best
    return table


@jit
def most_beside(px: Any, py: Any, fx: Any, fy: Any, inside: Any) -> Any:
    """Table of the most value that the plate can yield beside a block px[i] wide and py[j] high.

    The block grows by strips along one of its sides until it is the plate (Viswanathan and Bagchi 1993).
    """
    nx = px.shape[0]
    ny = py.shape[0]
    table = np.zeros((nx, ny), np.int64)
    for i in range(nx - 1, -1, -1):
        row = table[i]
        if i + 1 < nx:
            for j in range(ny):
                row[j] = table[i + 1, j]
        for k in range(1, nx):
            at = px[i] + px[k]
            if at > px[nx - 1]:
                break
            a = table[fx[at]]
            b = inside[k]
            for j in range(ny):
                row[j] = max(row[j], a[j] + b[j])
        wide = inside[i]
        for j in range(ny - 1, -1, -1):
            best = row[j]
            if j + 1 < ny:
                best = max(best, row[j + 1])
            for k in range(1, ny):
                at = py[j] + py[k]
                if at > py[ny - 1]:
                    break
                best = max(best, row[fy[at]] + wide[k])
            row[j] = best
    return table


@jit
def taken(px: Any, py: Any, fx: Any, fy: Any, iw: Any, ih: Any, iv: Any, table: Any) -> Any:
    """How often each way to lay a panel appears in one best pattern of the whole plate."""
    out = np.zeros(iw.shape[0], np.int64)
    stack = [(px.shape[0] - 1, py.shape[0] - 1)]
    while len(stack) > 0:
        i, j = stack.pop()
        value = table[i, j]
        if value <= 0:
            continue
        if i > 0 and table[i - 1, j] == value:
            stack.append((i - 1, j))
            continue
        if j > 0 and table[i, j - 1] == value:
            stack.append((i, j - 1))
            continue
        found = False
        for k in range(iw.shape[0]):
            if iw[k] <= px[i] and ih[k] <= py[j] and iv[k] == value:
                out[k] += 1
                found = True
                break
        k = 1
        while not found and k < i:
            rest = fx[px[i] - px[k]]
            if table[k, j] + table[rest, j] == value:
                stack.append((k, j))
                stack.append((rest, j))
                found = True
            k += 1
        k = 1
        while not found and k < j:
            rest = fy[py[j] - py[k]]
            if table[i, k] + table[i, rest] == value:
                stack.append((i, k))
                stack.append((i, rest))
                found = True
            k += 1
    return out
