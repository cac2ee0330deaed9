"""The cut sequence: for every cut what is in hand, where the tape hooks, and what comes off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from .cuttings import cuttings_of
from .figures import thickness_of
from .flaw_hits import covers
from .glass import mass_grams
from .handling import handled, placements
from .mark_errors import size_errors
from .marks import Measured
from .once import once_a_sheet
from .pieces import Corner, CutFault, Direction, Piece, Split, direction, length, side_of
from .plan import Cut, CutKind, Layout, Leaf, LeafKind, Plan
from .shop_table import Habit, Lifts
from .spots import flaws_of
from .steps import Caution, Held, Lift, Result, SizeError, Step
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


@once_a_sheet
def steps_of(plan: Plan, layout: Layout, *, lifts: Lifts = LIFTS) -> Sequence[Step]:
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
    How a score is measured or marked: see `marks.measured`. What is measured from a side is the part
    on that side, which stands first in `makes`. Marks are rounded as the rules of the plan say.
    """
    thickness = thickness_of(plan, layout.glass)
    errors = size_errors(plan, layout)
    panels = {p.id: p for p in plan.panels}
    leaves = {leaf.piece: leaf for leaf in layout.leaves}
    cut_at = {cut.piece: cut.step for cut in layout.cuts}
    cuttings = cuttings_of(plan, layout)
    flaws = flaws_of(layout)
    steps = []
    origin: dict[str, tuple[int, Direction]] = {}
    for one in cuttings:
        cut, piece, parts, how = one.cut, one.piece, one.parts, one.how
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
            where = _part_of(cut, sign)
            origin[new.name] = (cut.step, where)
            leaf = leaves.get(new.name)
            if leaf is None and new.name not in cut_at:
                raise CutFault(
                    layout.number, cut.step, tr("nothing is said of piece {piece}", piece=new.name[:60])
                )
            result = _result(new, where, leaf, None if leaf else cut_at[new.name], errors)
            if flaws and leaf is not None and leaf.kind is not LeafKind.CULLET:
                kinds = sorted({f.kind for f in flaws if covers(leaf.outline, f)})
                result = replace(result, flaws=tuple(kinds))
            if result.panel is not None:
                panel = panels.get(result.panel)
                if panel is None:
                    raise CutFault(
                        layout.number, cut.step, tr("there is no panel {panel}", panel=result.panel[:60])
                    )
                result = replace(
                    result, order=panel.order, panel_name=panel.name, rack=panel.rack, slot=panel.slot
                )
            results.append(result)
        hook = how.hook
        lift = lift_for(held.mass, max(width, height), lifts)
        (x0, y0), (x1, y1) = parts.score
        score = length(x1 - x0, y1 - y0)
        cautions = _cautions(cut, lift, how, parts, score, results)
        if hook and not hook.is_left:
            results.reverse()
        steps.append(
            Step(
                number=cut.step,
                sheet=layout.number,
                piece=held,
                lift=lift,
                edge=hook.edge if hook else None,
                edge_is_raw=hook.is_raw if hook else False,
                distance=hook.distance if hook else None,
                table=hook.table if hook else None,
                is_square=hook.squares if hook else how.square_to is not None,
                square_to=how.square_to,
                marks=tuple(p.mark for p in how.marks),
                score=score,
                kind=cut.kind,
                level=cut.level,
                makes=(results[0], results[1]),
                cautions=cautions,
            )
        )
    return handled(cuttings, placements(cuttings, steps), Habit(layout.habit or plan.habit))


def _part_of(cut: Cut, sign: int) -> Direction:
    """Where a part lies, seen from the score: left of start -> end for +1, right for -1."""
    dx, dy = cut.end[0] - cut.start[0], cut.end[1] - cut.start[1]
    return direction(-sign * dy, sign * dx)


def _result(
    piece: Piece, part: Direction, leaf: Leaf | None, next_step: int | None, errors: Mapping[str, SizeError]
) -> Result:
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
        error=errors.get(leaf.panel) if leaf and leaf.panel else None,
    )


def _cautions(
    cut: Cut, lift: Lift, how: Measured, parts: Split, score: int, made: Sequence[Result]
) -> tuple[Caution, ...]:
    out = []
    if lift is Lift.TWO:
        out.append(Caution.TWO)
    elif lift is Lift.CRANE:
        out.append(Caution.CRANE)
    hook = how.hook
    if hook is not None:
        slim = min(hook.distance, hook.other)
        if slim < NARROW or slim * SLENDER < score:
            out.append(Caution.NARROW)
        if hook.is_raw and cut.kind is not CutKind.TRIM:
            out.append(Caution.RAW)
    elif any(p.mark.is_raw for p in how.marks):
        out.append(Caution.RAW)
    if cut.kind is CutKind.SHAPE:
        pairs = list(zip((parts.left, parts.right), made, strict=True))
        if any(len(part.corners) == 3 and one.kind is LeafKind.CULLET for part, one in pairs):
            out.append(Caution.CORNER)
        elif any(_tapers(part, parts.score) for part, _ in pairs):
            out.append(Caution.TAPER)
        strips = [part for part, one in pairs if one.kind is LeafKind.CULLET and len(part.corners) > 3]
        if Caution.NARROW not in out and any(_is_slim(part, parts.score) for part in strips):
            out.append(Caution.NARROW)
        if any(_has_point(part) for part, one in pairs if one.kind is not LeafKind.CULLET):
            out.append(Caution.POINT)
    if any(one.mirrored for one in made):
        out.append(Caution.TURN)
    return tuple(out)


def _is_slim(part: Piece, score: tuple[Corner, Corner]) -> bool:
    """Whether what comes off beside a score is narrower than people break off well."""
    (x, y), (ex, ey) = score
    long2 = (ex - x) ** 2 + (ey - y) ** 2
    return max(side_of(*score, p) ** 2 for p in part.corners) < NARROW * NARROW * long2


def _tapers(part: Piece, score: tuple[Corner, Corner]) -> bool:
    """Whether the part runs to a sharp point at an end of the score."""
    ends = [i for i, p in enumerate(part.corners) if p in score]
    return any(_is_sharp(part, i) for i in ends)


def _has_point(part: Piece) -> bool:
    return any(_is_sharp(part, i) for i in range(len(part.corners)))


def _is_sharp(part: Piece, i: int) -> bool:
    """Whether the corner has less than 60 degrees."""
    (px, py), (x, y), (qx, qy) = (part.corners[k % len(part.corners)] for k in (i - 1, i, i + 1))
    ux, uy, vx, vy = px - x, py - y, qx - x, qy - y
    dot = ux * vx + uy * vy
    # the cosine of 60 degrees is a half
    return dot > 0 and 4 * dot * dot > (ux * ux + uy * uy) * (vx * vx + vy * vy)
