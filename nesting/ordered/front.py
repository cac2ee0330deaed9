"""The front of a sheet that is being filled, and where its cuts may lie: whole numbers and the set rule.

Every closed piece that ends at e asks of the cut beyond it: at e, or the least waste farther. For any number
of pieces that is always {m} and [m + least, ..), or [m + least, ..) alone: two numbers (m, z) say it.

A strip may still grow after some of its rows are closed, a row after its columns: `XLIM` and `YLIM` are how
far before a cut that is already made would meet a flaw.
"""

from __future__ import annotations

from typing import Any, Final

from ..optimizer.moves import inlined

PLATE: Final = 0
"""Index into the sequence of sheets, -1 before the first."""
FRAME: Final = 1
"""0: first cut vertical; 1: horizontal, x and y swapped."""
X1P: Final = 2
"""Left end of the open strip."""
MX: Final = 3
ZX: Final = 4
"""What its closed rows ask of its right end."""
XLIM: Final = 5
Y2P: Final = 6
"""Bottom of the open row."""
MY: Final = 7
ZY: Final = 8
"""What its columns ask of its top."""
YLIM: Final = 9
X3C: Final = 10
"""Right end of the last column."""
X1: Final = 11
Y2: Final = 12
"""Least right end of the strip and least top of the row that are allowed now."""
COLS: Final = 13
"""1: one column from the strip's left end on; 2: more, or waste before it."""
GEOMETRY: Final = 14
"""Numbers of a front up to here are of what is cut; those that follow, of who leaves the table when."""
LTOP: Final = 14
"""Top of the last column if it is one rectangle that nothing more is cut of, else -1."""
LRACK: Final = 15
LRACK2: Final = 16
"""Racks of what lies in the last column, -1: none."""
RACKS: Final = 17
RACKS2: Final = 18
"""Racks of what lies in the open row, a bit each: 31 here, 31 there; racks beyond the 62nd share bits."""
AFTER: Final = 19
"""1: waste must lie at the end of the open row, since what ends it would come free too soon."""
STATE: Final = 20

AT: Final = 0
"""The cut may lie at m."""
BEYOND: Final = 1
"""Not at m: the least waste beyond it."""
LOCKED: Final = 2
"""Only at m."""

NONE: Final = -(2**30)
"""No piece yet."""
FAR: Final = 2**30
"""Farther than any place: 600 m in the finest units, and a front is kept in 32 bits."""

# numbers of a sheet in a frame
LENGTH: Final = 0
DEPTH: Final = 1
RAW_X: Final = 2
RAW_Y: Final = 3
NEAR_X: Final = 4
NEAR_Y: Final = 5
USABLE: Final = 6
MIN1: Final = 7
MAX1: Final = 8
MIN2: Final = 9
LONG: Final = 10
LONG_END: Final = 11
HIGH: Final = 12
HIGH_END: Final = 13
LEAST: Final = 14
RULED: Final = 15
FILLS: Final = 16
"""A rectangle fills its row's height."""
ALONE: Final = 17
"""One rectangle a row, at its left end."""
FILLS_X: Final = 18
"""A rectangle fills its strip's width."""
PAIRS: Final = 19
STOCK: Final = 20
WASTE1: Final = 21
WIDE1: Final = 22
"""Least and greatest width of a strip of waste."""
NEXT_MIN1: Final = 23
NEXT_MAX1: Final = 24
"""Widths of a strip between two level-1 cuts."""
TRIM_X: Final = 25
TRIM_Y: Final = 26
"""Whether the far sides are trimmed."""
STRICT: Final = 27
"""Whether a panel must come free in its turn, not only be taken up in it."""
NUMBERS: Final = 28


@inlined
def merge(m: int, z: int, end: int, least: int) -> tuple[bool, int, int]:
    """One more piece that ends there: possible?, and what all of them ask."""
    if z == LOCKED:
        return end == m or end <= m - least, m, z
    if end >= m + least:
        return True, end, AT
    if end > m:
        return True, end, BEYOND
    if end > m - least and end != m:
        return True, m, BEYOND
    return True, m, z


@inlined
def lock(m: int, z: int, end: int, least: int) -> tuple[bool, int, int]:
    """One more piece, and the cut must lie right at its end."""
    if z == LOCKED:
        return end == m, m, z
    return end >= m + least or (end == m and z == AT), end, LOCKED


@inlined
def beyond(m: int, z: int, end: int, least: int) -> tuple[bool, int, int]:
    """One more piece with waste at its end."""
    if z == LOCKED or m >= end + least:
        return m >= end + least, m, z
    return True, max(m, end), BEYOND


@inlined
def dominates(a: Any, b: Any) -> bool:
    """Whether front `a` leaves at least as much glass everywhere as `b` (same panels placed)."""
    if a[PLATE] != b[PLATE]:
        return bool(a[PLATE] < b[PLATE])
    if a[FRAME] != b[FRAME] or a[X1] > b[X1]:
        return False
    at = a[X1] if b[Y2P] < a[Y2P] else (a[X3C] if b[Y2P] < a[Y2] else a[X1P])
    if at > b[X3C]:
        return False
    at = a[X1] if b[Y2] < a[Y2P] else (a[X3C] if b[Y2] < a[Y2] else a[X1P])
    return bool(at <= b[X1P])


@inlined
def swept(s: Any, depth: int) -> int:
    """Area of the sheet that lies behind the front."""
    x1p = s[X1P]
    return int(x1p * depth + (s[X1] - x1p) * s[Y2P] + (s[X3C] - x1p) * (s[Y2] - s[Y2P]))


@inlined
def dead(s: Any, depth: int, least: int) -> int:
    """Area above the open row that is too low for any rectangle unless the row still grows."""
    return int((s[X3C] - s[X1P]) * (depth - s[Y2])) if depth - s[Y2] < least else 0
