"""A sheet cut up anew with its own panels and some more; and a piece of a half cut sheet likewise.

A piece of which main cuts of some level made a rectangle is a small sheet of its own: it keeps the raw
sides of the sheet that it lies on, and has the levels that are left. What it is cut into takes its place
in the tree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..assemble import Hands
from ..cut_tree import build_layout, waste_of
from ..joint_blanks import needs_company
from ..optimizer.instance import build
from ..optimizer.pattern import leftovers
from ..optimizer.runner import Counter, Runner
from ..panels import Panel
from ..plan import Cut, CutKind, Layout
from ..rules import Rules
from ..stock import StockPiece
from .tree import Spot, X, axis_of, descendants, ordered, raw_sides, spots_of, waste_leaf

TRIES = ((60, 0.1), (200, 0.03))
"""Width of the beam and constant of its guide, tried in turn."""


def cut_anew(
    panels: Sequence[Panel],
    piece: StockPiece,
    rules: Rules,
    counter: Counter,
    *,
    frames: int = 3,
    number: int = 1,
) -> Layout | None:
    """One sheet that holds all of the panels, or None where none was found; of several that with the largest rest.

    Parameters
    ----------
    panels
        All of the glass of the sheet.
    piece
        The sheet.
    rules
        Of the glass.
    counter
        Receives the nodes of the beams.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    number
        Of the layout.
    """
    if not panels or piece.inner_width <= 0 or piece.inner_height <= 0:
        return None
    if 2 * piece.inner_width * piece.inner_height < sum(p.cut_area2 for p in panels):
        return None
    angled = [p for p in panels if not p.is_rectangle]
    if any(needs_company(p, rules) for p in angled):
        return None
    instance = build(panels, [piece], rules, groups=len(angled) > 1)
    runner = Runner(instance, counter)
    part = runner.part(instance.demand)
    best = None
    for width, lean in TRIES:
        for frame in (1, 2):
            if not frames & frame:
                continue
            found = runner.run(part, [0], value=runner.value(1.0), lean=lean, width=width, frames=frame)
            if found and len(found) == 1:
                rest = leftovers(found[0], instance)
                key = (-sum(rest), frame)
                if best is None or key < best[0]:
                    best = key, found[0]
        if best is not None:
            break
    if best is None:
        return None
    pattern = best[1]
    keep = {w.index for w in waste_of(pattern, instance, 0)}
    return build_layout(pattern, instance, Hands(instance).draw(instance), keep, number, False)


def as_stock(layout: Layout) -> StockPiece:
    """The sheet of a layout as a stock piece of which there is one."""
    return StockPiece(
        name=layout.stock,
        glass=layout.glass,
        width=layout.width,
        height=layout.height,
        is_offcut=layout.is_offcut,
        raw=layout.raw,
        trim=layout.trim,
        cost=layout.cost,
        on_hand=1,
    )


def sheet_cut_anew(layout: Layout, panels: Sequence[Panel], rules: Rules, counter: Counter) -> Layout | None:
    """The sheet of a layout cut up anew for these panels."""
    if layout.flaws:
        return None
    made = cut_anew(panels, as_stock(layout), rules, counter, number=layout.number)
    return made and replace(made, buy=layout.buy, day=layout.day)


def piece_cut_anew(
    layout: Layout, spot: Spot, panels: Sequence[Panel], rules: Rules, counter: Counter
) -> Layout | None:
    """The layout with one piece cut up anew for these panels, which are all that it holds.

    Parameters
    ----------
    layout
        The sheet.
    spot
        A piece of it.
    panels
        What is to come out of it; none: it is waste.
    rules
        Of the glass.
    counter
        Receives the nodes of the beams.
    """
    if spot.closed or layout.flaws:
        return None
    if not panels:
        return _grafted(layout, spot, None, rules)
    best = None
    for frame, axis in ((1, 0), (2, 1)):
        levels = rules.levels
        if levels is not None:
            levels -= spot.level - (1 if spot.axis in (None, axis) and spot.level else 0)
            if levels not in (2, 3, 4):
                continue
        raw = raw_sides(layout, spot.box)
        piece = StockPiece(
            name=layout.stock,
            glass=layout.glass,
            width=spot.width,
            height=spot.height,
            raw=raw,
            trim=layout.trim.on(raw),
            on_hand=1,
        )
        made = cut_anew(panels, piece, replace(rules, levels=levels), counter, frames=frame)
        if made is None:
            continue
        kept = sum(_area(leaf.outline) for leaf in made.leaves if leaf.offcut or leaf.kind.value == "offcut")
        if best is None or kept > best[0]:
            best = kept, made
    return None if best is None else _grafted(layout, spot, best[1], rules)


def _area(outline: Sequence[tuple[int, int]]) -> int:
    return (outline[2][0] - outline[0][0]) * (outline[2][1] - outline[0][1])


def _grafted(layout: Layout, spot: Spot, small: Layout | None, rules: Rules) -> Layout:
    """The layout with the cuts of a small one in place of those of a piece."""
    below = descendants(layout, spot.piece)
    cuts = [cut for cut in layout.cuts if cut.piece not in below]
    leaves = [leaf for leaf in layout.leaves if leaf.piece not in below]
    if small is None:
        return ordered(layout, cuts, [*leaves, waste_leaf(layout, spot, rules)])
    ox, oy = spot.box[:2]

    def name(piece: str) -> str:
        return spot.piece + piece.removeprefix("s")

    for cut in small.cuts:
        cuts.append(
            replace(
                cut,
                piece=name(cut.piece),
                start=(cut.start[0] + ox, cut.start[1] + oy),
                end=(cut.end[0] + ox, cut.end[1] + oy),
                makes=(name(cut.makes[0]), name(cut.makes[1])),
            )
        )
    for leaf in small.leaves:
        outline = tuple((x + ox, y + oy) for x, y in leaf.outline)
        raw = raw_sides(layout, (*outline[0], *outline[2])) if leaf.kind.value == "offcut" else ()
        leaves.append(replace(leaf, piece=name(leaf.piece), outline=outline, raw=raw))
    whole = ordered(layout, cuts, leaves)
    return replace(whole, cuts=_leveled(whole, rules))


def _leveled(layout: Layout, rules: Rules) -> tuple[Cut, ...]:
    """The cuts with their levels as they are on the whole sheet."""
    spots = spots_of(layout)
    out = []
    for cut in layout.cuts:
        if cut.kind in (CutKind.MAIN, CutKind.LAST):
            spot, axis = spots[cut.piece], axis_of(cut)
            level = 1 if spot.axis is None else spot.level + (spot.axis != axis)
            last = rules.levels is not None and level == rules.levels + 1
            cut = replace(cut, level=level, kind=CutKind.LAST if last else CutKind.MAIN)
        out.append(cut)
    return tuple(out)


__all__ = ["X", "as_stock", "cut_anew", "piece_cut_anew", "sheet_cut_anew"]
