"""The cut sequence: for every cut what is in hand, where the tape hooks, and what comes off."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .figures import thickness_of
from .glass import mass_grams
from .pieces import (
    SLACK,
    Corner,
    CutFault,
    Direction,
    Exact,
    Piece,
    Split,
    direction,
    length,
    magnitude,
    split,
    whole_sheet,
)
from .plan import Cut, CutKind, Layout, Leaf, LeafKind, Plan
from .shop import Lifts
from .steps import Caution, End, Held, Lift, Mark, Result, Step
from .stock import Side
from .text import tr
from .units import mm

NARROW = mm(60)
"""Strips narrower than this break off badly by hand [common practice]. [nm]"""
LIFTS = Lifts()
SLENDER = 10
"""Strips longer than this many times their width run off [common practice]."""


def general_cautions() -> tuple[str, ...]:
    """The usual cautions for every sheet, for people who are trained for the work."""
    return (
        tr("Cut-resistant gloves, sleeves and eye protection. Every edge as cut or raw is sharp."),
        tr("Carry on edge, keep clear of glass that falls, sweep the table after every break."),
        tr("For trained people; local rules and the makers' instructions go before this list."),
    )


def lift_for(mass: int, longest: int, lifts: Lifts) -> Lift:
    """Who lifts a piece of this mass [g] and longest side [nm]."""
    if mass <= lifts.one_grams and longest <= lifts.one_length:
        return Lift.ONE
    return Lift.TWO if mass <= lifts.two_grams else Lift.CRANE


def steps_of(plan: Plan, layout: Layout, *, lifts: Lifts = LIFTS) -> list[Step]:
    """The cuts of a sheet as steps for a person, in the order of the layout.

    Parameters
    ----------
    plan
        The plan that holds the sheet.
    layout
        The sheet.
    lifts
        What people lift by hand.

    Raises
    ------
    CutFault
        When the cuts of the plan cannot be made as written.

    Notes
    -----
    The tape hooks a straight side of the piece in hand that is parallel to the score: one already
    cut before a raw one, then one whose part is kept (what is not measured takes the errors of all
    measures before it, so let it be cullet; a trim is measured from its raw side), then the nearer
    one. What is measured is always the part on that side.
    """
    thickness = thickness_of(plan, layout.glass)
    panels = {p.id: p for p in plan.panels}
    leaves = {leaf.piece: leaf for leaf in layout.leaves}
    cut_at = {cut.piece: cut.step for cut in layout.cuts}
    pieces: dict[str, Piece] = {"s": whole_sheet(layout)}
    origin: dict[str, tuple[int, Direction]] = {}
    steps = []
    for cut in layout.cuts:
        if cut.piece not in pieces:
            raise CutFault(layout.number, cut.step, tr("piece {piece} is not in hand", piece=cut.piece[:60]))
        piece = pieces.pop(cut.piece)
        parts = split(piece, cut, layout.number)
        width, height = piece.size
        made_by, part = origin.get(cut.piece, (None, None))
        held = Held(
            name=piece.name,
            width=width,
            height=height,
            is_rectangle=piece.is_rectangle,
            mass=mass_grams(round(piece.area2), thickness),
            made_by=made_by,
            part=part,
        )
        results = []
        for new, sign in ((parts.left, 1), (parts.right, -1)):
            pieces[new.name] = new
            where = _part_of(cut, sign)
            origin[new.name] = (cut.step, where)
            leaf = leaves.get(new.name)
            if leaf is None and new.name not in cut_at:
                raise CutFault(
                    layout.number, cut.step, tr("nothing is said of piece {piece}", piece=new.name[:60])
                )
            result = _result(new, where, leaf, None if leaf else cut_at[new.name])
            if result.panel is not None:
                panel = panels.get(result.panel)
                if panel is None:
                    raise CutFault(
                        layout.number, cut.step, tr("there is no panel {panel}", panel=result.panel[:60])
                    )
                result = replace(result, order=panel.order, panel_name=panel.name)
            results.append(result)
        hook = _hook(piece, cut, {r.part for r in results if r.kind is LeafKind.CULLET})
        marks = () if hook else tuple(_mark(piece, end) for end in parts.score)
        if hook and hook.edge is not results[0].part:
            results.reverse()
        lift = lift_for(held.mass, max(width, height), lifts)
        (x0, y0), (x1, y1) = parts.score
        score = length(x1 - x0, y1 - y0)
        steps.append(
            Step(
                number=cut.step,
                sheet=layout.number,
                piece=held,
                lift=lift,
                edge=hook.edge if hook else None,
                edge_is_raw=hook.is_raw if hook else False,
                distance=hook.distance if hook else None,
                marks=marks,
                score=score,
                kind=cut.kind,
                level=cut.level,
                makes=(results[0], results[1]),
                cautions=_cautions(cut, lift, hook, parts, score),
            )
        )
    return steps


@dataclass(frozen=True, slots=True)
class _Hook:
    edge: Direction
    is_raw: bool
    distance: int
    other: int


def _hook(piece: Piece, cut: Cut, cullet: set[Direction]) -> _Hook | None:
    """The side that the tape hooks for a score along the axes; None where there is none."""
    if cut.start[0] == cut.end[0]:
        axis, names, raws = 0, (Direction.LEFT, Direction.RIGHT), (Side.LEFT, Side.RIGHT)
    elif cut.start[1] == cut.end[1]:
        axis, names, raws = 1, (Direction.BOTTOM, Direction.TOP), (Side.BOTTOM, Side.TOP)
    else:
        return None
    low, high = piece.extent[axis], piece.extent[axis + 2]
    at = cut.start[axis]
    found: list[tuple[bool, bool, int, int, _Hook]] = []
    for end, name, side in zip((low, high), names, raws, strict=True):
        if not _has_side(piece, axis, end):
            continue
        distance = round(magnitude(at - end))
        is_raw = side in piece.raw
        # the part that nobody measures takes the errors: let it be cullet, save at a trim
        waste = name in cullet and cut.kind is not CutKind.TRIM
        hook = _Hook(name, is_raw, distance, round(high - low) - distance)
        found.append((is_raw, waste, distance, len(found), hook))
    return min(found)[-1] if found else None


def _has_side(piece: Piece, axis: int, at: Exact) -> bool:
    """Whether the piece has a straight side there that a square can lie against."""
    for i in range(len(piece.corners)):
        a, b = piece.edge(i)
        if a[axis] == at == b[axis] and magnitude(a[1 - axis] - b[1 - axis]) >= mm(20):
            return True
    return False


def _mark(piece: Piece, end: Corner) -> Mark:
    """Where on the border of the piece a score ends: along the edge, from the nearer corner."""
    best: tuple[int, int, Mark] | None = None
    for i in range(len(piece.corners)):
        a, b = piece.edge(i)
        dx, dy = b[0] - a[0], b[1] - a[1]
        whole = length(dx, dy)
        if whole <= SLACK or dx * (end[1] - a[1]) != dy * (end[0] - a[0]):
            continue
        from_a, from_b = length(end[0] - a[0], end[1] - a[1]), length(end[0] - b[0], end[1] - b[1])
        if max(from_a, from_b) > whole + 1:
            continue
        near, sign = (from_a, -1) if from_a <= from_b else (from_b, 1)
        if magnitude(dx) >= magnitude(dy):
            word = End.RIGHT if sign * dx > 0 else End.LEFT
        else:
            word = End.UPPER if sign * dy > 0 else End.LOWER
        mark = Mark(
            edge=direction(dy, -dx), edge_length=whole, end=word, distance=0 if near <= SLACK else near
        )
        # at a corner both edges say the same: take the longer one, it is found more easily
        key = (-whole, i)
        if best is None or key < best[:2]:
            best = (*key, mark)
    assert best is not None, "a score ends on the border of its piece"
    return best[2]


def _part_of(cut: Cut, sign: int) -> Direction:
    """Where a part lies, seen from the score: left of start -> end for +1, right for -1."""
    dx, dy = cut.end[0] - cut.start[0], cut.end[1] - cut.start[1]
    return direction(-sign * dy, sign * dx)


def _result(piece: Piece, part: Direction, leaf: Leaf | None, next_step: int | None) -> Result:
    width, height = piece.size
    return Result(
        name=piece.name,
        part=part,
        width=width,
        height=height,
        is_rectangle=piece.is_rectangle,
        kind=leaf.kind if leaf else None,
        next_step=next_step,
        panel=leaf.panel if leaf else None,
        offcut=leaf.offcut if leaf else None,
        mirrored=leaf.mirrored if leaf else False,
    )


def _cautions(cut: Cut, lift: Lift, hook: _Hook | None, parts: Split, score: int) -> tuple[Caution, ...]:
    out = []
    if lift is Lift.TWO:
        out.append(Caution.TWO)
    elif lift is Lift.CRANE:
        out.append(Caution.CRANE)
    if hook is not None:
        slim = min(hook.distance, hook.other)
        if slim < NARROW or slim * SLENDER < score:
            out.append(Caution.NARROW)
        if hook.is_raw and cut.kind is not CutKind.TRIM:
            out.append(Caution.RAW)
    elif any(len(part.corners) == 3 for part in (parts.left, parts.right)):
        out.append(Caution.CORNER)
    return tuple(out)
