"""Filled sheets made smaller: panels left out, scores without a use, and the room cut down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from .geometry import split, width_of
from .shapes import Corners, Filled, Score, Slivers
from .trial import BREAK_OUT, CORNER_DEPTH, COSINE, FAR_X, FAR_Y, LONGEST, RULES, breaks

_ROOM = 24


def used_part(filled: Filled, width: float, height: float, scale: int) -> int:
    """The part of the sheet that is used, rounded up: all but the largest strip along a side. [1 / scale]"""
    return min(scale, ceil(scale * min(filled.width / width, filled.height / height) - 1e-6))


def pruned(filled: Filled, drop: Sequence[int]) -> Filled:
    """Without as many panels of each shape as `drop` says, and without the scores that only they needed.

    Parameters
    ----------
    filled
        A filled sheet; its `area` is not changed.
    drop
        Of each shape.
    """
    left = list(drop)
    kept = []
    for k in reversed(range(len(filled.placed))):
        shape = filled.placed[k].shape
        if left[shape]:
            left[shape] -= 1
        else:
            kept.append(k)
    kept.reverse()
    holds = [False] * (len(filled.scores) + 1)
    for k in kept:
        holds[filled.pieces[k]] = True
    # from the last score back: a piece holds a panel if one of the two that it becomes does
    wanted = [False] * len(filled.scores)
    for n in reversed(range(len(filled.scores))):
        score = filled.scores[n]
        wanted[n] = holds[score.piece] or holds[n + 1]
        holds[score.piece] = wanted[n]
    number = {0: 0}
    scores: list[Score] = []
    for n, score in enumerate(filled.scores):
        if wanted[n]:
            scores.append(replace(score, piece=number[score.piece]))
            number[n + 1] = len(scores)
    return replace(
        filled,
        placed=tuple(filled.placed[k] for k in kept),
        scores=tuple(scores),
        pieces=tuple(number[filled.pieces[k]] for k in kept),
    )


def replay(
    width: float, height: float, scores: Sequence[Score]
) -> tuple[list[Corners], list[Corners | None]]:
    """The pieces that the scores make of a room, and of each score the off-cut as it comes off.

    An off-cut is None, and its piece empty, where the line only runs along the piece in hand.
    """
    pieces = [np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])]
    off: list[Corners | None] = []
    left, right = np.empty((2, _ROOM)), np.empty((2, _ROOM))
    for score in scores:
        p = pieces[score.piece]
        if not len(p):
            pieces.append(p)
            off.append(None)
            continue
        x, y = np.ascontiguousarray(p[:, 0]), np.ascontiguousarray(p[:, 1])
        nl, nr = split(x, y, len(p), *score.start, *score.end, left, right)
        if nr >= 3 and width_of(right[0], right[1], nr) < 1e-6:
            nl, nr = len(p), 0
        elif nl >= 3 and nr >= 3:
            pieces[score.piece] = left[:, :nl].T.copy()
        elif nr >= 3:
            pieces[score.piece] = p[:0]
        pieces.append(right[:, :nr].T.copy() if nr >= 3 else p[:0])
        off.append(pieces[-1] if nl >= 3 and nr >= 3 else None)
    return pieces, off


def settled(filled: Filled, width: float, height: float, slivers: Slivers) -> Filled | None:
    """With the smallest room that keeps the rules, None where there is none; it is cut out of the sheet first.

    Scores that fall outside the room, or along its sides, are left out.

    Parameters
    ----------
    filled
        A fill of the sheet from its lower left corner.
    width, height
        Of the sheet. [mm]
    slivers
        Rules of what may be broken off.
    """
    if not filled.placed:
        return filled
    high = np.max([one.corners.max(axis=0) for one in filled.placed], axis=0)
    right, top = min(float(high[0]), width), min(float(high[1]), height)
    if width - right < 1e-6:
        right = width
    if height - top < 1e-6:
        top = height
    wide = _sizes(right, width, filled.width, slivers.break_out)
    tall = _sizes(top, height, filled.height, slivers.break_out)
    for w, h in sorted(((w, h) for w in wide for h in tall), key=lambda size: (size[0] * size[1], size)):
        small = _within(filled, w, h, slivers)
        if small is not None:
            return small
    return None


def _sizes(least: float, sheet: float, room: float, break_out: float) -> list[float]:
    """Sizes of a room that are tried: as small as may be, a little larger, as it was, all of the sheet."""
    if break_out <= 0:
        return [least]
    more = [least + 0.5 * break_out, least + 1.1 * break_out]
    return sorted({least, *(m for m in more if m < min(sheet, room)), room})


def _within(filled: Filled, width: float, height: float, slivers: Slivers) -> Filled | None:
    """The fill in a room of this size, without scores that cut nothing; None where a rule is broken."""
    made, off = replay(width, height, filled.scores)
    rules = np.zeros(RULES)
    rules[BREAK_OUT], rules[CORNER_DEPTH] = slivers.break_out, slivers.corner_depth
    rules[COSINE], rules[LONGEST] = np.cos(np.radians(slivers.least_angle)), slivers.longest or 0.0
    rules[FAR_X] = rules[FAR_Y] = -1.0
    number = {0: 0}
    scores: list[Score] = []
    for n, (score, part) in enumerate(zip(filled.scores, off, strict=True)):
        if part is None:
            number[n + 1] = number[score.piece]
            continue
        ex, ey = score.end[0] - score.start[0], score.end[1] - score.start[1]
        x, y = np.ascontiguousarray(part[:, 0]), np.ascontiguousarray(part[:, 1])
        if not breaks(x, y, len(part), ex, ey, rules):
            return None
        scores.append(replace(score, piece=number[score.piece]))
        number[n + 1] = len(scores)
    # waste from which other pieces came off: where a panel was left out
    cut_from = {score.piece for score, part in zip(filled.scores, off, strict=True) if part is not None}
    for k in sorted(cut_from - set(filled.pieces)):
        p = np.ascontiguousarray(made[k].T)
        if len(made[k]) and width_of(p[0], p[1], len(made[k])) < slivers.break_out - 1e-6:
            return None
    return replace(
        filled,
        width=width,
        height=height,
        scores=tuple(scores),
        pieces=tuple(number[p] for p in filled.pieces),
    )
