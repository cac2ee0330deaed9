"""How a piece is handled from cut to cut: which edge the tape hooks so that a stop stays set, which scores
belong to one placement, what is turned, what waits.

It follows from the cuts in their order and the habit of the sheet, so that a filed plan needs no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from .marks import Hook, Measured
from .pieces import Direction, Exact, Piece, Split, magnitude
from .plan import Cut, CutKind
from .shop_table import Habit
from .steps import Placement, Step, rounded


@dataclass(frozen=True, slots=True)
class Base:
    """The piece that is laid down for a placement.

    Parameters
    ----------
    number
        Of the placement on the sheet, from 1.
    piece
        What is laid down.
    edge
        From which all its scores are marked.
    index
        Of that edge in the piece.
    marks, exact
        Distances of the scores from it, rising: as the tape shows them, and as they should be. [nm]
    """

    number: int
    piece: Piece
    edge: Direction
    index: int
    marks: tuple[int, ...]
    exact: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cut with the exact piece in hand, what it makes, and how its score is found.

    Where it belongs to a placement, `base` is that, and `mark` the place of its mark there.
    """

    cut: Cut
    piece: Piece
    parts: Split
    how: Measured
    base: Base | None = None
    mark: int = 0

    @property
    def is_rounded(self) -> bool:
        """Whether the tape shows something else than what is meant."""
        if self.base is not None:
            return self.base.marks[self.mark] != self.base.exact[self.mark]
        hook = self.how.hook
        if hook is not None:
            return hook.table != hook.distance
        return any(p.mark.table != p.mark.distance for p in self.how.marks)

    @property
    def axis(self) -> int | None:
        """0 for a score along y, 1 for one along x; None for a shape cut."""
        if self.cut.kind is CutKind.SHAPE:
            return None
        return 0 if self.cut.start[0] == self.cut.end[0] else 1


# ---------------------------------------------------------------- the stop


@dataclass(frozen=True, slots=True)
class _Way:
    """How the cuts so far may be measured: settings, change from what is nearest, the hooks chosen."""

    settings: int = 0
    changes: int = 0
    hook: Hook | None = None
    before: _Way | None = None


def kept_set(cuttings: Sequence[Cutting], habit: Habit) -> list[Cutting]:
    """The cuts, each measured from the edge for which the stop is set anew the least often.

    Of ways with as few settings the one with the least change from what is measured nearest wins. Only
    edges compete that are equally straight, and that leave the errors to cullet equally well.
    """
    if habit is not Habit.STOP:
        return list(cuttings)
    # by the measure that was set last
    ways: dict[int | None, _Way] = {None: _Way()}
    for one in cuttings:
        hooks: list[Hook | None] = [one.how.hook, *one.how.others]
        after: dict[int | None, _Way] = {}
        for last, way in ways.items():
            for rank, hook in enumerate(hooks):
                measure = last if hook is None else hook.table
                settings = way.settings + (hook is not None and hook.table != last)
                changes = way.changes + rank
                known = after.get(measure)
                if known is None or (settings, changes) < (known.settings, known.changes):
                    after[measure] = _Way(settings, changes, hook, way)
        ways = after
    way = min(ways.values(), key=lambda w: (w.settings, w.changes))
    chosen: list[Hook | None] = []
    while way.before is not None:
        chosen.append(way.hook)
        way = way.before
    return [
        replace(one, how=replace(one.how, hook=hook))
        for one, hook in zip(cuttings, reversed(chosen), strict=True)
    ]


# ---------------------------------------------------------------- placements


def together(cuttings: Sequence[Cutting]) -> list[list[int]]:
    """Places of the cuts of each placement, two at least.

    A placement holds parallel main cuts that all lie in the piece of its first one, which no other cut
    has parted before. Whatever else a file says is no placement, and its cuts are measured one by one.
    """
    found: dict[int, list[int]] = {}
    for i, one in enumerate(cuttings):
        if one.cut.placement is not None:
            found.setdefault(one.cut.placement, []).append(i)
    return [places for _, places in sorted(found.items()) if len(places) > 1 and _one_piece(cuttings, places)]


def _one_piece(cuttings: Sequence[Cutting], places: Sequence[int]) -> bool:
    first = cuttings[places[0]]
    if len(first.piece.corners) != 4:
        return False
    parts = {first.cut.piece}
    for i in places:
        one = cuttings[i]
        if one.cut.kind not in (CutKind.MAIN, CutKind.LAST) or one.axis != first.axis:
            return False
        if one.cut.piece not in parts:
            return False
        parts.update(one.cut.makes)
    return True


def laid_down(cuttings: Sequence[Cutting], cullet: frozenset[str], step: int | None) -> list[Cutting]:
    """The cuts with their placements: each piece is laid down once, all its scores marked from one edge.

    Parameters
    ----------
    cuttings
        Of one sheet, in their order.
    cullet
        Names of the pieces that are thrown away.
    step
        Marks are rounded to this; None for exact ones. [nm]
    """
    out = list(cuttings)
    # numbered as they are laid down, whatever the file calls them
    for number, run in enumerate(sorted(together(cuttings)), start=1):
        base = cuttings[run[0]]
        axis = base.axis or 0
        low, high = _ends(base.piece, axis)
        scores = sorted(cuttings[i].cut.start[axis] for i in run)
        edges = (Direction.LEFT, Direction.RIGHT) if axis == 0 else (Direction.BOTTOM, Direction.TOP)
        raw = tuple(_is_raw(base.piece, edge) for edge in edges)
        # what nobody measures is what lies behind the last mark: let that be cullet
        ends = _end_parts([cuttings[i] for i in run], axis)
        ways = (tuple(s - low for s in scores), tuple(high - s for s in reversed(scores)))
        marks = [tuple(rounded(m, step, high - low) for m in way) for way in ways]
        ranks = [(raw[k], ends[1 - k] not in cullet, marks[k] != ways[k]) for k in (0, 1)]
        k = 0 if ranks[0] <= ranks[1] else 1
        index = _index_of(base.piece, axis, (low, high)[k])
        one = Base(number, base.piece, edges[k], index, marks[k], ways[k])
        for i in run:
            place = scores.index(cuttings[i].cut.start[axis])
            mark = place if k == 0 else len(scores) - 1 - place
            out[i] = replace(cuttings[i], base=one, mark=mark)
    return out


def placements(cuttings: Sequence[Cutting], steps: Sequence[Step]) -> list[Step]:
    """The steps with the placements of their cuts."""
    made: dict[int, Placement] = {}
    out: list[Step] = []
    for one, step in zip(cuttings, steps, strict=True):
        base = one.base
        if base is None:
            out.append(step)
            continue
        is_first = base.number not in made
        if is_first:
            made[base.number] = Placement(
                number=base.number,
                piece=step.piece,
                edge=base.edge,
                edge_is_raw=base.piece.raw[base.index] is not None,
                marks=base.marks,
                exact=base.exact,
                score=step.score,
            )
        placement = made[base.number]
        out.append(replace(step, placement=placement, mark=base.marks[one.mark], is_first=is_first))
    return out


def _index_of(piece: Piece, axis: int, at: int) -> int:
    """Index of the edge of a rectangle that lies across an axis at a place. [nm]"""

    def off(i: int) -> Exact:
        a, b = piece.edge(i)
        return magnitude(a[axis] - at) + magnitude(b[axis] - at)

    return min(range(4), key=off)


def _ends(piece: Piece, axis: int) -> tuple[int, int]:
    extent = piece.extent
    return int(extent[axis]), int(extent[axis + 2])


def _is_raw(piece: Piece, edge: Direction) -> bool:
    return any(side is not None and side.value == edge.value for side in piece.raw)


def _end_parts(run: Sequence[Cutting], axis: int) -> tuple[str, str]:
    """Names of the parts at the low and at the high end of a placement, after all its breaks."""
    broken = {one.cut.piece for one in run}
    parts = [p for one in run for p in (one.parts.left, one.parts.right) if p.name not in broken]
    return (
        min(parts, key=lambda p: p.extent[axis]).name,
        max(parts, key=lambda p: p.extent[axis + 2]).name,
    )


# ---------------------------------------------------------------- what is turned, what waits


def handled(cuttings: Sequence[Cutting], steps: Sequence[Step], habit: Habit) -> list[Step]:
    """The steps with what stays set, what is turned or taken up, and what waits meanwhile."""
    still = {one.cut.piece for one in cuttings}
    laid_in = {one.cut.piece: step.placement for one, step in zip(cuttings, steps, strict=True)}
    axis_of: dict[str, int | None] = {}
    waiting: list[str] = []
    last: int | None = None
    made: frozenset[str] = frozenset({"s"})
    laid: Placement | None = None
    out = []
    for one, step in zip(cuttings, steps, strict=True):
        name, cut = one.cut.piece, one.cut
        waiting = [w for w in waiting if w != name]
        came = axis_of.get(name)
        stays = habit is Habit.STOP and step.table is not None and step.table == last
        out.append(
            replace(
                step,
                is_scored=habit is Habit.MACHINE,
                stays_set=stays,
                turns=came is not None and one.axis is not None and came != one.axis,
                takes_up=name not in made,
                # what lies there scored, to be broken on, waits for nothing
                waiting=tuple(
                    w for w in waiting if step.placement is None or laid_in[w] is not step.placement
                ),
            )
        )
        last = last if step.table is None else step.table
        for part in cut.makes:
            axis_of[part] = one.axis if one.axis is not None else came
        # what a placement makes lies there side by side: nothing of it is taken up to be broken on
        same = step.placement is not None and step.placement == laid
        made = made | frozenset(cut.makes) if same else frozenset(cut.makes)
        laid = step.placement
        waiting += [part for part in cut.makes if part in still]
    return out
