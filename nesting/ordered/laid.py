"""A pattern with waste wherever it must be: before a flaw, below a row, beside a column.

Level by level a piece is divided along one axis into spans from near to far; the axis changes with every
level. The first spans are strips along the first cuts of the sheet's frame, in its inner area.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from ..optimizer.instance import Instance
from ..optimizer.pattern import Item, Pattern

WASTE: Final = -1
X, Y = 0, 1


@dataclass(frozen=True, slots=True)
class Span:
    """What lies between the end of the span before it and `end`, along the axis of its level.

    Either divided further across (`parts`), or the rectangle `rect`, or waste. [search units]
    """

    end: int
    rect: int = WASTE
    parts: tuple[Span, ...] = ()

    @property
    def is_waste(self) -> bool:
        """Whether nothing lies in it."""
        return not self.parts and self.rect == WASTE


@dataclass(frozen=True, slots=True)
class Laid(Pattern):
    """A pattern of spans; the last span of each level ends at the far side of what is divided.

    A strip is waste, or divided, if only into one row of its whole height. A rectangle has exactly the size of
    its span. What is cut comes off in the order of the spans, each cut up before the next is taken off.
    """

    strips: tuple[Span, ...]

    def items(self) -> list[Item]:
        """All rectangles, in cutting order."""
        return [Item(rect, x1 - x0, y1 - y0) for rect, (x0, y0, x1, y1) in self.places()]

    def places(self) -> list[tuple[int, tuple[int, int, int, int]]]:
        """Rectangles with their boxes in the inner area of the frame, in cutting order. [search units]"""
        return [(span.rect, box) for span, box in self._leaves() if span.rect != WASTE]

    def _leaves(self, depth: int = 0) -> Iterator[tuple[Span, tuple[int, int, int, int]]]:
        for near, strip in zip((0, *(s.end for s in self.strips)), self.strips, strict=False):
            if strip.parts:
                yield from _walk(strip.parts, Y, (near, 0, strip.end, strip.parts[-1].end))
            else:
                yield strip, (near, 0, strip.end, depth)

    def waste(self, instance: Instance) -> list[tuple[int, int]]:
        """Width and height of the waste rectangles that may be kept. [nm]"""
        unit, trim = instance.unit, instance.sheets[self.sheet].piece.trim
        length, depth = self.frame_size(instance)
        near = (trim.left, trim.bottom) if self.frame == 0 else (trim.bottom, trim.left)
        far = (trim.right, trim.top) if self.frame == 0 else (trim.top, trim.right)
        out = []
        # a near trim stays with waste that is taken off before the trim is cut: a strip, or the first row
        rows = [s.parts[0] for s in self.strips if s.parts]
        for span, (x0, y0, x1, y1) in self._leaves(depth):
            if span.is_waste:
                strip = any(span is s for s in self.strips)
                low = strip or any(span is r for r in rows)
                width = (
                    (x1 - x0) * unit + (near[X] if strip and x0 == 0 else 0) + (far[X] if x1 == length else 0)
                )
                height = (
                    (y1 - y0) * unit + (near[Y] if low and y0 == 0 else 0) + (far[Y] if y1 == depth else 0)
                )
                out.append((width, height))
        return out


def _walk(
    spans: tuple[Span, ...], axis: int, box: tuple[int, int, int, int]
) -> Iterator[tuple[Span, tuple[int, int, int, int]]]:
    at = box[axis]
    for span in spans:
        x0, y0, x1, y1 = box
        inner = (at, y0, span.end, y1) if axis == X else (x0, at, x1, span.end)
        if span.parts:
            yield from _walk(span.parts, 1 - axis, inner)
        else:
            yield span, inner
        at = span.end
