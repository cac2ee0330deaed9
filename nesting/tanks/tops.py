"""Braces of a tank as pieces of glass."""

from __future__ import annotations

from collections.abc import Sequence
from math import isqrt

from ..errors import InvalidOutline
from ..outlines import Outline, box, cross, rectangle
from ..text import tr
from ..units import TICK, show, to_tick
from .covers import between
from .made import Edges, TankPiece
from .shell import on_ticks
from .tank import CrossBraces, OpeningKind, RimBraces, Role, Tank
from .vessel import InvalidTank, Vessel, settled
from .walls import EndKind, wall_ends


def rim_pieces(tank: Tank, vessel: Vessel, rim: RimBraces, edges: Edges) -> list[TankPiece]:
    """Rim braces: strips along the walls, their outer edges a joint away from them.

    At square corners they butt, the braces of the walls that run through first; at any other corner
    both are cut along the line that halves it.
    """
    names = tank.shape.walls
    width = [tank.top.rim_width(name) for name in names]
    glass = tank.glass_of(Role.BRACE, "braces")
    t = settled(tank, Role.BRACE, "braces")
    n = len(names)
    try:
        seat, opening = vessel.inset([vessel.joint] * n), _opening(tank, vessel)
        # where one of two walls has no brace, that of the other reaches to the wall
        rank = [(0 if width[i] else 9 * n) + _rank(tank, vessel, i) for i in range(n)]
        ends = wall_ends(
            opening,
            width,
            joint=[vessel.joint if width[i - 1] and width[i] else 0 for i in range(n)],
            first_through=[rank[i - 1] < rank[i] for i in range(n)],
            outer=seat,
            alongs=vessel.alongs,
        )
    except InvalidOutline:
        raise InvalidTank(
            "top",
            tr("rim braces of {width} leave no opening", width=show(rim.width)),
            tr("make them narrower"),
        ) from None
    habits = edges.shop.tanks
    out = []
    for i, name in enumerate(names):
        if not width[i]:
            continue
        end = ends[i]
        brace = (
            (-end.left.outer, 0),
            (end.length + end.right.outer, 0),
            (end.length + end.right.inner, width[i]),
            (-end.left.inner, width[i]),
        )
        seam, shown = edges.of(habits.inside, t), edges.of(habits.shown, t)
        notches = _notches(tank, vessel, opening, i) if tank.openings else []
        parts = _beside_notches(brace, notches) if notches else [brace]
        for k, part in enumerate(parts, start=1):
            outline, (x0, _) = on_ticks(part)
            free = {2} if part is brace else _free_edges(part, rim.width, brace)
            out.append(
                TankPiece(
                    name=f"brace {name} {k}" if len(parts) > 1 else f"brace {name}",
                    role=Role.BRACE,
                    wall=i,
                    kind=glass.kind,
                    thickness=t,
                    finished=outline,
                    edges=tuple(shown if k in free else seam for k in range(len(part))),
                    place=(x0, -rim.width, vessel.height - t),
                    bonded=tuple(k for k in range(len(part)) if k not in free),
                )
            )
    return out


def _notches(tank: Tank, vessel: Vessel, opening: Outline, wall: int) -> list[tuple[int, int]]:
    """Stretches of a rim brace that notches in its wall take away, in the frame of the brace. [nm]"""
    name = tank.shape.walls[wall]
    wishes = [w for w in tank.openings if w.panel == name and w.kind is OpeningKind.NOTCH]
    if not wishes:
        return []
    shift = _shift(vessel, opening, wall) + vessel.ends[wall].start
    starts = [(w.x + k * w.pitch + shift, w.width) for w in wishes for k in range(w.count)]
    return sorted((start, start + width) for start, width in starts)


def _shift(vessel: Vessel, opening: Outline, wall: int) -> int:
    """From the inner corner of a wall to the corner of the opening between the braces, along the wall. [nm]"""
    (ax, ay), (bx, by) = opening[wall], opening[(wall + 1) % len(opening)]
    length = max(1, isqrt((bx - ax) ** 2 + (by - ay) ** 2))
    vx, vy = vessel.inner[wall]
    return ((vx - ax) * (bx - ax) + (vy - ay) * (by - ay)) // length


def rim_left(tank: Tank, vessel: Vessel, pieces: Sequence[TankPiece], wall: int, low: int, high: int) -> bool:
    """Whether notches leave the rim brace of a wall along a whole stretch, counted from its inner corner.

    True where the wall has no rim brace, or no notch. [nm]
    """
    if not tank.top.rim_width(tank.shape.walls[wall]):
        return True
    opening = _opening(tank, vessel)
    if not _notches(tank, vessel, opening, wall):
        return True
    shift = _shift(vessel, opening, wall)
    # sizes of panels are rounded to whole ticks
    return any(
        p.place[0] - shift - TICK <= low and high <= p.place[0] + box(p.finished)[2] - shift + TICK
        for p in pieces
        if p.role is Role.BRACE and p.wall == wall
    )


def _opening(tank: Tank, vessel: Vessel) -> Outline:
    """What rim braces leave open."""
    return vessel.inset([vessel.joint + tank.top.rim_width(name) for name in tank.shape.walls])


def _beside_notches(brace: Outline, notches: Sequence[tuple[int, int]]) -> list[Outline]:
    """What notches leave of a brace; parts shorter than it is wide hold nothing and are left out."""
    low, high = min(x for x, _ in brace), max(x for x, _ in brace)
    wide = max(y for _, y in brace)
    ends = [low, *(x for notch in notches for x in notch), high]
    stretches = list(zip(ends[::2], ends[1::2], strict=True))
    return [between(brace, a, b) for a, b in stretches if b - a >= wide]


def _free_edges(part: Outline, width: int, brace: Sequence[tuple[int, int]]) -> set[int]:
    """Edges of a brace that are not bonded: the inner one, and those beside a notch."""
    whole = {frozenset((p, brace[(i + 1) % 4])) for i, p in enumerate(brace)}
    out = set()
    for i, (ax, ay) in enumerate(part):
        bx, by = part[(i + 1) % len(part)]
        beside = ax == bx and frozenset(((ax, ay), (bx, by))) not in whole
        if ay == by == width or beside:
            out.add(i)
    return out


def _rank(tank: Tank, vessel: Vessel, i: int) -> int:
    """Braces of walls that run through at more ends come first; the others in the order of the shape."""
    through = sum(end.kind is EndKind.THROUGH for end in (vessel.ends[i].left, vessel.ends[i].right))
    return (2 - through) * len(vessel.ends) + tank.shape.order(i)


def cross_places(tank: Tank, vessel: Vessel) -> list[tuple[CrossBraces, int]]:
    """Middle of every cross brace along the inside of the front, from its left corner. [nm]"""
    front = vessel.ends[0].length
    out = []
    for some in tank.top.cross:
        out += [(some, front * k // (some.count + 1)) for k in range(1, some.count + 1)]
    return sorted(out, key=lambda pair: pair[1])


def cross_pieces(tank: Tank, vessel: Vessel, edges: Edges) -> list[TankPiece]:
    """Cross braces: from the front to the wall opposite, or from rim brace to rim brace."""
    if not tank.top.cross:
        return []
    t = settled(tank, Role.BRACE, "braces")
    habits = edges.shop.tanks
    shown, seam = edges.of(habits.shown, t), edges.of(habits.inside, t)
    out = []
    far: set[int] = set()
    last_end = 0
    for number, (some, at) in enumerate(cross_places(tank, vessel), start=1):
        if some.width > vessel.ends[0].length:
            raise InvalidTank(
                "top",
                tr("a cross brace of {width} is wider than the front", width=show(some.width)),
                tr("make it narrower"),
            )
        opposite, reach = opposite_wall(vessel, at - some.width // 2, at + some.width // 2)
        far.add(opposite)
        if len(far) > 1:
            raise InvalidTank(
                "top", tr("the cross braces lead to different walls"), tr("order rim braces instead")
            )
        if at - some.width // 2 < last_end or at + some.width // 2 > vessel.ends[0].length:
            raise InvalidTank(
                "top", tr("the cross braces do not fit beside each other"), tr("order fewer or narrower ones")
            )
        last_end = at + some.width // 2
        length = reach - 2 * vessel.joint
        for wall in (0, opposite):
            rim = tank.top.rim_width(tank.shape.walls[wall])
            if some.lapped and not rim:
                raise InvalidTank(
                    "top",
                    tr("a lapped cross brace needs rim braces at both its ends"),
                    tr("order rim braces there, or a cross brace that is not lapped"),
                )
            if rim and not some.lapped:
                length -= rim + vessel.joint
        if length <= 0:
            raise InvalidTank(
                "top",
                tr("nothing is left of a cross brace between the rim braces"),
                tr("make the rim braces narrower"),
            )
        _check_sides(tank, vessel, some, at, opposite)
        outline = rectangle(to_tick(some.width), to_tick(length))
        out.append(
            TankPiece(
                name=f"{'removable' if some.removable else 'cross'} brace {number}",
                role=Role.BRACE,
                kind=tank.glass_of(Role.BRACE, "braces").kind,
                thickness=t,
                finished=outline,
                edges=(seam, shown, seam, shown),
                place=(at - some.width // 2, 0, _cross_foot(vessel, some, t)),
                bonded=() if some.removable else (0, 2),
            )
        )
    return out


def _cross_foot(vessel: Vessel, some: CrossBraces, thickness: int) -> int:
    """Height of the lower face of a cross brace, which lies under the rim braces where it is lapped. [nm]"""
    return vessel.height - thickness - (thickness + vessel.joint if some.lapped else 0)


def _check_sides(tank: Tank, vessel: Vessel, some: CrossBraces, at: int, opposite: int) -> None:
    """A cross brace keeps a joint from the walls beside it, and from their rim braces.

    Raises
    ------
    InvalidTank
        Where it does not.
    """
    g = vessel.joint
    rims = [0 if some.lapped else tank.top.rim_width(name) for name in tank.shape.walls]
    taken = [g + (rim + g if rim else 0) for rim in rims]
    refused = InvalidTank(
        "top",
        tr("a cross brace meets a wall or a rim brace beside it"),
        tr("order fewer or narrower ones"),
    )
    try:
        free = vessel.inset(taken)
    except InvalidOutline:
        raise refused from None
    for wall in (0, opposite):
        low, high = sorted(vessel.along(0, end) for end in (free[wall], free[(wall + 1) % len(free)]))
        # corners were rounded to the nanometre
        if at - some.width // 2 < low - 2 or at + some.width // 2 > high + 2:
            raise refused


def brace_footprints(tank: Tank, vessel: Vessel) -> list[tuple[int, Outline]]:
    """Height of the lower face of every brace, and its outline seen from above; notches left aside. [nm]"""
    n = len(vessel.inner)
    out: list[tuple[int, Outline]] = []
    if tank.top.rim is None and not tank.top.cross:
        return out
    t = settled(tank, Role.BRACE, "braces")
    if tank.top.rim is not None:
        seat, opening = vessel.inset([vessel.joint] * n), _opening(tank, vessel)
        for i, name in enumerate(tank.shape.walls):
            if tank.top.rim_width(name):
                k = (i + 1) % n
                out.append((vessel.height - t, (seat[i], seat[k], opening[k], opening[i])))
    for some, at in cross_places(tank, vessel):
        half = some.width // 2
        _, reach = opposite_wall(vessel, at - half, at + half)
        corners = [(at - half, 0), (at + half, 0), (at + half, reach), (at - half, reach)]
        outline = tuple(vessel.beside(0, *corner) for corner in corners)
        out.append((_cross_foot(vessel, some, t), outline))
    return out


def opposite_wall(vessel: Vessel, start: int, end: int) -> tuple[int, int]:
    """The wall parallel to the front that lies opposite a stretch of it, and its distance inside. [nm]

    Raises
    ------
    InvalidTank
        Where there is none.
    """
    (ax, ay), (bx, by) = vessel.inner[0], vessel.inner[1]
    n = len(vessel.inner)
    dx, dy = bx - ax, by - ay
    length = vessel.ends[0].length
    for i in range(1, n):
        (px, py), (qx, qy) = vessel.inner[i], vessel.inner[(i + 1) % n]
        # within a nanometre of parallel over its own length, and running the other way
        if abs(dx * (qy - py) - dy * (qx - px)) > 2 * length or dx * (qx - px) + dy * (qy - py) >= 0:
            continue
        low, high = vessel.along(0, (qx, qy)), vessel.along(0, (px, py))
        if low <= start and end <= high:
            return i, cross((ax, ay), (bx, by), (px, py)) // length
    raise InvalidTank(
        "top",
        tr("a cross brace needs a wall opposite the front that is parallel to it"),
        tr("order rim braces instead"),
    )
