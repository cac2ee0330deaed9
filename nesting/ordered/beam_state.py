"""What a run of the ordered beam keeps between its slices, and its small compiled parts."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from ..optimizer.moves import inlined, jit
from .front import PLATE, STATE

BUFFER: Final = 2.5
"""Candidates held for each node of the beam before the worse half is dropped."""
RING: Final = 3
"""Levels in hand: a pair reaches the one after the next."""
AHEAD: Final = 2
"""Levels for which there are candidates."""
SEED: Final = 5
"""Of a candidate beside its front: parent, variant, variant upon it or -1, kind, y."""
MOVE: Final = 11
"""Of a move: parent, variant, variant upon it or -1, kind, left of the strip, bottom of the row, x, y, sheet and frame,
end of the strip, top of the row."""


I64: Any = np.int64

# what a run counts, in `Beam.ctl`
LEVEL: Final = 0
NODES: Final = 1
USED: Final = 2
EXPANDED: Final = 3
BEST: Final = 4
BEST_END: Final = 5
LIMIT: Final = 6
OVER: Final = 7
BEFORE: Final = 8
"""Nodes of the level before."""
CRAMPED: Final = 9
"""There is no more room for moves."""
DROPPED: Final = 10
"""Whether nodes were dropped because the beam was full."""
KEPT: Final = 11
"""Nodes kept of a level, at most the beam's width."""
CTL: Final = 12


class Beam(NamedTuple):
    """All that a run keeps between its slices."""

    ctl: Any  # (CTL,)
    best: Any  # (1,) float64: value of the best, when a sheet is filled
    state: Any  # (width, STATE)
    code: Any  # (width,)
    area: Any
    value: Any
    ptr: Any  # (RING, width, chains)
    left: Any  # (RING, width)
    node: Any  # (RING, width): place among the moves
    moves: Any  # (room, MOVE) int32: the largest array; lengths in search units fit
    keys: Any  # (AHEAD, cap)
    rows: Any  # (AHEAD, cap, STATE)
    meta: Any  # (AHEAD, cap, SEED)
    codes: Any
    areas: Any
    values: Any
    count: Any  # (AHEAD,)
    bar: Any  # (AHEAD,)
    seen: Any
    table: Any
    chain: Any  # (width,): the one before that holds the same panels, -1: none
    ahead: Any  # (width,): the one after
    turn: Any  # (width,): nodes in the order in which they are expanded, those of the same panels together
    offers: Any  # (offers, 5): see `offers`
    bucket: Any  # (variants + 1,)
    follow: Any
    front: Any  # (STATE,): of the child in hand
    about: Any  # (SEED,)


@inlined
def candidates(width: int) -> int:
    """Candidates held for so many nodes kept."""
    return int(BUFFER * width) + 8


def new_beam(width: int, chains: int, variants: int, panels: int, limit: int) -> Beam:
    """An empty sheet, nothing placed.

    Parameters
    ----------
    width
        Nodes kept of a level.
    chains, variants, panels
        Of the part.
    limit
        A node that wastes this much or more is dropped.
    """
    cap = int(candidates(width))
    size = 1
    while size < 4 * cap:
        size *= 2
    room = 12 * width + panels + 64
    ctl = np.zeros(CTL, np.int64)
    ctl[NODES], ctl[USED], ctl[BEST], ctl[BEST_END], ctl[LIMIT] = 1, 1, -1, 2**62, limit
    ctl[KEPT] = width
    made = Beam(
        ctl=ctl,
        best=np.full(1, -1.0),
        state=np.zeros((width, STATE), np.int32),
        code=np.zeros(width, np.int64),
        area=np.zeros(width, np.int64),
        value=np.zeros(width, np.float64),
        ptr=np.zeros((RING, width, max(chains, 1)), np.int32),
        left=np.zeros((RING, width), np.int64),
        node=np.zeros((RING, width), np.int64),
        moves=np.zeros((room, MOVE), np.int32),
        keys=np.empty((AHEAD, cap), np.float64),
        rows=np.empty((AHEAD, cap, STATE), np.int32),
        meta=np.empty((AHEAD, cap, SEED), np.int32),
        codes=np.empty((AHEAD, cap), np.int64),
        areas=np.empty((AHEAD, cap), np.int64),
        values=np.empty((AHEAD, cap), np.float64),
        count=np.zeros(AHEAD, np.int64),
        bar=np.full(AHEAD, np.inf),
        seen=np.zeros(size, np.int64),
        table=np.empty(size, np.int32),
        chain=np.full(width, -1, np.int32),
        ahead=np.full(width, -1, np.int32),
        turn=np.zeros(width, np.int32),
        offers=np.empty((33 * variants + 64, 5), np.int64),
        bucket=np.full(variants + 1, -1, np.int64),
        follow=np.empty(33 * variants + 64, np.int64),
        front=np.empty(STATE, np.int64),
        about=np.empty(SEED, np.int64),
    )
    made.state[0, PLATE] = -1
    made.left[0, 0] = panels
    made.moves[0] = -1
    return made


@jit
def halve(
    keys: Any, count: int, keep: int, rows: Any, meta: Any, codes: Any, areas: Any, values: Any
) -> float:
    """Move the `keep` best candidates to the front; the key of the worst kept is returned."""
    bar = np.partition(keys[:count], keep - 1)[keep - 1]
    equal = keep
    for i in range(count):
        if keys[i] < bar:
            equal -= 1
    n = 0
    for i in range(count):
        if keys[i] > bar:
            continue
        if keys[i] == bar:
            if equal == 0:
                continue
            equal -= 1
        if n != i:
            keys[n] = keys[i]
            codes[n] = codes[i]
            areas[n] = areas[i]
            values[n] = values[i]
            for k in range(rows.shape[1]):
                rows[n, k] = rows[i, k]
            for k in range(meta.shape[1]):
                meta[n, k] = meta[i, k]
        n += 1
    return float(bar)


@jit
def tidy(moves: Any, used: int, node: Any, counts: Any, best: int) -> tuple[int, int]:
    """Drop the moves that lead to no node in hand: moves left, place of the best."""
    at = np.zeros(used, np.int64)
    at[0] = 1
    for r in range(node.shape[0]):
        for p in range(counts[r]):
            at[node[r, p]] = 1
    if best >= 0:
        at[best] = 1
    for k in range(used - 1, 0, -1):
        if at[k] != 0:
            at[moves[k, 0]] = 1
    kept = 0
    for k in range(used):
        if at[k] != 0:
            at[k] = kept
            if k != kept:
                moves[kept] = moves[k]
            if k > 0:
                moves[kept, 0] = at[moves[kept, 0]]
            kept += 1
    for r in range(node.shape[0]):
        for p in range(counts[r]):
            node[r, p] = at[node[r, p]]
    return kept, (at[best] if best >= 0 else best)


def roomier(beam: Beam) -> Beam:
    """The same with room for half as many moves more."""
    beam.ctl[CRAMPED] = 0
    more = np.zeros((len(beam.moves) // 2, MOVE), beam.moves.dtype)
    return beam._replace(moves=np.concatenate([beam.moves, more]))


def retrace(beam: Beam) -> list[list[int]]:
    """The moves that lead to the best plan, first to last."""
    out = []
    k = int(beam.ctl[BEST])
    while k > 0:
        out.append(beam.moves[k].tolist())
        k = out[-1][0]
    return out[::-1]
