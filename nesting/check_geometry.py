"""Exact geometry of the checker, written apart from that of the optimizer.

Points are pairs of whole or rational nanometres; a piece is a convex polygon, counter-clockwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from math import isqrt

Number = int | Fraction
Vertex = tuple[Number, Number]
Shape = tuple[Vertex, ...]

_CALC = Context(prec=50)
_PI = Decimal("3.14159265358979323846264338327950288419716939937510")


def turn_of(o: Vertex, a: Vertex, b: Vertex) -> Number:
    """Cross product of a - o and b - o: positive where o, a, b turn left."""
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def double_area(shape: Sequence[Vertex]) -> Number:
    """Twice the signed area (shoelace)."""
    total: Number = 0
    for i in range(len(shape)):
        (x0, y0), (x1, y1) = shape[i - 1], shape[i]
        total += x0 * y1 - x1 * y0
    return total


def extent(shape: Sequence[Vertex]) -> tuple[Number, Number, Number, Number]:
    """Least x and y, greatest x and y."""
    return (
        min(p[0] for p in shape),
        min(p[1] for p in shape),
        max(p[0] for p in shape),
        max(p[1] for p in shape),
    )


def box_sides(shape: Sequence[Vertex]) -> bool:
    """Whether the shape is a rectangle along the axes."""
    if len(shape) != 4:
        return False
    x0, y0, x1, y1 = extent(shape)
    return all(p[0] in (x0, x1) and p[1] in (y0, y1) for p in shape) and len(set(shape)) == 4


def halves(shape: Shape, a: Vertex, b: Vertex) -> tuple[Shape, Shape]:
    """The parts of a convex shape to the left and right of the line from a through b."""
    left: list[Vertex] = []
    right: list[Vertex] = []
    where = [turn_of(a, b, p) for p in shape]
    for i, p in enumerate(shape):
        j = (i + 1) % len(shape)
        if where[i] >= 0:
            left.append(p)
        if where[i] <= 0:
            right.append(p)
        if (where[i] > 0 and where[j] < 0) or (where[i] < 0 and where[j] > 0):
            q = shape[j]
            if a[0] == b[0]:  # a vertical line meets a side at its own x
                x: Number = a[0]
                y: Number = (
                    p[1] if p[1] == q[1] else p[1] + Fraction(q[1] - p[1]) * (x - p[0]) / (q[0] - p[0])
                )
            elif a[1] == b[1]:
                y = a[1]
                x = p[0] if p[0] == q[0] else p[0] + Fraction(q[0] - p[0]) * (y - p[1]) / (q[1] - p[1])
            else:
                part = Fraction(where[i]) / (where[i] - where[j])
                x, y = p[0] + part * (q[0] - p[0]), p[1] + part * (q[1] - p[1])
            left.append((x, y))
            right.append((x, y))
    return tuple(left), tuple(right)


def chord(left: Shape, right: Shape, a: Vertex, b: Vertex) -> tuple[Vertex, Vertex]:
    """The ends of the side that two halves share, in the sense from a to b."""
    shared = set(right)
    ends = [p for p in left if p in shared]
    ends.sort(key=lambda p: p[0] * (b[0] - a[0]) + p[1] * (b[1] - a[1]))
    return ends[0], ends[-1]


def near(p: Vertex, q: Vertex, slack: int) -> bool:
    """Whether two points are at most `slack` [nm] apart."""
    return (p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 <= slack * slack


def flaw_box(flaw: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """The box of a flaw x, y, width, height; a scratch or a point counts as 2 nm wide."""
    x, y, w, h = flaw
    dx, dy = int(not w), int(not h)
    return x - dx, y - dy, x + w + dx, y + h + dy


def enters(a: Vertex, b: Vertex, box: tuple[int, int, int, int]) -> bool:
    """Whether the straight line from a to b passes through the inside of a box (Liang and Barsky 1984)."""
    first, last = Fraction(0), Fraction(1)
    for axis in (0, 1):
        low, high, way = box[axis] - a[axis], box[axis + 2] - a[axis], b[axis] - a[axis]
        if not way:
            if not low < 0 < high:
                return False
            continue
        inn, out = sorted((Fraction(low) / way, Fraction(high) / way))
        first, last = max(first, inn), min(last, out)
    return first < last


def on_border(shape: Sequence[Vertex], p: Vertex, slack: int) -> bool:
    """Whether a point lies within `slack` [nm] of the border."""
    for i in range(len(shape)):
        a, b = shape[i - 1], shape[i]
        dx, dy = b[0] - a[0], b[1] - a[1]
        long2 = dx * dx + dy * dy
        if not long2:
            continue
        off = turn_of(a, b, p)
        if off * off > slack * slack * long2:
            continue
        along = (p[0] - a[0]) * dx + (p[1] - a[1]) * dy
        beyond = max(-along, along - long2, 0)
        if beyond * beyond <= slack * slack * long2:
            return True
    return False


def slimmer(shape: Sequence[Vertex], distance: int) -> bool:
    """Whether the least width, square to one of the sides, is under `distance` [nm]."""
    for i in range(len(shape)):
        a, b = shape[i - 1], shape[i]
        long2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
        if not long2:
            continue
        far = max(turn_of(a, b, p) for p in shape)
        if far * far < distance * distance * long2:
            return True
    return False


def rounded(shape: Sequence[Vertex]) -> tuple[tuple[int, int], ...]:
    """Corners in whole nanometres."""
    return tuple((round(x), round(y)) for x, y in shape)


def tidy(shape: Sequence[Vertex], slack: int = 2) -> Shape:
    """Without points within `slack` [nm] of the last one or of the line between their neighbours.

    One by one from the least point, so that of two points side by side at a corner one stays, and the same one
    wherever the shape begins.
    """
    kept: list[Vertex] = []
    first = min(range(len(shape)), key=lambda i: shape[i], default=0)
    for p in (*shape[first:], *shape[:first]):
        if not kept or (p[0] - kept[-1][0]) ** 2 + (p[1] - kept[-1][1]) ** 2 > slack * slack:
            kept.append(p)
    while (
        len(kept) > 1 and (kept[0][0] - kept[-1][0]) ** 2 + (kept[0][1] - kept[-1][1]) ** 2 <= slack * slack
    ):
        kept.pop()
    i = 0
    while i < len(kept) and len(kept) > 2:
        a, b = kept[i - 1], kept[(i + 1) % len(kept)]
        off = turn_of(a, b, kept[i])
        if off * off > slack * slack * ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2):
            i += 1
        else:
            del kept[i]
    return tuple(kept)


def same_shape(stated: Sequence[Vertex], found: Sequence[Vertex], slack: int) -> bool:
    """Whether two convex outlines in place agree: every corner of each lies within `slack` [nm] of the other's border.

    Both counter-clockwise. Two corners side by side, some nanometres apart, so agree with one.
    """
    return (
        len(stated) >= 3
        and double_area(stated) > 0
        and all(on_border(found, p, slack) for p in stated)
        and all(on_border(stated, p, slack) for p in found)
    )


@lru_cache(maxsize=4096)
def sine_cosine(angle: int) -> tuple[Decimal, Decimal]:
    """Sine and cosine of an angle [1e-9 degree] to forty digits, by their series."""
    x = _CALC.divide(_CALC.multiply(Decimal(angle % (360 * 10**9)), _PI), Decimal(180 * 10**9))
    sine, cosine, term = Decimal(0), Decimal(0), Decimal(1)
    for k in range(80):
        if k % 2:
            sine = _CALC.add(sine, term if k % 4 == 1 else -term)
        else:
            cosine = _CALC.add(cosine, term if k % 4 == 0 else -term)
        term = _CALC.divide(_CALC.multiply(term, x), Decimal(k + 1))
    return sine, cosine


def moved(outline: Sequence[tuple[int, int]], turned: int, mirrored: bool) -> Shape:
    """An outline reflected (x -> -x) if so, then turned counter-clockwise by `turned` [1e-9 degree]."""
    points = [(-x, y) for x, y in reversed(outline)] if mirrored else list(outline)
    quarter, rest = divmod(turned % (360 * 10**9), 90 * 10**9)
    if not rest:
        for _ in range(quarter):
            points = [(-y, x) for x, y in points]
        return tuple(points)
    sine, cosine = (Fraction(v) for v in sine_cosine(turned))
    # a thousandth of a nanometre is plenty here and keeps the numbers short
    return tuple(
        (
            Fraction(round((x * cosine - y * sine) * 1000), 1000),
            Fraction(round((x * sine + y * cosine) * 1000), 1000),
        )
        for x, y in points
    )


def fits_by_shift(shape: Sequence[Vertex], target: Sequence[Vertex], slack: int) -> bool:
    """Whether a shift lays every corner of `shape` within `slack` [nm] of the corner of `target`."""
    p, q = tidy(shape), tidy(target)
    n = len(p)
    if n != len(q):
        return False
    for k in range(n):
        away = [(q[(i + k) % n][0] - p[i][0], q[(i + k) % n][1] - p[i][1]) for i in range(n)]
        x0, y0, x1, y1 = extent(away)
        cx, cy = Fraction(x0 + x1) / 2, Fraction(y0 + y1) / 2
        if all((x - cx) ** 2 + (y - cy) ** 2 <= slack * slack for x, y in away):
            return True
    return False


def sharper(at: Vertex, along: Vertex, other: Vertex, angle: int) -> bool:
    """Whether the angle at `at` between two points is under `angle` [1/1000 degree, at most 90,000].

    Half a thousandth of a degree is forgiven, since corners are rounded to the nanometre.
    """
    u = (along[0] - at[0], along[1] - at[1])
    v = (other[0] - at[0], other[1] - at[1])
    dot = u[0] * v[0] + u[1] * v[1]
    if dot <= 0:
        return False
    _, cosine = sine_cosine(angle * 10**6 - 500_000)
    limit = Fraction(cosine) ** 2
    return dot * dot > limit * (u[0] ** 2 + u[1] ** 2) * (v[0] ** 2 + v[1] ** 2)


def offsets_within(
    a: Vertex, b: Vertex, points: Sequence[Vertex], wanted: int, slack: int
) -> list[tuple[bool, bool]]:
    """For each point, its distance to the right of the line a -> b: at least, and at most, `wanted`.

    Both within `slack` [nm].
    """
    scale = 10**6
    long = isqrt(int(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) * scale * scale))
    least, most = (wanted - slack) * long, (wanted + slack) * long
    outs = [-turn_of(a, b, p) * scale for p in points]
    return [(out >= least, out <= most) for out in outs]
