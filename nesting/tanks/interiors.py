"""Interior panels of a tank: dividers, baffles and overflow boxes as pieces of glass."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ..errors import InvalidOutline
from ..opening_geometry import in_outline
from ..outlines import Outline, Point, box, cross, is_convex, is_rectangle, rectangle, sides
from ..text import tr
from ..units import TICK, show, to_tick
from .clashes import clash
from .made import Edges, TankPiece
from .tank import Divider, Inside, OverflowBox, Role, Tank
from .tops import brace_footprints
from .vessel import InvalidTank, Vessel, settled


def interior_pieces(tank: Tank, vessel: Vessel, edges: Edges) -> list[TankPiece]:
    """All interior panels, numbered where there are several of a kind."""
    out: list[TankPiece] = []
    taken: list[tuple[str, Outline]] = []
    tops: dict[str, int] = {}
    braces = brace_footprints(tank, vessel) if tank.insides else []
    names = [_name(inside) for inside in tank.insides]
    for k, inside in enumerate(tank.insides):
        name = names[k]
        label = f"{name} {names[:k].count(name) + 1}" if names.count(name) > 1 else name
        if isinstance(inside, Divider):
            piece = _divider(tank, vessel, inside, label, edges, braces)
            made = [piece]
            taken.append((label, _across(vessel, inside, piece)))
        else:
            made = _box(tank, vessel, inside, label, edges)
            taken.append((label, _of_box(tank, vessel, inside)))
        out += made
        tops[label] = max(p.place[2] + max(y for _, y in p.finished) for p in made)
    met = clash(taken)
    if met is not None:
        raise InvalidTank(
            "insides", tr("{one} and {other} lie in each other", one=met[0], other=met[1]), tr("move one")
        )
    for name, outline in taken:
        for under, brace in braces:
            if tops[name] > under and clash([(name, outline), ("brace", brace)]):
                raise InvalidTank(
                    "insides",
                    tr("{name} reaches into the glass of a brace", name=name),
                    tr("end it {room} below the rim, or move it", room=show(vessel.height - under)),
                )
    return out


def _across(vessel: Vessel, divider: Divider, piece: TankPiece) -> Outline:
    """What a divider takes of the room. [nm]"""
    x = min(x for x, _ in vessel.inner) + divider.at - piece.thickness // 2
    return rectangle(piece.thickness, piece.finished[1][0], x, piece.place[1])


def _of_box(tank: Tank, vessel: Vessel, box: OverflowBox) -> Outline:
    """What an overflow box takes of the room. [nm]"""
    wall, corner = _wall(tank, box.walls[0]), len(box.walls) == 2
    other = _wall(tank, box.walls[-1])
    return _seen_from_above(vessel, wall, _start(vessel, box, wall, other), box, corner, vessel.joint)


def _start(vessel: Vessel, box: OverflowBox, wall: int, other: int) -> int:
    """Where a box begins along its first wall, from the inner corner at the left. [nm]"""
    room = vessel.ends[wall].length
    if wall != other:
        return 0 if other == (wall - 1) % len(vessel.ends) else room - box.along
    return (room // 2 if box.at is None else box.at) - box.along // 2


def _name(inside: Inside) -> str:
    return inside.name if isinstance(inside, Divider) else "overflow"


def _divider(
    tank: Tank,
    vessel: Vessel,
    divider: Divider,
    name: str,
    edges: Edges,
    braces: Sequence[tuple[int, Outline]],
) -> TankPiece:
    habits = edges.shop.tanks
    t = settled(tank, Role.INSIDE, name)
    x0 = min(x for x, _ in vessel.inner)
    try:
        room = vessel.inset([vessel.joint] * len(vessel.inner))
    except InvalidOutline as error:
        raise InvalidTank("insides", error.reason, error.remedy) from None
    spans = [_upright(room, x0 + divider.at + side) for side in (-(t // 2), t // 2)]
    if any(span is None for span in spans):
        raise InvalidTank(
            "insides",
            tr("{name} at {place} lies outside the walls", name=name, place=show(divider.at)),
            tr("give its place from the inner face at the left"),
        )
    front = max(span[0] for span in spans if span)
    back = min(span[1] for span in spans if span)
    width = (back - front) // TICK * TICK
    foot = divider.gap or vessel.joint
    high = divider.height
    if high is None:
        plan = rectangle(t, width, x0 + divider.at - t // 2, front) if width > 0 else ()
        above = [low for low, brace in braces if clash([("", plan), ("", brace)])]
        top = min([vessel.inner_height - tank.freeboard, *(low - vessel.base_real for low in above)])
        high = top // TICK * TICK - foot
    if width <= 0 or high <= 0 or foot + high > vessel.inner_height:
        raise InvalidTank(
            "insides",
            tr("{name} of {height} does not fit into the tank", name=name, height=show(high)),
            tr("make it lower, or the gap below it smaller"),
        )
    seam, shown = edges.of(habits.inside, t), edges.of(habits.shown, t)
    return TankPiece(
        name=name,
        role=Role.INSIDE,
        kind=tank.glass_of(Role.INSIDE, name).kind,
        thickness=t,
        finished=rectangle(width, to_tick(high)),
        edges=(shown if divider.gap else seam, seam, shown, seam),
        place=(divider.at, front, vessel.base_real + foot),
        bonded=(1, 3) if divider.gap else (0, 1, 3),
    )


def _upright(outline: Outline, x: int) -> tuple[int, int] | None:
    """The stretch of an upright line within an outline, the nearest to the front; None where there is none."""
    if is_rectangle(outline):
        x0, y0, x1, y1 = box(outline)
        return (y0, y1) if x0 <= x < x1 else None
    crossings = sorted(_crossings(outline, x))
    if len(crossings) < 2:
        return None
    return -(-crossings[0] // 1), crossings[1] // 1


def _crossings(outline: Sequence[Point], x: int) -> list[Fraction]:
    out = []
    for i, (ax, ay) in enumerate(outline):
        bx, by = outline[(i + 1) % len(outline)]
        # an upright face is met by its neighbours, a corner by one of its two faces
        if min(ax, bx) <= x < max(ax, bx):
            out.append(ay + Fraction((x - ax) * (by - ay), bx - ax))
    return out


def _box(tank: Tank, vessel: Vessel, box: OverflowBox, name: str, edges: Edges) -> list[TankPiece]:
    habits = edges.shop.tanks
    t = settled(tank, Role.INSIDE, name)
    g = vessel.joint
    high = vessel.inner_height - box.weir - g
    side = box.deep - t - 2 * g
    corner = len(box.walls) == 2
    first = _wall(tank, box.walls[0])
    room = vessel.ends[first].length
    if high <= 0 or side <= 0 or box.along - (g if corner else 2 * t) <= 0:
        raise InvalidTank(
            "insides", tr("nothing is left of the {name}", name=name), tr("make the box larger")
        )
    if corner:
        other = _wall(tank, box.walls[1])
        n = len(tank.shape.walls)
        if (first - other) % n not in (1, n - 1) or not _square(vessel, first, other):
            raise InvalidTank(
                "insides",
                tr(
                    "{first} and {second} do not meet at a square corner",
                    first=box.walls[0],
                    second=box.walls[1],
                ),
                tr("put the box into the middle of a wall"),
            )
        start = _start(vessel, box, first, other)
        fits = box.along < room and box.deep < vessel.ends[other].length
    else:
        start = _start(vessel, box, first, first)
        fits = start >= 0 and start + box.along <= room
    if not fits or not _within(vessel.inner, _seen_from_above(vessel, first, start, box, corner, g)):
        raise InvalidTank(
            "insides",
            tr("the {name} is larger than its wall", name=name),
            tr("make it smaller, or move it"),
        )
    seam, shown = edges.of(habits.inside, t), edges.of(habits.shown, t)
    kind = tank.glass_of(Role.INSIDE, name).kind
    foot = vessel.base_real + g

    def piece(part: str, width: int, sides: tuple[bool, bool]) -> TankPiece:
        left, right = (seam if bonded else shown for bonded in sides)
        return TankPiece(
            name=f"{name} {part}",
            role=Role.INSIDE,
            wall=first,
            kind=kind,
            thickness=t,
            finished=rectangle(to_tick(width), to_tick(high)),
            edges=(seam, right, shown, left),
            place=(start, 0, foot),
            bonded=(0, *(edge for edge, held in ((3, sides[0]), (1, sides[1])) if held)),
        )

    if corner:
        return [piece("face", box.along - g, (True, False)), piece("side", side, (True, True))]
    return [
        piece("face", box.along, (False, False)),
        piece("left side", side, (True, True)),
        piece("right side", side, (True, True)),
    ]


def _within(room: Outline, outline: Outline) -> bool:
    """Whether an outline lies in the room."""
    if not is_convex(room):
        return in_outline(room, outline)
    return all(cross(a, b, p) >= 0 for a, b in sides(room) for p in outline)


def _seen_from_above(
    vessel: Vessel, wall: int, start: int, box: OverflowBox, corner: bool, joint: int
) -> Outline:
    """What a box takes off the room, a joint off its wall and a joint more than it is deep. [nm]"""
    far = vessel.ends[wall].length
    first, last = start + 1, start + box.along - 1
    if corner:
        # a joint off the second wall, and a joint more than it is long
        first, last = (joint, last + joint) if not start else (start - joint, far - joint)
    places = ((first, joint), (last, joint), (last, box.deep + joint), (first, box.deep + joint))
    return tuple(vessel.beside(wall, *place) for place in places)


def _wall(tank: Tank, name: str) -> int:
    if name not in tank.shape.walls:
        raise InvalidTank(
            "insides",
            tr("this tank has no wall {name}", name=name),
            tr("its walls are {names}", names=", ".join(tank.shape.walls)),
        )
    return tank.shape.walls.index(name)


def _square(vessel: Vessel, one: int, other: int) -> bool:
    inner, n = vessel.inner, len(vessel.inner)
    (ax, ay), (bx, by) = inner[one], inner[(one + 1) % n]
    (cx, cy), (dx, dy) = inner[other], inner[(other + 1) % n]
    dot = (bx - ax) * (dx - cx) + (by - ay) * (dy - cy)
    # a nanometre over the length of either wall
    return abs(dot) <= 4 * max(vessel.ends[one].length, vessel.ends[other].length)
