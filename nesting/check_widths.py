"""Checks what lies between neighbouring cuts of the first two levels, and that the deepest level is cut once."""

from __future__ import annotations

from . import check_geometry as g
from .check_replay import InHand, Replayed, Report
from .plan import CutKind, Layout, LeafKind
from .rules import Rules
from .text import tr
from .units import show


def check_widths(layout: Layout, done: Replayed, rules: Rules, report: Report) -> None:
    """Hold the widths of level-1 and level-2 parts, and the deepest level, against the rules.

    Parameters
    ----------
    layout
        The sheet.
    done
        Its replay.
    rules
        Of its glass.
    report
        Receives every violation.

    Notes
    -----
    A part of a level is a piece made by a cut of it and not cut at it again: what lies between two neighbouring
    cuts, or between a cut and a side. Its width is taken within the trims. A part that holds no panel is waste.
    A level-1 part that is never cut across is one level-2 part, and a sheet without level-1 cuts is one part
    either way. Levels are those of the replay, whatever the cuts say.
    """
    if rules.deepest_counts:
        _deepest(layout, done, rules, report)
    if rules.level1_width == (0, None) and not rules.level2_width:
        return
    holders = _holders(layout, done)
    first = _parts(done, 1)
    for name in first:
        _first(layout, done.hands[name], name in holders, name, rules, report)
    if not any(hand.level for hand in done.hands.values()):
        _uncut(layout, "s" in holders, rules, report)
    if not rules.level2_width:
        return
    second = _parts(done, 2)
    divided = {up for name in second for up in _upwards(name, done)}
    for name in (*second, *(n for n in first if n not in divided)):
        if name in holders:
            axis = done.hands[name].direction or 0
            wide = _width(layout, done.hands[name], axis if name in second else 1 - axis)
            if wide < rules.level2_width:
                text = tr("{width} between two level-2 cuts", width=show(wide))
                report("level-2 width", text, None, name)


def _first(layout: Layout, hand: InHand, holds: bool, name: str, rules: Rules, report: Report) -> None:
    least, most = rules.level1_width
    axis = hand.direction or 0
    wide = _width(layout, hand, axis)
    far = (layout.width - layout.trim.right, layout.height - layout.trim.top)[axis]
    beyond = not holds and g.extent(hand.shape)[axis + 2] >= far
    if (holds and wide < least) or (most is not None and wide > most and not beyond):
        report("level-1 width", tr("{width} between two level-1 cuts", width=show(wide)), None, name)


def _uncut(layout: Layout, holds: bool, rules: Rules, report: Report) -> None:
    least, most = rules.level1_width
    t = layout.trim
    sizes = (layout.width - t.left - t.right, layout.height - t.bottom - t.top)
    if holds and (max(sizes) < least or (most is not None and min(sizes) > most)):
        text = tr("{width} between two level-1 cuts", width=show(min(sizes)))
        report("level-1 width", text, None, "s")


def _deepest(layout: Layout, done: Replayed, rules: Rules, report: Report) -> None:
    for cut in layout.cuts:
        hand, made = done.hands.get(cut.piece), done.hands.get(cut.makes[0])
        if cut.kind is not CutKind.MAIN or hand is None or made is None:
            continue
        if hand.level == made.level == rules.levels:
            text = tr("a piece made at level {level} is cut at it again", level=hand.level)
            report("deepest level", text, cut.step, cut.piece)


def _upwards(name: str, done: Replayed) -> list[str]:
    """A piece and all those that it was part of."""
    out = [name]
    while (name := done.parents.get(name, "")) != "":
        out.append(name)
    return out


def _holders(layout: Layout, done: Replayed) -> set[str]:
    """The pieces that hold a panel."""
    panels = [leaf.piece for leaf in layout.leaves if leaf.kind is LeafKind.PANEL]
    return {up for name in panels for up in _upwards(name, done)}


def _parts(done: Replayed, level: int) -> list[str]:
    """The pieces made by a cut of a level and not cut at it again."""
    made = [n for n in done.hands if done.levels.get(done.parents.get(n, "")) == level]
    again = {up for n in made for up in _upwards(done.parents[n], done)}
    return [n for n in made if n not in again]


def _width(layout: Layout, hand: InHand, axis: int) -> int:
    t = layout.trim
    low, high = ((t.left, layout.width - t.right), (t.bottom, layout.height - t.top))[axis]
    box = g.extent(hand.shape)
    return round(min(box[axis + 2], high) - max(box[axis], low))
