"""The path of a scoring head over a sheet: all scores with little empty travel, before anything is broken.

Scores that continue one another are drawn in one. The path begins at the nearest end, goes on to the
nearest end each time, in either direction, and is then mended by turning stretches of it round (2-opt;
Croes 1958) as long as that shortens it. Lengths are whole nanometres, ties end in the order of the cuts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isqrt

from ..outlines import Point
from ..plan import Cut, Layout

PASSES = 12
"""Rounds of mending at most; most sheets need three or four."""


@dataclass(frozen=True, slots=True)
class Score:
    """One stroke of the head, and the steps whose cuts it makes.

    `start` is where the head comes down. [nm]
    """

    start: Point
    end: Point
    steps: tuple[int, ...]

    def turned(self) -> Score:
        """The same stroke the other way."""
        return Score(self.end, self.start, self.steps)


def distance(a: Point, b: Point) -> int:
    """From point to point, rounded down. [nm]"""
    return isqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)


def strokes(layout: Layout) -> list[Score]:
    """The scores of a sheet in the order of its cuts; those that touch end to end on one line as one."""
    found: list[Score] = []
    for cut in layout.cuts:
        score = Score(*_forward(cut), (cut.step,))
        for i, other in enumerate(found):
            joined = _joined(other, score)
            if joined is not None:
                found[i] = joined
                break
        else:
            found.append(score)
    # a stroke that grew may now touch another one
    changed = True
    while changed:
        changed = False
        for i, one in enumerate(found):
            for k in range(i + 1, len(found)):
                joined = _joined(one, found[k])
                if joined is not None:
                    found[i] = joined
                    del found[k]
                    changed = True
                    break
            if changed:
                break
    return found


def _forward(cut: Cut) -> tuple[Point, Point]:
    """Ends in rising order of x, then y."""
    return (cut.start, cut.end) if cut.start <= cut.end else (cut.end, cut.start)


def _joined(a: Score, b: Score) -> Score | None:
    """Both as one stroke, where they continue each other along a side of the sheet."""
    for axis in (0, 1):
        along = 1 - axis
        if a.start[axis] == a.end[axis] == b.start[axis] == b.end[axis]:
            first, second = (a, b) if a.start[along] <= b.start[along] else (b, a)
            if first.end[along] == second.start[along]:
                return Score(first.start, second.end, a.steps + b.steps)
    return None


def travel(path: Sequence[Score], home: Point = (0, 0)) -> int:
    """Empty travel of the head from its home along a path; the way back is not counted. [nm]"""
    total, at = 0, home
    for score in path:
        total += distance(at, score.start)
        at = score.end
    return total


def score_path(layout: Layout, home: Point = (0, 0)) -> list[Score]:
    """The strokes of a sheet in the order and direction in which the head makes them."""
    left, at = strokes(layout), home
    path: list[Score] = []
    while left:
        i, score = min(
            ((i, way) for i, one in enumerate(left) for way in (one, one.turned())),
            key=lambda found: (distance(at, found[1].start), found[0]),
        )
        del left[i]
        path.append(score)
        at = score.end
    for _ in range(PASSES):
        if not _mended(path, home):
            break
    return path


def _mended(path: list[Score], home: Point) -> bool:
    """Turn stretches of the path round where that shortens it; whether any was."""
    better = False
    for i in range(len(path)):
        before = path[i - 1].end if i else home
        for k in range(i, len(path)):
            after = path[k + 1].start if k + 1 < len(path) else None
            old = distance(before, path[i].start) + (distance(path[k].end, after) if after else 0)
            new = distance(before, path[k].end) + (distance(path[i].start, after) if after else 0)
            if new < old:
                path[i : k + 1] = [s.turned() for s in reversed(path[i : k + 1])]
                better = True
    return better
