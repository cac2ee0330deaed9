"""What a break costs in time and what it leaves in hand: the moves of the search for a good order.

Times are whole milliseconds by the shop's own rates. A piece is a node with a run of its children.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..glass import mass_grams
from ..plan import CutKind, Leaf, LeafKind
from ..shop_table import Habit, Rates
from ..units import NM_PER_MM, mm
from .tree import Blank, Broken, Child, Indexed, Node, is_waste, size_of

PieceKey = tuple[int, int, int]
"""Number of the node, first child, last child (exclusive)."""
HARD = mm(60)
"""A strip narrower than this breaks hard off a piece more than three times as wide [common practice]. [nm]"""
METRE = 1000 * NM_PER_MM
NEAR_MIDDLE = 3
"""Breaks nearest to the middle of a piece that are tried."""


@dataclass(frozen=True, slots=True)
class Move:
    """A break of a piece in hand.

    Parameters
    ----------
    what
        The break.
    measure
        What the stop is set to; None where nothing is measured. [nm]
    cost
        Without the grip and the setting. [ms]
    makes
        The parts that are still to be cut.
    axis
        Of the cut.
    """

    what: Broken
    measure: int | None
    cost: int
    makes: tuple[PieceKey, ...]
    axis: int


@dataclass(slots=True)
class Work:
    """All pieces of a sheet with their moves, each worked out once.

    Parameters
    ----------
    tree
        The sheet.
    thickness
        [nm]
    rates, habit
        Of the table; where it scores by machine nothing is measured, slid or scored.
    """

    tree: Indexed
    thickness: int
    rates: Rates
    habit: Habit
    _moves: dict[PieceKey, tuple[Move, ...]] = field(default_factory=dict)
    _least: dict[PieceKey, int] = field(default_factory=dict)
    _masks: dict[PieceKey, int] = field(default_factory=dict)
    _needs: dict[PieceKey, int] = field(default_factory=dict)
    _masses: dict[PieceKey, int] = field(default_factory=dict)
    _bits: dict[int, int] = field(default_factory=dict)
    known: dict[PieceKey, tuple[int, int, int]] = field(default_factory=dict)
    """Of pieces that came up: least time of the rest [ms], measures needed, and time of a grip [ms]."""

    def start(self) -> PieceKey:
        """The whole sheet."""
        return self.whole(0)

    def whole(self, number: int) -> PieceKey:
        """A node or blank as a piece."""
        node = self.tree.nodes[number]
        return number, 0, len(node.children) if isinstance(node, Node) else 1

    def mass(self, piece: PieceKey) -> int:
        """[g]"""
        known = self._masses.get(piece)
        if known is None:
            number, i, j = piece
            node = self.tree.nodes[number]
            width, height = node.size
            if isinstance(node, Node):
                along = self.tree.pos[number][j] - self.tree.pos[number][i]
                width, height = (along, height) if node.axis == 0 else (width, along)
            known = self._masses[piece] = mass_grams(2 * width * height, self.thickness)
        return known

    def grip(self, piece: PieceKey) -> int:
        """To take up a piece that was waiting. [ms]"""
        return self.rates.grip + self.rates.grip_kg * self.mass(piece) // 1000

    def cuts(self, piece: PieceKey) -> int:
        """Breaks that the piece still needs, those within its parts counted in; a blank is one."""
        number, i, j = piece
        inner = self.tree.inner[number][i:j]
        return j - i - 1 + sum(self.cuts(self.whole(k)) for k in inner if k >= 0) if inner else 1

    def moves(self, piece: PieceKey) -> tuple[Move, ...]:
        """The breaks that are worth trying, each measured from the one or the other edge."""
        known = self._moves.get(piece)
        if known is None:
            node = self.tree.nodes[piece[0]]
            known = self._blank(piece) if isinstance(node, Blank) else self._breaks(piece, node)
            self._moves[piece] = known
        return known

    def _blank(self, piece: PieceKey) -> tuple[Move, ...]:
        # its shape cuts keep their order, so that their time is the same wherever they stand
        return (Move((piece[0], 0, 1, -1, 0), None, 0, (), -1),)

    def _breaks(self, piece: PieceKey, node: Node) -> tuple[Move, ...]:
        return tuple(move for m in self._places(node, *piece) for move in self._at(piece, node, m))

    def ways(self, what: Broken) -> tuple[Move, ...]:
        """A break anywhere, measured from the one or the other edge."""
        node = self.tree.nodes[what[0]]
        piece = what[:3]
        return self._blank(piece) if isinstance(node, Blank) else self._at(piece, node, what[3])

    def _at(self, piece: PieceKey, node: Node, m: int) -> tuple[Move, ...]:
        number, i, j = piece
        cost = self._cost(piece, node, m)
        if number and j - i == len(node.children):
            cost += self.rates.turn + self.rates.turn_kg * self.mass(piece) // 1000
        makes = tuple(k for k in (self.part(number, i, m), self.part(number, m, j)) if k is not None)
        return tuple(
            Move((number, i, j, m, 0), measure, cost + loose, makes, node.axis)
            for measure, loose in self._measures(node, number, i, j, m)
        )

    def _places(self, node: Node, number: int, i: int, j: int) -> list[int]:
        """Where to break: trims first, else at either end or near the middle."""
        trims = [m for m in range(i + 1, j) if node.bounds[m - 1].kind is CutKind.TRIM]
        if trims:
            return trims[:1]
        if j - i <= NEAR_MIDDLE + 3:
            return list(range(i + 1, j))
        pos = self.tree.pos[number]
        middle = pos[i] + pos[j]
        near = sorted(range(i + 1, j), key=lambda m: (abs(2 * pos[m] - middle), m))[:NEAR_MIDDLE]
        return sorted({i + 1, i + 2, j - 1, *near})

    def part(self, number: int, i: int, j: int) -> PieceKey | None:
        """A run of children as a piece that is still to be cut, or None where it is done."""
        if j - i > 1:
            return number, i, j
        inner = self.tree.inner[number][i]
        return None if inner < 0 else self.whole(inner)

    def _cost(self, piece: PieceKey, node: Node, m: int) -> int:
        number, i, j = piece
        pos, rates = self.tree.pos[number], self.rates
        a, b = pos[m] - pos[i], pos[j] - pos[m]
        long = node.size[1 - node.axis]
        small, whole = min(a, b), a + b
        # (1 - 2 r)^2 of the length, r the share of the narrow part
        far = rates.snap_metre * long * (whole - 2 * small) ** 2 // (METRE * whole * whole)
        cost = rates.snap + far
        if small < HARD and whole - small > 3 * small:
            cost += rates.hard
        if self.habit is not Habit.MACHINE:
            cost += rates.score + rates.score_metre * long // METRE
        if self.habit is Habit.STOP:
            cost += rates.slide + rates.slide_kg * self.mass(piece) // 1000
        return cost

    def _measures(self, node: Node, number: int, i: int, j: int, m: int) -> list[tuple[int | None, int]]:
        """Measures from an edge that is straight already, and what a panel that nobody measures costs."""
        if self.habit is not Habit.STOP:
            return [(None, 0)]
        pos = self.tree.pos[number]
        low, high = pos[m] - pos[i], pos[j] - pos[m]
        children = node.children
        raw = (node.raw[0] and i == 0, node.raw[1] and j == len(children))
        if node.bounds[m - 1].kind is CutKind.TRIM:
            return [(low if raw[0] and m == i + 1 else high, 0)]
        wasted = (_wasted(children, i, m), _wasted(children, m, j))
        sides = [s for s in (0, 1) if not raw[s]] or [0, 1]
        sides = [s for s in sides if not wasted[s]] or sides
        spans = ((m, j), (i, m))
        out: list[tuple[int | None, int]] = [
            ((low, high)[s], self._loose(children, *spans[s])) for s in sides
        ]
        return out[:1] if low == high and len(out) == 2 else out

    def _loose(self, children: list[Child], i: int, j: int) -> int:
        if j - i > 1:
            return 0
        last = children[i]
        return self.rates.loose if isinstance(last, Leaf) and last.kind is LeafKind.PANEL else 0

    def least(self, piece: PieceKey) -> int:
        """What cutting the piece up costs at least, settings left out. [ms]"""
        known = self._least.get(piece)
        if known is None:
            known = min(self._with_parts(move) for move in self.moves(piece))
            self._least[piece] = known
        return known

    def _with_parts(self, move: Move) -> int:
        cost = move.cost + sum(self.least(part) for part in move.makes)
        # one of two parts has to wait
        return cost + min(self.grip(part) for part in move.makes) if len(move.makes) == 2 else cost

    def judged(self, piece: PieceKey) -> tuple[int, int, int]:
        """What the search asks of a piece, see `known`."""
        found = self.known[piece] = (self.least(piece), self.mask(piece), self.grip(piece))
        return found

    def room(self, pieces: Sequence[PieceKey]) -> int:
        """Pieces still to be cut that lie on the table at most, where these are cut up one after another.

        The one that needs least room goes first: no order needs less.
        """
        needs = sorted(self._need(piece) for piece in pieces)
        return max((need + len(needs) - k - 1 for k, need in enumerate(needs)), default=0)

    def _need(self, piece: PieceKey) -> int:
        known = self._needs.get(piece)
        if known is None:
            known = max(1, min(self.room(move.makes) for move in self.moves(piece)))
            self._needs[piece] = known
        return known

    def mask(self, piece: PieceKey) -> int:
        """The different measures that the piece still needs, as bits."""
        known = self._masks.get(piece)
        if known is None:
            number, i, j = piece
            node = self.tree.nodes[number]
            known = 0
            if isinstance(node, Node) and self.habit is Habit.STOP:
                kept = [k for k in range(i, j) if not is_waste(node.children[k])]
                if len(kept) == j - i and kept:
                    # one child comes off as the rest of the others: the widest last one
                    kept.pop()
                for k in kept:
                    known |= self.bit(size_of(node.children[k])[node.axis])
            for k in self.tree.inner[number][i:j]:
                if k >= 0:
                    known |= self.mask(self.whole(k))
            self._masks[piece] = known
        return known

    def bit(self, measure: int | None) -> int:
        """The bit of a measure."""
        if measure is None:
            return 0
        return 1 << self._bits.setdefault(measure, len(self._bits))


def _wasted(children: list[Child], i: int, j: int) -> bool:
    return all(is_waste(child) for child in children[i:j])
