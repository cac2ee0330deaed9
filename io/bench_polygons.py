"""Convex polygons on equal sheets for the benchmark: two published sets, runs, and a check of their own.

`convex-optimum`: Terashima-Marin, Ross, Farias-Zarate, Lopez-Camacho, Valenzuela-Rendon 2010 (Annals of
Operations Research 179:369-392), convex instances; for most a layout without waste was published, so that
the fewest sheets are known. `angled-glass`: convex polygons of the glass industry (instances J and H, named
in Han, Bennell, Zhao, Song 2013, EJOR 230:495-504); their sheet is not in print, so ours is used.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from panewright.io.bench_data import strictly, text_of, whole
from panewright.io.bench_log import Clock, Log
from panewright.io.bench_run import Limits, Result
from panewright.nesting.errors import PlanFault
from panewright.nesting.free_regions import Filled, Nest, Shape, SheetSize
from panewright.nesting.free_regions.separable import TOLERANCE, faults
from panewright.nesting.text import tr

GLASS_SHEET: Final = (3210, 2250)
"""Sheet of `angled-glass`. [mm]"""
GLASS_NAMES: Final = ("J40", "J50", "J60", "J70", "H80", "H100", "H120", "H150")
OPTIMUM_SOURCE: Final = "Terashima-Marin et al. 2010, layouts without waste"
MOST: Final = 10**6

Point = tuple[int, int]
Corners = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygons:
    """Convex polygons to be cut from the fewest equal sheets, at any angle, none turned over.

    Parameters
    ----------
    name, group
        As published; the group is the class of the set.
    width, height
        Of every sheet. [mm]
    items
        Corners, counter-clockwise, strictly convex. [mm]
    optimum
        Fewest sheets, where known.
    """

    name: str
    group: str
    width: int
    height: int
    items: tuple[tuple[Point, ...], ...]
    optimum: int | None = None

    @property
    def area(self) -> Fraction:
        """Of all polygons. [mm2]"""
        return sum((Fraction(_twice(item), 2) for item in self.items), Fraction(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Nested:
    """What came out for one problem.

    Parameters
    ----------
    problem, result
        Polygons, and sheets, bound, steps, seconds.
    used
        Sheets taken, of the last one the part without its largest strip along a side.
    """

    problem: Polygons
    result: Result
    used: Fraction

    @property
    def utilisation(self) -> Fraction:
        """Area of the polygons over that of the sheets used."""
        return self.problem.area / (self.used * self.problem.width * self.problem.height)


def convex_optimum(folder: Path) -> list[Polygons]:
    """The instances with a known optimum and those of their 18th class without one."""
    path = folder / "convex_known_optimum" / "instances.json"
    with strictly(path):
        rows: list[dict[str, Any]] = json.loads(text_of(path))["instances"]
        if not rows or not isinstance(rows, list):
            raise ValueError(tr("no problems"))
        out = []
        for row in rows:
            group = re.match(r"[A-Z]+", str(row["name"]))
            width, height = row["bin"]
            known = row["optimal_bins"]
            out.append(
                Polygons(
                    name=str(row["name"])[:40],
                    group=group[0] if group else "",
                    width=_size(width),
                    height=_size(height),
                    items=tuple(_polygon(item) for item in row["pieces"]),
                    optimum=None if known is None else whole(known),
                )
            )
        return out


def angled_glass(folder: Path) -> list[Polygons]:
    """The eight instances of the glass industry, on sheets of `GLASS_SHEET`."""
    out = []
    for name in GLASS_NAMES:
        path = folder / "irregular_guillotine" / f"{name}.json"
        with strictly(path):
            rows = json.loads(text_of(path))["pieces"]
            if not rows:
                raise ValueError(tr("no problems"))
            items = tuple(_polygon(row["points"]) for row in rows)
            out.append(
                Polygons(name=name, group=name[0], width=GLASS_SHEET[0], height=GLASS_SHEET[1], items=items)
            )
    return out


def _size(value: object) -> int:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return whole(value)


def _polygon(points: object) -> tuple[Point, ...]:
    """Corners in whole mm, counter-clockwise, without those on a straight edge; raises ValueError."""
    if not isinstance(points, list) or not 3 <= len(points) <= 100:
        raise ValueError(repr(points)[:40])
    found: list[Point] = []
    for x, y in points:
        if not all(isinstance(v, int | float) and abs(v) < MOST and float(v).is_integer() for v in (x, y)):
            raise ValueError(repr((x, y))[:40])
        found.append((int(x), int(y)))
    if _twice(found) < 0:
        found.reverse()
    n = len(found)
    kept = [p for k, p in enumerate(found) if _bend(found[k - 1], p, found[(k + 1) % n]) != 0]
    if len(kept) < 3 or any(
        _bend(kept[k - 1], p, kept[(k + 1) % len(kept)]) <= 0 for k, p in enumerate(kept)
    ):
        raise ValueError(tr("not convex"))
    return tuple(kept)


def _bend(a: Point, b: Point, c: Point) -> int:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _twice(p: Sequence[Point]) -> int:
    return sum(p[k - 1][0] * q[1] - p[k - 1][1] * q[0] for k, q in enumerate(p))


def nested(problem: Polygons, limits: Limits, *, clock: Clock, seed: int = 0, to_bound: bool) -> Nested:
    """The fewest sheets found for one problem; raises PlanFault.

    Parameters
    ----------
    problem
        The polygons.
    limits
        When to stop.
    clock
        Seconds, for the limit and the report.
    seed
        Of the search.
    to_bound
        End when the number of sheets meets the bound; else go on for the largest rest.
    """
    log = Log(clock)
    stop = limits.stop(clock)
    distinct = Counter(problem.items)
    shapes = [Shape(np.array(item, np.float64)) for item in distinct]
    sheet = SheetSize(float(problem.width), float(problem.height))
    nest = Nest(shapes, list(distinct.values()), [sheet], seed=seed)
    nest.start()
    going = True
    while going:
        if not nest.unplaced.any():
            log.see(cost=nest.cost, sheets=nest.cost, bound=nest.bound, steps=nest.steps)
        going = not (to_bound and nest.proven) and not stop(nest.steps) and nest.advance()
    seconds = log.seconds()
    best = nest.best
    wrong = wrong_with(best, shapes, [*distinct.values()], sheet)
    if wrong:
        raise PlanFault(tuple(f"{problem.name}: {w}" for w in wrong))
    result = Result(
        name=problem.name,
        group=0,
        panels=len(problem.items),
        sheets=len(best),
        bound=nest.bound,
        cost=len(best),
        cost_bound=nest.bound,
        steps=nest.steps,
        seconds=seconds,
        log=log.entries,
    )
    return Nested(problem=problem, result=result, used=_used(best, sheet))


def prepare() -> None:
    """Compile the kernels, so that no measured run pays for it."""
    square = ((0, 0), (7, 0), (7, 7), (0, 7))
    few = Polygons(name="prepare", group="", width=10, height=10, items=(square, ((0, 0), (9, 0), (0, 8))))
    nested(few, Limits(effort=1), clock=float, to_bound=True)


def _used(sheets: Sequence[Filled], size: SheetSize) -> Fraction:
    """Sheets used, the one with the largest strip along a side only in part, from the corners in place."""
    parts = []
    for one in sheets:
        high = np.max([p.corners.max(axis=0) for p in one.placed], axis=0)
        parts.append(min(Fraction(high[0]) / Fraction(size.width), Fraction(high[1]) / Fraction(size.height)))
    return len(sheets) - 1 + min(parts)


def wrong_with(
    sheets: Sequence[Filled], shapes: Sequence[Shape], demand: Sequence[int], size: SheetSize
) -> list[str]:
    """What is wrong with filled sheets; shares nothing with the search.

    Parameters
    ----------
    sheets
        As the search gave them.
    shapes, demand, size
        What was asked for.
    """
    found = []
    counts = [0] * len(shapes)
    for k, one in enumerate(sheets, 1):
        found += [f"sheet {k}: {w}" for w in faults([p.corners for p in one.placed], size.width, size.height)]
        for p in one.placed:
            counts[p.shape] += 1
            asked = shapes[p.shape].corners
            if not _congruent(p.corners, (asked * (-1.0, 1.0))[::-1] if p.mirrored else asked):
                found.append(f"sheet {k}: not the outline of polygon {p.shape}")
            if p.mirrored and not shapes[p.shape].mirror:
                found.append(f"sheet {k}: polygon {p.shape} turned over")
    found += [
        f"polygon {s}: {n} of {d}" for s, (n, d) in enumerate(zip(counts, demand, strict=True)) if n != d
    ]
    return found


def _congruent(p: Corners, q: Corners) -> bool:
    """Whether two outlines, corner by corner, are the same but for a turn and a shift."""
    if p.shape != q.shape:
        return False
    apart = [np.hypot(*(c[:, None, :] - c[None, :, :]).transpose(2, 0, 1)) for c in (p, q)]
    return bool(np.abs(apart[0] - apart[1]).max() <= TOLERANCE) and _sign(p) == _sign(q)


def _sign(p: Corners) -> bool:
    x, y = p[:, 0], p[:, 1]
    return bool(x @ np.roll(y, -1) > y @ np.roll(x, -1))
