"""Lower bound on the cost of stock of several sizes, by dual feasible functions.

Every panel type gets a price: the least, over the stock sizes that hold it, of the size's cost times the
share of the sheet that the panel takes under a pair of dual feasible functions. No pattern of any size can
then hold panels worth more than its cost, so the sum over all panels is a lower bound (weak duality of the
cutting-stock LP of Gilmore and Gomory 1965; Farley 1990). Stock there is only a little of, such as offcuts,
does not lower the prices: what it can hold beyond its own cost is taken off once for each piece. That worth
is bounded by the images of its sides, since the functions are superadditive. Valid for edge-to-edge cuts of
any depth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any

import numpy as np

Shape = Callable[[int, int], tuple[int, int]]
"""Side and capacity to image and image capacity."""


def _identity(x: int, c: int) -> tuple[int, int]:
    return x, c


def _big(top: int, bottom: int) -> Shape:
    """u^(k) of Fekete and Schepers with k = c * top / bottom: sides over c - k count whole."""

    def image(x: int, c: int) -> tuple[int, int]:
        k = c * top // bottom
        return (c if x > c - k else (x if x >= k else 0)), c

    return image


def _steps(k: int) -> Shape:
    """The stepped function of Fekete and Schepers 2001."""

    def image(x: int, c: int) -> tuple[int, int]:
        return (x * k if (k + 1) * x % c == 0 else (k + 1) * x // c * c), c * k

    return image


SHAPES: tuple[Shape, ...] = (
    _identity,
    *(_big(1, n) for n in (2, 3, 4, 5, 6, 8, 10)),
    _big(2, 5),
    _big(3, 8),
    _big(9, 20),
    *(_steps(k) for k in range(1, 8)),
)

Offer = tuple[int, int, int, int | None]
"""Inner width, inner height, cost and number (None: any number) of a stock size."""


def least_cost_mixed(
    sizes: Sequence[tuple[int, int]], copies: Sequence[int], turns: Sequence[bool], offers: Sequence[Offer]
) -> int:
    """Least cost of stock for these panels.

    Parameters
    ----------
    sizes, copies, turns
        Size, number, and leave to turn a quarter, of each panel type. [any unit]
    offers
        The stock sizes. [same unit; 1/10,000 of the currency]

    Returns
    -------
    int
        [1/10,000 of the currency]
    """
    if not sizes or not offers:
        return 0
    plain, scarce = _scarce(offers)
    number = np.array(copies, dtype=np.float64)
    best: tuple[float, int, int] = (0.0, 0, 0)
    tables = [_images(sizes, w, h) for w, h, *_ in plain]
    fits = [_fits(sizes, turns, w, h) for w, h, *_ in plain]
    for a in range(len(SHAPES)):
        for b in range(len(SHAPES)):
            price = np.full(len(sizes), np.inf)
            for (_, _, cost, _), (across, along), (upright, lying) in zip(plain, tables, fits, strict=True):
                share = np.minimum(
                    np.where(upright, across[a][:, 0] * along[b][:, 1], np.inf),
                    np.where(lying, across[a][:, 1] * along[b][:, 0], np.inf),
                )
                price = np.minimum(price, share * cost)
            total = float(np.where(np.isfinite(price), price, 0.0) @ number)
            total -= float(_given(SHAPES[a], SHAPES[b], plain, scarce))
            best = max(best, (total, a, b))
    return _exact(SHAPES[best[1]], SHAPES[best[2]], sizes, copies, turns, plain, scarce)


def _scarce(offers: Sequence[Offer]) -> tuple[list[Offer], list[Offer]]:
    """Stock that sets prices, and limited stock that lies within an unlimited size."""
    endless = [o for o in offers if o[3] is None]
    scarce = [o for o in offers if o[3] is not None and any(o[0] <= e[0] and o[1] <= e[1] for e in endless)]
    return [o for o in offers if o not in scarce], scarce


def _given(across: Shape, along: Shape, plain: Sequence[Offer], scarce: Sequence[Offer]) -> Fraction:
    """What the limited stock can hold beyond its cost, at the prices of the unlimited sizes."""
    total = Fraction(0)
    for width, height, cost, count in scarce:
        worth = []
        for w, h, price, limit in plain:
            if limit is None and width <= w and height <= h:
                (fx, cx), (fy, cy) = across(width, w), along(height, h)
                worth.append(Fraction(price * fx * fy, cx * cy))
        total += (count or 0) * max(Fraction(0), min(worth) - cost)
    return total


def _images(sizes: Sequence[tuple[int, int]], width: int, height: int) -> tuple[Any, Any]:
    """Shares of both sides along both axes, one table a function."""

    sides = np.array(sizes, dtype=np.int64)

    def table(capacity: int) -> Any:
        # many panels share their sides: each is looked up once
        unique, where = np.unique(np.minimum(sides, capacity), return_inverse=True)
        rows = []
        for shape in SHAPES:
            pairs = [shape(s, capacity) for s in unique.tolist()]
            rows.append(np.array([v / c for v, c in pairs])[where].reshape(sides.shape))
        return np.array(rows)

    return table(width), table(height)


def _fits(
    sizes: Sequence[tuple[int, int]], turns: Sequence[bool], width: int, height: int
) -> tuple[Any, Any]:
    upright = np.array([w <= width and h <= height for w, h in sizes])
    lying = np.array([t and h <= width and w <= height for (w, h), t in zip(sizes, turns, strict=True)])
    return upright, lying


def _exact(
    across: Shape,
    along: Shape,
    sizes: Sequence[tuple[int, int]],
    copies: Sequence[int],
    turns: Sequence[bool],
    plain: Sequence[Offer],
    scarce: Sequence[Offer],
) -> int:
    """The bound of one pair of functions, in whole numbers, rounded up."""
    total = Fraction(0)
    for (w, h), count, turn in zip(sizes, copies, turns, strict=True):
        prices = []
        for width, height, cost, _ in plain:
            for x, y in ((w, h), (h, w)) if turn else ((w, h),):
                if x <= width and y <= height:
                    (fx, cx), (fy, cy) = across(x, width), along(y, height)
                    prices.append(Fraction(cost * fx * fy, cx * cy))
        if prices:
            total += count * min(prices)
    total = max(Fraction(0), total - _given(across, along, plain, scarce))
    return -(-total.numerator // total.denominator)
