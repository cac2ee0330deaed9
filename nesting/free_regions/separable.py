"""Whether placed panels can be cut apart edge to edge, and whether they overlap: shares nothing with the search.

If panels can be cut apart, so can any part of them (leave out the cuts that no longer separate anything).
Therefore any line that separates may be cut first, and nothing has to be taken back. A separating line can
be moved until it carries an edge of a panel or touches two corners, so these lines are all that is needed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Corners = NDArray[np.float64]
TOLERANCE = 1e-6
"""Panels may reach beyond a cut by this. [mm]"""


def separable(panels: Sequence[Corners], tolerance: float = TOLERANCE) -> bool:
    """Whether straight cuts through the piece in hand take all panels apart.

    Parameters
    ----------
    panels
        Corners in place, counter-clockwise. [mm]
    tolerance
        How far a panel may reach beyond a cut. [mm]
    """
    stack = [list(panels)]
    while stack:
        mine = stack.pop()
        if len(mine) < 2:
            continue
        parts = _first_cut(mine, tolerance)
        if parts is None:
            return False
        stack += parts
    return True


def _first_cut(panels: list[Corners], tolerance: float) -> list[list[Corners]] | None:
    points = np.concatenate(panels)
    owner = np.repeat(np.arange(len(panels)), [len(p) for p in panels])
    starts = np.flatnonzero(np.r_[True, owner[1:] != owner[:-1]])
    edges = [(p[i], p[(i + 1) % len(p)]) for p in panels for i in range(len(p))]
    for a, b in edges:
        parts = _sides(a, b, points, starts, panels, tolerance)
        if parts:
            return parts
    for i in range(len(points)):
        for k in range(i + 1, len(points)):
            if owner[i] != owner[k] and np.abs(points[i] - points[k]).max() > tolerance:
                parts = _sides(points[i], points[k], points, starts, panels, tolerance)
                if parts:
                    return parts
    return None


def _sides(
    a: Corners,
    b: Corners,
    points: Corners,
    starts: NDArray[np.int64],
    panels: list[Corners],
    tolerance: float,
) -> list[list[Corners]] | None:
    """The panels left and right of a line; None where one is cut, or all lie on one side."""
    direction = (b - a) / np.hypot(*(b - a))
    distance = direction[0] * (points[:, 1] - a[1]) - direction[1] * (points[:, 0] - a[0])
    left = np.minimum.reduceat(distance, starts) >= -tolerance
    right = np.maximum.reduceat(distance, starts) <= tolerance
    if not (left | right).all() or left.all() or right.all():
        return None
    return [
        [p for p, is_left in zip(panels, left, strict=True) if is_left],
        [p for p, is_left in zip(panels, left, strict=True) if not is_left],
    ]


def overlap(p: Corners, q: Corners) -> float:
    """How deep two convex polygons lie in each other, by the separating axis theorem; 0 or less: not. [mm]"""
    least = np.inf
    for one in (p, q):
        edges = np.roll(one, -1, axis=0) - one
        normals = np.column_stack((-edges[:, 1], edges[:, 0])) / np.hypot(edges[:, 0], edges[:, 1])[:, None]
        a, b = p @ normals.T, q @ normals.T
        depth = np.minimum(a.max(axis=0) - b.min(axis=0), b.max(axis=0) - a.min(axis=0))
        least = min(least, float(depth.min()))
    return least


def faults(panels: Sequence[Corners], width: float, height: float, tolerance: float = TOLERANCE) -> list[str]:
    """What is wrong with the panels on one sheet: outside, overlapping, or not to be cut apart.

    Parameters
    ----------
    panels
        Corners in place, counter-clockwise. [mm]
    width, height
        Of the sheet, its lower left corner in the origin. [mm]
    tolerance
        That is allowed. [mm]
    """
    found = []
    for k, p in enumerate(panels):
        low, high = p.min(axis=0), p.max(axis=0)
        if low.min() < -tolerance or high[0] > width + tolerance or high[1] > height + tolerance:
            found.append(f"panel {k} outside the sheet")
        found += [f"panels {i} and {k} overlap" for i in range(k) if overlap(panels[i], p) > tolerance]
    if not separable(panels, tolerance):
        found.append("not to be cut apart edge to edge")
    return found
