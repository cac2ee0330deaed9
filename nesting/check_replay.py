"""Replays the cuts of one sheet: what each makes, at which level, and whether it may be made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from . import check_geometry as g
from .plan import Cut, CutKind, Layout
from .rules import Rules
from .stock import Side
from .text import tr
from .units import show

ON_BORDER = 2
"""The ends of a cut lie this near to the border of the piece. [nm]"""
AT_END = 1000
"""A cut begins and ends this near to where its line crosses the border, however slanting. [nm]"""

Report = Callable[[str, str, int | None, str | None], None]
"""Takes a rule word, a text, a step and a piece."""


@dataclass(frozen=True, slots=True)
class InHand:
    """A piece: its shape, level and direction of the last main cut, and the blank it lies in.

    `score` is the exact line along which it came off.
    """

    shape: g.Shape
    level: int = 0
    direction: int | None = None
    blank: str | None = None
    closed: bool = False
    score: tuple[g.Vertex, g.Vertex] | None = None


@dataclass(slots=True)
class Replayed:
    """The pieces that are never cut again, the blanks, and the last cuts with what they make.

    `hands` holds every piece that came to hand, `parents` what each was cut from, and `levels` the level of the
    main cut through a piece.
    """

    pieces: dict[str, InHand]
    blanks: dict[str, g.Shape]
    last_cuts: list[Cut]
    hands: dict[str, InHand]
    parents: dict[str, str]
    levels: dict[str, int]


def _axis(cut: Cut) -> int | None:
    """0 for a vertical cut, 1 for a horizontal one, None for an angled one."""
    if cut.start[0] == cut.end[0]:
        return 0
    return 1 if cut.start[1] == cut.end[1] else None


def _trims(layout: Layout, cut: Cut, shape: g.Shape, axis: int) -> bool:
    """Whether the cut lies at the trim distance of a raw side that the piece still has."""
    trim = layout.trim
    x0, y0, x1, y1 = g.extent(shape)
    sides = (
        (Side.LEFT, 0, trim.left, trim.left, x0 == 0),
        (Side.RIGHT, 0, layout.width - trim.right, trim.right, x1 == layout.width),
        (Side.BOTTOM, 1, trim.bottom, trim.bottom, y0 == 0),
        (Side.TOP, 1, layout.height - trim.top, trim.top, y1 == layout.height),
    )
    return any(
        side in layout.raw and axis == a and cut.start[a] == at and distance > 0 and has
        for side, a, at, distance, has in sides
    )


def replay(layout: Layout, rules: Rules, report: Report) -> Replayed:
    """Start from the sheet and apply every cut.

    Parameters
    ----------
    layout
        The sheet and its cuts.
    rules
        Of its glass.
    report
        Receives every violation.
    """
    wide, high = layout.width, layout.height
    pieces: dict[str, InHand] = {"s": InHand(((0, 0), (wide, 0), (wide, high), (0, high)))}
    used = {"s"}
    hands, parents, levels = dict(pieces), dict[str, str](), dict[str, int]()
    barred = [g.flaw_box(f) for f in (*layout.flaws, *(spot.box for spot in layout.spots))]
    blanks: dict[str, g.Shape] = {}
    last_cuts: list[Cut] = []
    level1: list[tuple[int, int]] = []
    for number, cut in enumerate(layout.cuts, 1):

        def bad(rule: str, text: str, cut: Cut = cut) -> None:
            report(rule, text, cut.step, cut.piece)

        if cut.step != number:
            bad("steps", tr("step {step} stands in place {place}", step=cut.step, place=number))
        if cut.piece not in pieces:
            bad("piece in hand", tr("piece {piece} is not in hand", piece=cut.piece))
            continue
        if cut.start == cut.end:
            bad("cut line", tr("the cut has no length"))
            continue
        hand = pieces.pop(cut.piece)
        for end in (cut.start, cut.end):
            if not g.on_border(hand.shape, end, ON_BORDER):
                bad(
                    "cut line",
                    tr("the end {x}, {y} is not on the border of the piece", x=show(end[0]), y=show(end[1])),
                )
        left, right = g.halves(hand.shape, cut.start, cut.end)
        if len(left) < 3 or len(right) < 3 or g.double_area(left) <= 0 or g.double_area(right) <= 0:
            bad("cut line", tr("the cut leaves nothing on one side"))
            pieces[cut.piece] = hand
            continue
        score = g.chord(left, right, cut.start, cut.end)
        for end, crossing in zip((cut.start, cut.end), score, strict=True):
            if not g.near(end, crossing, AT_END):
                bad("cut line", tr("the cut does not run from edge to edge of the piece"))
        if any(g.enters(*score, box) for box in barred):
            bad("flaw", tr("the cut crosses a flaw"))
        _length(cut, rules, bad)
        level, direction, blank, closed = hand.level, hand.direction, hand.blank, hand.closed
        axis = _axis(cut)
        if blank is not None and cut.kind is not CutKind.SHAPE:
            bad("shape cut", tr("after a shape cut only shape cuts may follow"))
        if cut.kind is CutKind.SHAPE:
            if cut.level is not None:
                bad("level", tr("a shape cut has no level"))
            if blank is None:
                blank = cut.piece
                blanks[blank] = hand.shape
                if not g.box_sides(hand.shape):
                    bad("shape cut", tr("the blank is no rectangle"))
        elif axis is None:
            bad("cut line", tr("a {kind} cut runs parallel to a side of the sheet", kind=cut.kind.value))
        elif cut.kind is CutKind.TRIM:
            if cut.level != 0:
                bad("level", tr("a trim has level 0"))
            if not _trims(layout, cut, hand.shape, axis):
                bad("trim", tr("this is not the trim of a raw side of the piece"))
            if closed:
                bad("last cut", tr("after a last cut only shape cuts may follow"))
        else:
            level = 1 if direction is None else level + (direction != axis)
            direction = axis
            if closed:
                bad("last cut", tr("after a last cut only shape cuts may follow"))
            if cut.level != level:
                bad(
                    "level",
                    tr("the cut says level {stated}, its level is {level}", stated=cut.level, level=level),
                )
            levels[cut.piece] = level
            if level == 1:
                level1.append((axis, cut.start[axis]))
            if cut.kind is CutKind.LAST:
                if not rules.last_cut or rules.levels is None or level != rules.levels + 1:
                    bad("last cut", tr("no last cut is allowed at level {level}", level=level))
                closed = True
                last_cuts.append(cut)
            elif rules.levels is not None and level > rules.levels:
                bad("level", tr("level {level} is beyond the {most} allowed", level=level, most=rules.levels))
        for name, part in zip(cut.makes, (left, right), strict=True):
            if name in used:
                bad("piece in hand", tr("the name {name} stands for two pieces", name=name))
            pieces[name] = InHand(part, level, direction, blank, closed, score)
            if name not in used:  # else a piece could be a part of itself
                parents[name], hands[name] = cut.piece, pieces[name]
            used.add(name)
    _level1_gaps(level1, rules, report)
    return Replayed(pieces, blanks, last_cuts, hands, parents, levels)


def _length(cut: Cut, rules: Rules, bad: Callable[[str, str], None]) -> None:
    long2 = (cut.end[0] - cut.start[0]) ** 2 + (cut.end[1] - cut.start[1]) ** 2
    if rules.longest_cut is not None and long2 > rules.longest_cut**2:
        bad("longest cut", tr("the score is longer than {most}", most=show(rules.longest_cut)))
    angled = rules.longest_angled_cut
    if angled is not None and _axis(cut) is None and long2 > angled**2:
        bad("longest angled cut", tr("the angled score is longer than {most}", most=show(angled)))


def _level1_gaps(level1: list[tuple[int, int]], rules: Rules, report: Report) -> None:
    least, most = rules.level1_gap
    for axis in (0, 1):
        at = sorted(p for a, p in level1 if a == axis)
        for p, q in pairwise(at):
            if q - p < least or (most is not None and q - p > most):
                report(
                    "level-1 distance",
                    tr("two level-1 cuts are {distance} apart", distance=show(q - p)),
                    None,
                    None,
                )
