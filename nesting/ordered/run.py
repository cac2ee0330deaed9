"""One run of the ordered beam over a sequence of sheets, in slices of whole levels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from ..optimizer.runner import Counter
from .beam import advance_beam
from .beam_state import (
    BEST,
    BEST_END,
    CRAMPED,
    DROPPED,
    EXPANDED,
    KEPT,
    LEVEL,
    OVER,
    Beam,
    new_beam,
    retrace,
    roomier,
)
from .decode import patterns_of
from .laid import Laid
from .problem import H, Ordered, Sheets, W

SLICE: int = 20_000
"""Nodes of a slice, about."""
LEAST_KEPT = 20
"""Nodes of a level that a beam keeps even where its time has run out."""


DRAWN = 0.1
"""By so much of itself the worth of a rectangle is more or less in a guide that is drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """Of two nodes the one with less (lean + waste share) / sum of area**exponent comes first.

    `foresee`: what is too low above the open row for any rectangle counts as waste at once. `draw`: where not 0
    the areas are drawn a little larger or smaller, by `DRAWN` at most.
    """

    lean: float = 0.0
    exponent: float = 1.0
    foresee: bool = False
    draw: int = 0


@dataclass(slots=True)
class Run:
    """A run.

    Parameters
    ----------
    part
        What to cut.
    sequence
        Stock of the sheets, in the order in which they are taken.
    sheets
        Their numbers.
    width
        Of the beam.
    guide
        See `Guide`.
    limit
        Only plans that waste less count. [search units squared]
    fill
        Fill the one sheet with most value.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    open_racks
        At most so many racks begun and not finished, 0: any number.
    """

    part: Ordered
    sequence: Sequence[int]
    sheets: Sheets
    width: int
    guide: Guide
    limit: int
    counter: Counter
    fill: bool = False
    frames: int = 3
    open_racks: int = 0
    over: bool = False
    _beam: Beam = field(init=False)
    _worth: Any = field(init=False)

    def __post_init__(self) -> None:
        chains = self.part.chains
        self._beam = new_beam(self.width, len(chains.racked), len(chains.vrect), self.part.panels, self.limit)
        area = chains.area.astype(np.float64)
        worth = (area / max(area.max(initial=1.0), 1.0)) ** self.guide.exponent
        if self.guide.draw:
            worth *= np.random.Generator(np.random.PCG64(self.guide.draw)).uniform(
                1 - DRAWN, 1 + DRAWN, len(area)
            )
        self._worth = worth[chains.vrect]

    def advance(self, nodes: int = SLICE, left: int | None = None) -> bool:
        """Go on for about so many nodes; False at the end. With `left` the whole run keeps to so many."""
        if self.over:
            return False
        if self.part.panels == 0 or not len(self.sequence):
            self.over = True
            return False
        ctl = self._beam.ctl
        if left is not None:
            levels = self.part.panels - int(ctl[LEVEL]) + 1
            ctl[KEPT] = min(self.width, max(LEAST_KEPT, left // levels))
        before = int(ctl[EXPANDED])
        advance_beam(
            self._beam, self.part.chains, self.sheets, self.part.own, self._worth, self.guide.lean,
            self.guide.foresee, self.part.least, self.fill, self.frames, self.open_racks, nodes,
            self.sheets.flaws,
        )  # fmt: skip
        self.counter.nodes += int(self._beam.ctl[EXPANDED]) - before
        if self._beam.ctl[CRAMPED]:
            self._beam = roomier(self._beam)
        self.over = bool(self._beam.ctl[OVER])
        return not self.over

    @property
    def end(self) -> int:
        """Area swept by the best plan, to its last level-1 cut; only if there is one."""
        return int(self._beam.ctl[BEST_END])

    @property
    def found(self) -> bool:
        """Whether there is a plan."""
        return int(self._beam.ctl[BEST]) >= 0

    @property
    def whole(self) -> bool:
        """Whether it is over and no node was dropped for want of room: a wider beam finds nothing better."""
        return self.over and int(self._beam.ctl[DROPPED]) == 0

    def patterns(self) -> list[Laid]:
        """The best plan."""
        chains = self.part.chains
        sizes = [
            (self.part.instance.sheets[k].width, self.part.instance.sheets[k].height) for k in self.sequence
        ]
        return patterns_of(
            retrace(self._beam),
            self.sequence,
            sizes,
            (chains.shape[:, :, W].tolist(), chains.shape[:, :, H].tolist(), chains.vrect.tolist()),
            [self.part.instance.sheets[k].piece.take is not None for k in self.sequence],
        )
