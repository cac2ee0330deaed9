"""Lower bounds on the stock that a set of panels takes.

Area, and dual feasible functions (Fekete and Schepers 2001; Boschetti and Mingozzi 2003; Carlier,
Clautiaux and Moukrim 2007). Both ignore levels, break-out distance and the edge-to-edge rule, so they
hold for every way to cut, guillotine or not. The value given is computed in whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Size = tuple[int, int]
MOST_KS = 120
"""Parameters tried for each family of functions and axis."""


@dataclass(frozen=True, slots=True)
class Image:
    """A dual feasible function on one axis: values of the panels' sides and of the sheet's."""

    values: tuple[int, ...]
    capacity: int


def _thresholds(sizes: Sequence[int], capacity: int) -> list[int]:
    low = {s for s in sizes if 2 * s <= capacity} | {capacity - s for s in sizes if 2 * s > capacity}
    ks = sorted({k for s in low for k in (s, s + 1) if k >= 1 and 2 * k <= capacity})
    step = -(-len(ks) // MOST_KS) if ks else 1
    return ks[::step]


def _u(x: int, k: int, c: int) -> int:
    return c if x > c - k else (x if x >= k else 0)


def _f0(x: int, k: int, c: int) -> int:
    if 2 * x > c:
        return 2 * (c // k - (c - x) // k)
    return c // k if 2 * x == c else 2 * (x // k)


def _fekete(x: int, k: int, c: int) -> int:
    return x * k if (k + 1) * x % c == 0 else (k + 1) * x // c * c


def _f1(sizes: Sequence[int], copies: Sequence[int], k: int, c: int) -> Image | None:
    """Data-dependent function: how many middling sides a big one displaces."""
    middle = sorted((s, q) for s, q in zip(sizes, copies, strict=True) if k <= s and 2 * s <= c)
    if not middle:
        return None
    ends, counts = [0], [0]
    total = 0
    for s, q in middle:
        room = min(q, (c - ends[-1]) // s) if s else q
        for _ in range(room):
            total += s
            ends.append(total)
            counts.append(counts[-1] + 1)
        if room < q:
            break
    table = np.array(ends)

    def most(length: int) -> int:
        return int(np.searchsorted(table, length, side="right")) - 1

    whole = most(c)
    values = tuple(whole - most(c - s) if 2 * s > c else (1 if s >= k else 0) for s in sizes)
    return Image(values, whole) if whole else None


def images(sizes: Sequence[int], copies: Sequence[int], capacity: int) -> list[Image]:
    """All dual feasible functions tried on one axis.

    Parameters
    ----------
    sizes
        Sides of the panel types along this axis. [any unit]
    copies
        Panels of each type.
    capacity
        Side of the sheet. [same unit]
    """
    out = {Image(tuple(sizes), capacity): None}
    for k in _thresholds(sizes, capacity):
        out[Image(tuple(_u(s, k, capacity) for s in sizes), capacity)] = None
        out[Image(tuple(_f0(s, k, capacity) for s in sizes), 2 * (capacity // k))] = None
        data = _f1(sizes, copies, k, capacity)
        if data is not None:
            out[data] = None
    for k in range(1, 31):
        out[Image(tuple(_fekete(s, k, capacity) for s in sizes), capacity * k)] = None
    return [image for image in out if image.capacity > 0]


def least_sheets(
    width: int, height: int, sizes: Sequence[Size], copies: Sequence[int], turns: Sequence[bool]
) -> int:
    """Least number of equal sheets, by pairs of dual feasible functions.

    Parameters
    ----------
    width, height
        Inner size of the sheet. [any unit]
    sizes, copies, turns
        Size, number, and leave to turn a quarter, of each panel type. [same unit]

    Notes
    -----
    With turns, a square sheet takes the mean of both orientations (every packing and its mirror at
    the diagonal are feasible); any other sheet the lesser of the two, which is weaker.
    """
    if not sizes:
        return 0
    area = sum(w * h * c for (w, h), c in zip(sizes, copies, strict=True))
    best = -(-area // (width * height))
    square = width == height and all(turns)
    if square:
        sides = [s for w, h in sizes for s in (w, h)]
        doubled = [c for c in copies for _ in (0, 1)]
        return max(best, _square(width, sides, doubled, copies))
    if not any(turns):
        xs = images([w for w, _ in sizes], copies, width)
        ys = images([h for _, h in sizes], copies, height)
        return max(best, _fixed(xs, ys, copies))
    return max(best, _turning(width, height, sizes, copies, turns))


def _matrix(images_: Sequence[Image]) -> Any:
    return np.array([[v / i.capacity for v in i.values] for i in images_], dtype=np.float64)


def _fixed(xs: Sequence[Image], ys: Sequence[Image], copies: Sequence[int]) -> int:
    score = (_matrix(xs) * np.array(copies, dtype=np.float64)) @ _matrix(ys).T
    best = 0
    for flat in np.argsort(score, axis=None)[-3:]:
        a, b = divmod(int(flat), len(ys))
        total = sum(v * w * c for v, w, c in zip(xs[a].values, ys[b].values, copies, strict=True))
        best = max(best, -(-total // (xs[a].capacity * ys[b].capacity)))
    return best


def _square(side: int, sides: Sequence[int], doubled: Sequence[int], copies: Sequence[int]) -> int:
    # each panel brings both its sides to each axis: f is built on the doubled list, then halved
    found = images(sides, doubled, side)
    table = _matrix(found)
    first, second = table[:, 0::2] * np.array(copies, dtype=np.float64), table[:, 1::2]
    half = first @ second.T
    score = half + half.T
    best = 0
    for flat in np.argsort(score, axis=None)[-3:]:
        a, b = divmod(int(flat), len(found))
        f, g = found[a], found[b]
        total = sum(
            (f.values[2 * i] * g.values[2 * i + 1] + f.values[2 * i + 1] * g.values[2 * i]) * c
            for i, c in enumerate(copies)
        )
        best = max(best, -(-total // (2 * f.capacity * g.capacity)))
    return best


def _turning(
    width: int, height: int, sizes: Sequence[Size], copies: Sequence[int], turns: Sequence[bool]
) -> int:
    # every side may lie along either axis, so f is built on all of them; the lesser product counts.
    # Data-dependent functions would need the orientation; they are left out by their copies.
    flat = [s for w, h in sizes for s in (w, h)]

    def plain(capacity: int) -> list[Image]:
        kept = [s for s in flat if s <= capacity] or [capacity]
        ks = _thresholds(kept, capacity)[:: max(1, len(_thresholds(kept, capacity)) // 30)]
        found = [Image(tuple(flat), capacity)]
        for k in ks:
            found.append(Image(tuple(_u(min(s, capacity), k, capacity) for s in flat), capacity))
            found.append(Image(tuple(_f0(min(s, capacity), k, capacity) for s in flat), 2 * (capacity // k)))
        for k in range(1, 8):
            found.append(Image(tuple(_fekete(min(s, capacity), k, capacity) for s in flat), capacity * k))
        return [i for i in found if i.capacity > 0]

    xs, ys = plain(width), plain(height)
    fx, fy = _matrix(xs), _matrix(ys)
    number = np.array(copies, dtype=np.float64)
    free = np.array(turns)
    wide = np.array([w <= width and h <= height for w, h in sizes])
    tall = np.array([h <= width and w <= height for w, h in sizes]) & free
    best = 0
    for a in range(len(xs)):
        upright = np.where(wide, fx[a, 0::2] * fy[:, 1::2], np.inf)
        lying = np.where(tall, fx[a, 1::2] * fy[:, 0::2], np.inf)
        score = np.minimum(upright, lying) @ number
        b = int(np.argmax(score))
        if score[b] <= best:
            continue
        total = 0
        for i, c in enumerate(copies):
            options = []
            if wide[i]:
                options.append(xs[a].values[2 * i] * ys[b].values[2 * i + 1])
            if tall[i]:
                options.append(xs[a].values[2 * i + 1] * ys[b].values[2 * i])
            total += min(options) * c
        best = max(best, -(-total // (xs[a].capacity * ys[b].capacity)))
    return best


def least_cost(area: int, offers: Sequence[tuple[int, int, int | None]], most_nodes: int = 20_000) -> int:
    """Least cost of stock whose inner area holds `area`.

    Parameters
    ----------
    area
        Of all panels' cut outlines. [any unit squared]
    offers
        Inner area, cost and number available (None: any number) of each stock size. [same unit]
    most_nodes
        Nodes of the branch and bound; the fractional value, rounded up, is given beyond it.

    Returns
    -------
    int
        Valid for every way to cut. [1/10,000 of the currency]
    """
    rows = sorted((o for o in offers if o[0] > 0 and o[2] != 0), key=lambda o: (o[1] * 10**9 // o[0], -o[0]))
    nodes = 0

    def relaxed(rest: int, start: int) -> int | None:
        cost_top = 0
        for a, c, n in rows[start:]:
            if rest <= 0:
                break
            if n is None or a * n >= rest:
                return cost_top + -(-c * rest // a)
            rest -= a * n
            cost_top += c * n
        return cost_top if rest <= 0 else None

    best: list[int | None] = [None]

    def search(rest: int, start: int, cost: int) -> bool:
        nonlocal nodes
        nodes += 1
        if nodes > most_nodes:
            return False
        if rest <= 0:
            if best[0] is None or cost < best[0]:
                best[0] = cost
            return True
        low = relaxed(rest, start)
        if low is None or (best[0] is not None and cost + low >= best[0]):
            return True
        a, c, n = rows[start]
        most = -(-rest // a)
        most = most if n is None else min(most, n)
        return all(search(rest - k * a, start + 1, cost + k * c) for k in range(most, -1, -1))

    low = relaxed(area, 0)
    if low is None:
        return 0
    return best[0] if search(area, 0, 0) and best[0] is not None else low
