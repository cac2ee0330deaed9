"""Sheets in a given order without racks, with rules between their cuts: every plan keeps them."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.flaws import Flaw
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.optimizer.plain import GLASS, plain_panel
from panewright.nesting.ordered.exchange import Exchange
from panewright.nesting.ordered.free_order import FreeOrderSearch
from panewright.nesting.ordered.laid import Laid, Span
from panewright.nesting.ordered.slot import Filler, Stay
from panewright.nesting.phantoms import with_phantoms
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece

RULES = Rules(
    break_out=4, levels=4, last_cut=False, least_offcut=(600, 320), level1_width=(10, 350), level2_width=10,
    least_waste=4, deepest_once=True,
)  # fmt: skip
"""Those of the ROADEF/EURO challenge 2018 on sheets a tenth as large, with twice the least waste."""


class OfOneRule:
    """A shop with these rules alone."""

    def rules(self, key: str) -> Rules:
        """The same for every glass."""
        return RULES


def instance_of(sizes: list[tuple[int, int]], flaws: list[list[Flaw]]) -> Instance:
    panels = [plain_panel(w, h, f"{k:03d}", turn=True) for k, (w, h) in enumerate(sizes)]
    stock = [
        StockPiece(
            name=f"p{k}", glass=GLASS, width=600, height=321, raw=(), cost=7, on_hand=1, take=k + 1,
            flaws=tuple(sorted(mine)),
        )
        for k, mine in enumerate(flaws)
    ]  # fmt: skip
    return build(panels, with_phantoms(stock, panels, OfOneRule()), RULES)


def widths(spans: tuple[Span, ...], start: int) -> list[tuple[int, Span]]:
    ends = [start, *(s.end for s in spans)]
    return [(b - a, s) for a, b, s in zip(ends, ends[1:], spans, strict=False)]


def keeps_the_rules(pattern: Laid, instance: Instance) -> bool:
    """Whether a pattern keeps the rules of the challenge, worked out from its spans."""
    flaws = instance.sheets[pattern.sheet].piece.flaws

    def crossed(axis: int, place: int, low: int, high: int) -> bool:
        for f in flaws:
            a0, b0, a1, b1 = f.x, f.y, f.x + f.width, f.y + f.height
            if axis == 1:
                a0, b0, a1, b1 = b0, a0, b1, a1
            if a0 < place < a1 and b0 < high and b1 > low:
                return True
        return False

    left = 0
    for wide, strip in widths(pattern.strips, 0):
        last = strip is pattern.strips[-1]
        if not (wide >= 4 if strip.is_waste else 10 <= wide <= 350):
            return False
        if not last and crossed(0, strip.end, 0, 321):
            return False
        low = 0
        for high, row in widths(strip.parts, 0):
            if high < (4 if row.is_waste else 10):
                return False
            if row.end < 321 and crossed(1, row.end, left, strip.end):
                return False
            near = left
            for across, column in widths(row.parts, left):
                if column.is_waste and across < 4:
                    return False
                if column.end < strip.end and crossed(0, column.end, low, row.end):
                    return False
                if len(column.parts) > 2 or any(p.is_waste and h < 4 for h, p in widths(column.parts, low)):
                    return False
                near = column.end
            if row.parts and near != strip.end:
                return False
            low = row.end
        left = strip.end
    boxes = [box for _, box in pattern.places()]
    return left == 600 and not any(
        f.x < x1 and f.x + f.width > x0 and f.y < y1 and f.y + f.height > y0
        for x0, y0, x1, y1 in boxes
        for f in flaws
    )


FLAW = st.builds(Flaw, st.integers(0, 590), st.integers(0, 310), st.integers(1, 4), st.integers(1, 4))


@settings(max_examples=12, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(12, 300), st.integers(12, 200)), min_size=1, max_size=14),
    flaws=st.lists(st.lists(FLAW, max_size=4), min_size=1, max_size=4),
)
def test_every_plan_keeps_the_rules(sizes: list[tuple[int, int]], flaws: list[list[Flaw]]) -> None:
    instance = instance_of(sizes, flaws)
    search = FreeOrderSearch(instance, frames=1)
    search.start()
    search.advance()
    patterns = search.patterns
    assert patterns and all(keeps_the_rules(p, instance) for p in patterns)
    placed = [0] * len(instance.types)
    for p in patterns:
        for t, n in p.uses(instance).items():
            placed[t] += n
    assert placed == list(instance.demand)
    # the numbered sheets come first, none passed over
    numbers = [instance.sheets[p.sheet].piece.take for p in patterns]
    there = [n for n in numbers if n is not None]
    assert there == list(range(1, len(there) + 1))
    assert numbers == there + [None] * (len(numbers) - len(there))
    assert search.cost == sum(instance.sheets[p.sheet].piece.cost for p in patterns)


def test_the_same_seed_gives_the_same_plan_and_more_steps_no_worse_one() -> None:
    sizes = [(40 + 17 * k % 160, 60 + 29 * k % 140) for k in range(30)]
    instance = instance_of(sizes, [[Flaw(100 * k + 50, 100, 2, 2)] for k in range(5)])
    first, second = FreeOrderSearch(instance, seed=3), FreeOrderSearch(instance, seed=3)
    for search in (first, second):
        search.start()
    before = first._best_key
    for _ in range(3):
        first.advance()
        second.advance()
    assert first.patterns == second.patterns and first.steps == second.steps
    assert before is not None and first._best_key is not None and first._best_key <= before


SIZES = [(40 + 17 * k % 160, 60 + 29 * k % 140) for k in range(30)]
SPOTS = [[Flaw(100 * k + 50, 100, 2, 2), Flaw(300, 40 * k + 10, 1, 3)] for k in range(5)]


def test_strips_are_filled_anew_between_those_that_stay() -> None:
    instance = instance_of(SIZES, SPOTS)
    filler = Filler(instance, 1)
    demand = np.array(instance.demand, dtype=np.int64)
    again = 0
    for sheet in range(len(SPOTS)):
        slot = filler.fill(sheet, demand, filler.rect_area, 5)
        assert slot is not None
        strips = slot.filled.pattern.strips
        there = [k for k, strip in enumerate(strips) if not strip.is_waste]
        for place, k in enumerate(there):
            before, after = there[:place], there[place + 1 :]
            near = strips[: before[-1] + 1] if before else ()
            far = strips[after[0] :] if after else ()
            uses = sum((filler.uses_of(strip) for strip in near + far), filler.none())
            stop = strips[after[0] - 1].end if after else None
            new = filler.fill(sheet, demand - uses, filler.rect_area, 40, Stay(near, far, stop, 0, uses))
            if new is None:
                continue
            again += 1
            pattern = new.filled.pattern
            assert keeps_the_rules(pattern, instance), k
            assert pattern.strips[: len(near)] == near
            assert not far or pattern.strips[-len(far) :] == far
            assert {t: n for t, n in enumerate(new.uses.tolist()) if n} == pattern.uses(instance)
            assert (new.uses <= demand).all() and (new.uses >= uses).all()
            assert new.filled.end == max(s.end for s in pattern.strips if not s.is_waste)
    assert again > len(SPOTS)


def test_exchanges_leave_less_on_the_last_sheet() -> None:
    instance = instance_of(SIZES, SPOTS)
    search = FreeOrderSearch(instance, seed=1, frames=1)
    search.start()
    plan = search._best
    filler = Filler(instance, 1)
    exchange = Exchange(filler, np.random.Generator(np.random.PCG64(1)), plan)
    before, first = exchange.least, search._key(plan)[1]
    used = first
    for _ in range(200):
        found = exchange.turn(used)
        if found is None:
            continue
        assert all(keeps_the_rules(slot.filled.pattern, instance) for slot in found)
        assert sum((slot.uses for slot in found), filler.none()).tolist() == list(instance.demand)
        assert len(found) == len(plan)  # the panels fill more than two sheets
        used = min(used, search._key(found)[1])
    assert used < first and exchange.least < before
    assert all(keeps_the_rules(slot.filled.pattern, instance) for slot in exchange._full)


def test_stock_of_the_shop_in_any_order() -> None:
    panels = [plain_panel(100, 90, f"{k}", turn=True) for k in range(8)]
    stock = [
        StockPiece(name="big", glass=GLASS, width=600, height=321, raw=(), cost=50, buyable=True),
        StockPiece(name="small", glass=GLASS, width=310, height=200, raw=(), cost=12, buyable=True),
        StockPiece(name="front", glass=GLASS, width=310, height=200, raw=(), cost=90, on_hand=1, take=1),
    ]
    instance = build(panels, stock, replace(RULES, level1_width=(10, None)))
    search = FreeOrderSearch(instance)
    search.start()
    search.advance()
    names = [instance.sheets[p.sheet].piece.name for p in search.patterns]
    assert names[0] == "front"
    assert search.cost == 90 + 12  # eight of 100 x 90: six on a sheet of 310 x 200, two more on another
    assert names == ["front", "small"]
