"""The cuts of a pattern with waste wherever it must be (`ordered.laid`), in the order of its spans.

A near trim comes off by a cut of its own only where a panel lies behind it; waste there keeps the raw side
and goes in one break. A far trim is cut off each panel that ends at it, so that no longer cut meets a flaw.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .optimizer.pattern import Item
from .ordered.laid import Laid, Span, X, Y
from .plan import CutKind

if TYPE_CHECKING:
    from .cut_tree import Builder, Piece


def lay(builder: Builder, pattern: Laid, sheet: Piece) -> None:
    """Cut up a whole sheet; what is left beyond the last strip goes first if it is kept."""
    stock, unit = builder.instance.sheets[pattern.sheet].piece, builder.instance.unit
    trim, size = stock.trim, pattern.frame_size(builder.instance)
    near = (trim.left, trim.bottom) if pattern.frame == 0 else (trim.bottom, trim.left)
    walk = _Walk(builder, near, tuple(near[axis] + unit * size[axis] for axis in (X, Y)))
    strips = pattern.strips
    if len(strips) < 2 or not strips[-1].is_waste:
        walk.divide(sheet, X, strips)
        return
    work = builder.take_far(sheet, X, near[X] + unit * strips[-2].end)
    rest = walk.divide(work, X, strips[:-1], whole=work is not sheet)
    if rest is not None:
        builder.is_waste(rest, counted=False)


class _Walk:
    def __init__(self, builder: Builder, near: tuple[int, int], ends: tuple[int, ...]) -> None:
        self.builder, self.near, self.ends = builder, near, ends

    def divide(self, piece: Piece, axis: int, spans: tuple[Span, ...], *, whole: bool = True) -> Piece | None:
        """Take the spans off one after the other, each cut up before the next; what is beyond the last one.

        `whole`: the last one is all that is left of the piece then.
        """
        builder = self.builder
        if not spans[0].is_waste:
            piece = builder.trimmed(piece, axis, self.near[axis])
        for n, span in enumerate(spans):
            if whole and n == len(spans) - 1:
                self.cut_up(piece, axis, span)
                return None
            at = self.near[axis] + builder.instance.unit * span.end
            part, piece = builder.cut(piece, axis, at)
            self.cut_up(part, axis, span)
        return piece

    def cut_up(self, piece: Piece, axis: int, span: Span) -> None:
        builder = self.builder
        if span.is_waste:
            builder.is_waste(piece)
            return
        if span.parts:
            self.divide(piece, 1 - axis, span.parts)
            return
        for way in (X, Y):
            if piece.box[way + 2] > self.ends[way]:
                piece, trim = builder.cut(piece, way, self.ends[way], CutKind.TRIM)
                builder.is_waste(trim, counted=False)
        x0, y0, x1, y1 = piece.box
        unit = builder.instance.unit
        builder.is_panel(piece, Item(span.rect, (x1 - x0) // unit, (y1 - y0) // unit))
