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
BLOCK = 8
"""Rows of a matrix multiplied at once."""
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


class _Table:
    """Functions of one axis: images in whole numbers, capacities, and their quotients."""

    def __init__(self, values: Any, capacities: Sequence[int]) -> None:
        self.values, self.capacities = values, capacities
        self.shares = values / np.array(capacities, dtype=np.float64)[:, None]

    def row(self, k: int) -> list[int]:
        out: list[int] = self.values[k].tolist()
        return out


def _f1(sizes: Any, copies: Sequence[int], ks: Sequence[int], c: int) -> list[tuple[Any, int]]:
    """Data-dependent functions: how many middling sides a big one displaces."""
    order = np.argsort(sizes, kind="stable")
    order = order[(2 * sizes[order] <= c) & (sizes[order] > 0)]
    middle = sizes[order]
    # each side as often as it can count, in rising order, and how long the first so many are
    times = np.minimum(np.array(copies, dtype=np.int64)[order], c // middle) if len(order) else middle
    row = np.repeat(middle, times)
    sums = np.concatenate(([0], np.cumsum(row)))
    big, rest = 2 * sizes > c, c - sizes
    out = []
    for k in ks:
        start = int(np.searchsorted(row, k))
        ends = sums[start : start + c // k + 1] - sums[start]
        whole = int(np.searchsorted(ends, c, side="right")) - 1
        if whole:
            displaced = whole - (np.searchsorted(ends[: whole + 1], rest, side="right") - 1)
            out.append((np.where(big, displaced, (sizes >= k).astype(np.int64)), whole))
    return out


def _plain(x: Any, ks: Sequence[int], steps: int, c: int) -> tuple[Any, list[int]]:
    """The functions that do not depend on the data: sides as they are, u^(k), f0^k, and steps up to `steps`."""
    tables, capacities = [x[None, :]], [c]
    if ks:
        k = np.array(ks, dtype=np.int64)[:, None]
        whole = c // k
        tables.append(np.where(x > c - k, c, np.where(x >= k, x, 0)))
        tables.append(
            np.where(2 * x > c, 2 * (whole - (c - x) // k), np.where(2 * x == c, whole, 2 * (x // k)))
        )
        capacities += [c] * len(ks) + [2 * (c // i) for i in ks]
    k = np.arange(1, steps + 1, dtype=np.int64)[:, None]
    tables.append(np.where((k + 1) * x % c == 0, x * k, (k + 1) * x // c * c))
    return np.concatenate(tables), capacities + [c * i for i in range(1, steps + 1)]


def _table(sizes: Sequence[int], copies: Sequence[int], capacity: int) -> _Table:
    """All functions tried on one axis."""
    x = np.array(sizes, dtype=np.int64)
    ks = _thresholds(sizes, capacity)
    values, capacities = _plain(x, ks, 30, capacity)
    data = _f1(x, copies, ks, capacity)
    rows = [*zip(values, capacities, strict=True), *data]
    seen: dict[tuple[bytes, int], Any] = {}
    for row, image in rows:
        if image > 0:
            seen.setdefault((row.tobytes(), image), row)
    return _Table(np.array(list(seen.values())), [image for _, image in seen])


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
    table = _table(sizes, copies, capacity)
    return [Image(tuple(row), c) for row, c in zip(table.values.tolist(), table.capacities, strict=True)]


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
        # each panel brings both its sides to each axis: f is built on the doubled list, then halved
        table = _table([s for size in sizes for s in size], [c for c in copies for _ in (0, 1)], width)
        return max(best, _square(table, copies))
    if not any(turns):
        xs = _table([w for w, _ in sizes], copies, width)
        ys = _table([h for _, h in sizes], copies, height)
        return max(best, _fixed(xs, ys, copies))
    return max(best, _turning(width, height, sizes, copies, turns))


def _fixed(xs: _Table, ys: _Table, copies: Sequence[int]) -> int:
    score = _product(xs.shares * np.array(copies, dtype=np.float64), ys.shares)
    best = 0
    for a, b in _highest(score):
        total = sum(v * w * c for v, w, c in zip(xs.row(a), ys.row(b), copies, strict=True))
        best = max(best, -(-total // (xs.capacities[a] * ys.capacities[b])))
    return best


def _product(first: Any, second: Any) -> Any:
    """Products of all rows of one with all of the other, in blocks too small to wake other threads."""
    other = np.ascontiguousarray(second.T)
    return np.concatenate([first[k : k + BLOCK] @ other for k in range(0, len(first), BLOCK)])


def _highest(score: Any) -> list[tuple[int, int]]:
    """Row and column of the highest entries of the three best rows."""
    columns = score.argmax(axis=1)
    rows = np.argsort(score[np.arange(len(columns)), columns], kind="stable")[-3:]
    return [(int(k), int(columns[k])) for k in rows]


def _square(both: _Table, copies: Sequence[int]) -> int:
    weight = np.array(copies, dtype=np.float64)
    half = _product(both.shares[:, 0::2] * weight, both.shares[:, 1::2])
    best = 0
    for a, b in _highest(half + half.T):
        f, g = both.row(a), both.row(b)
        total = sum((f[2 * i] * g[2 * i + 1] + f[2 * i + 1] * g[2 * i]) * c for i, c in enumerate(copies))
        best = max(best, -(-total // (2 * both.capacities[a] * both.capacities[b])))
    return best


def _turning(
    width: int, height: int, sizes: Sequence[Size], copies: Sequence[int], turns: Sequence[bool]
) -> int:
    # every side may lie along either axis, so f is built on all of them; the lesser product counts.
    # Data-dependent functions would need the orientation; they are left out by their copies.
    flat = [s for size in sizes for s in size]

    def plain(capacity: int) -> _Table:
        kept = [s for s in flat if s <= capacity] or [capacity]
        ks = _thresholds(kept, capacity)
        ks = ks[:: max(1, len(ks) // 30)]
        return _Table(*_plain(np.minimum(np.array(flat, dtype=np.int64), capacity), ks, 7, capacity))

    xs, ys = plain(width), plain(height)
    number = np.array(copies, dtype=np.float64)
    free = np.array(turns)
    wide = np.array([w <= width and h <= height for w, h in sizes])
    tall = np.array([h <= width and w <= height for w, h in sizes]) & free
    best = 0
    for a in range(len(xs.capacities)):
        upright = np.where(wide, xs.shares[a, 0::2] * ys.shares[:, 1::2], np.inf)
        lying = np.where(tall, xs.shares[a, 1::2] * ys.shares[:, 0::2], np.inf)
        score = np.minimum(upright, lying) @ number
        b = int(np.argmax(score))
        if score[b] <= best:
            continue
        f, g = xs.row(a), ys.row(b)
        total = 0
        for i, c in enumerate(copies):
            options = []
            if wide[i]:
                options.append(f[2 * i] * g[2 * i + 1])
            if tall[i]:
                options.append(f[2 * i + 1] * g[2 * i])
            total += min(options) * c
        best = max(best, -(-total // (xs.capacities[a] * ys.capacities[b])))
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
