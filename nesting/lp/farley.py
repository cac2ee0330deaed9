"""The lower bound of any prices: Farley 1990, for several stock sizes of which some are scarce.

For prices u of the panels and the worth V_s of the best pattern of every size at these prices,

    LB = max over t of  t * sum(u_i d_i) - sum over scarce s of b_s * max(0, t V_s - c_s),

t at most c_s / V_s for every size of which there is no end: (t u, the premiums) is dual feasible. The
expression is concave and piecewise linear in t, so that its breakpoints suffice. All in fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Offer:
    """A stock size: its cost, and how many there are (None: no end). [1/10,000 of the currency]"""

    cost: int
    count: int | None


def dual_bound(worth: int, best: Sequence[int], offers: Sequence[Offer]) -> tuple[Fraction, Fraction]:
    """Lower bound on the cost of stock, and the scale t of the prices that gives it.

    Parameters
    ----------
    worth
        Of all panels ordered, at the prices.
    best
        For every size, the worth of its best pattern, or anything above it.
    offers
        The sizes, in the same order.
    """
    caps = [Fraction(o.cost, v) for o, v in zip(offers, best, strict=True) if o.count is None and v > 0]
    scarce = [(o, v) for o, v in zip(offers, best, strict=True) if o.count is not None and v > 0]
    cap = min(caps) if caps else None
    points = {Fraction(o.cost, v) for o, v in scarce}
    trials = [t for t in points if cap is None or t <= cap]
    if cap is not None:
        trials.append(cap)
    found = [(Fraction(0), Fraction(0))]
    for t in trials:
        value = t * worth - sum((o.count or 0) * max(Fraction(0), t * v - o.cost) for o, v in scarce)
        found.append((value, t))
    return max(found, key=lambda f: (f[0], -f[1]))


def reachable_cost(
    least: Fraction, area: int, offers: Sequence[Offer], areas: Sequence[int], most_nodes: int = 20_000
) -> int:
    """The least cost of whole sheets that is at least `least` and holds the area.

    Parameters
    ----------
    least
        A lower bound on the cost. [1/10,000 of the currency]
    area
        Of all panels. [any unit squared]
    offers, areas
        The sizes and their inner areas. [1/10,000 of the currency; the same unit]
    most_nodes
        Of the search; beyond it the bound is only rounded up to a whole number.
    """
    floor = -(-least.numerator // least.denominator)
    rows = sorted(
        ((o.cost, a, o.count) for o, a in zip(offers, areas, strict=True) if o.cost > 0 and o.count != 0),
        key=lambda r: (-r[0], -r[1]),
    )
    best: int | None = None
    nodes = 0
    stack: list[tuple[int, int, int]] = [(0, 0, 0)]
    while stack:
        at, cost, held = stack.pop()
        nodes += 1
        if nodes > most_nodes:
            return floor
        if cost >= floor and held >= area:
            best = cost if best is None else min(best, cost)
            if best == floor:
                return floor
            continue
        if at == len(rows) or (best is not None and cost >= best):
            continue
        price, room, count = rows[at]
        need = max(-(-(floor - cost) // price), -(-(area - held) // room) if room else 0, 0)
        most = need if count is None else min(need, count)
        for k in range(most + 1):
            stack.append((at + 1, cost + k * price, held + k * room))
    return floor if best is None else best
