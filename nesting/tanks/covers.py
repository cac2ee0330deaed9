"""Lids and sliding covers of a tank as pieces of glass."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ..errors import InvalidOutline
from ..outlines import Outline, box, is_rectangle, make_outline, rectangle
from ..text import tr
from ..units import show, to_tick
from .made import Edges, TankPiece
from .shell import on_ticks
from .tank import Cover, Role, Tank
from .vessel import InvalidTank, Vessel, settled


def cover_pieces(tank: Tank, vessel: Vessel, cover: Cover, first: int, edges: Edges) -> list[TankPiece]:
    """Panes that lie between the walls, on clips or on the braces, with the shop's clearance all round."""
    habits = edges.shop.tanks
    t = settled(tank, Role.COVER, "covers")
    glass = tank.glass_of(Role.COVER, "covers")
    clear = habits.cover_clearance
    try:
        room = vessel.inset([clear] * len(vessel.inner))
    except InvalidOutline as error:
        raise InvalidTank("covers", error.reason, error.remedy) from None
    x0, y0, x1, y1 = box(room)
    if cover.sliding:
        if len(room) != 4 or room[0][1] != room[1][1] or room[1][0] != room[2][0]:
            raise InvalidTank(
                "covers", tr("sliding covers need a rectangular tank"), tr("order lids that lie loosely")
            )
        width = to_tick((x1 - x0 + (cover.count - 1) * cover.overlap) // cover.count)
        if cover.count > 1 and 2 * cover.overlap > width:
            raise InvalidTank(
                "covers",
                tr("sliding covers that overlap by {overlap} hardly open", overlap=show(cover.overlap)),
                tr("give an overlap of less than half a cover"),
            )
        panes: list[Outline] = [rectangle(width, to_tick(y1 - y0))] * cover.count
    else:
        pane = (x1 - x0 - (cover.count - 1) * clear) // cover.count
        if to_tick(pane) <= 0:
            raise InvalidTank(
                "covers", tr("the clearances leave no room for the lids"), tr("order fewer of them")
            )
        panes = []
        if is_rectangle(room):
            panes = [rectangle(to_tick(pane), to_tick(y1 - y0))] * cover.count
        for k in range(len(panes), cover.count):
            low = x0 + k * (pane + clear)
            high = x1 if k == cover.count - 1 else low + pane
            # a corner within a tick of a line falls on it
            panes.append(_clean(on_ticks(between(room, low, high))[0]))
    name = "sliding cover" if cover.sliding else "lid"
    shown = edges.of(habits.shown, t)
    return [
        TankPiece(
            name=f"{name} {first + k}" if cover.count > 1 or first > 1 else name,
            role=Role.COVER,
            kind=glass.kind,
            thickness=t,
            finished=pane,
            edges=(shown,) * len(pane),
            place=(0, 0, vessel.height),
        )
        for k, pane in enumerate(panes)
    ]


def between(outline: Outline, low: int, high: int) -> Outline:
    """The part of an outline between two upright lines (Sutherland and Hodgman 1974). [nm]"""
    points: Sequence[tuple[int, int]] = outline
    for limit, sign in ((low, 1), (high, -1)):
        kept: list[tuple[int, int]] = []
        for i, p in enumerate(points):
            before = points[i - 1]
            inside, was_inside = sign * (p[0] - limit) >= 0, sign * (before[0] - limit) >= 0
            if inside != was_inside:
                share = Fraction(limit - before[0], p[0] - before[0])
                kept.append((limit, round(before[1] + share * (p[1] - before[1]))))
            if inside:
                kept.append(p)
        points = kept
    return _clean(points)


def _clean(points: Sequence[tuple[int, int]]) -> Outline:
    try:
        return make_outline(points)
    except InvalidOutline:
        raise InvalidTank(
            "covers", tr("the covers cannot be divided so"), tr("order one lid, or another number of them")
        ) from None
