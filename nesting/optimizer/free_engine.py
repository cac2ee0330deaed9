"""The engine without level limit for one sheet: the most value from limited copies, by merging blocks.

Passes of rising width; each begins with new prices where a better pattern has been found. A pass that had
to drop nothing proves its best pattern. All effort is counted, nothing is drawn at random.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from . import free_kernel as fk
from .free_pattern import Free, Reader
from .free_prices import Guide, Ways, everything_in, make_guide
from .instance import Instance

PASSES = ((60, 0.5), (60, 0.0), (250, 0.5), (250, 0.0), (1000, 0.5), (1000, 0.0), (4000, 0.5), (16_000, 0.5))
"""Passes with tables: blocks kept of each number of seeds, weight of the loss inside against the bound."""
PASSES_BY_AREA = ((60, 0.01), (250, 0.01), (1000, 0.02), (1000, 0.005), (4000, 0.01), (16_000, 0.01))
"""Passes without: the second number is the constant in (constant + share lost) / worth, least first."""
ROOM = 1_000_000
"""Blocks of a pass times types, at most."""
PAIRS_A_NODE = 200
"""Pairs of blocks examined in the time of one node of the beam."""
WORK_A_NODE = 4_000
"""Elementary steps of the tables in the time of one node of the beam."""
NODES_A_PASS = 30
"""What a pass takes beside its pairs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What the engine found for one sheet.

    Parameters
    ----------
    value
        Of the best pattern, the start included.
    pattern
        None where nothing beats the start.
    bound
        No pattern is worth more.
    nodes
        Effort spent.
    """

    value: int
    pattern: Free | None
    bound: int
    nodes: int

    @property
    def proven(self) -> bool:
        """Whether no pattern is better."""
        return self.value >= self.bound


def ways_to_lay(instance: Instance, demand: Sequence[int], sheet: int, value: Sequence[int]) -> Ways:
    """The ways to lay each rectangle on a sheet; the uses are those of the types in demand.

    Rectangles narrower than the break-out distance are left out: waste beside them would be so too.
    """
    present = [t for t, count in enumerate(demand) if count]
    column = {t: k for k, t in enumerate(present)}
    here = instance.sheets[sheet]
    rows = []
    for index, r in enumerate(instance.rects):
        if any(demand[t] < count for t, count in r.uses) or min(r.width, r.height) < instance.break_out:
            continue
        for w, h in sorted({(r.width, r.height), (r.height, r.width)} if r.turns else {(r.width, r.height)}):
            if w <= here.width and h <= here.height and value[index] > 0:
                uses = [0] * len(present)
                for t, count in r.uses:
                    uses[column[t]] = count
                rows.append((index, w, h, value[index], uses))
    table = np.array([row[:4] for row in rows], dtype=np.int64).reshape(-1, 4)
    return Ways(
        rect=table[:, 0].copy(),
        width=table[:, 1].copy(),
        height=table[:, 2].copy(),
        value=table[:, 3].copy(),
        uses=np.array([row[4] for row in rows], dtype=np.int64).reshape(len(rows), len(present)),
    )


def fill_free(
    instance: Instance,
    demand: Sequence[int],
    sheet: int,
    value: Sequence[int],
    *,
    start: int = 0,
    effort: int,
    tables: bool = True,
) -> Filled:
    """Most value from one sheet, any number of levels.

    Parameters
    ----------
    instance
        Rectangles and sheets; its rules give the break-out distance.
    demand
        Most copies of each type.
    sheet
        Index of the stock size.
    value
        Of each rectangle, whole numbers.
    start
        A value that is known to be reached.
    effort
        Nodes to spend, about.
    tables
        Whether the bounds may use tables over the points of the sheet.

    Notes
    -----
    Rectangles narrower than the break-out distance are not laid; the bound allows for them.
    """
    ways = ways_to_lay(instance, demand, sheet, value)
    narrow = sum(
        value[k] * min(demand[t] for t, _ in r.uses)
        for k, r in enumerate(instance.rects)
        if min(r.width, r.height) < instance.break_out
    )
    if not len(ways.value):
        return Filled(value=start, pattern=None, bound=start + narrow, nodes=0)
    here = instance.sheets[sheet]
    left = np.array([count for count in demand if count], dtype=np.int64)
    left = np.minimum(left, here.area)
    frame = np.array(
        [here.width, here.height, here.raw_right, here.raw_top, instance.break_out], dtype=np.int64
    )
    codes = instance.arrays.codes[[t for t, count in enumerate(demand) if count]]
    hashes = (ways.uses * codes).sum(axis=1)
    least = int(min(ways.width.min(), ways.height.min()))
    uses = ways.uses.astype(np.int16)
    best, pattern = start, None
    bound = everything_in(ways, left)
    guide: Guide | None = None
    target = -1
    nodes = 0
    turn = 0
    while True:
        work = min(effort // 3, (effort - nodes) // 2) * WORK_A_NODE if tables else 0
        if guide is None or (guide.dense == 0 and best > target and guide.again <= work):
            prices = None if guide is None else guide.prices
            # prices are looked for from a fair value: without one the first pass makes it
            fair = best > 0
            guide = make_guide(here.width, here.height, ways, left, best, work, prices, search=fair)
            bound = min(bound, guide.bound)
            target = best if fair else -1
            nodes += guide.work // WORK_A_NODE
        passes = PASSES if guide.dense == 0 else PASSES_BY_AREA
        if nodes >= effort or best >= bound or turn == len(passes):
            break
        width, lean = passes[turn]
        turn += 1
        if width * len(left) > ROOM:
            break
        blocks, winner, whole, pairs = fk.merge(
            frame, _seeds(ways, guide, hashes), uses, np.minimum(left, 2**15 - 1).astype(np.int16),
            guide.fx, guide.fy, guide.inside, guide.beside, guide.rx, guide.ry, least, guide.dense,
            guide.floor, guide.scale, best, width, lean, (effort - nodes) * PAIRS_A_NODE,
        )  # fmt: skip
        nodes += int(pairs) // PAIRS_A_NODE + NODES_A_PASS
        if winner >= 0:
            best = int(blocks[winner, fk.VALUE])
            reader = Reader(blocks, ways, instance.break_out)
            far = (here.raw_right, here.raw_top)
            pattern = Free(sheet, 0, reader.tree(int(winner), here.width, here.height, far))
        if whole:
            bound = best
            break
    return Filled(value=best, pattern=pattern, bound=max(best, bound) + narrow, nodes=nodes)


def _seeds(ways: Ways, guide: Guide, hashes: Any) -> Any:
    """The blocks of one rectangle each."""
    n = len(ways.value)
    seeds = np.zeros((n, fk.FIELDS), dtype=np.int64)
    seeds[:, fk.W] = seeds[:, fk.WT] = ways.width
    seeds[:, fk.H] = seeds[:, fk.HT] = ways.height
    seeds[:, fk.A] = np.arange(n)
    seeds[:, fk.AXIS] = -1
    seeds[:, fk.VALUE] = ways.value
    seeds[:, fk.WORTH] = guide.scale * ways.value - ways.uses @ guide.prices
    seeds[:, fk.HASH] = hashes
    return seeds
