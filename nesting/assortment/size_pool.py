"""The cutting-stock LP over any set of the sizes on offer, with one pool of patterns for all sets.

A set of sizes is the LP of Gilmore and Gomory (1965) with the patterns of the other sizes shut. Patterns that
one set asked for serve every other set that holds their size, and every exact round of pricing bounds all sets
at once: with the prices u of a round, and the worth V_s of the best pattern of each size at these prices, the
sheets of a set S cost at least

    (worth of all panels) * min over s in S of c_s / V_s   (Farley 1990).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..lp.cutting_stock import CuttingStock
from ..lp.many_sizes import ManySizes, Round
from ..optimizer.instance import Instance

SMOOTH = 0.5
"""Weight of the best prices so far beside those of the LP (Wentges 1997)."""
FALL = 5e-4
"""Relative fall of the LP value that counts as progress of quick rounds."""
PATIENCE = 2
"""Quick rounds without it, after which an exact one is due."""
MORE = 1
FEW = 5
"""Patterns of a size beside the best of each direction, in a quick round; more of them up to so many sizes."""
MOST_ROUNDS = 400
EXACT_ROUNDS = 12
"""Exact rounds that one set is given; its value and bound are then told as they are."""


@dataclass(frozen=True, slots=True)
class Row:
    """An exact round: its prices, also in whole numbers, and at these the worth of all panels and of the best
    pattern of every size that it looked at.
    """

    prices: tuple[float, ...]
    whole: tuple[int, ...]
    worth: int
    best: dict[int, int]

    def bound(self, costs: Sequence[int], sizes: Collection[int]) -> Fraction:
        """What sheets of these sizes cost at least; 0 where one of them was not looked at."""
        low: Fraction | None = None
        for s in sizes:
            if s not in self.best:
                return Fraction(0)
            if self.best[s] > 0:
                low = (
                    min(low, Fraction(costs[s], self.best[s]))
                    if low is not None
                    else Fraction(costs[s], self.best[s])
                )
        return Fraction(0) if low is None else self.worth * low


@dataclass(frozen=True, slots=True, kw_only=True)
class SetValue:
    """What a set of sizes costs by the LP.

    Parameters
    ----------
    sizes
        Indexes of the sizes, rising.
    value
        The LP's value: sheets in parts. [1/10,000 of the currency]
    bound
        Nothing costs less. [1/10,000 of the currency]
    sheets
        Sheets of each size in the solution, in parts.
    """

    sizes: tuple[int, ...]
    value: float
    bound: float
    sheets: tuple[float, ...]


class SizePool(CuttingStock):
    """LPs of all sets of sizes of an instance.

    Parameters
    ----------
    instance
        The forecast demand of one glass, and every size on offer as a sheet that can be bought. No two
        sizes are equal. Two or three levels.
    whole
        An instance with the same sizes of everything that a set of sizes must hold; None: the same.
    exact_rounds
        Exact rounds that one set is given.
    """

    def __init__(
        self, instance: Instance, whole: Instance | None = None, exact_rounds: int = EXACT_ROUNDS
    ) -> None:
        super().__init__(instance, range(len(instance.sheets)))
        if len(self.sheets) != len(instance.sheets):
            raise ValueError("two sizes on offer are equal")
        self.costs = [o.cost for o in self.offers]
        self.many = ManySizes(instance)
        self.rows: list[Row] = []
        self.rounds_made = 0
        self.whole = whole or instance
        self.exact_rounds = exact_rounds
        self.holds = [self._held(s) for s in range(len(self.offers))]

    # -------------------------------------------------------------- panels that fit

    def _held(self, size: int) -> frozenset[int]:
        """Types that lie on a sheet of this size."""
        sheet = self.whole.sheets[size]
        out: set[int] = set()
        for r in self.whole.rects:
            upright = r.width <= sheet.width and r.height <= sheet.height
            if upright or (r.turns and r.height <= sheet.width and r.width <= sheet.height):
                out.update(t for t, _ in r.uses)
        return frozenset(out)

    def left_out(self, sizes: Collection[int]) -> list[int]:
        """Types of the whole demand that no sheet of these sizes holds."""
        held = frozenset().union(*(self.holds[s] for s in sizes)) if sizes else frozenset()
        return [t for t, d in enumerate(self.whole.demand) if d and t not in held]

    # -------------------------------------------------------------- bounds

    def bound_of(self, sizes: Collection[int]) -> Fraction:
        """What the rounds made so far prove of a set. [1/10,000 of the currency]"""
        return max((row.bound(self.costs, sizes) for row in self.rows), default=Fraction(0))

    def best_row(self, sizes: Collection[int]) -> Row | None:
        """The round that proves most of a set."""
        scored = [(row.bound(self.costs, sizes), -i) for i, row in enumerate(self.rows)]
        low, at = max(scored, default=(Fraction(0), 0))
        return self.rows[-at] if low > 0 else None

    # -------------------------------------------------------------- the LP

    def price(self, prices: Sequence[float], sizes: Collection[int], turn: int | None) -> bool:
        """Price these sizes; whether a pattern was added. An exact round (no `turn`) gives a row."""
        worths = [
            sum(prices[self._at[t]] * n for t, n in r.uses if t in self._at) for r in self.instance.rects
        ]
        factor = self.many.scaled(worths)
        whole = [int(p * factor) for p in prices]
        quick = turn is not None
        least = {s: int(self.costs[s] * factor) for s in sizes} if quick else None
        found: Round = self.many.price(
            self._worths(whole),
            sheets=sizes,
            turn=turn,
            more=(MORE if len(sizes) > FEW else 2 * MORE + 1) if quick else 0,
            least=least,
        )
        self.rounds_made += 1
        added = False
        for pattern in found.patterns:
            column = self._column(pattern.sheet, pattern.rects)
            if column.uses and self.master.add(column):
                added = True
        if found.exact:
            total = sum(p * d for p, d in zip(whole, self.demand, strict=True))
            self.rows.append(Row(tuple(prices), tuple(whole), total, found.best))
        return added

    def quick_value(self, sizes: Collection[int]) -> float:
        """The LP's value over the patterns known so far: no bound. [1/10,000 of the currency]"""
        self.master.shut([s for s in range(len(self.offers)) if s not in sizes])
        return self.master.solve()

    def solve(self, sizes: Collection[int], gap: float = 1e-3) -> SetValue:
        """The LP of a set, to a relative distance of value and bound.

        Raises
        ------
        ValueError
            Where a panel fits none of the sizes.
        """
        *_, value = self.steps(sizes, gap)
        return value

    def steps(self, sizes: Collection[int], gap: float = 1e-3) -> Iterator[SetValue]:
        """The same round by round, so that a caller may look at its clock."""
        chosen = tuple(sorted(set(sizes)))
        if self.left_out(chosen):
            raise ValueError("a panel fits none of the sizes")
        turn = still = 0
        quick = self.instance.levels != 2
        smooth = SMOOTH
        exact_still = 0
        begun = len(self.rows)
        quick_ones = quick  # with two levels every round is exact, and quick
        for _ in range(MOST_ROUNDS):
            value = self.quick_value(chosen)
            low = float(self.bound_of(chosen))
            yield SetValue(sizes=chosen, value=value, bound=min(low, value), sheets=self._sheets(chosen))
            spent = quick_ones and len(self.rows) - begun > self.exact_rounds
            if low >= value * (1 - gap) or spent:
                return
            true = self.master.prices()
            row = self.best_row(chosen)
            if row is None:  # area prices: the first bound is then no worse than that of the area
                prices = [float(self.instance.type_area[t]) for t in self.types]
                added = self.price(prices, chosen, None)
                continue
            if quick:
                # every other round off the corner of the LP: its prices swing, those of the best bound do not
                part = smooth if turn % 2 else 0.0
                scale = _scale(row, true, self.demand)
                mixed = [part * b * scale + (1 - part) * p for b, p in zip(row.prices, true, strict=True)]
                added = self.price(mixed, chosen, turn)
                turn += 1
                after = self.quick_value(chosen)
                still = 0 if added and after < value * (1 - FALL) else still + 1
                quick = still < PATIENCE
                continue
            scale = _scale(row, true, self.demand)
            prices = [smooth * b * scale + (1 - smooth) * p for b, p in zip(row.prices, true, strict=True)]
            added = self.price(prices, chosen, None)
            after = self.quick_value(chosen)
            better = float(self.bound_of(chosen)) > low * (1 + 1e-7)
            progress = better or (added and after < value * (1 - 1e-7))
            exact_still = 0 if progress else exact_still + 1
            if exact_still >= 2 and smooth == 0.0:
                return
            smooth = SMOOTH if added else 0.0
            quick, still = self.instance.levels != 2, 0

    def _sheets(self, sizes: Sequence[int]) -> tuple[float, ...]:
        taken = dict.fromkeys(sizes, 0.0)
        for column, share in zip(self.master.columns, self.master.shares(), strict=True):
            if column.offer in taken:
                taken[column.offer] += share
        return tuple(taken[s] for s in sizes)


def _scale(row: Row, prices: Sequence[float], demand: Sequence[int]) -> float:
    """Brings the prices of a row to the size of others, so that they may be mixed."""
    mine = sum(p * d for p, d in zip(row.prices, demand, strict=True))
    other = sum(p * d for p, d in zip(prices, demand, strict=True))
    return other / mine if mine > 0 else 1.0
