"""What rounded marks do to the panels: a sheet cut up as the table cuts it, each panel held against its cut outline.

The replay carries two pieces side by side: the exact one, on which the marks are worked out, and the
real one, scored where the tape shows it: at a rounded distance from a real edge, or from one rounded mark
to the other. What nobody measures takes the errors of all measures before it. Edges of both belong
together by the step that made them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isqrt

from .cuttings import cuttings_of
from .handling import Cutting
from .marks import Placed
from .once import once_a_sheet
from .outlines import Point
from .panels import Panel
from .pieces import Corner, Piece, whole_sheet
from .placing import placed
from .plan import Cut, CutKind, Layout, Leaf, Plan
from .steps import Eaten, SizeError
from .units import mm

_FINE = 10**6
"""Lengths that no whole number holds are computed in parts of a nanometre. [1/nm]"""
_BASE = mm(20)
"""Nobody lays a panel on a shorter edge to see how true it is. [nm]"""
_UNSEEN = 10
"""Points are rounded to the nanometre a few times: less than this is no error. [nm]"""
_NOTHING = 1000
"""A panel may lie this far off its place (rule 3 of the plan file): no allowance is as small. [nm]"""


@dataclass(frozen=True, slots=True)
class _Real:
    """A piece as it really is: whole nanometres, and the step that made each edge."""

    points: tuple[Point, ...]
    made_by: tuple[int, ...]

    def edge(self, step: int) -> tuple[Point, Point] | None:
        """Both ends of the edge that a step made."""
        if step not in self.made_by:
            return None
        i = self.made_by.index(step)
        return self.points[i], self.points[(i + 1) % len(self.points)]

    def beside(self, exact: Piece) -> _Real:
        """The same, put down where the exact piece lies."""
        there = [_whole(p) for p in exact.corners]
        dx, dy = (min(p[k] for p in there) - min(p[k] for p in self.points) for k in (0, 1))
        return _Real(tuple((x + dx, y + dy) for x, y in self.points), self.made_by) if dx or dy else self


@once_a_sheet
def size_errors(plan: Plan, layout: Layout) -> Mapping[str, SizeError]:
    """How far each panel of a sheet comes off its cut outline, by its id.

    Parameters
    ----------
    plan
        The plan that holds the sheet; its rules say to what marks are rounded.
    layout
        The sheet.

    Returns
    -------
    dict
        Only panels that rounded marks change, in the order of the leaves; empty where marks are exact.

    Raises
    ------
    CutFault
        When the cuts of the plan cannot be made as written.

    Notes
    -----
    An edge is off by the distance of its ends from the line on which it should lie, once the panel is
    laid down by one edge and one corner of it: by a corner that no rounding moved if it has one, else
    by such an edge, and among these by what leaves the least. What the piece around it lost or won
    does not count: only the panel is measured. Where main cuts alone leave it, it is too wide or too
    narrow, and the edge with the larger allowance takes that.
    """
    cuttings = cuttings_of(plan, layout)
    if not any(one.is_rounded for one in cuttings):
        return {}
    leaves = {leaf.piece: leaf for leaf in layout.leaves}
    panels = {panel.id: panel for panel in plan.panels}
    main = {one.cut.step for one in cuttings if one.cut.kind is not CutKind.SHAPE}
    found: dict[str, SizeError] = {}
    for exact, real in _replayed(layout, cuttings):
        leaf = leaves.get(exact.name)
        panel = panels.get((leaf.panel if leaf else None) or "")
        if leaf is None or panel is None:
            continue
        measure = _error_of_rectangle if max(exact.made_by) in main else _error
        error = measure(exact, real, panel, leaf)
        if error is not None:
            found[panel.id] = error
    return {leaf.panel: found[leaf.panel] for leaf in layout.leaves if leaf.panel in found}


def _replayed(layout: Layout, cuttings: Sequence[Cutting]) -> Iterator[tuple[Piece, _Real]]:
    """The pieces that are left in the end, as they should be and as they are."""
    sheet = whole_sheet(layout)
    pieces: dict[str, Piece] = {"s": sheet}
    reals: dict[str, _Real] = {"s": _as_it_should_be(sheet)}
    laid: dict[int, tuple[Point, Point]] = {}
    shaped: set[str] = set()
    for one in cuttings:
        cut, piece, parts = one.cut, one.piece, one.parts
        del pieces[cut.piece]
        pieces |= {part.name: part for part in (parts.left, parts.right)}
        real = reals.pop(cut.piece)
        if cut.kind is CutKind.SHAPE:
            # where its blank came to lie is nothing to a panel
            real = real if cut.piece in shaped else real.beside(piece)
            shaped.update(cut.makes)
        if one.base is not None and one.base.number not in laid:
            edge = real.edge(one.base.piece.made_by[one.base.index])
            if edge is not None:
                laid[one.base.number] = edge
        halves = _scored(real, one, laid)
        for part, half in zip((parts.left, parts.right), halves or (None, None), strict=True):
            reals[part.name] = half or _as_it_should_be(part)
    for name, real in reals.items():
        yield pieces[name], real


def _as_it_should_be(piece: Piece) -> _Real:
    return _Real(tuple(_whole(p) for p in piece.corners), piece.made_by)


def _whole(p: Corner) -> Point:
    return round(p[0]), round(p[1])


# ---------------------------------------------------------------- cutting the real piece


def _scored(real: _Real, one: Cutting, laid: Mapping[int, tuple[Point, Point]]) -> tuple[_Real, _Real] | None:
    """The real left and right part; None where no mark can be found, which whole pieces never show."""
    how, piece = one.how, one.piece
    if one.base is not None:
        ends = _along(real, laid.get(one.base.number), one.base.marks[one.mark], one.cut)
    elif how.hook is not None:
        ends = _along(real, real.edge(piece.made_by[how.hook.index]), how.hook.table, one.cut)
    else:
        ends = [_marked(real, piece, mark) for mark in how.marks]
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        return None
    return _chord(real, ends[0], ends[1], one.cut.step)


def _marked(real: _Real, piece: Piece, placed: Placed) -> tuple[int, Point] | None:
    """A mark on the real piece: the index of its edge, and the point."""
    edge = real.edge(piece.made_by[placed.side])
    if edge is None:
        return None
    (x, y), (ex, ey) = edge if placed.from_start else edge[::-1]
    long = _norm(ex - x, ey - y)
    if not long:
        return None
    far = min(placed.mark.table * _FINE, long)
    point = (x + _ratio((ex - x) * far, long), y + _ratio((ey - y) * far, long))
    return real.made_by.index(piece.made_by[placed.side]), point


def _norm(dx: int, dy: int) -> int:
    """Length of a vector. [1e-6 nm]"""
    return isqrt((dx * dx + dy * dy) * _FINE * _FINE)


def _ratio(top: int, bottom: int) -> int:
    """The quotient rounded to the nearest whole number; `bottom` is positive."""
    return (2 * top + bottom) // (2 * bottom)


def _along(
    real: _Real, edge: tuple[Point, Point] | None, distance: int, cut: Cut
) -> list[tuple[int, Point] | None]:
    """Where a score at a distance [nm] from a real edge crosses the border, in the direction of the cut."""
    if edge is None:
        return []
    (x, y), (ex, ey) = edge
    dx, dy = ex - x, ey - y
    off = distance * _norm(dx, dy)
    beyond = [((p[1] - y) * dx - (p[0] - x) * dy) * _FINE - off for p in real.points]
    ends: list[tuple[int, Point] | None] = []
    for i, (p, here) in enumerate(zip(real.points, beyond, strict=True)):
        q, there = real.points[(i + 1) % len(beyond)], beyond[(i + 1) % len(beyond)]
        if here == 0:
            ends.append((i, p))
        elif (here > 0) != (there > 0) and there != 0:
            size, sign = abs(here - there), 1 if here > there else -1
            point = (
                p[0] + _ratio((q[0] - p[0]) * here * sign, size),
                p[1] + _ratio((q[1] - p[1]) * here * sign, size),
            )
            ends.append((i, point))
    way = (cut.end[0] - cut.start[0], cut.end[1] - cut.start[1])
    return sorted(ends, key=lambda e: e[1][0] * way[0] + e[1][1] * way[1] if e else 0)


def _chord(real: _Real, start: tuple[int, Point], end: tuple[int, Point], step: int) -> tuple[_Real, _Real]:
    """Both parts of a convex piece along a line from border to border; the left one first."""

    def half(a: tuple[int, Point], b: tuple[int, Point]) -> _Real:
        # the score from a to b, then round the border from b back to a
        points, made_by = [a[1], b[1]], [step, real.made_by[b[0]]]
        n, i = len(real.points), b[0]
        while i != a[0]:
            i = (i + 1) % n
            points.append(real.points[i])
            made_by.append(real.made_by[i])
        kept = [k for k in range(len(points)) if points[k] != points[(k + 1) % len(points)]]
        return _Real(tuple(points[k] for k in kept), tuple(made_by[k] for k in kept))

    return half(start, end), half(end, start)


# ---------------------------------------------------------------- measuring a panel

_Line = tuple[tuple[Point, Point], tuple[Point, Point], int]
"""An edge as it should be, as it is, and its allowance. [nm]"""


def _error(exact: Piece, real: _Real, panel: Panel, leaf: Leaf) -> SizeError | None:
    finished = placed(panel, leaf)[1]
    lines: list[_Line] = []
    for i, step in enumerate(exact.made_by):
        a, b = _whole(exact.edge(i)[0]), _whole(exact.edge(i)[1])
        found = real.edge(step)
        if found is not None and max(abs(b[0] - a[0]), abs(b[1] - a[1])) > _UNSEEN:
            lines.append(((a, b), found, min(_off(a, b, p) for p in finished)))
    best: tuple[int, int, list[tuple[int, int]]] | None = None
    for k, corner in _rests(lines):
        should, are, _ = lines[k]
        spans = [_span(line, should, are, corner) for line in lines]
        worst = max(max(-low, high) for low, high in spans)
        if best is None or (worst, k) < best[:2]:
            best = (worst, k, spans)
    if best is None or best[0] <= _UNSEEN:
        return None
    missing = [(max(0, -low), allowance) for (low, _), (_, _, allowance) in zip(best[2], lines, strict=True)]
    return _said(panel, missing, max(0, *(high for _, high in best[2])))


def _error_of_rectangle(exact: Piece, real: _Real, panel: Panel, leaf: Leaf) -> SizeError | None:
    """Of a panel that main cuts alone leave: they are parallel, so that it is a rectangle after all."""
    there, here = _box(_whole(p) for p in exact.corners), _box(real.points)
    finished = _box(placed(panel, leaf)[1])
    missing: list[tuple[int, int]] = []
    extra = 0
    for low, high in ((0, 2), (1, 3)):
        error = (here[high] - here[low]) - (there[high] - there[low])
        allowance = max(finished[low] - there[low], there[high] - finished[high])
        missing.append((max(0, -error), allowance))
        extra = max(extra, error)
    return _said(panel, missing, extra) if max(extra, *(m for m, _ in missing)) > _UNSEEN else None


def _box(points: Iterable[Point]) -> tuple[int, int, int, int]:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _said(panel: Panel, missing: Sequence[tuple[int, int]], extra: int) -> SizeError:
    """What is missing at edges with their allowances, and what is too much, in words. [nm]"""
    worked = [(m, a) for m, a in missing if a > _NOTHING]
    eaten = Eaten.LITTLE
    if any(m > a for m, a in worked):
        eaten = Eaten.ALL
    elif any(2 * m > a for m, a in worked):
        eaten = Eaten.HALF
    return SizeError(
        panel=panel.id,
        missing=max(m for m, _ in missing),
        extra=extra,
        eaten=eaten,
        as_cut=max((m for m, a in missing if a <= _NOTHING), default=0),
    )


def _rests(lines: Sequence[_Line]) -> list[tuple[int, int]]:
    """By which edge, and which end of it, the panel may be laid down: the truest ones there are."""
    found: list[list[tuple[int, int]]] = [[], [], []]
    for k, ((a, b), (p, q), _) in enumerate(lines):
        if _norm(q[0] - p[0], q[1] - p[1]) < _BASE * _FINE:
            continue
        true = all(abs(_off(a, b, end)) <= _UNSEEN for end in (p, q))
        for corner, (should, is_at) in enumerate(((a, p), (b, q))):
            stays = max(abs(should[0] - is_at[0]), abs(should[1] - is_at[1])) <= _UNSEEN
            found[0 if true and stays else 1 if true else 2].append((k, corner))
    return next((rests for rests in found if rests), [])


def _off(a: Point, b: Point, p: Point) -> int:
    """How far a point lies to the left of the line from a through b. [nm]"""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return _ratio((dx * (p[1] - a[1]) - dy * (p[0] - a[0])) * _FINE, _norm(dx, dy))


def _span(line: _Line, should: tuple[Point, Point], are: tuple[Point, Point], corner: int) -> tuple[int, int]:
    """How far the ends of an edge lie outside of its line, least and most, with the panel laid down
    by another edge and one corner of it. [nm]
    """
    (sx, sy), (s2x, s2y) = should
    (rx, ry), (r2x, r2y) = are
    ux, uy, vx, vy = s2x - sx, s2y - sy, r2x - rx, r2y - ry
    # turn the real edge onto the other: by the product of both directions, as long as both lengths
    cos, sin, long = ux * vx + uy * vy, uy * vx - ux * vy, _norm(ux, uy) * _norm(vx, vy)
    (ox, oy), (px, py) = should[corner], are[corner]
    (a, b), ends, _ = line
    outs = []
    for x, y in ends:
        dx, dy = x - px, y - py
        there = (
            ox + _ratio((cos * dx - sin * dy) * _FINE * _FINE, long),
            oy + _ratio((sin * dx + cos * dy) * _FINE * _FINE, long),
        )
        outs.append(-_off(a, b, there))
    return min(outs), max(outs)
