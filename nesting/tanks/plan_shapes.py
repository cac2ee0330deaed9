"""Plan shapes: the outline of a tank seen from above, and the names of its walls.

x runs from left to right along the front, y from the front to the back, as somebody sees it who stands
before the tank. Outlines are counter-clockwise, wall i runs from corner i to the next, and wall 0 is
the front. Corners are rounded to the nanometre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from enum import Enum
from typing import Final

from ..errors import InvalidOutline
from ..outlines import Outline, Point, area2, box, make_outline, rectangle
from ..text import tr
from ..units import show
from .faces import cos_sin, whole

FEWEST_SIDES: Final = 3
MOST_SIDES: Final = 16


class Across(Enum):
    """How a regular polygon is measured."""

    SIDE = "side"
    FLATS = "flats"
    CORNERS = "corners"


@dataclass(frozen=True, slots=True)
class PlanShape:
    """A tank seen from above.

    Parameters
    ----------
    kind
        Its name in lists: ``rectangle``, ``corner`` ...
    outline
        Counter-clockwise, wall 0 (the front) first. [nm]
    walls
        Name of every wall, one a face of the outline.
    mirror
        Left and right are exchanged against the shape of this kind.
    """

    kind: str
    outline: Outline
    walls: tuple[str, ...]
    mirror: bool = False

    def order(self, wall: int) -> int:
        """The place of a wall in the order of the shape that is not mirrored."""
        return -wall % len(self.walls) if self.mirror else wall

    def mirrored(self) -> PlanShape:
        """The shape with left and right exchanged; the front stays wall 0."""
        x0, _, x1, _ = box(self.outline)
        turned = [(x0 + x1 - x, y) for x, y in self.outline]
        n = len(turned)
        # walls go round the other way: wall i of the mirror image is wall -i of the shape
        corners = tuple(turned[(1 - i) % n] for i in range(n))
        names = tuple(other_hand(self.walls[-i % n]) for i in range(n))
        return PlanShape(self.kind, corners, names, not self.mirror)


def other_hand(name: str) -> str:
    """The name of a wall in the mirror image."""
    words = {"left": "right", "right": "left"}
    return " ".join(words.get(word, word) for word in name.split(" "))


def _positive(**lengths: int) -> None:
    for name, length in lengths.items():
        if length <= 0:
            word = name.replace("_", " ")
            raise InvalidOutline(
                tr("the {word} would be {size}", word=word, size=show(length)), tr("correct the sizes")
            )


def rectangular(length: int, width: int) -> PlanShape:
    """Four walls: front, right, back, left. [nm]"""
    _positive(length=length, width=width)
    return PlanShape("rectangle", rectangle(length, width), ("front", "right", "back", "left"))


def corner_pentagon(left_leg: int, right_leg: int, left_return: int, right_return: int) -> PlanShape:
    """A tank for the corner of a room: two legs along the walls, two returns square to them, a front.

    Parameters
    ----------
    left_leg, right_leg
        Along the walls of the room, from the corner at the back; left and right as seen from the
        front. [nm]
    left_return, right_return
        Square to the legs at their far ends. [nm]

    Notes
    -----
    The corner of the room is at 0, 0, the left leg along x, the right one along y.
    """
    _positive(leg=min(right_leg, left_leg), side_return=min(right_return, left_return))
    _positive(front=min(left_leg - right_return, right_leg - left_return))
    corners = ((left_leg, left_return), (right_return, right_leg), (0, right_leg), (0, 0), (left_leg, 0))
    return PlanShape("corner", corners, ("front", "right return", "right wall", "left wall", "left return"))


def regular(sides: int, measure: int, across: Across) -> PlanShape:
    """A regular polygon whose front lies along x.

    Parameters
    ----------
    sides
        3 to 16.
    measure
        Its side, the diameter of the inscribed circle (across flats) or that of the circle through the
        corners (across corners). [nm]
    across
        Which of them.

    Raises
    ------
    InvalidOutline
        With fewer or more sides.
    """
    _positive(measure=measure)
    if not FEWEST_SIDES <= sides <= MOST_SIDES:
        raise InvalidOutline(
            tr("a regular tank of {sides} sides", sides=sides),
            tr("give {least} to {most} sides", least=FEWEST_SIDES, most=MOST_SIDES),
        )
    with localcontext(Context(prec=50)):
        c, s = cos_sin(1, sides)
        radius = {
            Across.SIDE: Decimal(measure) / (2 * s),
            Across.FLATS: Decimal(measure) / (2 * c),
            Across.CORNERS: Decimal(measure) / 2,
        }[across]
        places = []
        for k in range(sides):
            # the first corner is the left end of the front, at 270 degrees less half a side
            c, s = cos_sin(4 * k + 3 * sides - 2, 2 * sides)
            places.append((radius * c, radius * s))
        x0 = min(x for x, _ in places)
        y0 = min(y for _, y in places)
        outline = whole([(x - x0, y - y0) for x, y in places])
    names = ("front", *(f"wall {k}" for k in range(2, sides + 1)))
    return PlanShape("regular", outline, names)


def long_octagon(length: int, width: int, along: int, deep: int) -> PlanShape:
    """A rectangle with its four corners cut off: so much along the length, so much along the width. [nm]"""
    _positive(front=length - 2 * along, side=width - 2 * deep, corner=min(along, deep))
    a, b = along, deep
    outline = (
        (a, 0),
        (length - a, 0),
        (length, b),
        (length, width - b),
        (length - a, width),
        (a, width),
        (0, width - b),
        (0, b),
    )
    names = (
        "front",
        "front right",
        "right",
        "back right",
        "back",
        "back left",
        "left",
        "front left",
    )
    return PlanShape("long octagon", outline, names)


def long_hexagon(length: int, width: int, point: int) -> PlanShape:
    """Front and back with a pointed end on either side, each point so deep. [nm]"""
    _positive(front=length - 2 * point, width=width, point=point)
    if width % 2:
        width += 1
    outline = (
        (point, 0),
        (length - point, 0),
        (length, width // 2),
        (length - point, width),
        (point, width),
        (0, width // 2),
    )
    names = ("front", "front right", "back right", "back", "back left", "front left")
    return PlanShape("long hexagon", outline, names)


def _tapered(back: int, front: int, width: int) -> None:
    _positive(back=back, front=front, width=width)
    if back == front:
        raise InvalidOutline(tr("front and back are equally long"), tr("order a rectangle"))


def trapezoid(back: int, front: int, width: int) -> PlanShape:
    """Front and back of different lengths, in the middle of each other. [nm]"""
    _tapered(back, front, width)
    low, high = max(0, (back - front) // 2), max(0, (front - back) // 2)
    outline = ((low, 0), (low + front, 0), (high + back, width), (high, width))
    return PlanShape("trapezoid", outline, ("front", "right", "back", "left"))


def right_trapezoid(back: int, front: int, width: int) -> PlanShape:
    """Front and back of different lengths, square at the left. [nm]"""
    _tapered(back, front, width)
    outline = ((0, 0), (front, 0), (back, width), (0, width))
    return PlanShape("right trapezoid", outline, ("front", "right", "back", "left"))


def bent_front(length: int, width: int, middle: int, side: int) -> PlanShape:
    """A front in three parts: a middle, and a wing to either side wall. [nm]

    Parameters
    ----------
    length, width
        Of the back, and from the back to the middle of the front.
    middle
        Length of the middle part.
    side
        Depth of the side walls, square to the back.
    """
    _positive(middle=middle, side=side, wing=min(length - middle, width - side))
    x0 = (length - middle) // 2
    outline = (
        (x0, 0),
        (x0 + middle, 0),
        (length, width - side),
        (length, width),
        (0, width),
        (0, width - side),
    )
    names = ("front", "right wing", "right", "back", "left", "left wing")
    return PlanShape("bent front", outline, names)


def l_shape(length: int, width: int, notch_length: int, notch_width: int) -> PlanShape:
    """A rectangle without its front right corner. [nm]"""
    _positive(front=length - notch_length, right=width - notch_width, notch=min(notch_length, notch_width))
    x, y = length - notch_length, notch_width
    outline = ((0, 0), (x, 0), (x, y), (length, y), (length, width), (0, width))
    names = ("front", "inner side", "inner front", "right", "back", "left")
    return PlanShape("L", outline, names)


def polygon(corners: Sequence[Point], kind: str = "polygon") -> PlanShape:
    """Any outline by its corners, the front from the first corner to the second. [nm]

    Raises
    ------
    InvalidOutline
        When the corners are no outline.
    """
    outline = make_outline(corners)
    if area2([(x, y) for x, y in corners]) < 0:
        # make_outline keeps the first corner and goes round the other way: the front is the last wall
        outline = (outline[-1], *outline[:-1])
    x0, y0, _, _ = box(outline)
    outline = tuple((x - x0, y - y0) for x, y in outline)
    if len(outline) > MOST_SIDES:
        raise InvalidOutline(
            tr("a tank with {count} walls", count=len(outline)),
            tr("give at most {most} corners", most=MOST_SIDES),
        )
    return PlanShape(kind, outline, ("front", *(f"wall {k}" for k in range(2, len(outline) + 1))))
