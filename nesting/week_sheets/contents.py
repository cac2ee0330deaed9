"""What orders hold, as whole numbers that may be added up: areas by the least size that yields a panel.

Areas are counted in whole square millimetres and handed on as square metres, so that sums of them can be
turned back into whole numbers. Besides areas there are three numbers of the largest sheets, by pairs of the
dual feasible functions of Fekete and Schepers (2001): panels longer than half a sheet cannot lie end to
end, whatever their area. Each is a lower bound on these sheets by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..demand.book import BookedOrder
from ..feasible import impossible
from ..joint_blanks import Bundle, single_panels, tied
from ..optimizer.instance import build
from ..outlines import box
from ..panels import Panel
from ..rules import Rules
from ..shop import split_key
from ..stock import StockPiece
from .cover_rule import USUAL_FILL, Cover
from .kinds import Kind, kinds_of, panels_of
from .material import Material
from .rule import Contents

MM2: Final = 10**12
"""Square nanometres of a square millimetre."""
MILLION: Final = 10**6
BARS: Final = ("side by side", "end to end", "one a sheet")
"""What the three numbers of sheets are about."""


@dataclass(frozen=True, slots=True)
class _OneGlass:
    own: Rules

    def rules(self, key: str) -> Rules:
        """Its rules."""
        return self.own


class Measure:
    """Measures orders in the features of some glasses.

    Parameters
    ----------
    materials
        By glass.

    Notes
    -----
    For each glass: the area of cut outlines by the least size that yields the panel, the same with the
    share of a blank that an angled panel takes, and of the panels that the largest size alone yields the
    sheets of it by `BARS`.
    A panel that no size yields counts nowhere: no plan places it.
    """

    def __init__(self, materials: Mapping[str, Material]) -> None:
        self.materials = {g: m for g, m in sorted(materials.items()) if m.sizes}
        self.features: tuple[str, ...] = ()
        self.series: tuple[str, ...] = ()
        self.columns: dict[str, slice] = {}
        self.rows: dict[str, slice] = {}
        for glass, material in self.materials.items():
            sizes = [s.name for s in material.sizes]
            names = [f"{what} from {size}" for what in ("area", "blanks") for size in sizes]
            names += [f"{sizes[-1]} {bar}" for bar in BARS]
            self.columns[glass] = slice(len(self.features), len(self.features) + len(names))
            self.rows[glass] = slice(len(self.series), len(self.series) + len(sizes))
            self.features += tuple(names)
            self.series += tuple(sizes)
        self._seen: dict[tuple[str, Kind], tuple[int, ...]] = {}

    def cover(self, glass: str) -> Cover:
        """The cover rule of a glass at the usual fill."""
        sizes = self.materials[glass].sizes
        return Cover(
            tuple(s.inner_width * s.inner_height // MM2 for s in sizes),
            tuple(s.cost for s in sizes),
            USUAL_FILL,
            bars=tuple(range(2 * len(sizes), 2 * len(sizes) + len(BARS))),
        )

    def contents(self, orders: Sequence[BookedOrder]) -> Contents:
        """What these orders hold, a row an order."""
        values = np.zeros((len(orders), len(self.features)), dtype=np.int64)
        for row, order in enumerate(orders):
            for glass in sorted({p.glass for p in order.panels} & self.materials.keys()):
                values[row, self.columns[glass]] = self._sums([p for p in order.panels if p.glass == glass])
        return Contents(features=self.features, values=values / MILLION)

    def of_weeks(self, orders: Sequence[BookedOrder], glass: str) -> tuple[list[int], Any]:
        """The weeks in which a glass is cut, rising, and the sums of its features in millionths, int64."""
        weeks: dict[int, list[Panel]] = {}
        for order in orders:
            mine = [p for p in order.panels if p.glass == glass]
            if mine:
                weeks.setdefault(order.week, []).extend(mine)
        found = sorted(weeks)
        width = self.columns[glass].stop - self.columns[glass].start
        rows = np.array([self._sums(weeks[w]) for w in found], dtype=np.int64).reshape(len(found), width)
        return found, rows

    def _sums(self, panels: Sequence[Panel]) -> list[int]:
        glass = panels[0].glass
        total = [0] * (self.columns[glass].stop - self.columns[glass].start)
        names = [s.name for s in self.materials[glass].stock]
        for kind in kinds_of(panels, names):
            one = kind._replace(panels=1)
            if (glass, one) not in self._seen:
                self._seen[glass, one] = _values(one, self.materials[glass])
            total = [t + kind.panels * v for t, v in zip(total, self._seen[glass, one], strict=True)]
        return total


def _values(kind: Kind, material: Material) -> tuple[int, ...]:
    """The features of one panel, in mm2 and in millionths of a sheet."""
    sizes = material.sizes
    panel = panels_of([kind], material.glass, split_key(material.glass)[1])[0]
    least = next((k for k, s in enumerate(sizes) if _yields(panel, s, material.rules)), None)
    areas, blanks = [0] * len(sizes), [0] * len(sizes)
    if least is not None:
        areas[least] = -(-panel.cut_area2 // (2 * MM2))
        blanks[least] = areas[least] if panel.is_rectangle else _blank_area(kind, material, sizes[least:])
    counts = least == len(sizes) - 1 and panel.is_rectangle
    return (*areas, *blanks, *(_bars(panel, sizes[-1]) if counts else (0,) * len(BARS)))


def _yields(panel: Panel, size: StockPiece, rules: Rules) -> bool:
    """Whether a sheet of this size yields the panel; the rules are asked in full only in doubt."""
    if panel.from_stock is not None and panel.from_stock != size.name:
        return False
    x0, y0, x1, y1 = box(panel.cut)
    width, height = x1 - x0, y1 - y0
    ways = {(width, height), (height, width)} if panel.turn.by_quarter else {(width, height)}
    room = (size.inner_width, size.inner_height)
    if panel.is_rectangle:
        if not any(w <= room[0] and h <= room[1] for w, h in ways):
            return False
        far = rules.break_out
        plain = rules.longest_cut is None and rules.level1_gap == (0, None) and min(width, height) >= far
        if plain and any(w + far <= room[0] and h + far <= room[1] for w, h in ways):
            return True
    # an angled panel may need another beside it
    mate = panels_of([kinds_of([panel])[0]._replace(panels=2)], panel.glass, panel.thickness)
    return not impossible(mate, [size], _OneGlass(rules))


def _blank_area(kind: Kind, material: Material, sizes: Sequence[StockPiece]) -> int:
    """What an angled panel takes of a sheet beside another one like it, in the best blanks. [mm2]"""
    pair = panels_of([kind._replace(panels=2)], material.glass, split_key(material.glass)[1])
    ties = tied(pair, sizes, material.rules)
    if not ties.panels:
        return -(-pair[0].cut_area2 // (2 * MM2))
    instance = build(ties.panels, sizes, material.rules, groups=True)
    area = sum(a * d for a, d in zip(instance.type_area, instance.demand, strict=True)) * instance.unit**2
    number = sum(len(single_panels(p)) if isinstance(p, Bundle) else 1 for p in ties.panels)
    return max(-(-area // (number * MM2)), -(-pair[0].cut_area2 // (2 * MM2)))


def _bars(panel: Panel, size: StockPiece) -> list[int]:
    """Millionths of a sheet by each pair of functions, the least over the ways it may lie; rounded down."""
    x0, y0, x1, y1 = box(panel.cut)
    width, height = x1 - x0, y1 - y0
    room_x, room_y = size.inner_width, size.inner_height
    ways = {(width, height), (height, width)} if panel.turn.by_quarter else {(width, height)}
    found: list[list[int]] = []
    for w, h in sorted(ways):
        if w <= room_x and h <= room_y:
            half_x, half_y = _half(w, room_x), _half(h, room_y)
            found.append(
                [
                    half_x * h * MILLION // (2 * room_y),
                    half_y * w * MILLION // (2 * room_x),
                    half_x * half_y * MILLION // 4,
                ]
            )
    return [min(way[k] for way in found) for k in range(len(BARS))] if found else [0] * len(BARS)


def _half(side: int, room: int) -> int:
    """Halves by u of Fekete and Schepers: 2 for over half of the room, 1 for just half, else 0."""
    return 2 if 2 * side > room else int(2 * side == room)
