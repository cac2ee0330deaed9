"""What a flaw that is found at the table hits: panels, cuts, and the steps that are held back until it is planned anew.

All answers are exact. The page for the table has a twin of this in its script (`flaw_hits.js`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from .flaws import NEVER_TOLERATED, Flaw, Zone
from .outlines import Outline, Point, box, cross, hull, is_convex
from .panels import Panel
from .placing import placed
from .plan import Layout, Leaf, LeafKind

Band = tuple[Point, Point, int]
"""An edge of the finished outline in place, and how far from it a flaw may lie. [nm]"""


@dataclass(frozen=True, slots=True)
class Taken:
    """Where a panel takes flaws of a kind, in place on the sheet.

    Parameters
    ----------
    outline
        What of a flaw lies beyond this is ground off: the finished outline, or the cut one where that is not convex.
    bands
        In one of them the flaw must lie as a whole; None: it may lie anywhere.
    """

    outline: Outline
    bands: tuple[Band, ...] | None


@dataclass(frozen=True, slots=True)
class Hits:
    """What flaws hit on a sheet.

    Parameters
    ----------
    panels
        Ids of the panels that cover one where their order does not tolerate it, in the order of the leaves.
    cuts
        Steps whose cut would cross one.
    held_steps
        Steps that are not made before the sheet is planned anew: those cuts, what is cut from their pieces
        afterwards, and every cut that serves nothing but panels that are hit.
    """

    panels: tuple[str, ...] = ()
    cuts: tuple[int, ...] = ()
    held_steps: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        """Whether anything is hit."""
        return bool(self.panels or self.cuts)


def hits(layout: Layout, panels: Iterable[Panel], *flaws: Flaw, done: Collection[int] = ()) -> Hits:
    """What flaws hit on a sheet, and which of its steps are held back for them.

    Parameters
    ----------
    layout
        The sheet.
    panels
        The panels of the plan.
    *flaws
        Where they lie on the sheet.
    done
        Steps that are done: what they freed lies in its rack and is not hit, and they cross nothing any more.
    """
    by_id = {panel.id: panel for panel in panels}
    off = {piece for cut in layout.cuts if cut.step in done for piece in cut.makes}
    covered = []
    for leaf in layout.leaves:
        panel = by_id.get(leaf.panel or "")
        if panel is None or leaf.piece in off:
            continue
        if any(covers(leaf.outline, one, tolerated(panel, leaf, one.kind)) for one in flaws):
            covered.append(panel.id)
    crossed = [
        cut.step
        for cut in layout.cuts
        if cut.step not in done and any(crosses(cut.start, cut.end, flaw_box(one)) for one in flaws)
    ]
    return Hits(tuple(covered), tuple(crossed), held(layout, covered, crossed, done))


def carried(layout: Layout) -> list[tuple[Flaw, tuple[str, ...]]]:
    """The spots of a sheet, each with the ids of the panels that have it, or a part of it; none: it lies in waste."""
    panels = [leaf for leaf in layout.leaves if leaf.kind is LeafKind.PANEL and leaf.panel is not None]
    return [
        (spot, tuple(leaf.panel or "" for leaf in panels if covers(leaf.outline, spot)))
        for spot in layout.spots
    ]


def held(
    layout: Layout, covered: Collection[str], crossed: Collection[int], done: Collection[int] = ()
) -> tuple[int, ...]:
    """Steps that are held back, given the panels and the cuts that are hit (see `Hits`)."""
    number = {cut.piece: cut.step for cut in layout.cuts}
    leaf = {one.piece: one.panel for one in layout.leaves if one.panel is not None}
    # by piece: whether a panel can still come of it, and whether one that is hit, or a held cut, lies in it
    good = {piece: panel not in covered for piece, panel in leaf.items()}
    bad = {piece: panel in covered for piece, panel in leaf.items()}
    stopped = set()
    for cut in reversed(layout.cuts):  # a piece is made before it is cut
        lives = any(good.get(part, False) for part in cut.makes)
        ails = cut.step in crossed or any(bad.get(part, False) for part in cut.makes)
        if cut.step not in done and (cut.step in crossed or (ails and not lives)):
            stopped.add(cut.step)
            lives = False
        good[cut.piece], bad[cut.piece] = lives, ails
    gone: set[str] = set()
    for cut in layout.cuts:
        if number[cut.piece] in stopped or cut.piece in gone:
            stopped.add(cut.step)
            gone |= set(cut.makes)
    return tuple(cut.step for cut in layout.cuts if cut.step in stopped and cut.step not in done)


def flaw_box(flaw: Flaw) -> tuple[int, int, int, int]:
    """Least and greatest x and y of a flaw; a scratch or a point counts as 2 nm wide. [nm]"""
    dx, dy = int(not flaw.width), int(not flaw.height)
    return flaw.x - dx, flaw.y - dy, flaw.x + flaw.width + dx, flaw.y + flaw.height + dy


def tolerated(panel: Panel, leaf: Leaf, kind: str) -> Taken | None:
    """Where a panel takes flaws of a kind; None where it takes none of them.

    Parameters
    ----------
    panel
        The panel.
    leaf
        Where it lies.
    kind
        Of the flaw.

    Notes
    -----
    An edge that is not on the convex hull of the outline has no band: the line through it runs on across the panel.
    """
    wanted = [one for one in panel.tolerates if one.kind == kind and kind not in NEVER_TOLERATED]
    if not wanted:
        return None
    listed = panel.finished
    around, (_, low, _, high), n = hull(listed), box(listed), len(listed)
    finished = placed(panel, leaf)[1]
    region = finished if is_convex(finished) else leaf.outline
    if any(one.zone == Zone.ANYWHERE.value for one in wanted):
        return Taken(region, None)
    # corner i of what is listed lies here; a mirrored outline runs the other way round
    there = finished[:: -1 if leaf.mirrored else 1]
    out: list[Band] = []
    for one in wanted:
        for i in range(n):
            a, b = listed[i], listed[(i + 1) % n]
            frame = a[1] == b[1] and a[1] in (low, high)
            if frame if one.zone == Zone.FRAME.value else _outer(a, b, around):
                p, q = there[i], there[(i + 1) % n]
                out.append((q, p, one.depth) if leaf.mirrored else (p, q, one.depth))
    return Taken(region, tuple(out))


def _outer(a: Point, b: Point, around: Outline) -> bool:
    return all(cross(a, b, p) >= 0 for p in around)


def covers(outline: Outline, flaw: Flaw, taken: Taken | None = None) -> bool:
    """Whether a convex piece covers a flaw where it is not tolerated. [nm]"""
    spot = flaw_box(flaw)
    if _apart(outline, spot):
        return False
    if taken is None:
        return True
    if taken.bands is None or _apart(taken.outline, spot):
        return False
    inside = _common(taken.outline, spot)
    return not any(_within(inside, a, b, depth) for a, b, depth in taken.bands)


def crosses(start: Point, end: Point, spot: tuple[int, int, int, int]) -> bool:
    """Whether a score runs through the inside of a box. [nm]"""
    x0, y0, x1, y1 = spot
    if max(start[0], end[0]) <= x0 or min(start[0], end[0]) >= x1:
        return False
    if max(start[1], end[1]) <= y0 or min(start[1], end[1]) >= y1:
        return False
    turns = [cross(start, end, p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    return min(turns) < 0 < max(turns)


def _apart(outline: Outline, spot: tuple[int, int, int, int]) -> bool:
    """Whether the insides do not meet: then a side of one of them parts both (separating axes)."""
    x0, y0, x1, y1 = box(outline)
    if x1 <= spot[0] or x0 >= spot[2] or y1 <= spot[1] or y0 >= spot[3]:
        return True
    corners = _corners(spot)
    n = len(outline)
    return any(max(cross(outline[i], outline[(i + 1) % n], p) for p in corners) <= 0 for i in range(n))


def _corners(spot: tuple[int, int, int, int]) -> tuple[Point, ...]:
    x0, y0, x1, y1 = spot
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


Shared = tuple[int, int, int]
"""A point as x, y and what both are to be divided by, above 0."""


def _common(outline: Outline, spot: tuple[int, int, int, int]) -> list[Shared]:
    """Points whose hull is what a convex outline and a box have in common."""
    x0, y0, x1, y1 = spot
    n = len(outline)
    sides = [(outline[i], outline[(i + 1) % n]) for i in range(n)]
    out = [(x, y, 1) for x, y in _corners(spot) if all(cross(a, b, (x, y)) >= 0 for a, b in sides)]
    out += [(x, y, 1) for x, y in outline if x0 <= x <= x1 and y0 <= y <= y1]
    for (ax, ay), (bx, by) in sides:
        dx, dy = bx - ax, by - ay
        for x in (x0, x1):
            if (ax - x) * (bx - x) < 0:
                w, y = abs(dx), (ay * dx + (x - ax) * dy) * (1 if dx > 0 else -1)
                if y0 * w <= y <= y1 * w:
                    out.append((x * w, y, w))
        for y in (y0, y1):
            if (ay - y) * (by - y) < 0:
                w, x = abs(dy), (ax * dy + (y - ay) * dx) * (1 if dy > 0 else -1)
                if x0 * w <= x <= x1 * w:
                    out.append((x, y * w, w))
    return out


def _within(points: Iterable[Shared], a: Point, b: Point, depth: int) -> bool:
    """Whether all points lie at most so far to the left of the line from a through b. [nm]"""
    dx, dy = b[0] - a[0], b[1] - a[1]
    most = depth * depth * (dx * dx + dy * dy)
    for x, y, w in points:
        off = dx * (y - a[1] * w) - dy * (x - a[0] * w)
        if off > 0 and off * off > most * w * w:
            return False
    return True
