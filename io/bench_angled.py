"""Synthetic weeks of angled panels as tank shops cut them: our own problems, drawn from a seed.

Clear glass of 10 mm, every edge ground with an allowance of 1.5 mm, the default rules of that glass,
sheets of 3210 x 2250 with a trim of 15 mm. Two kinds of weeks: of polygon tanks (corner pentagons, sloped
baffles, trapezoids, triangles, octagons, a few hexagons), and of trapezoids and rhomboids alone.

The mix was set once so that blanks of single panels are used as far as in the feasibility study of
angled panels (83.1 and 81.9 % over all weeks of a kind); the weeks themselves are new.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isqrt
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.io.bench_weeks import GROUPS, is_sized, tank_panels
from panewright.io.shop_file import default_shop
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import Outline, area2, make_outline
from panewright.nesting.panels import Panel, cut_of
from panewright.nesting.rules import Rules
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, NM2_PER_M2, TICK, mm

GLASS: Final = "clear-10"
THICKNESS: Final = 10
ALLOWANCE: Final = "1.5"
SHEET: Final = (3210, 2250)
TRIM: Final = 15
TANK_WEEKS: Final = 8
SLANTED_WEEKS: Final = 6
SHARE: Final = (120, 310)
"""Least and greatest share of angled panels in the area of a whole week. [1/1000]"""
WHOLE_AREA: Final = (60, 150)
"""Least and greatest area of a whole week. [m2]"""

Corners = list[tuple[int, int]]
"""Corner points, not yet clean. [nm]"""


@dataclass(frozen=True, slots=True)
class Row:
    """A panel of a week: what it is, its finished outline [nm], and how many there are."""

    name: str
    finished: Outline
    copies: int


@dataclass(frozen=True, slots=True)
class Week:
    """The angled panels of a week."""

    name: str
    rows: tuple[Row, ...]

    @property
    def count(self) -> int:
        """Panels in all."""
        return sum(row.copies for row in self.rows)

    def panels(self) -> tuple[Panel, ...]:
        """Each panel with its edgework and cut outline."""
        return tuple(
            angled_panel(f"{self.name}/{row.name} {k}/{i}", row.finished)
            for k, row in enumerate(self.rows, 1)
            for i in range(1, row.copies + 1)
        )


def angled_panel(name: str, finished: Outline, allowance: str = ALLOWANCE) -> Panel:
    """A panel with all edges ground; it may turn and be cut mirror-image, as clear glass may.

    Parameters
    ----------
    name
        Its id: order, name and number with slashes between.
    finished
        Finished outline. [nm]
    allowance
        Of every edge. [mm]
    """
    edges = (Edge(work=Work.GROUND, allowance=mm(allowance)),) * len(finished)
    order, panel, _ = name.split("/")
    return Panel(
        id=name,
        order=order,
        name=panel,
        glass=GLASS,
        thickness=mm(THICKNESS),
        finished=finished,
        cut=cut_of(finished, edges),
        edges=edges,
        mirror=True,
    )


def _even(draw: Draw, low: int, high: int) -> int:
    """A length on a grid of 5 mm, `low` and `high` included. [mm]"""
    return 5 * draw.between(low // 5, high // 5)


def _corner_pentagon(draw: Draw) -> Corners:
    wide = _even(draw, 400, 1000)
    deep = wide if draw.below(5) < 3 else _even(draw, 400, 1000)
    cut = min(wide, deep) * draw.between(45, 65) // 500 * 5
    return [(0, 0), (wide, 0), (wide, deep - cut), (wide - cut, deep), (0, deep)]


def _baffle(draw: Draw) -> Corners:
    wide, high = _even(draw, 250, 600), _even(draw, 250, 400)
    return [(0, 0), (wide, 0), (wide, high - _even(draw, 40, 90)), (0, high)]


def _right_trapezoid(draw: Draw) -> Corners:
    low, high = _even(draw, 400, 900), _even(draw, 300, 600)
    return [(0, 0), (low, 0), (low - _even(draw, 80, 200), high), (0, high)]


def _trapezoid(draw: Draw) -> Corners:
    low, high, lean = _even(draw, 500, 900), _even(draw, 300, 600), _even(draw, 85, 170)
    return [(0, 0), (low, 0), (low - lean, high), (lean, high)]


def _triangle(draw: Draw) -> Corners:
    return [(0, 0), (_even(draw, 250, 600), 0), (0, _even(draw, 250, 600))]


def _octagon(draw: Draw) -> Corners:
    wide, deep, c = _even(draw, 800, 1400), _even(draw, 400, 700), _even(draw, 120, 200)
    return [
        (c, 0), (wide - c, 0), (wide, c), (wide, deep - c), (wide - c, deep), (c, deep), (0, deep - c), (0, c)
    ]  # fmt: skip


def _short_trapezoid(draw: Draw) -> Corners:
    """The same shape at about two thirds of the size: rows of them run to fourteen on the sheet."""
    low, high, lean = _even(draw, 300, 560), _even(draw, 190, 370), _even(draw, 55, 105)
    return [(0, 0), (low, 0), (low - lean, high), (lean, high)]


def _short_rhomboid(draw: Draw) -> Corners:
    wide, high, lean = _even(draw, 250, 430), _even(draw, 160, 250), _even(draw, 50, 100)
    return [(0, 0), (wide, 0), (wide + lean, high), (lean, high)]


def _hexagon(draw: Draw) -> Corners:
    """A regular one; the height of its halves is irrational. [half mm]"""
    side = _even(draw, 250, 450)
    return [(side, 0), (3 * side, 0), (4 * side, 1), (3 * side, 2), (side, 2), (0, 1)]


SHAPES: Final[dict[str, Callable[[Draw], Corners]]] = {
    "corner pentagon": _corner_pentagon,
    "sloped baffle": _baffle,
    "right trapezoid": _right_trapezoid,
    "trapezoid": _trapezoid,
    "right triangle": _triangle,
    "octagon": _octagon,
    "hexagon": _hexagon,
    "short trapezoid": _short_trapezoid,
    "short rhomboid": _short_rhomboid,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """What a kind of weeks is drawn from.

    Parameters
    ----------
    shapes
        How often each is drawn.
    copies
        Of a panel; each as likely as the others.
    types, panels
        Least and most different panels of a week, and panels in all.
    """

    shapes: dict[str, int]
    copies: tuple[int, ...]
    types: tuple[int, int]
    panels: tuple[int, int]

    @property
    def bag(self) -> list[str]:
        """Every shape as often as it counts."""
        return [shape for shape, weight in self.shapes.items() for _ in range(weight)]


TANKS: Final = Mix(
    shapes={
        "corner pentagon": 8,
        "sloped baffle": 4,
        "right trapezoid": 5,
        "trapezoid": 5,
        "right triangle": 5,
        "octagon": 2,
        "hexagon": 1,
    },
    copies=(1, 2, 2, 2, 4, 4, 6),
    types=(9, 14),
    panels=(24, 47),
)
SLANTED: Final = Mix(
    shapes={"short trapezoid": 2, "short rhomboid": 1},
    copies=(2, 4, 6, 8, 10, 14),
    types=(5, 9),
    panels=(48, 58),
)


def _outline(shape: str, draw: Draw) -> Outline:
    points = SHAPES[shape](draw)
    if shape != "hexagon":
        return make_outline([(mm(x), mm(y)) for x, y in points])
    side = mm(points[0][0])
    high = isqrt(3 * side * side) // 2 // TICK * TICK
    return make_outline([(mm(x) // 2, y * high) for x, y in points])


def _drawn(draw: Draw, name: str, mix: Mix) -> Week:
    """Different shapes with their copies; drawn again until the number of panels is right."""
    while True:
        outlines: dict[Outline, str] = {}
        types = draw.between(*mix.types)
        while len(outlines) < types:
            shape = mix.bag[draw.below(len(mix.bag))]
            outlines.setdefault(_outline(shape, draw), shape)
        rows = [
            Row(shape, outline, mix.copies[draw.below(len(mix.copies))])
            for outline, shape in outlines.items()
        ]
        if mix.panels[0] <= sum(row.copies for row in rows) <= mix.panels[1]:
            return Week(name, tuple(rows))


def tank_weeks(seed: int) -> list[Week]:
    """Weeks of polygon tanks."""
    return [_drawn(Draw(seed, 1, n), f"tanks-{n}", TANKS) for n in range(1, TANK_WEEKS + 1)]


def slanted_weeks(seed: int) -> list[Week]:
    """Weeks of trapezoids and rhomboids."""
    return [_drawn(Draw(seed, 2, n), f"slanted-{n}", SLANTED) for n in range(1, SLANTED_WEEKS + 1)]


def shop() -> Shop:
    """The shop of these weeks: all defaults."""
    return default_shop()


def rules() -> Rules:
    """The default rules of the glass."""
    return shop().rules(GLASS)


def sheet() -> StockPiece:
    """A sheet that never runs out, raw on all sides, at 1 each."""
    return StockPiece(
        name=f"{GLASS} {SHEET[0]}x{SHEET[1]}",
        glass=GLASS,
        width=mm(SHEET[0]),
        height=mm(SHEET[1]),
        trim=Trim(*(mm(TRIM),) * 4),
        cost=MONEY,
        buyable=True,
    )


@dataclass(frozen=True, slots=True)
class WholeWeek:
    """A week of rectangles and angled panels, as an order of its own.

    Parameters
    ----------
    order
        What is planned.
    angled
        Twice the area of the angled panels. [nm2]
    area
        Twice the area of all panels. [nm2]
    """

    order: Order
    angled: int
    area: int

    @property
    def name(self) -> str:
        """Of the week."""
        return self.order.name


def whole_weeks(seed: int) -> list[WholeWeek]:
    """Weeks of a tank shop: the angled panels of two of the tank weeks, and rectangles of tanks.

    So many rectangles are drawn that the angled panels take the drawn share of the area.
    """
    weeks = tank_weeks(seed)
    return [_whole(Draw(seed, 3, n), f"whole-{n + 1}", weeks[n], weeks[n - 1]) for n in range(len(weeks))]


def _whole(draw: Draw, name: str, *weeks: Week) -> WholeWeek:
    angled = [panel for week in weeks for panel in week.panels()]
    taken = sum(area2(panel.cut) for panel in angled)
    while True:
        wanted = taken * 1000 // draw.between(*SHARE)
        if WHOLE_AREA[0] <= wanted // (2 * NM2_PER_M2) <= WHOLE_AREA[1]:
            break
    sizes: list[tuple[int, int]] = []
    rest = wanted - taken
    while rest * 100 > wanted:
        for a, b, copies in tank_panels(draw, GROUPS[1]):
            size = 2 * mm(a) * mm(b)
            number = min(copies, rest // size) if is_sized(max(a, b), min(a, b)) else 0
            sizes += [(a, b)] * number
            rest -= number * size
    rectangles = shop_panels(name, sizes, glass=GLASS, thickness=THICKNESS)
    order = Order(name=name, group=3, panels=(*angled, *rectangles), stock=(sheet(),), shop=shop())
    return WholeWeek(order, taken, wanted - rest)
