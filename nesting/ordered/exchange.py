"""Exchanges between full sheets and the last: a strip or two of some sheets, filled anew out of what lay in them
and on the last sheet, which takes the rest. Judged by the area that comes to lie on the last one."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

import numpy as np

from .laid import Laid, Span
from .slot import Filler, Plan, Slot, Stay

EXCHANGED: Final = (1, 1, 1, 1, 1, 2, 2)
"""Sheets of which strips are filled anew."""
FREED: Final = ((1, 1, 1, 2, 2, 3), (1, 1, 1, 2))
"""Strips of each, of one sheet and of more: what was good about a sheet is hardly found again."""
GAPS: Final = 0.7
"""Share of the sheets whose strips are freed side by side, so that all others stay where they are."""
WHOLE: Final = 0.04
"""Share of the sheets that are emptied instead."""
EXPONENTS: Final = (1.0, 1.05, 1.1)
NOISE: Final = (0.02, 0.05, 0.1)
CHOICES: Final = (3, 12)
WIDTHS: Final = ((20, 40, 40, 160), (20, 40, 80))
"""Of the beam, for one sheet and for more."""
BEARABLE: Final = 0.001
"""Mean area, in sheets, by which an exchange may be worse than what was there."""
STILL: Final = 100
"""Turns for each sheet without less area on the last one, after which it goes on from the least there was, hot."""
HEAT: Final = 0.003
"""What is borne beside it then, falling to nothing in as many turns."""
FAILS: Final = 3
"""Times that this may lead to nothing before the search is over."""
FIT: Final = 0.98
"""Of what the best plan uses of the last sheet, the share that panels may take to be tried on less of it."""
LAST_WIDTH: Final = 40
"""Beam of the last sheet after an exchange."""


class Exchange:
    """The search from one plan on.

    Parameters
    ----------
    filler
        Fills sheets.
    rng
        The generator of the whole search.
    plan
        Of two sheets at least.

    Attributes
    ----------
    end, sheets
        The stock of the last sheet, and how many there are.
    least
        The least area of panels that the last one held. [search units squared]
    """

    def __init__(self, filler: Filler, rng: np.random.Generator, plan: Plan) -> None:
        self._filler, self._rng = filler, rng
        self._still = STILL * (len(plan) - 1)
        self._hot = self._turn = self._since = self._fails = 0
        self._full = list(plan[:-1])
        self.end, self.sheets = plan[-1].sheet, len(plan)
        self._rest = plan[-1].uses.copy()
        self._gaps = filler.instance.rules.level1_gap == (0, None)
        self.least = int(filler.area @ self._rest)
        self._strips = [self._strips_of(slot) for slot in self._full]
        self._best = (list(self._full), list(self._strips), self._rest)

    def _strips_of(self, slot: Slot) -> list[Any]:
        """Panels in each strip of a sheet."""
        return [self._filler.uses_of(strip) for strip in slot.filled.pattern.strips]

    def _drawn(self, choices: tuple[Any, ...]) -> Any:
        return choices[int(self._rng.integers(len(choices)))]

    @property
    def over(self) -> bool:
        """Whether it leads no further."""
        return self._fails > FAILS

    def _bearable(self) -> float:
        """What one more exchange may be worse by, in the mean; back to the best where it stands still. [sheets]"""
        if self._turn >= self._since + self._still:
            self._fails += 1
            self._since = self._hot = self._turn + self._still
            full, strips, self._rest = self._best
            self._full, self._strips = list(full), list(strips)
        hot = max(0, self._hot - self._turn) / self._still
        self._turn += 1
        return BEARABLE + HEAT * hot**2

    def turn(self, within: int) -> Plan | None:
        """One exchange; a plan, if its panels might fit within so much of the last sheet and be better so.

        Whether the exchange stands goes by the area on the last sheet alone: a state that a good last sheet made
        led to nothing better. `within` in search units squared.
        """
        bearable = self._bearable()
        rng, filler, full = self._rng, self._filler, self._full
        count = min(len(full), self._drawn(EXCHANGED))
        chosen = [int(i) for i in rng.choice(len(full), count, replace=False)]
        rest = self._rest.copy()
        stay = []
        for i in chosen:
            mine = self._stay(i, FREED[count > 1])
            stay.append((i, mine))
            rest += full[i].uses - mine.uses
        filler.some = self._drawn(CHOICES)
        width = self._drawn(WIDTHS[count > 1])
        value = filler.rect_area ** self._drawn(EXPONENTS)
        value = value * (1.0 + self._drawn(NOISE) * (2.0 * rng.random(len(value)) - 1.0))
        size = filler.instance.sheets[self.end].area
        bound = int(filler.area @ self._rest) + bearable * float(rng.exponential()) * size
        new: list[Slot] = []
        for i, mine in stay:
            slot = filler.fill(full[i].sheet, rest, value, width, mine)
            if slot is None:
                return None
            new.append(slot)
            rest -= slot.uses - mine.uses
        area = int(filler.area @ rest)
        last: Slot | None = None
        if 0 < area <= FIT * within:
            filler.some = CHOICES[-1]
            sheet = filler.instance.sheets[self.end]
            upto = (within - 1) // min(sheet.width, sheet.height)
            last = filler.all_on(self.end, rest, filler.rect_area, LAST_WIDTH, upto)
        found = None if last is None else self._with(chosen, new, last)
        if area > bound:
            return found
        for i, slot in zip(chosen, new, strict=True):
            full[i] = slot
            self._strips[i] = self._strips_of(slot)
        self._rest = rest
        if area < self.least:
            self.least, self._since, self._fails = area, max(self._turn, self._hot), 0
            self._best = (list(full), list(self._strips), rest)
        if not area:
            self._fails = FAILS + 1
            return tuple(full)
        return found

    def _with(self, chosen: list[int], new: list[Slot], last: Slot) -> Plan:
        """The plan with sheets as filled anew."""
        plan = [*self._full, last]
        for i, slot in zip(chosen, new, strict=True):
            plan[i] = slot
        return tuple(plan)

    def _stay(self, i: int, freed_of: tuple[int, ...]) -> Stay:
        """What stays of a sheet, drawn."""
        filler, rng = self._filler, self._rng
        none = filler.none()
        slot = self._full[i]
        pattern = slot.filled.pattern
        strips = pattern.strips
        there = [k for k, strip in enumerate(strips) if not strip.is_waste]
        if rng.random() < WHOLE or not there:
            return Stay((), (), None, pattern.frame, none)
        count = min(max(1, len(there) - 1), self._drawn(freed_of))
        if self._gaps and rng.random() < GAPS:
            first = int(rng.integers(len(there) - count + 1))
            before, after = there[:first], there[first + count :]
            stop = strips[after[0] - 1].end if after else None
            near, far = strips[: before[-1] + 1] if before else (), strips[after[0] :] if after else ()
            uses = sum((self._strips[i][k] for k in before + after), none)
            return Stay(near, far, stop, pattern.frame, uses)
        freed = rng.choice(len(there), count, replace=False)
        stay = set(there) - {there[k] for k in freed.tolist()}
        flaws = filler.flaws(slot.sheet, pattern.frame)
        near, which = kept(pattern, stay, flaws, pattern.frame_size(filler.instance)[0])
        return Stay(near, (), None, pattern.frame, sum((self._strips[i][k] for k in which), none))


def kept(pattern: Laid, stay: Collection[int], flaws: Any, length: int) -> tuple[tuple[Span, ...], list[int]]:
    """The strips that stay, one beside the other from the near side on, and which they are.

    A strip stays only where no flaw lies in its new place, if that is another one, and not if it ended at the
    far side: its cuts may be closer to the side than they may be to a cut.

    Parameters
    ----------
    pattern
        Of the sheet.
    stay
        Which of its strips are to stay, by their place in the pattern.
    flaws
        (F, 5) x0, y0, x1, y1 in the pattern's frame and a kind. [search units]
    length
        Of the sheet in this frame. [search units]
    """
    out: list[Span] = []
    which: list[int] = []
    at = near = 0
    for k, strip in enumerate(pattern.strips):
        x, near = near, strip.end
        if strip.is_waste or k not in stay or strip.end == length:
            continue
        end = at + strip.end - x
        if x == at:
            out.append(strip)
        elif not any(f[0] < end and f[2] > at for f in flaws):
            out.append(Span(end, parts=tuple(_moved(row, at - x) for row in strip.parts)))
        else:
            continue
        which.append(k)
        at = end
    return tuple(out), which


def _moved(row: Span, by: int) -> Span:
    return Span(row.end, row.rect, tuple(Span(c.end + by, c.rect, c.parts) for c in row.parts))
