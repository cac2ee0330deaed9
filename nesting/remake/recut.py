"""A sheet cut up anew with its own panels and some more; and a piece of a half cut sheet likewise.

A piece of which main cuts of some level made a rectangle is a small sheet of its own: it keeps the raw
sides of the sheet that it lies on, and has the levels that are left. What it is cut into takes its place
in the tree.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..assemble import Hands
from ..cut_tree import build_layout, waste_of
from ..flaw_parts import within
from ..joint_blanks import needs_company
from ..optimizer.instance import Instance, build
from ..optimizer.pattern import Pattern, leftovers
from ..optimizer.runner import Counter, Runner
from ..ordered.chains import needs_order
from ..ordered.one_piece import fill
from ..panels import Panel
from ..plan import Cut, CutKind, Layout
from ..rules import Rules
from ..spots import flaws_of
from ..stock import StockPiece
from .tree import Spot, X, axis_of, descendants, ordered, panels_on, raw_sides, spots_of, waste_leaf

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
    around: int | None = None,
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
    around
        Width of the beam where the piece has flaws, or the panels an order.
    """
    if not panels or piece.inner_width <= 0 or piece.inner_height <= 0:
        return None
    if 2 * piece.inner_width * piece.inner_height < sum(p.cut_area2 for p in panels):
        return None
    angled = [p for p in panels if not p.is_rectangle]
    if any(needs_company(p, rules) for p in angled):
        return None
    instance = build(panels, [piece], rules, groups=len(angled) > 1)
    if around is not None or needs_order(panels, [], rules) or piece.flaws:
        found = _around_flaws(instance, counter, around or TRIES[0][0], frames, whole=True)
        return None if found is None else _laid_out(found, instance, number)
    runner = Runner(instance, counter)
    part = runner.part(instance.demand)
    best = None
    for width, lean in TRIES:
        for frame in (1, 2):
            if not frames & frame:
                continue
            tried = runner.run(part, [0], value=runner.value(1.0), lean=lean, width=width, frames=frame)
            if tried and len(tried) == 1:
                rest = leftovers(tried[0], instance)
                key = (-sum(rest), frame)
                if best is None or key < best[0]:
                    best = key, tried[0]
        if best is not None:
            break
    return None if best is None else _laid_out(best[1], instance, number)


def _around_flaws(
    instance: Instance, counter: Counter, width: int, frames: int, *, whole: bool
) -> Pattern | None:
    """A pattern around the flaws of the one sheet, in the order of the racks; with all panels, or with most."""
    return fill(instance, 0, instance.demand, width=width, frames=frames, whole=whole, counter=counter)


def _laid_out(pattern: Pattern, instance: Instance, number: int) -> Layout:
    keep = {w.index for w in waste_of(pattern, instance, 0)}
    return build_layout(pattern, instance, Hands(instance).draw(instance), keep, number, False)


def as_stock(layout: Layout) -> StockPiece:
    """The sheet of a layout, with its flaws, as a stock piece of which there is one."""
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
        flaws=flaws_of(layout),
    )


def sheet_cut_anew(layout: Layout, panels: Sequence[Panel], rules: Rules, counter: Counter) -> Layout | None:
    """The sheet of a layout cut up anew for these panels."""
    made = cut_anew(panels, as_stock(layout), rules, counter, number=layout.number)
    return made and replace(made, buy=layout.buy, day=layout.day)


def piece_cut_anew(
    layout: Layout,
    spot: Spot,
    panels: Sequence[Panel],
    rules: Rules,
    counter: Counter,
    *,
    around: int | None = None,
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
    around
        As in `cut_anew`; the cuts then take the place of those that were there, else they come last.
    """
    if spot.closed:
        return None
    if not panels:
        return piece_wasted(layout, spot, rules)
    best = None
    for frame, piece, held in _as_sheets(layout, spot, rules):
        made = cut_anew(panels, piece, held, counter, frames=frame, around=around)
        if made is None:
            continue
        kept = sum(_area(leaf.outline) for leaf in made.leaves if leaf.offcut or leaf.kind.value == "offcut")
        if best is None or kept > best[0]:
            best = kept, made
    return None if best is None else _grafted(layout, spot, best[1], rules, in_place=around is not None)


def piece_wasted(layout: Layout, spot: Spot, rules: Rules) -> Layout:
    """The layout with a piece of it that is waste."""
    return _grafted(layout, spot, None, rules)


def most_of_piece(
    layout: Layout, spot: Spot, panels: Sequence[Panel], rules: Rules, counter: Counter, width: int
) -> Layout | None:
    """The layout with one piece cut up anew for as many of these panels as a search finds room for."""
    best = None
    alone = [p for p in panels if p.is_rectangle or not needs_company(p, rules)]
    if spot.closed or not alone:
        return None
    for frame, piece, held in _as_sheets(layout, spot, rules):
        if piece.inner_width <= 0 or piece.inner_height <= 0:
            continue
        instance = build(alone, [piece], held, groups=sum(not p.is_rectangle for p in alone) > 1)
        found = _around_flaws(instance, counter, width, frame, whole=False)
        if found is None:
            continue
        small = _laid_out(found, instance, 1)
        on = set(panels_on(small))
        area = sum(p.cut_area2 for p in alone if p.id in on)
        if best is None or area > best[0]:
            best = area, small
    return None if best is None else _grafted(layout, spot, best[1], rules, in_place=True)


def _as_sheets(layout: Layout, spot: Spot, rules: Rules) -> Iterator[tuple[int, StockPiece, Rules]]:
    """A piece as a small sheet, with its flaws and the rules that are left for it, for each way of its first cut."""
    for frame, axis in ((1, 0), (2, 1)):
        levels = rules.levels
        deeper = spot.level - (1 if spot.axis in (None, axis) and spot.level else 0)
        if levels is not None:
            levels -= deeper
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
            flaws=within(flaws_of(layout), spot.box),
        )
        held = replace(rules, levels=levels)
        if deeper:
            first = (rules.level2_width, None) if deeper == 1 else (0, None)
            held = replace(held, level1_width=first, level2_width=0)
        yield frame, piece, held


def _area(outline: Sequence[tuple[int, int]]) -> int:
    return (outline[2][0] - outline[0][0]) * (outline[2][1] - outline[0][1])


def _grafted(
    layout: Layout, spot: Spot, small: Layout | None, rules: Rules, *, in_place: bool = False
) -> Layout:
    """The layout with the cuts of a small one instead of those of a piece: behind all others, or in their place."""
    below = descendants(layout, spot.piece)
    cuts = [cut for cut in layout.cuts if cut.piece not in below]
    # when the piece was cut before, or as soon as it is there
    first = min((c.step for c in layout.cuts if c.piece == spot.piece or spot.piece in c.makes), default=0)
    if any(c.piece == spot.piece for c in layout.cuts):
        first = min(c.step for c in layout.cuts if c.piece == spot.piece)
    behind = [cut for cut in cuts if in_place and cut.step > first]
    cuts = [cut for cut in cuts if not (in_place and cut.step > first)]
    leaves = [leaf for leaf in layout.leaves if leaf.piece not in below]
    if small is None:
        return ordered(layout, [*cuts, *behind], [*leaves, waste_leaf(layout, spot, rules)])
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
    whole = ordered(layout, [*cuts, *behind], leaves)
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


__all__ = ["X", "as_stock", "cut_anew", "most_of_piece", "piece_cut_anew", "piece_wasted", "sheet_cut_anew"]
