"""Patterns of one instance in the numbers of another, of the same glass under more freedom.

A plan made without a freedom (turning, a level more, one more stock size) can be cut with it too. Given as a
start it makes sure that more freedom never costs more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .optimizer.flawed import suits
from .optimizer.free_pattern import Free, Node
from .optimizer.instance import Instance
from .optimizer.limits import obeys
from .optimizer.pattern import Column, Item, Pattern, Row, Staged, Strip
from .ordered.laid import Laid, Span


class _Unlike(Exception):
    """The other instance has no such sheet, rectangle or length."""


def translated(patterns: Sequence[Pattern], source: Instance, target: Instance) -> list[Pattern] | None:
    """The patterns in the numbers of another instance.

    Parameters
    ----------
    patterns
        A whole plan of `source`.
    source, target
        Of the same panels.

    Returns
    -------
    list of Pattern or None
        None where the target forbids one of them, lacks its stock or the blank of an angled panel, or asks
        for other panels.
    """
    try:
        book = _Book(source, target)
        out = [book.pattern(p) for p in patterns]
    except _Unlike:
        return None
    placed = [0] * len(target.demand)
    taken = [0] * len(target.sheets)
    for p in out:
        taken[p.sheet] += 1
        for t, n in p.uses(target).items():
            placed[t] += n
    there = all(s.piece.buyable or n <= s.piece.on_hand for s, n in zip(target.sheets, taken, strict=True))
    ruled = all(isinstance(p, Staged) and obeys(p, target) for p in out) or not target.ruled
    there = there and all(suits(p, target) for p in out)
    fits = there and ruled and placed == list(target.demand)
    return out if fits else None


class _Book:
    """From the numbers of one instance to those of another."""

    def __init__(self, source: Instance, target: Instance) -> None:
        self.source, self.target = source, target
        sheets = {s.piece.name: k for k, s in enumerate(target.sheets)}
        self.sheets = [sheets.get(s.piece.name) for s in source.sheets]
        kind_of = {p.id: t for t, kind in enumerate(target.types) for p in kind.panels}
        found: dict[tuple[tuple[tuple[int, int], ...], int, int], int] = {}
        for r, rect in enumerate(target.rects):
            low, high = sorted((rect.width * target.unit, rect.height * target.unit))
            found.setdefault((rect.uses, low, high), r)
        self.rects: list[int | None] = []
        for rect in source.rects:
            low, high = sorted((rect.width * source.unit, rect.height * source.unit))
            uses = [(kind_of.get(source.types[t].panels[0].id, -1), n) for t, n in rect.uses]
            self.rects.append(found.get((tuple(sorted(uses)), low, high)))

    def length(self, old: int) -> int:
        new, rest = divmod(old * self.source.unit, self.target.unit)
        if rest:
            raise _Unlike
        return new

    def pattern(self, old: Pattern) -> Pattern:
        sheet = self.sheets[old.sheet]
        if sheet is None:
            raise _Unlike
        if isinstance(old, Free):
            return Free(sheet, old.frame, self._node(old.tree))
        if isinstance(old, Laid):
            if self.source.sheets[old.sheet].piece.flaws != self.target.sheets[sheet].piece.flaws:
                raise _Unlike
            return Laid(sheet, old.frame, tuple(self._span(s) for s in old.strips))
        if not isinstance(old, Staged):
            raise _Unlike
        return Staged(sheet, old.frame, tuple(self._strip(s) for s in old.strips))

    def _strip(self, old: Strip) -> Strip:
        rows = []
        for row in old.rows:
            columns = tuple(
                Column(self.length(c.width), tuple(self._item(i) for i in c.items)) for c in row.columns
            )
            rows.append(Row(self.length(row.height), row.open, columns))
        return Strip(self.length(old.width), old.open, tuple(rows))

    def _item(self, old: Item) -> Item:
        return Item(self._rect(old.rect), self.length(old.width), self.length(old.height))

    def _rect(self, old: int) -> int:
        new = self.rects[old] if old < len(self.rects) else None
        if new is None:
            raise _Unlike
        return new

    def _span(self, old: Span) -> Span:
        rect = old.rect if old.rect < 0 else self._rect(old.rect)
        return Span(self.length(old.end), rect, tuple(self._span(p) for p in old.parts))

    def _node(self, old: Node) -> Node:
        return replace(
            old,
            width=self.length(old.width),
            height=self.length(old.height),
            rect=old.rect if old.rect < 0 else self._rect(old.rect),
            parts=tuple(self._node(p) for p in old.parts),
        )
