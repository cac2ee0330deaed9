"""The faces of upright walls seen from above: inner and outer outline, and where the walls meet.

Everything is computed with decimals of 30 digits and rounded to whole nanometres once, at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from functools import lru_cache
from typing import Final

from ..errors import InvalidOutline
from ..outlines import Outline, area2, is_convex, make_outline, sides
from ..text import tr

EXACT: Final = Context(prec=30)
Place = tuple[Decimal, Decimal]
"""A point. [nm]"""


@dataclass(frozen=True, slots=True)
class Face:
    """One straight face: where it begins, the unit vector along it, and its length. [nm]"""

    start: Place
    along: Place
    length: Decimal

    def beyond(self, distance: Decimal) -> Place:
        """The point of its line moved to the right by this distance, beside its start."""
        return self.start[0] + self.along[1] * distance, self.start[1] - self.along[0] * distance


def faces_of(
    corners: Sequence[Place | tuple[int, int]], alongs: Sequence[Place] | None = None
) -> tuple[Face, ...]:
    """The faces between corners that go round counter-clockwise, one a corner, from it to the next.

    `alongs` are their unit vectors, where they are known: those of an outline that was moved.
    """
    out = []
    points = [(Decimal(x), Decimal(y)) for x, y in corners]
    for i, (x, y) in enumerate(points):
        qx, qy = points[(i + 1) % len(points)]
        dx, dy = qx - x, qy - y
        if alongs is not None:
            along = alongs[i]
            length = dx * along[0] + dy * along[1]
        else:
            length = abs(dx + dy) if not dx or not dy else (dx * dx + dy * dy).sqrt()
            along = (dx / length, dy / length)
        out.append(Face((x, y), along, length))
    return tuple(out)


def directions(outline: Outline) -> tuple[Place, ...] | None:
    """Unit vectors along the faces of an outline; None where all run along the axes."""
    if is_square(outline):
        return None
    with localcontext(EXACT):
        return tuple(face.along for face in faces_of(outline))


def places(corners: Sequence[tuple[int, int]]) -> list[Place]:
    """Corners as places."""
    return [(Decimal(x), Decimal(y)) for x, y in corners]


def sine(a: Place, b: Place) -> Decimal:
    """Sine of the turn from one unit vector to another, positive to the left."""
    return a[0] * b[1] - a[1] * b[0]


def cosine(a: Place, b: Place) -> Decimal:
    """Cosine of the turn from one unit vector to another."""
    return a[0] * b[0] + a[1] * b[1]


def moved(
    corners: Sequence[Place | tuple[int, int]],
    distances: Sequence[int | Decimal],
    alongs: Sequence[Place] | None = None,
) -> list[Place]:
    """Corners after every face was moved to the right (outwards) by its own distance.

    Parameters
    ----------
    corners
        Counter-clockwise; need not be convex. [nm]
    distances
        One a face; negative moves it inwards. [nm]
    alongs
        See `faces_of`.

    Raises
    ------
    InvalidOutline
        When a face vanishes between its neighbours.
    """
    with localcontext(EXACT):
        faces = faces_of(corners, alongs)
        out: list[Place] = []
        for i, face in enumerate(faces):
            before = faces[i - 1]
            p = before.beyond(Decimal(distances[i - 1]))
            q = face.beyond(Decimal(distances[i]))
            turn = sine(before.along, face.along)
            if not turn:
                raise InvalidOutline(
                    tr("walls {first} and {second} lie on one line", first=i or len(faces), second=i + 1),
                    tr("leave the corner between them out"),
                )
            # p + s * before = q + r * face
            s = sine((q[0] - p[0], q[1] - p[1]), face.along) / turn
            out.append((p[0] + s * before.along[0], p[1] + s * before.along[1]))
        for i, face in enumerate(faces):
            (ax, ay), (bx, by) = out[i], out[(i + 1) % len(out)]
            if cosine((bx - ax, by - ay), face.along) <= 0:
                raise InvalidOutline(
                    tr("wall {number} has no length left", number=i + 1),
                    tr("make the tank larger or the glass thinner"),
                )
    return out


def whole(places: Sequence[Place]) -> Outline:
    """Places rounded to whole nanometres."""
    return tuple((int(x.to_integral_value()), int(y.to_integral_value())) for x, y in places)


def is_square(outline: Outline) -> bool:
    """Whether all faces run along the axes."""
    return all(a[0] == b[0] or a[1] == b[1] for a, b in sides(outline))


def grown(outline: Outline, distances: Sequence[int], alongs: Sequence[Place] | None = None) -> Outline:
    """An outline with every face moved outwards by its own distance, rounded to the nanometre. [nm]

    `alongs` are its directions, where they are known (see `directions`).

    Raises
    ------
    InvalidOutline
        When a face vanishes, or two faces cross.
    """
    if alongs is None and is_square(outline):
        moved_on = _grown_square(outline, distances)
        if len(outline) == 4:
            return moved_on
    else:
        moved_on = whole(moved(outline, distances, alongs))
    # faces that keep their direction keep a convex outline convex
    clean = moved_on if is_convex(outline) else make_outline(moved_on)
    if len(clean) != len(outline) or area2(clean) <= 0:
        raise InvalidOutline(
            tr("the walls leave no room inside"), tr("make the tank larger or the glass thinner")
        )
    return moved_on


def _grown_square(outline: Outline, distances: Sequence[int]) -> Outline:
    """`grown` where all faces run along the axes: whole numbers do."""
    if len(outline) == 4 and outline[0][1] == outline[1][1] and outline[0][0] < outline[1][0]:
        (x0, y0), (x1, _), (_, y1), _ = outline
        front, right, back, left = distances
        x0, x1, y0, y1 = x0 - left, x1 + right, y0 - front, y1 + back
        if x0 < x1 and y0 < y1:
            return (x0, y0), (x1, y0), (x1, y1), (x0, y1)
    out = []
    n = len(outline)
    for i, (x, y) in enumerate(outline):
        before, after = outline[i - 1], outline[(i + 1) % n]
        for p, q, far in ((before, (x, y), distances[i - 1]), ((x, y), after, distances[i])):
            if q[0] == p[0]:
                x = p[0] + (far if q[1] > p[1] else -far)
            else:
                y = p[1] - (far if q[0] > p[0] else -far)
        out.append((x, y))
    for i, (x, y) in enumerate(out):
        (px, py), (ax, ay), (bx, by) = out[(i + 1) % n], outline[i], outline[(i + 1) % n]
        if (px - x) * (bx - ax) + (py - y) * (by - ay) <= 0:
            raise InvalidOutline(
                tr("wall {number} has no length left", number=i + 1),
                tr("make the tank larger or the glass thinner"),
            )
    return tuple(out)


@lru_cache(maxsize=256)
def cos_sin(top: int, bottom: int) -> Place:
    """Cosine and sine of ``pi top / bottom``, to 40 digits (Taylor series)."""
    with localcontext(Context(prec=60)):
        # Machin 1706: pi / 4 = 4 arctan 1/5 - arctan 1/239
        pi = 4 * (4 * _arctan(5) - _arctan(239))
        angle = pi * top / bottom
        c = term = Decimal(1)
        s = part = angle
        k = 0
        while abs(term) > Decimal("1e-55") or abs(part) > Decimal("1e-55"):
            k += 2
            term *= -angle * angle / (k * (k - 1))
            part *= -angle * angle / (k * (k + 1))
            c, s = c + term, s + part
        return +c, +s


def _arctan(of: int) -> Decimal:
    """Arc tangent of 1 / of (Gregory 1671)."""
    power = total = Decimal(1) / of
    k, sign = 1, 1
    while power > Decimal("1e-58"):
        power /= of * of
        k, sign = k + 2, -sign
        total += sign * power / k
    return total
