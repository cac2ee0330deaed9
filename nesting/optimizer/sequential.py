"""Sheet-by-sheet filling: the best sheet for its price, again and again, until nothing is left.

Orders of very many sizes are filled from a window: the largest types and a spread of the others, drawn
anew when a share of it is used up, so that a sheet costs the same however long the list is.
"""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Any, Protocol

import numpy as np

from .instance import Instance, Sheet
from .parts import Part
from .pattern import Pattern
from .runner import Runner

LEAN = 0.1
FINISH_LOSS = 1.15
"""A finishing sheet may cost this many times the cheapest glass for the rest, else it waits."""
IN_SIGHT = 4000
"""Types that a fill chooses from; with more in demand a window of so many is drawn."""
HARDEST = 4
"""One part in so many of these are always the largest."""
DRAW_AGAIN = 0.75
"""A window is drawn anew when no more than this share of its types is left."""


class Worth(Protocol):
    """What makes some panels worth more than their area while a plan is filled sheet by sheet."""

    def factors(self) -> Any:
        """A factor for the value of each rectangle, for the next sheet."""

    def took(self, uses: Mapping[int, int]) -> None:
        """Note what a sheet yields."""


def fill_all(
    runner: Runner, demand: Sequence[int] | Mapping[int, int], sheets: Sequence[int], **how: Any
) -> list[Pattern] | None:
    """All of `filling` at once; `how` as there.

    Returns
    -------
    list of Pattern or None
        None when the stock ran out, or a panel fits none of these sheets.
    """
    steps = filling(runner, demand, sheets, **how)
    while True:
        try:
            next(steps)
        except StopIteration as end:
            patterns: list[Pattern] | None = end.value
            return patterns


def filling(
    runner: Runner,
    demand: Sequence[int] | Mapping[int, int],
    sheets: Sequence[int],
    *,
    exponent: float,
    frames: int,
    width: int,
    noise: float,
    rng: np.random.Generator,
    left: Mapping[int, int | None] | None = None,
    types: int = IN_SIGHT,
    levels: int | None = None,
    worth: Worth | None = None,
) -> Generator[Pattern, None, list[Pattern] | None]:
    """Fill sheets one by one until the demand is placed; yields every sheet as it is done.

    Parameters
    ----------
    runner
        The kernel.
    demand
        Panels of each type: one number a type, or a mapping of types to numbers.
    sheets
        Indexes of the stock sizes that may be taken.
    exponent
        Of the value of a rectangle.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    width
        Of the beam.
    noise
        Share by which values are disturbed at random.
    rng
        Used only with noise.
    left
        How many of each size may be taken (None: no end); default: what there is.
    types
        Types that a fill chooses from; with more in demand a window of so many is drawn.
    levels
        Fewer than the instance allows; None for all of them.
    worth
        What weighs the values anew for every sheet, or None.

    Returns
    -------
    list of Pattern or None
        None when the stock ran out, or a panel fits none of these sheets. Within another generator:
        ``patterns = yield from filling(...)``; a caller that stops early drops the generator.

    Notes
    -----
    Each step compares all sizes by value per cost; a size that takes the whole rest finishes, the
    cheapest first. A fill stays valid while its panels are still wanted, so most of them are reused.
    """
    inst = runner.instance
    rest = _Rest(runner, demand, types)
    given = left or {k: (None if s.piece.buyable else s.piece.on_hand) for k, s in enumerate(inst.sheets)}
    left = {k: given[k] for k in sheets}
    cheapest = min((inst.sheets[k].piece.cost / max(1, inst.sheets[k].area) for k in sheets), default=0.0)
    value = runner.value(exponent)
    out: list[Pattern] = []
    cache: dict[int, tuple[Pattern, dict[int, int], float]] = {}
    while rest.panels:
        if worth is not None:
            value = runner.value(exponent) * worth.factors()
            cache.clear()
        if noise:
            value = (runner.value(exponent) if worth is None else value) * (
                1.0 + noise * (2.0 * rng.random(len(value)) - 1.0)
            )
        part = rest.in_sight()
        best: tuple[float, int] | None = None
        finish: tuple[int, int] | None = None
        for k in sheets:
            if left[k] == 0 or _twin_tried(inst, k, sheets, left):
                continue
            if k not in cache or not rest.holds(cache[k][1]):
                patterns = runner.run(
                    part,
                    [k],
                    value=value,
                    lean=LEAN,
                    width=width,
                    frames=frames,
                    fill=True,
                    levels=levels,
                )
                if not patterns:
                    cache.pop(k, None)
                    continue
                uses = dict(patterns[0].uses(inst))
                cache[k] = (patterns[0], uses, float(sum(value[i.rect] for i in patterns[0].items())))
            _, uses, yielded = cache[k]
            cost = inst.sheets[k].piece.cost
            if sum(uses.values()) == rest.panels and (finish is None or cost < finish[0]):
                finish = (cost, k)
            score = yielded / max(cost, 1)
            if best is None or score > best[0]:
                best = (score, k)
        if best is None:
            if rest.widen():
                continue
            return None
        pick = best[1]
        if finish is not None and (
            finish[0] <= FINISH_LOSS * part.area * cheapest
            or inst.sheets[pick].piece.cost >= finish[0]
            or sum(cache[pick][1].values()) == rest.panels
        ):
            pick = finish[1]
        pattern, uses, _ = cache[pick]
        out.append(pattern)
        rest.take(uses)
        if worth is not None:
            worth.took(uses)
        number = left[pick]
        if number is not None:
            left[pick] = number - 1
        yield pattern
    return out


class _Rest:
    """The demand left, and the window of it from which the next sheet is filled."""

    def __init__(self, runner: Runner, demand: Sequence[int] | Mapping[int, int], types: int) -> None:
        self._runner = runner
        self._number: Any = np.zeros(len(runner.instance.types), dtype=np.int64)
        if isinstance(demand, Mapping):
            for t, count in demand.items():
                self._number[t] = count
        else:
            self._number[:] = demand
        self.panels = int(self._number.sum())
        area = np.array(runner.type_area, dtype=np.int64)
        self._by_size = np.argsort(-area, kind="stable")
        self._sight = types
        self._part: Part | None = None
        self._drawn = 0
        self._turn = 0

    def holds(self, uses: Mapping[int, int]) -> bool:
        """Whether so much of each type is still wanted."""
        return all(self._number[t] >= count for t, count in uses.items())

    def take(self, uses: Mapping[int, int]) -> None:
        """Note what a sheet yields."""
        for t, count in uses.items():
            self._number[t] -= count
            self.panels -= count
        if self._part is not None and self.panels:
            seen = {t: c for t, c in uses.items() if self._part.has(t)}
            self._part = self._part.without(seen) if len(seen) == len(uses) else None

    def in_sight(self) -> Part:
        """The part that the next sheet is filled from."""
        if self._part is not None and (self._drawn == 0 or self._part.live > DRAW_AGAIN * self._drawn):
            return self._part
        live = self._by_size[self._number[self._by_size] > 0]
        self._drawn = 0
        if len(live) > self._sight:
            most = self._sight // HARDEST
            hard, others = live[:most], live[most:]
            step = len(others) / (self._sight - most)
            # a low-discrepancy start, so that all of them come into sight in time
            start = (0.618 * self._turn) % 1.0
            places = ((np.arange(self._sight - most) + start) * step).astype(np.int64)
            live = np.concatenate([hard, others[np.minimum(places, len(others) - 1)]])
            self._drawn = len(live)
            self._turn += 1
        self._part = self._runner.part({int(t): int(self._number[t]) for t in live})
        return self._part

    def widen(self) -> bool:
        """Look at all of the demand from here on; False where that was so."""
        if self._drawn == 0:
            return False
        self._sight = len(self._number)
        self._part = None
        return True


def _twin_tried(inst: Instance, k: int, sheets: Sequence[int], left: dict[int, int | None]) -> bool:
    """Whether an equal sheet earlier in the list stands for this one."""
    me = inst.sheets[k]
    for j in sheets:
        if j == k:
            return False
        other = inst.sheets[j]
        if left[j] != 0 and _same(other, me):
            return True
    return False


def _same(a: Sheet, b: Sheet) -> bool:
    return (a.width, a.height, a.raw_right, a.raw_top, a.piece.cost, a.piece.flaws) == (
        b.width,
        b.height,
        b.raw_right,
        b.raw_top,
        b.piece.cost,
        b.piece.flaws,
    )
