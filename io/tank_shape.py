"""The plan shape of a tank order, from the columns that describe it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from panewright.io.lengths import BadValue
from panewright.io.panel_edges import parse_corners
from panewright.io.panel_outline import drawn_outline, note_straight
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.tank_words import Words
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.outlines import Point, box, traced
from panewright.nesting.straight_edges import straightened
from panewright.nesting.tanks import plan_shapes
from panewright.nesting.tanks.plan_shapes import Across, PlanShape
from panewright.nesting.tanks.tank import VolumeWish
from panewright.nesting.text import tr
from panewright.nesting.units import inch, mm, show

SHAPES: Final = (
    "rectangle",
    "corner",
    "regular",
    "long octagon",
    "long hexagon",
    "trapezoid",
    "right trapezoid",
    "bent front",
    "L",
    "polygon",
    "drawing",
)
REGULAR: Final = {"triangle": 3, "square": 4, "pentagon": 5, "hexagon": 6, "octagon": 8}
"""Names of regular polygons that stand for a number of sides."""

_LENGTHS: Final = ("length", "width", "front", "side", "corner", "sides", "across", "corners", "drawing")
_USED: Final = {
    "rectangle": ("length", "width"),
    "corner": ("length", "width", "side"),
    "regular": ("length", "sides", "across"),
    "long octagon": ("length", "width", "corner"),
    "long hexagon": ("length", "width", "corner"),
    "trapezoid": ("length", "width", "front"),
    "right trapezoid": ("length", "width", "front"),
    "bent front": ("length", "width", "front", "side"),
    "L": ("length", "width", "corner"),
    "polygon": ("corners",),
    "drawing": ("drawing",),
}
_FREE: Final = {"rectangle": ("length", "width"), "regular": ("length",)}
"""Sizes, besides the height, that may follow from a volume."""

LEAST: Final = mm(50)
GREATEST: Final = mm(6000)
GREATEST_HEIGHT: Final = mm(4000)
STANDS_IN: Final = mm(1000)
"""For a size that follows from the volume, until it is known."""


@dataclass(frozen=True, slots=True)
class FoundShape:
    """Shape and height of a row, and the size that follows from its volume. [nm]"""

    shape: PlanShape
    height: int
    wish: VolumeWish | None

    @property
    def walls(self) -> tuple[str, ...]:
        """Names of the walls."""
        return self.shape.walls


def read_shape(cells: Cells, words: Words, folder: Path, problems: Problems) -> FoundShape | None:
    """The shape of a row, or None where something is wrong."""
    kind = _kind(cells)
    if kind is None:
        return None
    for name in _LENGTHS:
        if cells.text(name) and name not in _USED[kind]:
            cells.bad(
                name,
                tr("a {shape} tank has no {name}", shape=kind, name=name),
                tr("leave the cell empty; it needs {names}", names=", ".join(_USED[kind])),
            )
    volume, missing = _volume(cells, words, kind)
    height = _side(cells, "height", missing)
    make = _maker(cells, words, kind, missing, folder, problems)
    right = cells.word("hand", {"left": False, "right": True}, False)
    if make is None or height is None or not cells.fine:
        return None

    def shape(size: int) -> PlanShape:
        made = make(size)
        return made.mirrored() if right else made

    try:
        found = shape(STANDS_IN)
    except InvalidOutline as error:
        cells.bad("shape", error.reason, error.remedy)
        return None
    _, _, x1, y1 = box(found.outline)
    if max(x1, y1) > GREATEST and not missing:
        cells.bad(
            "shape",
            tr("the tank measures {size}", size=show(max(x1, y1))),
            tr("the greatest side is {most}; check the unit", most=show(GREATEST)),
        )
        return None
    if volume is None:
        return FoundShape(found, height, None)
    grid = inch("1/8") if cells.unit == "in" else mm(1)
    free = None if missing == "height" else shape
    return FoundShape(found, height, VolumeWish(volume=volume, size=missing, grid=grid, shape=free))


def _kind(cells: Cells) -> str | None:
    text = " ".join(cells.text("shape").lower().split())
    if text in REGULAR:
        return "regular"
    for kind in SHAPES:
        if text == kind.lower():
            return kind
    cells.bad(
        "shape", tr("this plan shape is not known"), tr("the shapes are {names}", names=", ".join(SHAPES))
    )
    return None


def _volume(cells: Cells, words: Words, kind: str) -> tuple[int | None, str]:
    """The wanted volume [nm3], and the name of the size that follows from it."""
    free = [name for name in ("height", *_FREE.get(kind, ())) if not cells.text(name)]
    if not cells.text("volume"):
        return None, ""
    volume = cells.attempt("volume", lambda: words.volume(cells.text("volume")))
    if volume is None:
        return None, free[0] if free else ""
    if len(free) != 1:
        may = ", ".join(("height", *_FREE.get(kind, ())))
        cells.bad(
            "volume",
            tr("a volume stands for one missing size; {count} are missing", count=len(free)),
            tr("leave one of these empty: {names}", names=may),
        )
        return None, free[0] if free else ""
    return volume, free[0]


def _side(cells: Cells, name: str, missing: str) -> int | None:
    """A size of the row; a stand-in where it follows from the volume. [nm]"""
    if name == missing:
        return STANDS_IN
    length = cells.length(name)
    if length is None:
        return None
    most = GREATEST_HEIGHT if name == "height" else GREATEST
    if not LEAST <= length <= most:
        cells.bad(
            name,
            tr("{size} is out of range for a tank", size=show(length)),
            tr("give {low} to {high}; check the unit", low=show(LEAST), high=show(most)),
        )
        return None
    return length


def _pair(cells: Cells, words: Words, name: str) -> tuple[int, int] | None:
    if not cells.text(name):
        cells.bad(name, tr("the cell is empty"), tr("fill it in"))
        return None
    return cells.attempt(name, lambda: words.pair(cells.text(name)))


def _maker(
    cells: Cells, words: Words, kind: str, missing: str, folder: Path, problems: Problems
) -> Callable[[int], PlanShape] | None:
    """A function from the missing size to the shape; None where a cell is wrong."""
    used = _USED[kind]
    sides = {n: _side(cells, n, missing) for n in ("length", "width", "front") if n in used}
    pairs = {n: _pair(cells, words, n) for n in ("side", "corner") if n in used}
    if None in sides.values() or None in pairs.values():
        return None
    size = {n: v for n, v in sides.items() if v is not None}
    two = {n: v for n, v in pairs.items() if v is not None}
    p = plan_shapes
    match kind:
        case "rectangle":
            return lambda free: p.rectangular(
                free if missing == "length" else size["length"], free if missing == "width" else size["width"]
            )
        case "corner":
            left, right = two["side"]
            return lambda _: p.corner_pentagon(size["length"], size["width"], left, right)
        case "regular":
            return _regular(cells, size["length"], missing)
        case "long octagon":
            return lambda _: p.long_octagon(size["length"], size["width"], *two["corner"])
        case "long hexagon":
            return lambda _: p.long_hexagon(size["length"], size["width"], two["corner"][0])
        case "trapezoid":
            return lambda _: p.trapezoid(size["length"], size["front"], size["width"])
        case "right trapezoid":
            return lambda _: p.right_trapezoid(size["length"], size["front"], size["width"])
        case "bent front":
            return lambda _: p.bent_front(size["length"], size["width"], size["front"], two["side"][0])
        case "L":
            return lambda _: p.l_shape(size["length"], size["width"], *two["corner"])
        case "polygon":
            return _polygon(cells)
    return _drawing(cells, folder, problems)


def _regular(cells: Cells, length: int, missing: str) -> Callable[[int], PlanShape] | None:
    name = " ".join(cells.text("shape").lower().split())
    sides = cells.whole("sides", plan_shapes.FEWEST_SIDES, plan_shapes.MOST_SIDES, default=REGULAR.get(name))
    across = cells.word("across", {a.value: a for a in Across}, Across.SIDE)
    if sides is None:
        return None
    if name in REGULAR and sides != REGULAR[name]:
        cells.bad(
            "sides", tr("a {shape} has {count} sides", shape=name, count=REGULAR[name]), tr("correct it")
        )
        return None
    return lambda free: plan_shapes.regular(sides, free if missing == "length" else length, across)


def _polygon(cells: Cells) -> Callable[[int], PlanShape] | None:
    if not cells.text("corners"):
        cells.bad(
            "corners", tr("the cell is empty"), tr("list the corners as in 0 0 | 900 0 | 700 500 | 0 500")
        )
        return None
    try:
        corners = parse_corners(cells.text("corners"), cells.corner_unit(), cells.table.decimal)
        shape = plan_shapes.polygon(_straight(cells, corners))
    except (BadValue, InvalidOutline) as error:
        cells.bad("corners", error.reason, error.remedy)
        return None
    return lambda _: shape


def _straight(cells: Cells, corners: list[Point]) -> list[Point]:
    """Listed corners, in the order of the list, with their edges laid straight; none goes, each is a wall's."""
    found = traced(corners)
    straight = straightened(found.outline, fixed=range(len(corners)))
    if not straight.lines:
        return corners
    note_straight(cells, "corners", straight.lines, found.names)
    at = dict(zip(found.listed, straight.outline, strict=True))
    return [at[i] for i in sorted(at)]


def _drawing(cells: Cells, folder: Path, problems: Problems) -> Callable[[int], PlanShape] | None:
    drawn = drawn_outline(cells, folder, problems)
    if drawn is None:
        return None
    try:
        shape = plan_shapes.polygon(drawn.outline, "drawing")
    except InvalidOutline as error:
        cells.bad("drawing", error.reason, error.remedy)
        return None
    return lambda _: shape
