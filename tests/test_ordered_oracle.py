"""Searches in the order of racks and around flaws against exhaustive cutting of tiny sheets.

The oracle tries every way to cut tiny sheets edge to edge at whole millimetres, by plain recursion; it shares
no code with the searches. First the fewest sheets, then the largest rest beyond the last first cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import pytest

from panewright.io.bench_challenge_check import RESIDUAL, broken_rules, read_table
from panewright.io.bench_challenge_data import Challenge, Defect, Item, Limits
from panewright.io.bench_challenge_run import UPRIGHT, checked_table
from panewright.io.bench_challenge_solution import nodes_of
from panewright.io.bench_draw import Draw
from panewright.io.bench_run import plan_of
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.optimizer.runner import Counter
from panewright.nesting.ordered.free_order import FreeOrderSearch
from panewright.nesting.ordered.one_piece import fill
from panewright.nesting.ordered.search import OrderedSearch
from panewright.nesting.units import mm

Box = tuple[int, int, int, int]
NONE: Final = (99, 0)
SEEDS: Final = range(16)
STEPS: Final = 5
SHORT: Final[dict[str, dict[int, str]]] = {
    "free": {7: "a rest of 1 mm less"},
    "racks": {14: "a rest of 2 mm less"},
    "filled, free": {},
    "filled, racks": {14: "11 mm2 less"},
}
"""Cases where a search finds less than the optimum, and by how much; causes are not known for these."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A tiny problem. [mm]

    `sizes` of the rectangles; `before` the one that must have been cut before each, -1 for none; `flaws` one
    tuple of boxes (x, y, width, height) a sheet, sheets in their order; `levels` of cuts, of which the last is
    for a single cut if `once`, and for trimming alone if `last`; the widths and the waste as in `Rules`.
    """

    width: int
    height: int
    sizes: tuple[tuple[int, int], ...]
    before: tuple[int, ...]
    flaws: tuple[tuple[Box, ...], ...]
    levels: int
    once: bool = False
    last: bool = False
    waste: int = 1
    least1: int = 0
    most1: int | None = None
    least2: int = 0
    turns: bool = True


class Oracle:
    """The sets of rectangles that can have been cut, for every region and every set cut before it."""

    def __init__(self, case: Case, flaws: tuple[Box, ...]) -> None:
        self.case, self.flaws = case, flaws
        self.region = cache(self._region)

    def best(self, before: frozenset[int]) -> dict[int, int]:
        """After each sheet: the sets that can have been cut, with the least place of the last first cut."""
        case = self.case
        out: dict[int, int] = {}
        for start in sorted(before):
            for done, at in self.spans((0, 0, case.width, case.height), 0, start):
                out[done] = min(out.get(done, case.width), at)
            for done in self.region((0, 0, case.width, case.height), 0, start):
                out[done] = min(out.get(done, case.width), case.width)
        return out

    def _region(self, box: Box, level: int, done: int) -> frozenset[int]:
        """What can have been cut once this region, made by a cut of this level, is cut up or thrown away."""
        case = self.case
        x0, y0, x1, y1 = box
        out = set()
        if min(x1 - x0, y1 - y0) >= case.waste:
            out.add(done)  # waste
        wide, high = x1 - x0, y1 - y0
        clear = not any(x < x1 and x0 < x + w and y < y1 and y0 < y + h for x, y, w, h in self.flaws)
        there = [
            (i, w, h)
            for i, b in enumerate(case.before)
            if not done >> i & 1 and (b < 0 or done >> b & 1)
            for w, h in {case.sizes[i], case.sizes[i][:: -1 if case.turns else 1]}
            if w <= wide and h <= high
        ]
        if clear:
            out.update(done | 1 << i for i, w, h in there if (w, h) == (wide, high))
        # nothing is cut in vain: something must go into the region
        if there and level < case.levels + case.last:
            out.update(d for d, at in self.spans(box, level, done) if at == box[level % 2 + 2] and d != done)
        return frozenset(out)

    def spans(self, box: Box, level: int, done: int) -> Iterator[tuple[int, int]]:
        """Cut a region side by side: what is cut then, and where its last piece that is no rest begins.

        Where that is short of the end, a rest is left that is waste.
        """
        case, axis = self.case, level % 2
        near, end = box[axis], box[axis + 2]
        deepest = level + 1 >= case.levels + case.last
        most = 2 if (deepest and case.once) or level + 1 > case.levels else None
        seen = {(near, done, 0)}
        todo = [(near, done, 0)]
        while todo:
            at, now, count = todo.pop()
            if level == 0 and at < end and end - at >= case.waste:
                yield now, at
            for to in range(at + 1, end + 1):
                if (at == near and to == end) or (most and count + 1 == most and to < end):
                    continue
                if to < end and self.crosses(axis, to, box):
                    continue
                part = (at, box[1], to, box[3]) if axis == 0 else (box[0], at, box[2], to)
                for then in self.region(part, level + 1, now):
                    if not self.allowed(level + 1, to - at, waste=then == now):
                        continue
                    if level + 1 > case.levels and (then != now) == (now != done):
                        continue  # a last cut frees one piece from waste
                    state = (to, then, min(count + 1, 2))
                    if state in seen:
                        continue
                    seen.add(state)
                    if to == end:
                        yield then, end
                    else:
                        todo.append(state)

    def allowed(self, level: int, width: int, *, waste: bool) -> bool:
        case = self.case
        if level == 1 and case.most1 is not None and width > case.most1:
            return False
        least = {1: case.least1, 2: case.least2}.get(level, 0)
        return waste or width >= least

    def crosses(self, axis: int, at: int, box: Box) -> bool:
        """Whether a cut goes through a flaw."""
        return any(
            f[axis] < at < f[axis] + f[axis + 2]
            and f[1 - axis] < box[3 - axis]
            and box[1 - axis] < f[1 - axis] + f[3 - axis]
            for f in self.flaws
        )


@cache
def oracle(case: Case, flaws: tuple[Box, ...]) -> Oracle:
    return Oracle(case, flaws)


def exact(case: Case) -> tuple[int, int]:
    """Fewest sheets, and the rest beyond the last first cut of the last one; `NONE`: it cannot be done."""
    reached = frozenset([0])
    whole = (1 << len(case.sizes)) - 1
    for number, flaws in enumerate(case.flaws, 1):
        found = oracle(replace(case, flaws=()), flaws).best(reached)
        if whole in found:
            return number, case.width - found[whole]
        reached = frozenset(found)
    return NONE


# --------------------------------------------------------------------------------- the oracle by itself


def plain(**more: object) -> Case:
    base: dict[str, object] = {
        "width": 10, "height": 6, "sizes": ((4, 6), (3, 6)), "before": (-1, -1), "flaws": ((), ()), "levels": 3,
    }  # fmt: skip
    return Case(**(base | more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("case", "found"),
    [
        (plain(), (1, 3)),
        (plain(width=7), (1, 0)),
        (plain(width=6), (2, 6 - 3)),
        # the rectangle of 4 x 6 fills a sheet; the pinwheel needs cuts that do not run edge to edge
        (plain(width=4, sizes=((4, 6),), before=(-1,)), (1, 0)),
        (plain(width=5, height=5, sizes=((2, 3),) * 4, before=(-1,) * 4, flaws=((), ())), (2, 3)),
        # what is left must be waste wide enough, or nothing
        (plain(width=8, waste=2), (2, 5)),
        (plain(width=9, waste=2), (1, 2)),
        # a flaw on the first sheet pushes both to the right, or to the second sheet
        (plain(flaws=(((1, 1, 1, 1),), ())), (1, 1)),
        (plain(flaws=(((5, 1, 1, 1),), ())), (1, 1)),
        (plain(flaws=(((3, 0, 2, 6),), ())), (1, 1)),
        (plain(flaws=(((2, 0, 4, 6),), ())), (2, 7)),
        (plain(flaws=(((0, 0, 10, 6),), ())), (2, 3)),
        # of a chain the later one may not come first; one upon the other, the first lies below
        (plain(width=5, sizes=((4, 3), (4, 2)), before=(1, -1), flaws=(((0, 0, 1, 1),), ())), (1, 1)),
        (plain(width=5, sizes=((4, 3), (4, 2)), before=(1, -1), flaws=(((0, 2, 1, 1),), ())), (1, 1)),
        (plain(width=5, sizes=((4, 3), (4, 2)), before=(1, -1), flaws=(((0, 1, 2, 1),), ())), (1, 0)),
        # first cuts may not be too far apart
        (plain(most1=3), NONE),
        (plain(sizes=((4, 3), (4, 3)), most1=4), (1, 6)),
        (plain(sizes=((4, 3), (4, 3)), most1=4, least2=4), (1, 4)),
        (plain(sizes=((4, 3), (4, 3)), most1=4, least2=4, turns=False), NONE),
        (plain(sizes=((2, 6), (4, 6)), least1=3, waste=2), (1, 4)),
        (plain(sizes=((2, 6), (4, 6)), least1=3, waste=2, turns=False), NONE),
    ],
)  # fmt: skip
def test_the_oracle_on_cases_solved_by_hand(case: Case, found: tuple[int, int]) -> None:
    assert exact(case) == found


# ------------------------------------------------------------------------------ the searches against it


def drawn(seed: int, *, free: bool) -> Case:
    """Two to four rectangles on two small sheets with up to three flaws each; racks where it is not `free`."""
    draw = Draw(seed, 9)
    width, height, count = draw.between(8, 10), draw.between(5, 7), draw.between(2, 3 if free else 4)
    sizes = tuple((draw.between(2, 6), draw.between(2, height)) for _ in range(count))
    flaws = tuple(
        tuple((draw.below(width), draw.below(height), 1, 1) for _ in range(draw.below(4))) for _ in range(2)
    )
    racks = draw.between(1, max(1, count - 1))
    before, last = [], dict.fromkeys(range(racks), -1)
    for i in range(count):
        rack = draw.below(racks)
        before.append(-1 if free else last[rack])
        last[rack] = i
    levels, once = ((2, False), (3, False), (4, True), (4, True))[draw.below(4)]
    return Case(
        width=width, height=height, sizes=sizes, before=tuple(before), flaws=flaws, levels=levels, once=once,
        last=levels < 4 and draw.below(2) == 0, waste=draw.between(1, 2), least1=2, most1=width - 2, least2=2,
    )  # fmt: skip


def challenge_of(case: Case) -> Challenge:
    """The case as an instance of the challenge; rectangles without an order have stacks of their own."""
    stacks: list[int] = []
    places: list[int] = []
    for i, before in enumerate(case.before):
        stacks.append(stacks[before] if before >= 0 else len(case.sizes) + i)
        places.append(places[before] + 1 if before >= 0 else 1)
    boxes = [(plate, box) for plate, some in enumerate(case.flaws) for box in some]
    return Challenge(
        name="tiny",
        limits=Limits(
            plates=len(case.flaws), width=case.width, height=case.height,
            least1=case.least1, most1=case.most1 or 0, least2=case.least2, waste=case.waste,
        ),
        items=tuple(
            Item(number=i, length=a, width=b, stack=stacks[i], sequence=places[i])
            for i, (a, b) in enumerate(case.sizes)
        ),
        defects=tuple(
            Defect(number=k, plate=plate, x=x, y=y, width=w, height=h)
            for k, (plate, (x, y, w, h)) in enumerate(boxes)
        ),
    )  # fmt: skip


def instance_of(case: Case, challenge: Challenge) -> Instance:
    levels = {"levels": case.levels, "deepest_once": case.once, "last_cut": case.last}
    rules = replace(challenge.rules, break_out=mm(case.waste), **levels)
    return build(challenge.panels, challenge.stock(), rules)


def found_by(search: type[OrderedSearch | FreeOrderSearch], case: Case, steps: int) -> tuple[int, int]:
    """What a search finds, each of its plans held against the published rules."""
    challenge = challenge_of(case)
    instance = instance_of(case, challenge)
    made = search(instance, frames=UPRIGHT)
    made.start()
    while made.steps < steps and not made.finished and made.advance():
        pass
    if not made.patterns:
        return NONE
    nodes, broken = read_table(checked_table(challenge, instance, made.patterns, 0))
    assert not broken
    assert max(n.cut for n in nodes) <= case.levels + case.last
    return len(made.patterns), sum(n.width for n in nodes if n.kind == RESIDUAL)


def filled(case: Case, *, whole: bool) -> tuple[int, int]:
    """Area on the first sheet, and its rest, by the filling of one sheet; held against the published rules."""
    challenge = challenge_of(case)
    instance = instance_of(case, challenge)
    found = fill(instance, 0, instance.demand, frames=UPRIGHT, whole=whole, counter=Counter())
    if found is None:
        return 0, case.width
    nodes = nodes_of(challenge, plan_of([found], instance, 0, all_panels=False))
    broken = broken_rules(challenge, nodes)
    assert {b.rule for b in broken} <= {"items"}, broken
    assert max(n.cut for n in nodes) <= case.levels + case.last
    area = sum(n.width * n.height for n in nodes if n.kind >= 0)
    return area, sum(n.width for n in nodes if n.kind == RESIDUAL)


def most(case: Case) -> int:
    """The most area that can be cut from the first sheet."""
    sets = oracle(replace(case, flaws=()), case.flaws[0]).best(frozenset([0]))
    return max(sum(w * h for i, (w, h) in enumerate(case.sizes) if done >> i & 1) for done in sets)


def judged(search: type[OrderedSearch | FreeOrderSearch], *, free: bool) -> set[int]:
    """Seeds where a search found less than the optimum; better is an error."""
    short = set()
    for seed in SEEDS[: 8 if free else None]:
        case = drawn(seed, free=free)
        if not most(case):
            continue  # the challenge counts an empty plate, a shop does not
        optimum, found = exact(case), found_by(search, case, STEPS)
        assert (found[0], -found[1]) >= (optimum[0], -optimum[1]), (seed, optimum, found)
        if found != optimum:
            short.add(seed)
    return short


def test_a_search_in_free_order_is_never_better_and_nearly_always_there() -> None:
    assert judged(FreeOrderSearch, free=True) <= set(SHORT["free"])


def test_a_search_in_order_is_never_better_and_nearly_always_there() -> None:
    assert judged(OrderedSearch, free=False) <= set(SHORT["racks"])


@pytest.mark.parametrize("name", ["free", "racks"])
def test_a_filled_sheet_is_never_better_and_nearly_always_as_full(name: str) -> None:
    part, whole = set(), set()
    for seed in SEEDS:
        case = drawn(seed, free=name == "free")
        found = filled(case, whole=False)[0]
        assert found <= most(case), seed
        if found < most(case):
            part.add(seed)
        sheets, rest = exact(replace(case, flaws=case.flaws[:1]))
        area, left = filled(case, whole=True)
        every = sum(w * h for w, h in case.sizes)
        assert (area == every and sheets == 1 and left <= rest) or area == 0, seed
        if sheets == 1 and (area, left) != (every, rest):
            whole.add(seed)
    assert part | whole <= set(SHORT[f"filled, {name}"])
