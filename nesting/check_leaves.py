"""Checks the leaves of one replayed sheet: what they are, how wide, and whether they may be there."""

from __future__ import annotations

from . import check_geometry as g
from .check_replay import InHand, Replayed, Report
from .panels import Panel, Turn
from .plan import Layout, Leaf, LeafKind
from .rules import Rules
from .stock import Side
from .text import tr
from .units import NM2_PER_MM2, show

CONGRUENT = 1000
"""A panel's corners lie this near to their place; a blank's sides this near to a panel. [nm]"""
ANGLED = 1000
"""An angled leaf may be this much narrower than the rule, since its corners are rounded. [nm]"""
STATED = 250
"""A stated angled outline is the replay, rounded, with corners that lie side by side as one; a rectangle is
exact. [nm]"""

_STEPS = {Turn.QUARTER: 90, Turn.HALF: 180, Turn.NONE: 360}


def _inner(layout: Layout) -> tuple[int, int, int, int]:
    t = layout.trim
    return t.left, t.bottom, layout.width - t.right, layout.height - t.top


def _sides_kept(layout: Layout, shape: g.Shape) -> tuple[Side, ...]:
    x0, y0, x1, y1 = g.extent(shape)
    touched = {
        Side.LEFT: x0 == 0,
        Side.RIGHT: x1 == layout.width,
        Side.BOTTOM: y0 == 0,
        Side.TOP: y1 == layout.height,
    }
    return tuple(side for side in Side if touched[side] and side in layout.raw)


def check_leaves(
    layout: Layout, done: Replayed, rules: Rules, panels: dict[str, Panel], report: Report
) -> list[str]:
    """Compare the leaves with the replay; the ids of the panels found, in order."""
    stated = {leaf.piece: leaf for leaf in layout.leaves}
    for name in sorted(set(stated) ^ set(done.pieces)):
        report("leaves", tr("piece {piece} is in the leaves or in the replay alone", piece=name), None, name)
    if len(stated) != len(layout.leaves):
        report("leaves", tr("a piece stands twice among the leaves"), None, None)
    total: g.Number = 0
    found = []
    for leaf in layout.leaves:
        hand = done.pieces.get(leaf.piece)
        if hand is None:
            continue

        def bad(rule: str, text: str, leaf: Leaf = leaf) -> None:
            report(rule, text, None, leaf.piece)

        total += g.double_area(leaf.outline)
        slack = 0 if g.box_sides(hand.shape) else STATED
        if not g.same_shape(leaf.outline, g.rounded(hand.shape), slack):
            bad("leaf outline", tr("the stated outline is not that of the replay"))
        if leaf.kind is not LeafKind.PANEL and leaf.panel is not None:
            bad("leaves", tr("{kind} cannot be panel {panel}", kind=leaf.kind.value, panel=leaf.panel))
        narrow = waste = False
        if leaf.kind is LeafKind.PANEL:
            panel = panels.get(leaf.panel or "")
            if panel is None:
                bad("leaves", tr("there is no panel {panel}", panel=leaf.panel))
                continue
            found.append(panel.id)
            _panel(layout, leaf, hand, panel, report)
            narrow = panel.narrow
        elif leaf.kind is LeafKind.OFFCUT:
            _offcut(layout, leaf, hand, rules, report)
            waste = True
        else:
            narrow = _cullet_excused(layout, hand, rules)
            waste = not narrow
        if waste and rules.least_waste > rules.break_out and _slimmer(hand.shape, rules.least_waste):
            bad("least waste", tr("narrower than the least waste {least}", least=show(rules.least_waste)))
        if not narrow and _slimmer(hand.shape, rules.break_out):
            bad(
                "break-out distance",
                tr("the piece is narrower than the break-out distance {least}", least=show(rules.break_out)),
            )
    area_slack = 0 if all(g.box_sides(leaf.outline) for leaf in layout.leaves) else 2 * NM2_PER_MM2
    if not -area_slack <= total - 2 * layout.width * layout.height <= area_slack:
        report("areas", tr("the leaves do not add up to the sheet"), None, None)
    _blanks(layout, done, panels, report)
    _last_cuts(done, stated, report)
    return found


def _panel(layout: Layout, leaf: Leaf, hand: InHand, panel: Panel, report: Report) -> None:
    def bad(rule: str, text: str) -> None:
        report(rule, text, None, leaf.piece)

    if panel.glass != layout.glass:
        bad("glass", tr("{panel} is of {glass}", panel=panel.id, glass=panel.glass))
    if panel.from_stock not in (None, layout.stock):
        bad("from stock", tr("{panel} is to be cut from {stock}", panel=panel.id, stock=panel.from_stock))
    step = _STEPS.get(panel.turn)
    if step is not None and leaf.turned % (step * 10**9):
        bad("turn", tr("{panel} may not be turned so", panel=panel.id))
    if leaf.mirrored and not panel.mirror:
        bad("mirror", tr("{panel} may not be cut mirror-image", panel=panel.id))
    if not g.fits_by_shift(g.moved(panel.cut, leaf.turned, leaf.mirrored), hand.shape, CONGRUENT):
        bad("panel outline", tr("the piece is not {panel} as stated", panel=panel.id))
    x0, y0, x1, y1 = g.extent(hand.shape)
    inner = _inner(layout)
    if x0 < inner[0] or y0 < inner[1] or x1 > inner[2] or y1 > inner[3]:
        bad("panel in the trim", tr("{panel} lies in the trim of a raw side", panel=panel.id))
    for flaw in layout.flaws:
        fx0, fy0, fx1, fy1 = g.flaw_box(flaw)
        overlap: g.Shape = ((fx0, fy0), (fx1, fy0), (fx1, fy1), (fx0, fy1))
        n = len(hand.shape)
        for i in range(n):
            if len(overlap) > 2:
                overlap, _ = g.halves(overlap, hand.shape[i], hand.shape[(i + 1) % n])
        if len(overlap) > 2 and g.double_area(overlap) > 0:
            bad("flaw", tr("{panel} lies over a flaw", panel=panel.id))


def _offcut(layout: Layout, leaf: Leaf, hand: InHand, rules: Rules, report: Report) -> None:
    if not g.box_sides(hand.shape):
        report("offcut", tr("an offcut is a rectangle"), None, leaf.piece)
        return
    x0, y0, x1, y1 = g.extent(hand.shape)
    size = sorted((x1 - x0, y1 - y0))
    if size[0] < min(rules.least_offcut) or size[1] < max(rules.least_offcut):
        report("offcut", tr("smaller than the least offcut"), None, leaf.piece)
    if set(leaf.raw) != set(_sides_kept(layout, hand.shape)):
        report("offcut", tr("its raw sides are not those it keeps"), None, leaf.piece)


def _cullet_excused(layout: Layout, hand: InHand, rules: Rules) -> bool:
    """Whether cullet may be narrower than the break-out distance: at a raw side, or a corner."""
    x0, y0, x1, y1 = g.extent(hand.shape)
    for side in _sides_kept(layout, hand.shape):
        axis = 0 if side in (Side.LEFT, Side.RIGHT) else 1
        at = {Side.LEFT: 0, Side.BOTTOM: 0, Side.RIGHT: layout.width, Side.TOP: layout.height}[side]
        on = [p[1 - axis] for p in hand.shape if p[axis] == at]
        deep = (x1 - x0, y1 - y0)[axis]
        if deep >= getattr(layout.trim, side.value) and max(on) - min(on) >= rules.break_out:
            return True
    if hand.blank is None or hand.score is None or _slimmer(hand.shape, rules.corner_depth):
        return False
    return not _sharp_end(hand, rules.least_angle)


def _slimmer(shape: g.Shape, distance: int) -> bool:
    return g.slimmer(shape, distance if g.box_sides(shape) else distance - ANGLED)


def _sharp_end(hand: InHand, least_angle: int) -> bool:
    """Whether the corner meets its score at less than the least angle."""
    if hand.score is None:
        return False
    shape = g.tidy(hand.shape)
    a, b = hand.score
    n = len(shape)
    on = [i for i in range(n) if g.on_border((a, b, a), shape[i], 2)]
    for i in on:
        for j in on:
            if i == j:
                continue
            for k in ((i - 1) % n, (i + 1) % n):
                if k not in on and g.sharper(shape[i], shape[j], shape[k], least_angle):
                    return True
    return False


def _blanks(layout: Layout, done: Replayed, panels: dict[str, Panel], report: Report) -> None:
    by_blank: dict[str, list[Leaf]] = {name: [] for name in done.blanks}
    for leaf in layout.leaves:
        hand = done.pieces.get(leaf.piece)
        if hand is not None and hand.blank is not None and leaf.kind is LeafKind.PANEL:
            by_blank[hand.blank].append(leaf)
    for name, leaves in by_blank.items():
        angled = [x for x in leaves if x.panel in panels and not g.box_sides(panels[x.panel].cut)]
        if not angled:
            report("shape cut", tr("the blank holds rectangles only"), None, name)
            continue
        corners = [p for leaf in leaves for p in done.pieces[leaf.piece].shape]
        bx, cx = g.extent(done.blanks[name]), g.extent(corners)
        if not all(-CONGRUENT <= b - c <= CONGRUENT for b, c in zip(bx, cx, strict=True)):
            report("shape cut", tr("a side of the blank is touched by no panel"), None, name)


def _last_cuts(done: Replayed, stated: dict[str, Leaf], report: Report) -> None:
    for cut in done.last_cuts:
        kinds = [stated[m].kind if m in stated else None for m in cut.makes]
        waste = kinds.count(LeafKind.CULLET)
        blank = [m in done.blanks for m in cut.makes]
        freed = [k in (LeafKind.PANEL, LeafKind.OFFCUT) or b for k, b in zip(kinds, blank, strict=True)]
        if waste != 1 or sum(freed) != 1:
            report(
                "last cut", tr("a last cut frees one panel, blank or offcut from waste"), cut.step, cut.piece
            )
