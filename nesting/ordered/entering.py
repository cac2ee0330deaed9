"""A candidate of the ordered beam: the mark of its set, and its place among those of its level."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.moves import inlined
from .beam_state import SEED, halve
from .front import GEOMETRY, STATE

I64: Any = np.int64


@inlined
def set_with(
    code: int, chosen: Any, ptr: Any, first: Any, codes: Any, rect: int, tchain: Any, uptr: Any, utype: Any,
    ucount: Any,
) -> int:  # fmt: skip
    """The mark of the set placed, with what is chosen too (see `offers`)."""
    c, d = chosen[2], chosen[3]
    if c >= 0:
        code += codes[first[c] + ptr[c]]
        if d == c:
            code += codes[first[c] + ptr[c] + 1]
        elif d >= 0:
            code += codes[first[d] + ptr[d]]
        return code
    for k in range(uptr[rect], uptr[rect + 1]):
        c = tchain[utype[k]]
        for j in range(ucount[k]):
            code += codes[first[c] + ptr[c] + j]
    return code


@inlined
def mix(h: int, s: Any) -> int:
    """A mark of the set placed and the front, to drop equal candidates: two chains of products at a time."""
    other = I64(0x2545F4914F6CDD1D)
    for k in range(0, GEOMETRY, 2):
        h = (h ^ s[k]) * I64(-7046029254386353131)
        h ^= h >> 29
        other = (other ^ s[k + 1]) * I64(-4417276706812531889)
        other ^= other >> 31
    return int((h ^ other * I64(-7046029254386353131)) | 1)


@inlined
def enter(
    key: float, code: int, area: int, value: float, out: Any, about: Any, n: int, most: int, bar: float, keys: Any,
    rows: Any, meta: Any, codes: Any, areas: Any, values: Any,
) -> tuple[int, float, bool]:  # fmt: skip
    """Keep one more candidate: how many there are, the key that is too bad now, whether any was dropped.

    There are at most `most`: then the worse half goes.
    """
    dropped = False
    if n >= most:
        dropped = True
        bar = halve(keys, n, most // 2, rows, meta, codes, areas, values)
        n = most // 2
        if key >= bar:
            return n, bar, dropped
    keys[n] = key
    for k in range(STATE):
        rows[n, k] = out[k]
    for k in range(SEED):
        meta[n, k] = about[k]
    codes[n] = code
    areas[n] = area
    values[n] = value
    return n + 1, bar, dropped
