"""Patterns that dives choose from, and what each yields of the panels still wanted."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

import numpy as np

from .instance import Instance
from .pattern import Pattern, Staged

FIRST = 256
"""Rows of the table of yields to begin with."""


class Pool:
    """Patterns that can be cut, once each, with what they yield.

    Parameters
    ----------
    instance
        Whose patterns these are.
    """

    def __init__(self, instance: Instance) -> None:
        self._instance = instance
        self.patterns: list[Pattern] = []
        self.uses: list[dict[int, int]] = []
        self.simple: list[bool] = []
        """Whether panels can be left out one by one, whatever is still wanted (see `priced.clipped`)."""
        self._known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self._yields: Any = np.zeros((FIRST, len(instance.types)), np.int64)
        self._areas: Any = np.array(instance.type_area, np.int64)

    def add(self, pattern: Pattern, uses: dict[int, int]) -> None:
        """Take up a pattern unless one with the same yield from the same stock is there."""
        key = (pattern.sheet, tuple(sorted(uses.items())))
        if not uses or key in self._known:
            return
        self._known.add(key)
        number = len(self.patterns)
        if number == len(self._yields):
            self._yields = np.concatenate([self._yields, np.zeros_like(self._yields)])
        self._yields[number, list(uses)] = list(uses.values())
        self.patterns.append(pattern)
        self.uses.append(uses)
        self.simple.append(self._simple(pattern))

    def best(self, rest: Sequence[int], sheets: Collection[int], most: int) -> list[int]:
        """The patterns of these stock sizes that yield most of the rest for their cost, the best first.

        Parameters
        ----------
        rest
            Panels wanted of each type.
        sheets
            Indexes of the stock sizes.
        most
            Number of patterns.
        """
        stock = self._instance.sheets
        areas = np.minimum(self._yields[: len(self.patterns)], np.array(rest, np.int64)) @ self._areas
        ranked = sorted(
            (-area * 10**9 // max(1, stock[pattern.sheet].piece.cost), i)
            for i, (area, pattern) in enumerate(zip(areas.tolist(), self.patterns, strict=True))
            if pattern.sheet in sheets
        )
        return [i for _, i in ranked[:most]]

    def wanted(self, chosen: Sequence[int], rest: Sequence[int]) -> list[Mapping[int, int]]:
        """What each of these patterns yields of the rest."""
        table = np.minimum(self._yields[list(chosen)], np.array(rest, np.int64))
        rows, types = np.nonzero(table)
        out: list[dict[int, int]] = [{} for _ in chosen]
        for row, kind, number in zip(rows.tolist(), types.tolist(), table[rows, types].tolist(), strict=True):
            out[row][kind] = number
        return list(out)

    def _simple(self, pattern: Pattern) -> bool:
        inst = self._instance
        if inst.ruled or not isinstance(pattern, Staged):
            return False
        columns = [c for s in pattern.strips for r in s.rows for c in r.columns]
        return all(
            len(c.items) == 1
            and len(inst.rect(c.items[0].rect).uses) == 1
            and inst.rect(c.items[0].rect).uses[0][1] == 1
            and c.items[0].width == c.width
            and min(c.items[0].width, c.items[0].height) >= inst.break_out
            for c in columns
        )
