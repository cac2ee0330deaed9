"""What breakage is expected to cost: broken panels, glass, mass and money by glass and step, with intervals.

The number that breaks in one cell (step, glass and size class) is beta-binomial, with the rate of the cell as
its share; sums over cells are convolutions, as if cells were independent. Glass, mass and money go with the
number at the mean size of a broken piece. Panels that are made again count once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..glass import mass_grams
from ..happened import AtStep
from ..panels import Panel, Purpose
from ..shop import UnknownGlass, split_key
from .counts import STEPS, Worked, facts_of
from .predictive import Beta, broken_of, together
from .prices import PriceOf
from .rates import HELD, Rates
from .ways import breaks_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """What is expected to break.

    Parameters
    ----------
    glass
        Glass key; empty for all, or where the record does not tell.
    step
        The work; None for all of it.
    pieces
        Pieces that come to the step; of all steps, to the one with the most. [1/1000]
    expected
        Pieces that break. [1/1000]
    low, high
        Whole pieces between which it lies with 90 per cent, equal tails.
    area2
        Twice the glass that breaks, None where the record does not tell sizes. [nm2]
    grams
        Its mass. [g]
    money
        Remakes and glass. [1/10,000 of the currency]
    """

    glass: str = ""
    step: AtStep | None = None
    pieces: int
    expected: int
    low: int
    high: int
    area2: int | None
    grams: int | None
    money: int | None


@dataclass(frozen=True, slots=True)
class Losses:
    """By glass and step, by glass, and in total."""

    rows: tuple[Loss, ...]
    glasses: tuple[Loss, ...]
    total: Loss


@dataclass(frozen=True, slots=True)
class _Cell:
    """Pieces of one glass and size class that come to a step, and the share that breaks there."""

    step: AtStep
    glass: str
    pieces: Fraction
    share: Beta
    area2: Fraction | None
    """Of one piece."""


def loss_of_panels(panels: Iterable[Panel], rates: Rates, price_of: PriceOf) -> Losses:
    """What is expected to break of the panels of a plan (those of orders)."""
    sums: dict[tuple[object, ...], list[Panel]] = {}
    for panel in panels:
        if panel.purpose is Purpose.ORDER:
            facts = facts_of(panel)
            places = tuple(STEPS.index(step) for step in facts.steps)
            sums.setdefault((facts.glass, facts.size.value, places), []).append(panel)
    cells = []
    for key in sorted(sums):
        facts, count = facts_of(sums[key][0]), len(sums[key])
        area2 = Fraction(sum(p.cut_area2 for p in sums[key]), count)
        for place, step in enumerate(facts.steps):
            share = breaks_at(rates, facts.glass, facts.size, facts.steps, place)
            cells.append(_Cell(step, facts.glass, Fraction(count), share, area2))
    return _losses(cells, rates, price_of)


def loss_a_week(counts: Iterable[Worked], weeks: Fraction | int, rates: Rates, price_of: PriceOf) -> Losses:
    """What is expected to break in a mean week of a record that spans so many weeks.

    Intervals are those of the nearest whole number of pieces.
    """
    cells = [
        _Cell(
            one.step,
            one.glass,
            Fraction(one.done) / weeks,
            rates.of(one.step, one.glass, one.size).share,
            Fraction(one.area2, one.done) if one.area2 else None,
        )
        for one in counts
        if one.done
    ]
    return _losses(cells, rates, price_of)


def _losses(cells: Sequence[_Cell], rates: Rates, price_of: PriceOf) -> Losses:
    def loss(mine: Sequence[_Cell], glass: str, step: AtStep | None) -> Loss:
        return _loss(mine, rates, price_of, glass, step)

    glasses = sorted({c.glass for c in cells})
    rows = []
    for glass in glasses:
        for step in STEPS:
            mine = [c for c in cells if c.glass == glass and c.step is step]
            if mine:
                rows.append(loss(mine, glass, step))
    return Losses(
        tuple(rows),
        tuple(loss([c for c in cells if c.glass == glass], glass, None) for glass in glasses),
        loss(cells, "", None),
    )


def _loss(cells: Sequence[_Cell], rates: Rates, price_of: PriceOf, glass: str, step: AtStep | None) -> Loss:
    expected = sum((c.pieces * c.share.mean for c in cells), Fraction(0))
    low, high = together(broken_of(round(c.pieces), c.share) for c in cells).within(HELD)
    come = [sum((c.pieces for c in cells if c.step is at), Fraction(0)) for at in STEPS]
    area2 = grams = money = None
    if all(c.area2 is not None for c in cells):
        broken = [(c.glass, c.pieces * c.share.mean * (c.area2 or 0)) for c in cells]
        area2 = round(sum((area for _, area in broken), Fraction(0)))
        by_glass = {g: round(sum(a for name, a in broken if name == g)) for g in {c.glass for c in cells}}
        if all(by_glass):
            grams = sum(mass_grams(area, _thickness(g)) for g, area in by_glass.items())
            glass_worth = sum((area * price_of(g) / 2 for g, area in broken), Fraction(0))
            money = round(expected * rates.settings.remake + glass_worth)
    return Loss(
        glass=glass,
        step=step,
        pieces=round(1000 * max(come)),
        expected=round(1000 * expected),
        low=low,
        high=high,
        area2=area2,
        grams=grams,
        money=money,
    )


def _thickness(glass: str) -> int:
    try:
        return split_key(glass)[1]
    except UnknownGlass:
        return 0
