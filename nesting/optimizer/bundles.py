"""The exact partition of an order into groups, as a problem of rectangles: what the search starts from.

Nine tenths of what groups save is saved by the partition of least area alone; choosing groups anew while
sheets are filled is the rest. So every search of angled panels begins with plans of the partition's
blanks, beside plans in which every panel has a blank of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..angled.partition import least_partition
from ..ordered.laid import Laid, Span
from .free_pattern import Free, Node
from .instance import Instance, Rect, build_arrays
from .pattern import Item, Pattern, Staged


@dataclass(frozen=True, slots=True)
class Bundled:
    """An instance whose types are the groups of a partition, and its rectangles by those of the whole."""

    instance: Instance
    rects: tuple[int, ...]

    def patterns(self, found: Sequence[Pattern]) -> list[Pattern]:
        """Patterns of the bundles in the numbers of the whole instance."""
        return [self._pattern(p) for p in found]

    def _pattern(self, pattern: Pattern) -> Pattern:
        if isinstance(pattern, Staged):
            return replace(
                pattern,
                strips=tuple(
                    replace(
                        s,
                        rows=tuple(
                            replace(
                                r,
                                columns=tuple(
                                    replace(c, items=tuple(self._item(i) for i in c.items)) for c in r.columns
                                ),
                            )
                            for r in s.rows
                        ),
                    )
                    for s in pattern.strips
                ),
            )
        if isinstance(pattern, Laid):
            return replace(pattern, strips=tuple(self._span(s) for s in pattern.strips))
        if isinstance(pattern, Free):
            return replace(pattern, tree=self._node(pattern.tree))
        raise TypeError(type(pattern).__name__)

    def _item(self, item: Item) -> Item:
        return replace(item, rect=self.rects[item.rect])

    def _span(self, span: Span) -> Span:
        rect = span.rect if span.rect < 0 else self.rects[span.rect]
        return replace(span, rect=rect, parts=tuple(self._span(p) for p in span.parts))

    def _node(self, node: Node) -> Node:
        return replace(
            node,
            rect=node.rect if node.rect < 0 else self.rects[node.rect],
            parts=tuple(self._node(p) for p in node.parts),
        )


def bundled(instance: Instance, demand: Sequence[int]) -> Bundled | None:
    """The partition of least area as an instance; None where there are no groups or none was found.

    Parameters
    ----------
    instance
        With groups.
    demand
        Panels of each type.
    """
    kinds = [t for t, n in enumerate(demand) if n and instance.types[t].angled]
    if not instance.grouped or not kinds:
        return None
    at = {t: k for k, t in enumerate(kinds)}
    columns = [r for r, rect in enumerate(instance.rects) if all(t in at for t, _ in rect.uses)]
    columns = [r for r in columns if all(n <= demand[t] for t, n in instance.rects[r].uses)]
    taken = least_partition(
        [demand[t] for t in kinds],
        [
            (
                tuple((at[t], n) for t, n in instance.rects[r].uses),
                instance.rects[r].width * instance.rects[r].height,
            )
            for r in columns
        ],
    )
    if taken is None:
        return None
    types = list(instance.types)
    numbers = [0 if t in at else n for t, n in enumerate(demand)]
    rects: list[Rect] = []
    back: list[int] = []
    for r, rect in enumerate(instance.rects):
        if len(rect.uses) == 1 and rect.uses[0][0] not in at:
            rects.append(rect)
            back.append(r)
    areas = list(instance.type_area)
    bundle: dict[tuple[tuple[int, int], ...], int] = {}
    for r, count in zip(columns, taken, strict=True):
        if count:
            uses = instance.rects[r].uses
            known = bundle.get(uses)
            if known is None:
                known = bundle[uses] = len(types)
                types.append(types[uses[0][0]])
                numbers.append(0)
                areas.append(instance.rects[r].width * instance.rects[r].height)
            numbers[known] += count
    # every blank of the content will do, whichever the partition took
    for r in columns:
        rect = instance.rects[r]
        if rect.uses in bundle:
            rects.append(replace(rect, uses=((bundle[rect.uses], 1),)))
            back.append(r)
            areas[bundle[rect.uses]] = min(areas[bundle[rect.uses]], rect.width * rect.height)
    return Bundled(
        replace(
            instance,
            types=tuple(types),
            rects=tuple(rects),
            demand=tuple(numbers),
            type_area=tuple(areas),
            least_area=tuple(areas),
            own=len(rects),
            found=[],
            arrays=build_arrays(rects, areas),
        ),
        tuple(back),
    )
