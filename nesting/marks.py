"""Where a score is marked on the piece in hand: from a side that the tape hooks, or at both its ends.

A tape hooks a corner best where the other edge stands square to the one that it runs along, well
enough where the corner is blunt, and not at all on a sharp point. Everything is exact; lengths are
rounded to the nanometre at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import isqrt

from .pieces import SLACK, Corner, Direction, Exact, Piece, Split, direction, length, magnitude, side_of
from .plan import Cut, CutKind
from .steps import End, Mark, rounded
from .units import mm

LEAST_SIDE = mm(20)
"""A shorter side takes neither a square nor the hook of a tape [common practice]. [nm]"""
_NEARLY_SQUARE = 3
"""Square of the sine of a tenth of a degree, times a million: no tape tells less."""
_NEARER = mm(1)
"""Marks from another side must be nearer by this, or the left or lower side has them. [nm]"""
_ORDER = (
    Direction.LEFT,
    Direction.BOTTOM,
    Direction.LOWER_LEFT,
    Direction.UPPER_LEFT,
    Direction.LOWER_RIGHT,
    Direction.UPPER_RIGHT,
    Direction.TOP,
    Direction.RIGHT,
)


@dataclass(frozen=True, slots=True)
class Hook:
    """A side parallel to the score, from which the tape measures square to both.

    Parameters
    ----------
    edge
        Where the side lies.
    index
        Of the side in the piece.
    is_raw
        Whether it is still as bought.
    distance, other
        Size of the part on its side, and of the other part in the same direction. [nm]
    table
        The distance as the tape shows it, rounded to the step of the shop. [nm]
    is_left
        The part on its side lies to the left of the cut.
    squares
        The score is square to an edge that it ends on, along which the tape can run.
    """

    edge: Direction
    index: int
    is_raw: bool
    distance: int
    other: int
    table: int
    is_left: bool
    squares: bool


@dataclass(frozen=True, slots=True)
class Placed:
    """A mark, with the side of the piece that it lies on and the end that it is measured from.

    `hook` is the side over which the tape hooks there.
    """

    mark: Mark
    side: int
    from_start: bool
    hook: int


@dataclass(frozen=True, slots=True)
class Measured:
    """How a score is found: by a hook, else by a mark at each end, the start of the cut first.

    `square_to` is the edge to which a marked score is square; `others` are hooks as good as `hook` but
    farther, from which a cutter measures where the stop is set to them already.
    """

    hook: Hook | None
    marks: tuple[Placed, ...] = ()
    square_to: Direction | None = None
    others: tuple[Hook, ...] = ()


def measured(piece: Piece, parts: Split, cut: Cut, waste: tuple[bool, bool], step: int | None) -> Measured:
    """How a person finds a score.

    Parameters
    ----------
    piece
        In hand.
    parts
        What the cut makes of it.
    cut
        The cut.
    waste
        Whether the left part is cullet, and the right one.
    step
        Marks are rounded to this; None for exact ones. [nm]

    Notes
    -----
    A score parallel to a side is measured from that side: one already cut before a raw one, then one
    whose part is kept (what is not measured takes the errors of all measures before it, so let it be
    cullet; a trim is measured from its raw side), then one whose measure is on the mark, then the nearer
    one. Any other is marked along the
    edges that it ends on: from square corners, then blunt ones, over cut edges before raw ones, both
    over one edge if that is to be had (an error in the length of the piece then skews nothing), then
    the nearer ones. A side that is parallel to the score but square to nothing that it ends on serves
    where no two square corners lie nearer.
    """
    hooks = _hooks(piece, parts.score, cut, waste, step)
    hook = hooks[0] if hooks else None
    if hook is not None and hook.squares:
        return Measured(hook, others=tuple(hooks[1:]))
    sides = _sides(piece)
    first, second = (list(_marks(piece, sides, end, step)) for end in parts.score)
    best = _best(first, second)
    if hook is not None and not all(
        p.mark.distance == 0 or (p.mark.is_square and p.mark.distance <= hook.distance) for p in best
    ):
        return Measured(hook)
    square = next((_facing(piece, i) for i in sides if _ends_square(piece, i, parts.score)), None)
    return Measured(None, best, square)


# ---------------------------------------------------------------- a side to measure from


def _hooks(
    piece: Piece, score: tuple[Corner, Corner], cut: Cut, waste: tuple[bool, bool], step: int | None
) -> list[Hook]:
    """The best side to measure from, then those that are as straight and take the errors as well."""
    start, end = score
    sx, sy = _between(start, end)
    found: list[tuple[bool, bool, bool, int, int, Hook]] = []
    squares: bool | None = None
    for i in range(len(piece.corners)):
        a, b = piece.edge(i)
        dx, dy = _between(a, b)
        apart, long2 = dx * sy - dy * sx, dx * dx + dy * dy
        if apart * apart > SLACK * SLACK * long2 or long2 < LEAST_SIDE * LEAST_SIDE:
            continue
        if squares is None:
            squares = any(_ends_square(piece, k, score) for k in range(len(piece.corners)))
        if not squares and not _abreast(a, b, score):
            continue
        near = _distance(a, b, start)
        is_left = side_of(start, end, a) > 0
        whole = max(_distance(a, b, p) for p in piece.corners)
        is_raw = piece.raw[i] is not None
        table = rounded(near, step, whole)
        hook = Hook(_facing(piece, i), i, is_raw, near, whole - near, table, is_left, squares)
        # the part that nobody measures takes the errors: let it be cullet, save at a trim
        is_trim = cut.kind is CutKind.TRIM
        lost = waste[0 if is_left else 1] and not is_trim
        found.append((is_raw and not is_trim, lost, table != near, near, _ORDER.index(hook.edge), hook))
    found.sort(key=lambda f: f[:5])
    return [f[-1] for f in found if f[:3] == found[0][:3]][: 1 if cut.kind is CutKind.TRIM else None]


def _distance(a: Corner, b: Corner, p: Corner) -> int:
    """Distance of p from the line through a and b, rounded to the nanometre."""
    if a[0] == b[0]:
        return round(magnitude(p[0] - a[0]))
    if a[1] == b[1]:
        return round(magnitude(p[1] - a[1]))
    off, dx, dy = side_of(a, b, p), b[0] - a[0], b[1] - a[1]
    square = 4 * Fraction(off * off) / (dx * dx + dy * dy)
    return (isqrt(square.numerator // square.denominator) + 1) // 2


def _is_short(a: Corner, b: Corner, least: int) -> bool:
    dx, dy = b[0] - a[0], b[1] - a[1]
    return dx * dx + dy * dy < least * least


def _abreast(a: Corner, b: Corner, score: tuple[Corner, Corner]) -> bool:
    """Whether a side lies beside half of a parallel score at least, so that a tape reaches it twice."""
    (x, y), (ex, ey) = score
    dx, dy = ex - x, ey - y
    along = sorted((p[0] - x) * dx + (p[1] - y) * dy for p in (a, b))
    whole = dx * dx + dy * dy
    return 2 * (min(along[1], whole) - max(along[0], 0)) >= whole


def _holds(piece: Piece, i: int, score: tuple[Corner, Corner]) -> bool:
    """Whether the score ends on side i."""
    a, b = piece.edge(i)
    return any(_distance(a, b, p) <= SLACK for p in score)


def _ends_square(piece: Piece, i: int, score: tuple[Corner, Corner]) -> bool:
    """Whether the score ends on side i, a side long enough for a square, at a right angle."""
    a, b = piece.edge(i)
    (x, y), (ex, ey) = score
    dot = (b[0] - a[0]) * (ex - x) + (b[1] - a[1]) * (ey - y)
    dx, dy = b[0] - a[0], b[1] - a[1]
    if dot * dot > SLACK * SLACK * (dx * dx + dy * dy) or _is_short(a, b, LEAST_SIDE):
        return False
    return _holds(piece, i, score)


def _facing(piece: Piece, i: int) -> Direction:
    """Where side i lies on the piece: its outward normal, in words."""
    a, b = piece.edge(i)
    return direction(b[1] - a[1], a[0] - b[0])


# ---------------------------------------------------------------- marks along the edges


def _sides(piece: Piece) -> list[int]:
    """The sides that a person can see, in order round the piece."""
    return [i for i in range(len(piece.corners)) if not _is_short(*piece.edge(i), SLACK + 1)]


def _marks(piece: Piece, sides: Sequence[int], end: Corner, step: int | None) -> Iterator[Placed]:
    """All ways to mark an end of a score; the corner itself where it lies on one."""
    at = [
        (length(*_between(*piece.edge(i))), i, k, from_start)
        for k, i in enumerate(sides)
        for from_start in (True, False)
        if _is_short(end, piece.edge(i)[0 if from_start else 1], SLACK + 1)
    ]
    if at:
        # both edges of the corner say the same: take the longer one, it is found more easily
        _, _, k, from_start = max(at, key=lambda c: (c[0], -c[1]))
        yield _placed(piece, sides, k, from_start, end, 0, step)
        return
    on = [k for k, i in enumerate(sides) if _lies_on(piece, i, end)]
    for k in on:
        a, b = piece.edge(sides[k])
        yield _placed(piece, sides, k, True, end, length(*_between(a, end)), step)
        yield _placed(piece, sides, k, False, end, length(*_between(end, b)), step)


def _between(a: Corner, b: Corner) -> tuple[Exact, Exact]:
    return b[0] - a[0], b[1] - a[1]


def _lies_on(piece: Piece, i: int, p: Corner) -> bool:
    a, b = piece.edge(i)
    dx, dy = _between(a, b)
    along = (p[0] - a[0]) * dx + (p[1] - a[1]) * dy
    return side_of(a, b, p) == 0 and 0 <= along <= dx * dx + dy * dy


def _placed(
    piece: Piece, sides: Sequence[int], k: int, from_start: bool, at: Corner, distance: int, step: int | None
) -> Placed:
    i = sides[k]
    hook, across = (sides[k - 1], sides[(k + 1) % len(sides)])[:: 1 if from_start else -1]
    a, b = piece.edge(i)
    whole = length(*_between(a, b))
    mark = Mark(
        edge=_facing(piece, i),
        edge_length=whole,
        end=_end(a, b, at_start=from_start),
        distance=distance,
        table=rounded(distance, step, whole),
        step=step,
        other=_end(a, b, at_start=not from_start),
        is_square=_grade(piece, i, hook) == 0,
        is_sharp=_grade(piece, i, hook) == 2,
        is_raw=piece.raw[hook] is not None,
        can_check=distance > 0 and _grade(piece, i, across) < 2,
        at=_whole(at),
        corner=_whole(a if from_start else b),
    )
    return Placed(mark, i, from_start, hook)


def _whole(p: Corner) -> tuple[int, int]:
    return round(p[0]), round(p[1])


def _grade(piece: Piece, i: int, hook: int) -> int:
    """How well a tape along side i hooks over a side beside it: 0 square, 1 blunt, 2 not at all."""
    a, b = piece.edge(i)
    p, q = piece.edge(hook)
    if _is_short(p, q, LEAST_SIDE):
        return 2
    (dx, dy), (ex, ey) = _between(a, b), _between(p, q)
    dot = dx * ex + dy * ey
    if dot * dot * 10**6 <= _NEARLY_SQUARE * (dx * dx + dy * dy) * (ex * ex + ey * ey):
        return 0
    return 1 if dot > 0 else 2


def _end(a: Corner, b: Corner, *, at_start: bool) -> End:
    dx, dy = _between(b, a) if at_start else _between(a, b)
    if magnitude(dx) >= magnitude(dy):
        return End.RIGHT if dx > 0 else End.LEFT
    return End.UPPER if dy > 0 else End.LOWER


def _best(first: Sequence[Placed], second: Sequence[Placed]) -> tuple[Placed, Placed]:
    """The marks of both ends that a tape finds best."""

    def worth(pair: tuple[Placed, Placed]) -> tuple[int, int, int, int, int]:
        true = [p.mark for p in pair if p.mark.distance]
        return (
            sum(m.is_sharp for m in true),
            sum(not m.is_square for m in true),
            sum(m.is_raw for m in true),
            int(len(true) == 2 and pair[0].hook != pair[1].hook),
            sum(_ORDER_OF_ENDS.index(m.end) for m in true),
        )

    pairs = sorted(product(first, second), key=worth)
    best = pairs[0]
    for pair in pairs[1:]:
        if worth(pair)[:4] != worth(best)[:4]:
            break
        if _reach(pair) < _reach(best) - _NEARER:
            best = pair
    return best


_ORDER_OF_ENDS = (End.LEFT, End.LOWER, End.UPPER, End.RIGHT)


def _reach(pair: tuple[Placed, Placed]) -> int:
    return pair[0].mark.distance + pair[1].mark.distance
