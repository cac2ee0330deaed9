"""Walls and base of a tank as pieces of glass, with the edgework of each edge by what it does."""

from __future__ import annotations

from ..edgework import Edge, Work
from ..outlines import Outline, rectangle
from ..units import to_tick
from .made import Edges, TankPiece
from .tank import Role, Tank
from .vessel import Vessel
from .walls import End, EndKind


def wall_pieces(tank: Tank, vessel: Vessel, edges: Edges) -> list[TankPiece]:
    """The walls, seen from outside, in the order of the shape.

    The outer face is the upper one. A wall's left end is the one at its first corner.
    """
    habits = edges.shop.tanks
    out = []
    high = to_tick(vessel.wall_height)
    # under a frame nobody sees the edge
    top = habits.inside if tank.top.framed else habits.shown
    foot = habits.bonded if vessel.on_base else habits.base
    level = {t: (edges.of(foot, t), edges.of(top, t)) for t in set(vessel.wall_thickness)}
    for i, (name, ends) in enumerate(zip(tank.shape.walls, vessel.ends, strict=True)):
        t = vessel.wall_thickness[i]
        below, above = level[t]
        out.append(
            TankPiece(
                name=name,
                role=Role.WALL,
                wall=i,
                kind=tank.glass_of(Role.WALL, name).kind,
                thickness=t,
                finished=rectangle(to_tick(ends.full_length), high),
                edges=(below, _end_edge(ends.right, t, edges), above, _end_edge(ends.left, t, edges)),
                place=(ends.start, 0, vessel.foot),
            )
        )
    return out


def _end_edge(end: End, thickness: int, edges: Edges) -> Edge:
    habits = edges.shop.tanks
    if end.mitre:
        return edges.of(Work.MITRE, thickness, end.mitre, "up" if end.outer < end.inner else "down")
    return edges.of(habits.shown if end.kind is EndKind.THROUGH else habits.bonded, thickness)


def base_piece(tank: Tank, vessel: Vessel, edges: Edges) -> TankPiece:
    """The base, seen from above."""
    outline, shift = on_ticks(vessel.base)
    t = vessel.base_thickness
    habits = edges.shop.tanks
    edge = edges.of(habits.base if vessel.on_base else habits.bonded, t)
    return TankPiece(
        name="base",
        role=Role.BASE,
        kind=tank.glass_of(Role.BASE, "base").kind,
        thickness=t,
        finished=outline,
        edges=(edge,) * len(outline),
        place=(*shift, 0),
    )


def on_ticks(outline: Outline) -> tuple[Outline, tuple[int, int]]:
    """An outline with its lower left at 0, 0 and its corners on ticks, and how far it was moved. [nm]"""
    if len(outline) == 4:
        (x0, y0), (x1, ya), (xb, y1), (xc, yc) = outline
        if y0 == ya < y1 == yc and x0 == xc < x1 == xb:
            return rectangle(to_tick(x1 - x0), to_tick(y1 - y0)), (x0, y0)
    x0, y0 = min(x for x, _ in outline), min(y for _, y in outline)
    return tuple((to_tick(x - x0), to_tick(y - y0)) for x, y in outline), (x0, y0)
