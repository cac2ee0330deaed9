"""The anytime search in an order: beams over the whole order, each wider than the one before.

Guides take turns, and what the best plan wastes bounds the next run. Where the caller says when it will stop,
the last beam takes most of the time that is left. Widths depend on counted nodes alone, so that a seed and a
number of steps give the same plan again.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass, field, replace

from ..optimizer.instance import Instance
from ..optimizer.params import NODES_A_STEP
from ..optimizer.runner import Counter
from .laid import Laid
from .problem import ordered, sheets
from .run import SLICE, Guide, Run
from .ways import Ways

GUIDES = (
    Guide(exponent=0.5),
    Guide(exponent=1.0),
    Guide(exponent=0.75),
    Guide(exponent=1.0, foresee=True),
)
WIDEST = GUIDES[1:3] + GUIDES[:1]
"""Guides of the beams that take all the time that is left, in turns: the best on average."""
FIRST_WIDTH = 40
GROWTH = 1.7
LAST = 5.0
"""A beam takes all the time that is left unless there is more than for so many of its kind."""
ROOM = 1.5
"""Such a beam may become so much wider than foreseen: its width follows the time."""
MOST_MOVES = 40_000_000
"""Width times panels beyond which beams widen no more."""
MOST_WIDTH = 100_000
"""Width beyond which they do not: a node takes some four kilobytes."""

Key = tuple[int, int]


@dataclass(slots=True)
class _Way:
    """A sequence of sheets, and how far the search of it has come."""

    sequence: list[int]
    width: float = FIRST_WIDTH
    turn: int = 0
    widest: set[Guide] = field(default_factory=set)
    over: bool = False
    spent: int = 0
    key: Key | None = None


class OrderedSearch:
    """The search of one instance whose racks, sheets or cuts keep an order.

    Parameters
    ----------
    instance
        What to cut.
    seed
        For plans that differ: which guide comes first.
    bound
        A valid lower bound on the cost. [1/10,000 of the currency]
    open_racks
        At most so many racks are begun and not finished at any time; None: any number.
    frames
        Bit 0: first cuts vertical; bit 1: horizontal.
    strict
        Panels of a rack come free in its order. Else it is that in which the pieces are taken up, near before
        far: a panel may wait on the table while the piece beside it is cut up.
    """

    def __init__(
        self,
        instance: Instance,
        *,
        seed: int = 0,
        bound: int = 0,
        open_racks: int | None = None,
        frames: int = 3,
        strict: bool = True,
    ) -> None:
        self.instance, self.bound = instance, bound
        self.counter = Counter()
        self.finished = False
        self.aim: int | None = None
        """Steps after which the caller will stop, if it knows: the last beam is made to end there."""
        self._open_racks = open_racks or 0
        self._seed, self._strict, self._frames = seed, strict, frames
        self._ways = Ways(instance)
        self._part = ordered(instance, instance.demand)
        self._best: list[Laid] = []
        self._key: Key | None = None
        self._per_width = 0.0
        self._lasts = 0
        self._slices = self._schedule()

    @property
    def steps(self) -> int:
        """Counted search steps so far."""
        return self.counter.nodes // NODES_A_STEP

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""
        return self._key[0] if self._key else 0

    @property
    def proven(self) -> bool:
        """Whether the best plan costs no more than the bound."""
        return self._key is not None and self.cost <= self.bound

    @property
    def patterns(self) -> list[Laid]:
        """The best plan, in cutting order."""
        return list(self._best)

    def start(self) -> None:
        """Make a first whole plan."""
        while self._key is None and self.advance():
            pass

    def advance(self) -> bool:
        """One more slice, some ten thousand nodes; False when there is nothing left to try."""
        if not self.finished and next(self._slices, None) is None:
            self.finished = True
        return not self.finished

    # --------------------------------------------------------------- schedule

    def _schedule(self) -> Iterator[bool]:
        if self._part.panels == 0:
            return
        ways = [_Way(sequence, turn=self._seed) for sequence in self._ways.first()]
        for way in ways:
            yield from self._widen(way)
        while True:
            alive = [w for w in ways if not w.over]
            if not alive:
                return
            best = min(alive, key=lambda w: (w.key is None, w.key or (0, 0), w.width))
            behind = min(alive, key=lambda w: (w.spent, ways.index(w)))
            # the best way gets two thirds of the nodes
            rest = sum(w.spent for w in alive) - best.spent
            way = best if best.spent <= 2 * rest or len(alive) == 1 else behind
            improved = self._key
            yield from self._widen(way)
            if self._key != improved:
                way.key = self._key

    def _widen(self, way: _Way) -> Iterator[bool]:
        """The next beam over a sequence of sheets."""
        widest = max(2, min(MOST_WIDTH, MOST_MOVES // self._part.panels))
        width = max(2, min(int(way.width), widest))
        before = self.counter.nodes
        last = self._last(width, widest)
        if last is None:
            guide = GUIDES[way.turn % len(GUIDES)]
            way.turn += 1
        else:
            guide = WIDEST[(self._lasts + self._seed) % len(WIDEST)]
            self._lasts += 1
        if (last or width) == widest:
            # as wide as it gets: when its guides are through, the same ones with other worths, without end
            while guide in way.widest:
                guide = replace(guide, draw=guide.draw + 1)
            way.widest.add(guide)
        whole = yield from self._run(way.sequence, last or width, guide, timed=last is not None)
        way.over = whole is not False
        way.width = min(way.width * GROWTH, widest) if last is None else max(way.width, last / ROOM)
        way.spent += self.counter.nodes - before

    def _left(self) -> int | None:
        """Nodes until the caller will stop, if it said so."""
        if self.aim is None:
            return None
        return max(0, self.aim * NODES_A_STEP - self.counter.nodes)

    def _last(self, width: int, widest: int) -> int | None:
        """The width that fills the time that is left, where the beam after this one would not be through."""
        left = self._left()
        if not left or not self._per_width:
            return None
        fits = int(left / self._per_width)
        if fits < 2 or fits >= LAST * width:
            return None
        return min(int(ROOM * fits), widest)

    # -------------------------------------------------------------------- runs

    def _run(
        self, sequence: list[int], width: int, guide: Guide, *, timed: bool
    ) -> Generator[bool, None, bool]:
        """A beam over the sequence of sheets, in slices; whether it saw all there is."""
        inst, part = self.instance, self._part
        spent = 0
        end = 1
        used: list[int] = []
        for k in sequence:
            # as many sheets as may be better than the best plan
            spent += inst.sheets[k].piece.cost
            if self._key is not None and spent >= self._key[0]:
                if spent == self._key[0]:
                    used.append(k)
                    end += inst.sheets[k].area + self._key[1] - 1
                break
            used.append(k)
            end += inst.sheets[k].area
        if end <= part.area:
            return True
        start = self.counter.nodes
        run = Run(
            part, used, sheets(inst, used, strict=self._strict), width, guide, end - part.area, self.counter,
            frames=self._frames, open_racks=self._open_racks,
        )  # fmt: skip
        while run.advance(SLICE, self._left() if timed else None):
            yield True
        if run.found:
            self._offer(run.patterns())
        if not timed and (run.found or not self._per_width):
            self._per_width = (self.counter.nodes - start) / width
        yield True
        return run.whole

    def _offer(self, plan: list[Laid]) -> None:
        inst = self.instance
        cost = sum(inst.sheets[p.sheet].piece.cost for p in plan)
        length, depth = plan[-1].frame_size(inst)
        last = plan[-1].strips
        rest = (length - last[-2].end) * depth if len(last) > 1 and last[-1].is_waste else 0
        key = (cost, -rest)
        if self._key is None or key < self._key:
            self._key, self._best = key, plan
