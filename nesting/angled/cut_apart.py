"""The shape cuts that part the panels of a blank: found greedily, worked out exactly.

If a set of panels can be parted by edge-to-edge cuts, so can every subset (restrict the cuts), so that
any line which parts two of them may be taken first: no backtracking. A parting line can be moved until it
carries an edge of a panel or passes through two corners. Whether waste may be broken off depends on the
order, so two orders are tried: parting first, or waste around all panels first.

Ends of cuts are whole nanometres. Where an edge runs on at a slight turn from a cut between panels, the
corner there moves by hundreds when the cut is one nanometre off: then lines through other corners are tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from ..outlines import Outline, Point, area2, rectangle, sides
from ..rules import Rules
from .exact import (
    Exact,
    Rough,
    breaks_off,
    depth_beyond,
    halves,
    lines_near,
    rough_area2,
    rough_ends,
    side_of,
    split,
    tidy,
    too_long,
    whole,
    without_twins,
)

ON = 300
"""Corners this near to a line lie on it: edges of different panels were rounded each for itself. [nm]"""
TRUE = 300
"""A panel's corners come out this near to where they should be. [nm]"""
CLEAN = 5
"""A line that reaches over panels by no more than this is rather taken than one that needs `ON`. [nm]"""
TWINS = 200
"""Corners of a piece nearer to each other than this are stated as one: cuts that should meet in it were
rounded, each for itself. [nm]"""
OTHERS = 8
"""Lines tried for a cut between panels where its first choice leaves panels untrue."""
LEFT_ON = 20_000
"""Waste on a panel that is wider than this, spread over its border, is no matter of rounding. [nm]"""
LEFT, RIGHT, ACROSS = 1, -1, 0
_Found = tuple[Point, Point, list[int], list[int]]
"""Both ends of a score, and the panels to its left and right."""


class Fault(Enum):
    """Why scores do not do: some waste cannot be broken off, or a panel does not come out as it should."""

    STUCK = "stuck"
    UNTRUE = "untrue"


@dataclass(frozen=True, slots=True)
class Score:
    """A shape cut: which piece, from where to where. Piece 0 is the blank; score i makes 2i+1 to its left
    and 2i+2 to its right."""

    piece: int
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class CutApart:
    """The scores of a blank, and by piece what is left in the end: its outline, and the panel's place or None."""

    scores: tuple[Score, ...]
    leaves: tuple[tuple[int, Outline, int | None], ...]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line along edges of panels, where each panel lies (LEFT, RIGHT or ACROSS it), and whose edges these are.

    `clean` says of which panels no more than `CLEAN` reaches over it.
    """

    start: Point
    end: Point
    where: tuple[int, ...]
    clean: tuple[bool, ...]
    carries: tuple[int, ...]


def _reaches(a: Point, b: Point, outline: Outline, slack: int) -> tuple[int, bool]:
    """Where a panel lies to the line a -> b, and whether it is clean of it.

    What reaches over the line by no more than `slack` [nm] does not count.
    """
    (ax, ay), dx, dy = a, b[0] - a[0], b[1] - a[1]
    long2 = dx * dx + dy * dy
    offs = [dx * (y - ay) - dy * (x - ax) for x, y in outline]
    low, high = min(offs), max(offs)
    over = min(max(0, -low), max(0, high))
    clean = over * over <= CLEAN * CLEAN * long2
    if low >= 0 or low * low <= slack * slack * long2:
        return LEFT, clean
    return (RIGHT if high <= 0 or high * high <= slack * slack * long2 else ACROSS), clean


def _lines(outlines: Sequence[Outline], slack: int) -> list[_Line]:
    """The line along every edge, through the two farthest corners of edges within `slack` [nm] of it."""
    out = []
    seen: set[tuple[int, int]] = set()
    every = [(m, i, a, b) for m, o in enumerate(outlines) for i, (a, b) in enumerate(sides(o))]
    for m, i, a, b in every:
        if (m, i) in seen:
            continue
        (ax, ay), dx, dy = a, b[0] - a[0], b[1] - a[1]
        most = slack * slack * (dx * dx + dy * dy)
        on = [(a, b)]
        owners = [m]
        for n, j, c, d in every:
            if (dx * (c[1] - ay) - dy * (c[0] - ax)) ** 2 > most or (n, j) == (m, i):
                continue
            if (dx * (d[1] - ay) - dy * (d[0] - ax)) ** 2 > most:
                continue
            on.append((c, d))
            owners.append(n)
            if (d[0] - c[0]) * dx + (d[1] - c[1]) * dy > 0:
                seen.add((n, j))  # the same line in the same sense; in the other it is a line of its own
        points = [p for pair in on for p in pair]
        points.sort(key=lambda p: (p[0] - ax) * dx + (p[1] - ay) * dy)
        start, end = points[0], points[-1]
        found = [_reaches(start, end, o, slack) for o in outlines]
        where, clean = tuple(w for w, _ in found), tuple(c for _, c in found)
        out.append(_Line(start, end, where, clean, tuple(owners)))
    return out


class _Parting:
    """Parts the panels of one blank. Pieces are floats here: `cut_apart` replays the scores exactly."""

    def __init__(
        self,
        outlines: Sequence[Outline],
        rules: Rules,
        *,
        waste_first: bool,
        slack: int,
        other: int | None = None,
    ) -> None:
        self.outlines, self.rules, self.waste_first, self.slack = outlines, rules, waste_first, slack
        self.other = other
        self.as_asked = other is None
        self.scores: list[Score] = []

    def run(self, width: int, height: int, lines: Sequence[_Line]) -> bool:
        """Find all scores; False where panels cannot be parted."""
        around = [(float(x), float(y)) for x, y in rectangle(width, height)]
        stack: list[tuple[int, Rough, list[int]]] = [(0, around, list(range(len(self.outlines))))]
        while stack:
            piece, shape, members = stack.pop()
            if not members:
                continue
            found = self._next(shape, members, lines)
            if found is None:
                if len(members) > 1 or self._left_on(shape, members[0]):
                    return False
                continue
            start, end, left, right = found
            parts = halves(shape, start, end)
            if any(held and len(part) < 3 for held, part in zip((left, right), parts, strict=True)):
                return False  # panels that overlap by some nanometres have drifted out of their piece
            number = len(self.scores)
            self.scores.append(Score(piece, start, end))
            # of two pieces with panels the left one is cut up first
            stack.append((2 * number + 2, parts[1], right))
            stack.append((2 * number + 1, parts[0], left))
        return True

    def _left_on(self, shape: Rough, m: int) -> bool:
        """Whether waste that cannot be broken off stays on a panel, and not only what rounding left there."""
        long = sum(abs(q[0] - p[0]) + abs(q[1] - p[1]) for p, q in pairwise([*shape, shape[0]]))
        return rough_area2(shape) - area2(self.outlines[m]) > LEFT_ON * long

    def _next(self, shape: Rough, members: list[int], lines: Sequence[_Line]) -> _Found | None:
        """The next cut of a piece, with the panels on either side; None where nothing may be cut."""
        around = self._waste(shape, members, lines) if self.waste_first or len(members) == 1 else None
        if around is None and len(members) > 1:
            around = self._apart(shape, members, lines) or self._waste(shape, members, lines)
        return around

    def _waste(self, shape: Rough, members: list[int], lines: Sequence[_Line]) -> _Found | None:
        """The deepest waste beside all panels of a piece that may be broken off along an edge."""
        best: tuple[int, tuple[Point, Point]] | None = None
        for line in lines:
            if any(line.where[m] != LEFT for m in members) or not any(m in line.carries for m in members):
                continue
            # by the line, not the cut: where this is some nanometres short its rounded ends point anywhere
            deep = depth_beyond(shape, line.start, line.end)
            if deep <= self.slack or (best is not None and int(deep) <= best[0]):
                continue
            cut = rough_ends(shape, line.start, line.end, self.slack)
            if cut is None or too_long(*cut, self.rules):
                continue
            corner = whole(halves(shape, *cut)[1])
            if len(corner) >= 3 and breaks_off(corner, *cut, self.rules):
                best = (int(deep), cut)
        return (*best[1], list(members), []) if best else None

    def _apart(self, shape: Rough, members: list[int], lines: Sequence[_Line]) -> _Found | None:
        """A cut between panels: a clean line, then the one that carries most edges, then the shortest."""
        best: tuple[tuple[bool, int, int], _Found] | None = None
        for line in lines:
            where = [line.where[m] for m in members]
            if ACROSS in where or RIGHT not in where or LEFT not in where:
                continue
            cut = rough_ends(shape, line.start, line.end, self.slack)
            if cut is None or too_long(*cut, self.rules):
                continue
            dx, dy = cut[1][0] - cut[0][0], cut[1][1] - cut[0][1]
            cutting = not all(line.clean[m] for m in members)
            key = (cutting, -sum(1 for m in line.carries if m in members), dx * dx + dy * dy)
            if best is None or key < best[0]:
                left = [m for m in members if line.where[m] == LEFT]
                right = [m for m in members if line.where[m] == RIGHT]
                best = (key, (*cut, left, right))
        found = best[1] if best else self._corner_to_corner(shape, members)
        return found if found is None or self.other is None else self._beside(shape, found, self.other)

    def _beside(self, shape: Rough, found: _Found, number: int) -> _Found:
        """The cut of this number of those through corners beside the one found; that one where there are fewer."""
        start, end, left, right = found
        outlines = [self.outlines[m] for m in left], [self.outlines[m] for m in right]
        ends = [rough_ends(shape, a, b, self.slack) for a, b in lines_near(start, end, *outlines, ON)]
        cuts = [cut for cut in dict.fromkeys(ends) if cut is not None and not too_long(*cut, self.rules)]
        if number >= len(cuts):
            return found
        self.as_asked = True
        return (*cuts[number], left, right)

    def _corner_to_corner(self, shape: Rough, members: list[int]) -> _Found | None:
        """A cut between panels through a corner of one and a corner of another."""
        for m in members:
            for n in members:
                if n == m:
                    continue
                for a in self.outlines[m]:
                    for b in self.outlines[n]:
                        if a == b:
                            continue
                        where = [_reaches(a, b, self.outlines[k], self.slack)[0] for k in members]
                        if ACROSS in where or RIGHT not in where or LEFT not in where:
                            continue
                        cut = rough_ends(shape, a, b, self.slack)
                        if cut is None or too_long(*cut, self.rules):
                            continue
                        left = [k for k, side in zip(members, where, strict=True) if side == LEFT]
                        right = [k for k, side in zip(members, where, strict=True) if side == RIGHT]
                        return (*cut, left, right)
        return None


def _is_true(shape: Sequence[Exact], outline: Outline) -> bool:
    """Whether a piece is a panel, corner by corner."""
    piece = tidy(shape)
    n = len(outline)
    if len(piece) != n:
        return False
    return any(
        all(
            (piece[(i + k) % n][0] - p[0]) ** 2 + (piece[(i + k) % n][1] - p[1]) ** 2 <= TRUE * TRUE
            for i, p in enumerate(outline)
        )
        for k in range(n)
    )


def replayed(
    width: int, height: int, outlines: Sequence[Outline], scores: Sequence[Score], rules: Rules
) -> CutApart | Fault:
    """The scores made exactly: every panel must come out true, all else must break off; else what is wrong."""
    pieces: dict[int, tuple[list[Exact], Score | None]] = {0: (list(rectangle(width, height)), None)}
    for i, score in enumerate(scores):
        left, right = split(pieces.pop(score.piece)[0], score.start, score.end)
        if len(left) < 3 or len(right) < 3:
            return Fault.UNTRUE
        pieces[2 * i + 1], pieces[2 * i + 2] = (left, score), (right, score)
    middles = [(sum(x for x, _ in o) // len(o), sum(y for _, y in o) // len(o)) for o in outlines]
    leaves: list[tuple[int, Outline, int | None]] = []
    found = 0
    for number, (shape, made_by) in sorted(pieces.items()):
        held = [
            m
            for m, p in enumerate(middles)
            if all(side_of(a, b, p) > 0 for a, b in pairwise([*shape, shape[0]]))
        ]
        every = tidy(shape) if held else shape
        if not held and (made_by is None or not breaks_off(whole(every), made_by.start, made_by.end, rules)):
            return Fault.STUCK
        if held and (len(held) > 1 or not _is_true(shape, outlines[held[0]])):
            return Fault.UNTRUE
        found += len(held)
        corners = without_twins(every, TWINS)
        leaves.append((number, whole(corners if len(corners) > 2 else every), held[0] if held else None))
    return CutApart(tuple(scores), tuple(leaves)) if found == len(outlines) else Fault.UNTRUE


def cut_along(
    width: int,
    height: int,
    outlines: Sequence[Outline],
    lines: Sequence[tuple[int, Point, Point]],
    rules: Rules,
) -> CutApart | None:
    """The shape cuts of a blank along lines that are given, made exactly; None where they do not part it.

    Parameters
    ----------
    width, height, outlines, rules
        As for `cut_apart`.
    lines
        Number of the piece in hand, the blank being 0, and two points. What lies to the left keeps the
        number, what lies to the right gets the next one. Lines beside the piece are left out. [nm]
    """
    shapes: dict[int, tuple[int, Rough]] = {
        0: (0, [(float(x), float(y)) for x, y in rectangle(width, height)])
    }
    scores: list[Score] = []
    for number, (piece, a, b) in enumerate(lines, 1):
        if a == b or piece not in shapes:
            continue
        own, shape = shapes[piece]
        cut = rough_ends(shape, a, b, CLEAN)
        if cut is None:
            continue
        left, right = halves(shape, *cut)
        if len(whole(left)) < 3 or len(whole(right)) < 3:
            if len(whole(left)) < 3:
                shapes[number] = shapes.pop(piece)
            continue
        if too_long(*cut, rules):
            return None
        done = len(scores)
        scores.append(Score(own, *cut))
        shapes[piece], shapes[number] = (2 * done + 1, left), (2 * done + 2, right)
    made = replayed(width, height, outlines, scores, rules)
    return made if isinstance(made, CutApart) else None


def cut_apart(width: int, height: int, outlines: Sequence[Outline], rules: Rules) -> CutApart | None:
    """The shape cuts of a blank that holds these panels.

    Parameters
    ----------
    width, height
        Of the blank. [nm]
    outlines
        Convex cut outlines in place, lower left corner of the blank at the origin. [nm]
    rules
        Of the glass.

    Returns
    -------
    CutApart or None
        None where the panels cannot be parted, or some waste cannot be broken off.
    """
    lines = _lines(outlines, ON)
    untrue = False
    for slack, other in ((ON, None), (CLEAN, None), *((CLEAN, n) for n in range(OTHERS))):
        if slack == CLEAN and other is None:
            lines = _lines(outlines, CLEAN)
        as_asked = False
        best: CutApart | None = None
        for waste_first in (False, True) if len(outlines) > 1 else (True,):
            parting = _Parting(outlines, rules, waste_first=waste_first, slack=slack, other=other)
            parted = parting.run(width, height, lines) and parting.as_asked
            as_asked = as_asked or parting.as_asked
            # the fewer cuts; as many: panels apart first, since smaller pieces are easier in hand
            if parted and (best is None or len(parting.scores) < len(best.scores)):
                made = replayed(width, height, outlines, parting.scores, rules)
                untrue = untrue or made is Fault.UNTRUE
                best = made if isinstance(made, CutApart) else best
        # only where panels came out untrue may a finer eye help, or a line beside, while there is one
        if best is not None or not untrue or not as_asked:
            return best
    return None
