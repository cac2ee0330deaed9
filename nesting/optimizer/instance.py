"""A cutting problem as whole-number arrays: what the search and the kernel work on.

Panels that may be exchanged for one another are one *type*. A *rectangle* uses up demands of types (a
panel, one of its blanks, later a group). All lengths are in the greatest common divisor of the sizes
at hand, so that areas of many sheets fit 64 bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import reduce
from math import gcd
from typing import Any

import numpy as np

from ..angled.offers import groups_for, own_blanks
from ..angled.partition import Uses, area_prices
from ..blanks import Blank
from ..joint_blanks import Bundle
from ..outlines import Outline, box
from ..panels import Panel
from ..rules import Rules
from ..stock import Side, StockPiece, rooms_of
from ..units import mm
from .limits import can_bite, limits_of

FREE_LEVELS = 4
"""With free levels the beam goes this deep; `free_engine` knows no limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelType:
    """Panels with the same cut outline, the same freedom, stock that they are bound to and purpose.

    `panels` are in the order in which they are to be handed out; `blanks` is empty for rectangles.
    """

    width: int
    height: int
    turns: bool
    narrow: bool
    panels: tuple[Panel, ...]
    blanks: tuple[Blank, ...]

    @property
    def joint(self) -> bool:
        """Whether it stands for several panels in a joint blank (see `joint_blanks`)."""
        return bool(self.panels) and isinstance(self.panels[0], Bundle)

    @property
    def angled(self) -> bool:
        """Whether it is no rectangle."""
        return bool(self.panels) and not self.panels[0].is_rectangle


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle to place, in search units: `uses` lists (type, count)."""

    width: int
    height: int
    turns: bool
    uses: tuple[tuple[int, int], ...]
    blank: Blank | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A stock size in search units: inner size and whether the far sides are raw."""

    piece: StockPiece
    width: int
    height: int
    raw_right: bool
    raw_top: bool

    @property
    def area(self) -> int:
        """Area in which panels may lie. [search units squared]"""
        return self.width * self.height


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrays:
    """The kernel's view of the rectangles (see `kernel`)."""

    vw: Any
    vh: Any
    vrect: Any
    uptr: Any
    utype: Any
    ucount: Any
    area: Any
    codes: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """A cutting problem of one glass, ready for the search.

    Parameters
    ----------
    unit
        Length of one search unit. [nm]
    rules
        Of the glass.
    types, rects, sheets
        See the classes.
    demand
        Panels of each type.
    break_out
        [search units]
    type_area
        What a panel of each type takes of a sheet: its own area, or the price of its area in the best
        groups; no rectangle has less area than what it holds. [search units squared]
    least_area
        Area of the cut outline of each type, rounded down: no way to cut takes less. [search units squared]
    own
        The first so many rectangles hold one panel, those behind them are groups.
    shares
        Whether several panels may share a blank.
    found
        Blanks that engines found which lay no rectangles; see `take_up`.
    """

    unit: int
    rules: Rules
    types: tuple[PanelType, ...]
    rects: tuple[Rect, ...]
    sheets: tuple[Sheet, ...]
    demand: tuple[int, ...]
    break_out: int
    type_area: tuple[int, ...]
    least_area: tuple[int, ...]
    own: int
    arrays: Arrays
    shares: bool = False
    found: list[Rect] = field(default_factory=list, compare=False)

    @property
    def grouped(self) -> bool:
        """Whether groups of angled panels are among the rectangles."""
        return self.own < len(self.rects)

    @property
    def angled(self) -> bool:
        """Whether a panel in demand is no rectangle."""
        return any(n and t.angled for t, n in zip(self.types, self.demand, strict=True))

    def without_groups(self) -> Instance:
        """The same with every panel in a blank of its own."""
        rects = self.rects[: self.own]
        areas = _type_areas(rects, len(self.types))
        return replace(self, rects=rects, type_area=areas, found=[], arrays=build_arrays(rects, areas))

    def take_up(self, rect: Rect) -> int:
        """Number a rectangle that was found outside the kernel, for patterns that hold it.

        All instances that were made of this one by leaving out panels or stock know it too.
        """
        self.found.append(rect)
        return len(self.rects) + len(self.found) - 1

    def rect(self, number: int) -> Rect:
        """The rectangle of this number, one of `rects` or taken up later."""
        return self.rects[number] if number < len(self.rects) else self.found[number - len(self.rects)]

    @property
    def levels(self) -> int:
        """Levels the search uses."""
        return self.rules.levels or FREE_LEVELS

    @property
    def exact(self) -> bool:
        """Whether no cut below the last level may free a rectangle from waste."""
        return self.rules.levels is not None and not self.rules.last_cut

    @property
    def ruled(self) -> bool:
        """Whether the longest score or a distance of level-1 cuts may forbid anything."""
        rules = self.rules
        if rules.longest_cut is None and rules.level1_gap == (0, None):
            return False
        return any(can_bite(sheet, rules) for sheet in self.sheets)

    def sequence(self, sheets: Sequence[int]) -> Any:
        """The kernel's array for sheets to be opened in this order; with the limits where there are some."""
        ruled = self.ruled
        rows = []
        for k in sheets:
            sheet = self.sheets[k]
            row = [sheet.width, sheet.height, int(sheet.raw_right), int(sheet.raw_top)]
            rows.append(row + limits_of(sheet, self.rules, self.unit) if ruled else row)
        return np.array(rows, dtype=np.int64).reshape(len(rows), -1)


def _type_key(panel: Panel) -> tuple[Any, ...]:
    x0, y0, x1, y1 = box(panel.cut)
    width, height = x1 - x0, y1 - y0
    turns = panel.turn.by_quarter
    # a panel of a rack has a place of its own there
    rack = (panel.rack, panel.slot or 0) if panel.rack else ("", 0)
    bound = (panel.from_stock or "", panel.purpose.value, rack, tuple(sorted(panel.tolerates)))
    if panel.is_rectangle:
        if turns:
            width, height = max(width, height), min(width, height)
        content = tuple(m.outline for m in panel.blank.members) if isinstance(panel, Bundle) else ()
        return (0, width, height, turns, panel.narrow, *bound, content)
    start = min(range(len(panel.cut)), key=lambda i: panel.cut[i])
    shape: Outline = tuple((x - x0, y - y0) for x, y in panel.cut[start:] + panel.cut[:start])
    return (1, width, height, turns, panel.narrow, panel.turn.value, shape, panel.mirror, *bound)


def panel_types(panels: Iterable[Panel], rules: Rules) -> list[PanelType]:
    """Group panels into types, in an order that does not depend on that of the rows."""
    groups: dict[tuple[Any, ...], list[Panel]] = {}
    for panel in panels:
        groups.setdefault(_type_key(panel), []).append(panel)
    out = []
    for key in sorted(groups, reverse=True):
        members = sorted(groups[key], key=lambda p: (p.due or date.max, p.id))
        blanks = () if key[0] == 0 else own_blanks(members[0].cut, members[0].turn, rules)
        out.append(
            PanelType(
                width=key[1], height=key[2], turns=key[3], narrow=key[4], panels=tuple(members), blanks=blanks
            )
        )
    return out


def _variants(rects: Sequence[Rect]) -> tuple[Any, Any, Any]:
    frames = []
    for frame in (0, 1):
        rows = []
        for i, r in enumerate(rects):
            sizes = {(r.width, r.height), (r.height, r.width)} if r.turns else {(r.width, r.height)}
            for w, h in sizes:
                rows.append((-h, -w, i) if frame == 0 else (-w, -h, i))
        rows.sort()
        frames.append(rows)
    table = -np.array([[[row[0], row[1]] for row in rows] for rows in frames], dtype=np.int64)
    ids = np.array([[row[2] for row in rows] for rows in frames], dtype=np.int64)
    table = table.reshape(2, -1, 2)
    return np.ascontiguousarray(table[:, :, 1]), np.ascontiguousarray(table[:, :, 0]), ids


def build_arrays(rects: Sequence[Rect], type_area: Sequence[int]) -> Arrays:
    """The kernel's arrays; the codes of the types are fixed, so that runs repeat.

    The area of a rectangle is what its panels take: what a poor blank has beyond that is waste.
    """
    vw, vh, vrect = _variants(rects)
    uptr = np.zeros(len(rects) + 1, dtype=np.int64)
    uptr[1:] = np.cumsum([len(r.uses) for r in rects])
    uses = [use for r in rects for use in r.uses]
    return Arrays(
        vw=vw,
        vh=vh,
        vrect=vrect,
        uptr=uptr,
        utype=np.array([t for t, _ in uses], dtype=np.int64),
        ucount=np.array([c for _, c in uses], dtype=np.int64),
        area=np.array([sum(type_area[t] * n for t, n in r.uses) for r in rects], dtype=np.int64),
        codes=np.random.Generator(np.random.PCG64(20270301)).integers(-(2**62), 2**62, len(type_area)),
    )


def _type_areas(rects: Sequence[Rect], n_types: int) -> tuple[int, ...]:
    """Area of the least rectangle that holds one panel of each type alone."""
    least: list[int | None] = [None] * n_types
    for r in rects:
        (t, count), *more = r.uses
        if count == 1 and not more:
            known = least[t]
            least[t] = r.width * r.height if known is None else min(known, r.width * r.height)
    return tuple(a or 0 for a in least)


def _priced_areas(
    rects: Sequence[Rect], types: Sequence[PanelType], demand: Sequence[int]
) -> tuple[int, ...]:
    """What a panel of each type takes in the best groups: the prices of the partition's LP, rounded down."""
    alone = _type_areas(rects, len(types))
    kinds = [t for t, kind in enumerate(types) if kind.angled and demand[t]]
    at = {t: k for k, t in enumerate(kinds)}
    columns: dict[Uses, float] = {}
    for r in rects:
        if all(t in at for t, _ in r.uses):
            uses = tuple((at[t], n) for t, n in r.uses)
            area = float(r.width * r.height)
            columns[uses] = min(area, columns.get(uses, area))
    prices = area_prices([demand[t] for t in kinds], sorted(columns.items()))
    out = list(alone)
    for t, price in zip(kinds, prices, strict=True):
        out[t] = max(1, int(price))
    # whole numbers, and no group with more than its area
    for r in rects:
        over = sum(out[t] * n for t, n in r.uses) - r.width * r.height
        if over > 0:
            t, n = max(r.uses, key=lambda use: out[use[0]])
            out[t] -= -(-over // n)
    return tuple(out)


def sheet_of(piece: StockPiece, unit: int) -> Sheet:
    """A stock piece in search units of so many nanometres, rounded down."""
    return Sheet(
        piece=piece,
        width=piece.inner_width // unit,
        height=piece.inner_height // unit,
        raw_right=Side.RIGHT in piece.raw,
        raw_top=Side.TOP in piece.raw,
    )


def _groups(types: Sequence[PanelType], stock: Sequence[StockPiece], rules: Rules) -> list[Blank]:
    """Groups of the angled types; those that an order ties to a stock piece share blanks with each other."""
    out: list[Blank] = []
    angled = [t for t, kind in enumerate(types) if kind.angled]
    for name in sorted({types[t].panels[0].from_stock or "" for t in angled}):
        kinds = [t for t in angled if (types[t].panels[0].from_stock or "") == name]
        rooms = rooms_of(s for s in stock if name in ("", s.name))
        panels = [types[t].panels[0] for t in kinds]
        numbers = [len(types[t].panels) for t in kinds]
        out += [b.of_kinds(kinds) for b in groups_for(panels, numbers, rooms, rules)]
    return out


def build(
    panels: Iterable[Panel], stock: Sequence[StockPiece], rules: Rules, *, groups: bool = False
) -> Instance:
    """The instance of one glass: panels that stock can yield, and the stock.

    Parameters
    ----------
    panels
        All of one glass; each must have a blank (see `impossible` in the planner).
    stock
        Of the same glass.
    rules
        Of the glass.
    groups
        Whether several angled panels may share a blank.
    """
    types = panel_types(panels, rules)
    raw: list[tuple[int, int, bool, tuple[tuple[int, int], ...], Blank | None]] = []
    for t, kind in enumerate(types):
        if kind.angled:
            raw += [(b.width, b.height, kind.turns, ((t, 1),), b.of_kind(t)) for b in kind.blanks]
        else:
            raw.append((kind.width, kind.height, kind.turns, ((t, 1),), None))
    own = len(raw)
    for b in _groups(types, stock, rules) if groups else ():
        raw.append((b.width, b.height, all(types[t].turns for t, _ in b.uses), b.uses, b))
    lengths = [rules.break_out]
    for width, height, *_ in raw:
        lengths += [width, height]
    for piece in stock:
        lengths += [piece.inner_width, piece.inner_height]
    if rules.sheet_rules:
        least, most = rules.level1_width
        lengths += [least, most or 0, rules.level2_width, rules.least_waste]
    if any(piece.flaws for piece in stock):
        lengths.append(mm(1))  # what is laid beside a flaw lies on no multiple of the sizes
    unit = max(1, reduce(gcd, lengths))
    rects = tuple(
        Rect(width=w // unit, height=h // unit, turns=turns, uses=uses, blank=b)
        for w, h, turns, uses, b in raw
    )
    demand = tuple(len(t.panels) for t in types)
    areas = _priced_areas(rects, types, demand) if own < len(rects) else _type_areas(rects, len(types))
    return Instance(
        unit=unit,
        rules=rules,
        types=tuple(types),
        rects=rects,
        sheets=tuple(sheet_of(piece, unit) for piece in stock),
        demand=demand,
        break_out=rules.break_out // unit,
        type_area=areas,
        least_area=tuple(t.panels[0].cut_area2 // (2 * unit * unit) for t in types),
        own=own,
        shares=groups,
        arrays=build_arrays(rects, areas),
    )
