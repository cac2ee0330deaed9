"""Yield, waste, mass and cost of a plan, each defined once (areas are twice nm2, so that all is whole).

Panels count by their cut outline. Trim area is the part of the cullet within the trim of a raw side,
cullet area the rest; with rectangles alone, panels, offcuts, trim and cullet add up to the sheets.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import isqrt

from .glass import mass_grams
from .outlines import Outline, area2, box, is_rectangle
from .panels import Panel, Purpose
from .plan import Layout, LeafKind, Plan
from .shop import UnknownGlass, split_key

ExactPoint = tuple[Fraction, Fraction]


@dataclass(slots=True)
class Figures:
    """Figures of one sheet, one glass or the whole plan.

    Areas are twice nm2; `scrap_grams` and `panel_grams` [g]; `cost` [1/10,000 of the currency];
    `score_nm`, `score_by_level` (``"0"`` for trims, ``"1"`` and up, ``"shape"``) and `edgework_nm` by
    finish [nm].
    """

    sheets: int = 0
    sheet: int = 0
    cut: int = 0
    finished: int = 0
    trim: int = 0
    cullet: int = 0
    offcut: int = 0
    spare: int = 0
    filler: int = 0
    cost: int = 0
    scrap_grams: int = 0
    panel_grams: int = 0
    panels: int = 0
    offcuts: int = 0
    cuts: int = 0
    score_nm: int = 0
    score_by_level: dict[str, int] = field(default_factory=dict)
    edgework_nm: dict[str, int] = field(default_factory=dict)

    def add(self, other: Figures) -> None:
        """Add the figures of another part."""
        for name in self.__dataclass_fields__:
            mine, more = getattr(self, name), getattr(other, name)
            if isinstance(mine, dict):
                mine |= {key: mine.get(key, 0) + length for key, length in more.items()}
            else:
                setattr(self, name, mine + more)

    @property
    def gross_yield(self) -> Fraction:
        """Cut area over sheet area."""
        return Fraction(self.cut, self.sheet) if self.sheet else Fraction(0)

    @property
    def net_yield(self) -> Fraction:
        """Cut area over sheet area less the offcuts kept."""
        used = self.sheet - self.offcut
        return Fraction(self.cut, used) if used else Fraction(0)

    @property
    def finished_yield(self) -> Fraction:
        """Finished area over sheet area."""
        return Fraction(self.finished, self.sheet) if self.sheet else Fraction(0)

    @property
    def edgework_loss(self) -> int:
        """Glass that the edgework removes. [twice nm2]"""
        return self.cut - self.finished


@dataclass(slots=True)
class OrderFigures:
    """An order's panels and its share of waste and cost, by its cut area on each sheet."""

    panels: int = 0
    cut: int = 0
    finished: int = 0
    waste_share: Fraction = Fraction(0)
    cost_share: int = 0


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """All figures of a plan."""

    total: Figures
    by_glass: dict[str, Figures]
    by_sheet: dict[int, Figures]
    by_order: dict[str, OrderFigures]
    gaps: dict[str, Fraction | None]


def gap(cost: int, bound: int) -> Fraction | None:
    """(cost - bound) / bound; 0 where both are 0, None where only the bound is."""
    if bound:
        return Fraction(cost - bound, bound)
    return None if cost else Fraction(0)


def _clipped(outline: Outline, inner: tuple[int, int, int, int]) -> Fraction:
    """Twice the area of a convex outline within a box (Sutherland and Hodgman 1974)."""
    points: list[ExactPoint] = [(Fraction(x), Fraction(y)) for x, y in outline]
    for axis, sign, limit in ((0, 1, inner[0]), (0, -1, inner[2]), (1, 1, inner[1]), (1, -1, inner[3])):
        kept: list[ExactPoint] = []
        for i, q in enumerate(points):
            p = points[i - 1]
            dp, dq = sign * (p[axis] - limit), sign * (q[axis] - limit)
            if (dp > 0 > dq) or (dp < 0 < dq):
                t = dp / (dp - dq)
                kept.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
            if dq >= 0:
                kept.append(q)
        points = kept
    total = Fraction(0)
    for i, (x, y) in enumerate(points):
        total += points[i - 1][0] * y - x * points[i - 1][1]
    return total


def _inner_part(outline: Outline, layout: Layout) -> int:
    """Twice the area of a leaf outside the trims, rounded down to a whole nm2."""
    trim = layout.trim
    inner = (trim.left, trim.bottom, layout.width - trim.right, layout.height - trim.top)
    x0, y0, x1, y1 = box(outline)
    if is_rectangle(outline):
        width = max(0, min(x1, inner[2]) - max(x0, inner[0]))
        height = max(0, min(y1, inner[3]) - max(y0, inner[1]))
        return 2 * width * height
    if x0 >= inner[0] and y0 >= inner[1] and x1 <= inner[2] and y1 <= inner[3]:
        return area2(outline)
    return int(_clipped(outline, inner))


def _length(points: Iterable[tuple[int, int]]) -> int:
    """Sum of the lengths of these vectors. [nm]"""
    return sum(isqrt(x * x + y * y) for x, y in points)


def thickness_of(plan: Plan, glass: str) -> int:
    """Nominal thickness of a glass of the plan. [nm]"""
    try:
        return split_key(glass)[1]
    except UnknownGlass:
        return next((p.thickness for p in plan.panels if p.glass == glass), 0)


def sheet_figures(layout: Layout, panels: dict[str, Panel], thickness: int) -> Figures:
    """Figures of one sheet.

    Parameters
    ----------
    layout
        The sheet.
    panels
        By id.
    thickness
        Nominal. [nm]
    """
    out = Figures(sheets=1, sheet=2 * layout.width * layout.height, cost=layout.cost, cuts=len(layout.cuts))
    for leaf in layout.leaves:
        if leaf.kind is LeafKind.PANEL and leaf.panel is not None:
            panel = panels[leaf.panel]
            area = area2(panel.cut)
            if panel.purpose is Purpose.ORDER:
                out.cut += area
                out.finished += area2(panel.finished)
            elif panel.purpose is Purpose.SPARE:
                out.spare += area
            else:
                out.filler += area
            # a blank rounds up to the next tick: what the panel leaves there is cullet, under 1 mm2
            out.cullet += area2(leaf.outline) - area
            out.panels += 1
            out.panel_grams += panel.mass_grams
            n = len(panel.finished)
            for i, edge in enumerate(panel.edges):
                a, b = panel.finished[i], panel.finished[(i + 1) % n]
                work = edge.work.value
                out.edgework_nm[work] = out.edgework_nm.get(work, 0) + _length([(b[0] - a[0], b[1] - a[1])])
        elif leaf.kind is LeafKind.OFFCUT:
            out.offcut += area2(leaf.outline)
            out.offcuts += 1
        else:
            inner = _inner_part(leaf.outline, layout)
            out.cullet += inner
            out.trim += area2(leaf.outline) - inner
    out.scrap_grams = mass_grams(out.trim + out.cullet, thickness)
    for cut in layout.cuts:
        length = _length([(cut.end[0] - cut.start[0], cut.end[1] - cut.start[1])])
        key = "shape" if cut.level is None else str(cut.level)
        out.score_by_level[key] = out.score_by_level.get(key, 0) + length
        out.score_nm += length
    return out


def shares(amount: int, weights: Sequence[int]) -> list[int]:
    """Split a whole amount by weights, largest remainders first: the parts add up exactly."""
    total = sum(weights)
    if not total:
        return [0] * len(weights)
    parts = [amount * w // total for w in weights]
    order = sorted(range(len(weights)), key=lambda i: (-(amount * weights[i] % total), i))
    for i in order[: amount - sum(parts)]:
        parts[i] += 1
    return parts


def figures_of(plan: Plan) -> PlanFigures:
    """All figures of a plan, as the plan file and the waste report give them."""
    panels = {p.id: p for p in plan.panels}
    total = Figures()
    by_glass: dict[str, Figures] = {glass: Figures() for glass in plan.rules}
    by_sheet: dict[int, Figures] = {}
    by_order: dict[str, OrderFigures] = defaultdict(OrderFigures)
    for layout in plan.layouts:
        mine = sheet_figures(layout, panels, thickness_of(plan, layout.glass))
        by_sheet[layout.number] = mine
        by_glass.setdefault(layout.glass, Figures()).add(mine)
        total.add(mine)
        here: dict[str, int] = defaultdict(int)
        for leaf in layout.leaves:
            if leaf.panel is None or panels[leaf.panel].purpose is not Purpose.ORDER:
                continue
            panel = panels[leaf.panel]
            order = by_order[panel.order]
            order.panels += 1
            order.cut += area2(panel.cut)
            order.finished += area2(panel.finished)
            here[panel.order] += area2(panel.cut)
        names = sorted(here)
        for name, part in zip(names, shares(layout.cost, [here[n] for n in names]), strict=True):
            by_order[name].cost_share += part
            if mine.cut:
                by_order[name].waste_share += Fraction((mine.trim + mine.cullet) * here[name], mine.cut)
    return PlanFigures(
        total=total,
        by_glass=by_glass,
        by_sheet=by_sheet,
        by_order=dict(sorted(by_order.items())),
        gaps={g: gap(by_glass[g].cost, o.bound.cost) for g, o in plan.outcomes.items()},
    )
