"""How easy a pattern is to cut, roughly: measures to set, turns and cuts, while the search goes on.

A guide for choosing among plans of equal cost, in milliseconds of the built-in rates; what is really
asked of the table is worked out once, for the few plans that are left in the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..ordered.laid import Laid, Span
from .free_pattern import Free, Node
from .pattern import Pattern, Staged

SETTING = 8_000
TURN = 5_000
CUT = 6_000
MOST = 24
"""Plans of equal cost that are kept."""


def ease_of(pattern: Pattern) -> int:
    """Time to cut a sheet up, roughly; less is easier. [ms]"""
    if isinstance(pattern, Free):
        return _of_node(pattern.tree)
    if isinstance(pattern, Laid):
        return _of_spans(pattern.strips)
    if not isinstance(pattern, Staged):
        return 0
    measures: set[int] = set()
    turns = cuts = 0
    for strip in pattern.strips:
        measures.add(strip.width)
        turns += len(strip.rows) > 1
        cuts += len(strip.rows)
        for row in strip.rows:
            measures.add(row.height)
            turns += len(row.columns) > 1
            cuts += len(row.columns)
            for column in row.columns:
                measures.add(column.width)
                cuts += len(column.items)
                for item in column.items:
                    measures.add(item.height)
                    if item.width != column.width:
                        measures.add(item.width)
                        cuts += 1
    return SETTING * len(measures) + TURN * turns + CUT * (cuts + len(pattern.strips))


def _of_spans(strips: Sequence[Span]) -> int:
    measures: set[int] = set()
    turns = cuts = 0
    todo = [strips]
    while todo:
        spans = todo.pop()
        cuts += len(spans) - 1
        near = 0
        for span in spans[:-1]:
            measures.add(span.end - near)
            near = span.end
        inside = [s.parts for s in spans if s.parts]
        turns += len(inside)
        todo += inside
    return SETTING * len(measures) + TURN * turns + CUT * cuts


def _of_node(tree: Node) -> int:
    measures: set[int] = set()
    turns = cuts = 0
    todo: list[tuple[Node, int]] = [(tree, tree.axis)]
    while todo:
        node, axis = todo.pop()
        if not node.parts:
            continue
        cuts += 1
        turns += node.axis != axis
        near = node.parts[0]
        measures.add((near.width, near.height)[node.axis])
        todo += [(part, node.axis) for part in node.parts]
    return SETTING * len(measures) + TURN * turns + CUT * cuts


def easy_ways(
    levels: int, fills: Sequence[tuple[int, float, int]]
) -> Iterator[tuple[int | None, int, float, int]]:
    """Levels, frames, exponent and beam width of fills that make easy plans: with a level less first."""
    for fewer in (levels - 1, None) if levels in (3, 4) else (None,):
        for frames, exponent, width in fills:
            yield fewer, frames, exponent, width


class Equals:
    """The easiest plans of the least cost so far, at most `MOST` of them."""

    def __init__(self) -> None:
        self._cost: int | None = None
        self._plans: list[tuple[int, int, tuple[int, ...], Sequence[object]]] = []
        self._count = 0

    def wants(self, cost: int, ease: int) -> bool:
        """Whether a plan of this cost [1/10,000 of the currency] would be kept."""
        if self._cost is None or cost < self._cost:
            return True
        return cost == self._cost and (len(self._plans) < MOST or ease < self._plans[-1][0])

    def add(self, cost: int, ease: int, plan: Sequence[object]) -> None:
        """Keep a plan; a cheaper one ends all others."""
        if not self.wants(cost, ease):
            return
        if cost != self._cost:
            self._cost, self._plans = cost, []
        # sheets are told apart by identity: a plan holds the very sheets of the one that it was made from
        same = tuple(sorted(id(sheet) for sheet in plan))
        if any(known == same for _, _, known, _ in self._plans):
            return
        self._count += 1
        self._plans.append((ease, self._count, same, plan))
        self._plans.sort(key=lambda p: p[:2])
        del self._plans[MOST:]

    def plans(self, cost: int) -> list[Sequence[object]]:
        """The plans of this cost, the easiest first."""
        return [plan for _, _, _, plan in self._plans] if cost == self._cost else []
