"""Which orders lie on which sheets, as bit sets; and how many orders are open at each place of an order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass


def bits(mask: int) -> Iterator[int]:
    """The numbers in a bit set, rising."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def union(masks: Iterable[int]) -> int:
    """The union of bit sets."""
    out = 0
    for mask in masks:
        out |= mask
    return out


def open_at(masks: Sequence[int]) -> list[int]:
    """How many orders are open at each place: those met up to here that are not met for the last time before.

    Parameters
    ----------
    masks
        Orders on the sheet of each place, as bit sets.

    Examples
    --------
    >>> open_at([0b001, 0b110, 0b011])
    [1, 3, 2]
    """
    after = 0
    behind = []
    for mask in reversed(masks):
        after |= mask
        behind.append(after)
    behind.reverse()
    before = 0
    out = []
    for mask, rest in zip(masks, behind, strict=True):
        before |= mask
        out.append((before & rest).bit_count())
    return out


def open_along(sheets: Sequence[Collection[str]]) -> list[int]:
    """How many orders are open at each of these sheets, in this order.

    Examples
    --------
    >>> open_along([{"a"}, {"b"}, {"a"}])
    [1, 2, 1]
    """
    number = {name: i for i, name in enumerate(sorted({name for sheet in sheets for name in sheet}))}
    return open_at([union(1 << number[name] for name in sheet) for sheet in sheets])


@dataclass(frozen=True, slots=True)
class Table:
    """Sheets and orders by number.

    Parameters
    ----------
    names
        Of the orders, sorted; their places are their numbers.
    front
        Orders on the sheets whose places are fixed, as bit sets.
    units
        Sheets with the same orders, which are cut back to back: their indexes, rising.
    masks
        The orders on the sheets of each unit, as bit sets. None is empty.
    idle
        Sheets of no order.
    """

    names: tuple[str, ...]
    front: tuple[int, ...]
    units: tuple[tuple[int, ...], ...]
    masks: tuple[int, ...]
    idle: tuple[int, ...]

    @classmethod
    def of(cls, sheets: Sequence[Collection[str]], front: int) -> Table:
        """The table of these sheets, of which the first `front` stay where they are.

        Equal sheets are one unit. Nothing is lost by that, with due days either: put each before the last of
        its like, and no sheet between them is later, no order closes later, and none is open longer.
        """
        names = sorted({name for sheet in sheets for name in sheet})
        number = {name: i for i, name in enumerate(names)}
        masks = [union(1 << number[name] for name in sheet) for sheet in sheets]
        units: dict[int, list[int]] = {}
        for s in range(front, len(sheets)):
            units.setdefault(masks[s], []).append(s)
        idle = units.pop(0, [])
        return cls(
            names=tuple(names),
            front=tuple(masks[:front]),
            units=tuple(tuple(unit) for unit in units.values()),
            masks=tuple(units),
            idle=tuple(idle),
        )

    @property
    def begun(self) -> int:
        """Orders that are open before the first free place, as a bit set."""
        return union(self.front) & union(self.masks)

    def sheets(self, order: Sequence[int]) -> list[int]:
        """The sheets of units in this order, the fixed ones before and those of no order behind them."""
        free = [s for u in order for s in self.units[u]]
        return [*range(len(self.front)), *free, *self.idle]

    def counts(self, order: Sequence[int]) -> list[int]:
        """Open orders at each free place that has an order, sheet by sheet."""
        free = [self.masks[u] for u in order for _ in self.units[u]]
        return open_at([*self.front, *free])[len(self.front) :]
