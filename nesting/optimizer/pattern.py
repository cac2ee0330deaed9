"""A pattern: what one sheet is cut into. Staged ones are strips, rows, columns and stacked rectangles.

Coordinates are search units in the frame of the sheet's inner area: x runs along the strips. Patterns
without a limit of levels are in `free_pattern`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from . import moves as m
from .instance import Instance
from .limits import obeys, strip_end


@dataclass(frozen=True, slots=True)
class Item:
    """A rectangle in a column: its index, and its frame size."""

    rect: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Column:
    """Rectangles stacked from the bottom of the row; `width` is that of the widest, the first."""

    width: int
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """Columns side by side; `open` when no cut bounds it at the far side."""

    height: int
    open: bool
    columns: tuple[Column, ...]

    @property
    def length(self) -> int:
        """Sum of the column widths."""
        return sum(c.width for c in self.columns)


@dataclass(frozen=True, slots=True)
class Strip:
    """Rows upon one another; `open` when no cut bounds it at the far side."""

    width: int
    open: bool
    rows: tuple[Row, ...]

    @property
    def filled(self) -> int:
        """Sum of the row heights."""
        return sum(r.height for r in self.rows)


@dataclass(frozen=True, slots=True)
class Pattern(ABC):
    """One sheet: index of its stock size, and its frame (0: first cut vertical, 1: horizontal)."""

    sheet: int
    frame: int

    @abstractmethod
    def items(self) -> list[Item]:
        """All rectangles, in cutting order."""

    @abstractmethod
    def waste(self, instance: Instance) -> list[tuple[int, int]]:
        """Width and height of the waste rectangles that may be kept. [nm]

        Raw far sides keep their trim, since what goes back to the rack is not trimmed; waste that is cut
        off first also keeps the near trim.
        """

    def uses(self, instance: Instance) -> Counter[int]:
        """Panels of each type that it yields."""
        out: Counter[int] = Counter()
        for item in self.items():
            for t, count in instance.rect(item.rect).uses:
                out[t] += count
        return out

    def frame_size(self, instance: Instance) -> tuple[int, int]:
        """Length and depth of the sheet's inner area in this frame."""
        sheet = instance.sheets[self.sheet]
        return (sheet.width, sheet.height) if self.frame == 0 else (sheet.height, sheet.width)

    def far_raw(self, instance: Instance) -> tuple[bool, bool]:
        """Whether the far side in x, and in y, of this frame is raw."""
        sheet = instance.sheets[self.sheet]
        return (sheet.raw_right, sheet.raw_top) if self.frame == 0 else (sheet.raw_top, sheet.raw_right)


@dataclass(frozen=True, slots=True)
class Staged(Pattern):
    """A pattern of strips, cut in two to four levels."""

    strips: tuple[Strip, ...]

    def items(self) -> list[Item]:
        """All rectangles, strip by strip."""
        return [i for s in self.strips for r in s.rows for c in r.columns for i in c.items]

    def waste(self, instance: Instance) -> list[tuple[int, int]]:
        """Width and height of the waste rectangles that may be kept. [nm]"""
        unit = instance.unit
        length, depth = self.frame_size(instance)
        trim = instance.sheets[self.sheet].piece.trim
        far = (trim.right, trim.top) if self.frame == 0 else (trim.top, trim.right)
        near_y = trim.bottom if self.frame == 0 else trim.left
        out = []
        used = sum(s.width for s in self.strips)
        if not self.strips[-1].open:
            out.append(((length - used) * unit + far[0], depth * unit + far[1] + near_y))
        for s, strip in enumerate(self.strips):
            edge = far[0] if strip.open and s == len(self.strips) - 1 else 0
            width = strip.width * unit + edge
            if not strip.rows[-1].open:
                out.append((width, (depth - strip.filled) * unit + far[1]))
            for row in strip.rows:
                top = far[1] if row.open else 0
                if instance.levels > 2:
                    out.append(((strip.width - row.length) * unit + edge, row.height * unit + top))
                if instance.levels == 3:
                    continue  # a last cut leaves waste, never an offcut
                for column in row.columns:
                    filled = sum(i.height for i in column.items)
                    out.append((column.width * unit, (row.height - filled) * unit + top))
        return out


def decode(moves: Any, sequence: Sequence[int], instance: Instance, sizes: Any) -> list[Pattern]:
    """The patterns of the kernel's moves, one a sheet of the sequence, in its order.

    `sizes` is the pair (vw, vh) of variant sizes that the kernel was given.
    """
    patterns: list[Pattern] = []
    table = moves.tolist()
    n = len(table)
    start = 0
    while start < n:
        end = start + 1
        while end < n and table[end][2] not in (m.SHEET_V, m.SHEET_H):
            end += 1
        patterns.append(_decode_sheet(table[start:end], sequence, instance, sizes))
        start = end
    return patterns


def _decode_sheet(table: list[list[int]], sequence: Sequence[int], instance: Instance, sizes: Any) -> Staged:
    first = table[0][3:]
    sheet, frame = sequence[first[m.SHEET]], first[m.FRAME]
    pattern = Staged(sheet, frame, ())
    _, depth = pattern.frame_size(instance)
    wide, high = sizes[0][frame], sizes[1][frame]
    turned: list[Strip] = []
    strips = _grouped(table, (m.STRIP, m.SHEET_V, m.SHEET_H))
    for s, strip_moves in enumerate(strips):
        rows = []
        for row_moves in _grouped(strip_moves, (m.ROW, m.STRIP, m.SHEET_V, m.SHEET_H)):
            columns = []
            for column_moves in _grouped(row_moves, (m.COLUMN, m.ROW, m.STRIP, m.SHEET_V, m.SHEET_H)):
                items = [Item(move[1], int(wide[move[0]]), int(high[move[0]])) for move in column_moves]
                columns.append(Column(items[0].width, tuple(items)))
            last = row_moves[-1]
            open_row = last[3 + m.RFLAG] == m.OPEN
            top = depth if open_row else last[3 + m.Y2C]
            rows.append(Row(top - last[3 + m.Y2P], open_row, tuple(columns)))
        last = strip_moves[-1][3:]
        if s + 1 < len(strips):
            right, open_strip = strips[s + 1][0][3 + m.X1P], False
        else:
            right, open_strip = strip_end(last, instance, sheet, frame)
        turned.append(Strip(right - last[m.X1P], open_strip, tuple(rows)))
    return Staged(sheet, frame, tuple(turned))


def _grouped(table: list[list[int]], begins: tuple[int, ...]) -> list[list[list[int]]]:
    """Runs of moves that each begin with one of these kinds."""
    out: list[list[list[int]]] = []
    for row in table:
        if not out or row[2] in begins:
            out.append([])
        out[-1].append(row)
    return out


def other_frame(pattern: Pattern, instance: Instance) -> Pattern | None:
    """The same panels of a one-strip pattern with the first cuts the other way, or None.

    The rows become strips across the whole sheet, which saves a level and joins the waste above them
    into one piece.
    """
    if not isinstance(pattern, Staged):
        return None
    if len(pattern.strips) != 1 or any(len(c.items) > 1 for r in pattern.strips[0].rows for c in r.columns):
        return None
    length, _ = pattern.frame_size(instance)
    far_x, _ = pattern.far_raw(instance)
    strips = []
    for row in pattern.strips[0].rows:
        rest = length - row.length
        if not m.ends_well(rest, instance.break_out, int(far_x)):
            return None
        rows = tuple(
            Row(c.width, False, (Column(c.items[0].height, (_turn(c.items[0]),)),)) for c in row.columns
        )
        strips.append(Strip(row.height, row.open, rows))
    turned = Staged(pattern.sheet, 1 - pattern.frame, tuple(strips))
    return turned if obeys(turned, instance) else None


def _turn(item: Item) -> Item:
    return Item(item.rect, item.height, item.width)


def leftovers(pattern: Pattern, instance: Instance) -> list[int]:
    """Areas of the waste rectangles that are worth keeping, largest first. [nm2]"""
    keeps = instance.rules.keeps
    return sorted(
        (w * h for w, h in pattern.waste(instance) if w > 0 and h > 0 and keeps(w, h)), reverse=True
    )
