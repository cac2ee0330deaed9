"""Plans in the order of racks and sheets, around flaws: random tiny cases pass the checker, and repeat.

And the beams of the search: how candidates are put in order, how wide they get, and what follows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.angled.exact import breaks_off
from panewright.nesting.assemble import Hands, numbered
from panewright.nesting.checker import check
from panewright.nesting.cut_tree import build_layout, waste_of
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.optimizer.runner import Counter as Nodes
from panewright.nesting.ordered import search as search_module
from panewright.nesting.ordered.by_key import FEW, by_key
from panewright.nesting.ordered.free_order import FreeOrderSearch
from panewright.nesting.ordered.laid import Laid
from panewright.nesting.ordered.one_piece import fill
from panewright.nesting.ordered.run import Run
from panewright.nesting.ordered.search import OrderedSearch
from panewright.nesting.ordered.variant import InOrder
from panewright.nesting.outlines import rectangle
from panewright.nesting.pace import JUST_BEFORE, Pace
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.phantoms import on_phantom, with_phantoms
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.spots import told_apart
from panewright.nesting.stock import Side, StockPiece, Trim
from panewright.nesting.units import mm

GLASS = "clear-10"


class OfOneRule:
    """Rules that are the same for every glass."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules

    def rules(self, key: str) -> Rules:
        """Those."""
        return self._rules


def plan_of(instance: Instance, patterns: Sequence[Laid], panels: Sequence[Panel], *, keep: bool) -> Plan:
    """The plan of patterns, with the panels that they hold."""
    draw = Hands(instance).draw(instance)
    layouts = []
    for number, pattern in enumerate(patterns, 1):
        kept = {w.index for w in waste_of(pattern, instance, 0)} if keep else set()
        layouts.append(build_layout(pattern, instance, draw, kept, number, False))
    placed = {leaf.panel for layout in layouts for leaf in layout.leaves}
    panels = [p for p in panels if p.id in placed]
    layouts = told_apart(layouts, panels)
    name = plan_id(0, layouts)
    return Plan(
        id=name, program="tests", seed=0, effort=None, length_unit="mm", currency="EUR",
        rules={GLASS: instance.rules}, panels=tuple(panels), unplaced=(),
        outcomes={}, layouts=tuple(numbered(x, name) for x in layouts),
    )  # fmt: skip


@st.composite
def cases(draw: st.DrawFn) -> tuple[list[tuple[int, ...]], list[StockPiece], Rules]:
    """Sizes of panels with what marks them, sheets with flaws, and rules. [mm]"""
    one = st.integers
    levels = draw(st.sampled_from([2, 3, 4, 4, None]))
    rules = Rules(
        break_out=mm(draw(st.sampled_from([0, 3, 6]))),
        levels=levels,
        last_cut=draw(st.booleans()),
        longest_cut=draw(st.sampled_from([None, None, mm(110)])),
        least_offcut=(mm(30), mm(20)),
    )
    if draw(st.booleans()):
        rules = replace(
            rules,
            level1_width=(mm(draw(st.sampled_from([0, 12, 30]))), draw(st.sampled_from([None, mm(90)]))),
            level2_width=mm(draw(st.sampled_from([0, 15, 40]))),
            least_waste=mm(draw(st.sampled_from([0, 8]))),
        )
        if levels == 4:
            rules = replace(rules, last_cut=False, deepest_once=True)
    stock = []
    for k in range(draw(one(1, 3))):
        width, height = draw(one(60, 160)), draw(one(60, 160))
        flaws = []
        for _ in range(draw(one(0, 4))):
            x, y = draw(one(0, width - 1)), draw(one(0, height - 1))
            size = draw(one(0, 12)), draw(one(0, 12))
            kind = draw(st.sampled_from(["", "seed"]))
            flaws.append(Flaw(mm(x), mm(y), mm(min(size[0], width - x)), mm(min(size[1], height - y)), kind))
        raw = tuple(side for side in Side if draw(st.booleans()))
        trim = Trim(*(mm(draw(st.sampled_from([0, 5]))) for _ in Side)).on(raw)
        stock.append(
            StockPiece(
                name=f"sheet {k}",
                glass=GLASS,
                width=mm(width),
                height=mm(height),
                raw=raw,
                trim=trim,
                cost=width * height,
                on_hand=1,
                flaws=tuple(sorted(flaws)),
                take=k + 1,
            )
        )
    panels = [
        (draw(one(8, 70)), draw(st.sampled_from([11, 20, 20, 33, 50])), draw(one(0, 2)), draw(one(0, 3)))
        for _ in range(draw(one(1, 8)))
    ]
    return panels, stock, rules


def panels_of(sizes: Sequence[tuple[int, ...]], make_panel: Callable[..., Panel]) -> list[Panel]:
    """Panels of two racks and of none, some of which may have a seed at the edge."""
    out = []
    for slot, (width, height, rack, bits) in enumerate(sizes, 1):
        panel = make_panel(
            outline=rectangle(mm(width), mm(height)), id=f"A/p/{slot}", narrow=min(width, height) < 12,
            turn=Turn.NONE if bits & 1 else Turn.ANY,
        )  # fmt: skip
        if rack:
            panel = replace(panel, rack=f"rack {rack}", slot=slot)
        if bits & 2:
            panel = replace(panel, tolerates=(Tolerance("seed", "edge", mm(9)),))
        out.append(panel)
    return out


@settings(max_examples=25)
@given(case=cases(), whole=st.booleans(), keep=st.booleans())
def test_one_sheet_passes_the_checker(
    case: tuple[list[tuple[int, ...]], list[StockPiece], Rules],
    whole: bool,
    keep: bool,
    make_panel: Callable[..., Panel],
) -> None:
    sizes, (sheet, *_), rules = case
    panels = panels_of(sizes, make_panel)
    instance = build(panels, [sheet], rules)
    found = fill(instance, 0, instance.demand, width=12, whole=whole, counter=Nodes())
    if found is None:
        return
    assert check(plan_of(instance, [found], panels, keep=keep)) == []
    if whole:
        assert sum(found.uses(instance).values()) == len(panels)
    # racks from their first slot on, none passed over
    placed = {instance.types[t].panels[0].id for t in found.uses(instance)}
    for rack in ("rack 1", "rack 2"):
        there = [p.id in placed for p in sorted(panels, key=lambda p: p.slot or 0) if p.rack == rack]
        assert there == sorted(there, reverse=True)


@settings(max_examples=20)
@given(case=cases(), most=st.sampled_from([None, 1]))
def test_sheets_in_their_order(
    case: tuple[list[tuple[int, ...]], list[StockPiece], Rules],
    most: int | None,
    make_panel: Callable[..., Panel],
) -> None:
    sizes, stock, rules = case
    panels = panels_of(sizes, make_panel)
    more = replace(stock[0], name="more", on_hand=0, buyable=True, take=None, flaws=())
    instance = build(panels, [*stock, more], rules)
    search = OrderedSearch(instance, open_racks=most)
    search.start()
    for _ in range(5):
        search.advance()
    if not search.patterns:
        return  # some panel fits no sheet under these rules
    assert check(plan_of(instance, search.patterns, panels, keep=False)) == []
    assert sum(sum(p.uses(instance).values()) for p in search.patterns) == len(panels)
    assert search.cost == sum(instance.sheets[p.sheet].piece.cost for p in search.patterns)
    if most == 1:
        racks = [
            instance.types[instance.rect(rect).uses[0][0]].panels[0].rack
            for p in search.patterns
            for rect, _ in p.places()
        ]
        whole = Counter(p.rack for p in panels)
        begun: Counter[str] = Counter()
        for rack in racks:
            begun[rack] += 1
            assert sum(0 < n < whole[r] for r, n in begun.items() if r) <= most
    again = OrderedSearch(instance, open_racks=most)
    again.start()
    for _ in range(5):
        again.advance()
    assert (again.patterns, again.steps) == (search.patterns, search.steps)


@settings(max_examples=25)
@given(case=cases(), clean=st.booleans())
def test_sheets_in_their_order_without_racks(
    case: tuple[list[tuple[int, ...]], list[StockPiece], Rules],
    clean: bool,
    make_panel: Callable[..., Panel],
) -> None:
    """The search for panels in any order holds the same rules between cuts, with flaws and without."""
    sizes, stock, rules = case
    panels = [replace(p, rack=None, slot=None) for p in panels_of(sizes, make_panel)]
    stock = [replace(s, flaws=() if clean else s.flaws) for s in stock]
    more = replace(stock[0], name="more", on_hand=0, buyable=True, take=None, flaws=())
    instance = build(panels, [*stock, more], rules)
    search = FreeOrderSearch(instance)
    search.start()
    for _ in range(5):
        search.advance()
    if search.patterns:
        assert check(plan_of(instance, search.patterns, panels, keep=False)) == []


def test_no_rack_waits_for_a_sheet_that_fits_none_of_it(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    """A big panel first in its rack goes on the second sheet: the first takes what is free, and no more."""
    rules = Rules(levels=3, last_cut=True, break_out=mm(10))
    panels = [replace(make_panel(900, 900, id="A/p/1"), rack="r", slot=1)]
    panels += [replace(make_panel(300, 200, id="A/p/2"), rack="r", slot=2), make_panel(300, 200, id="A/p/3")]
    small = replace(make_stock(400, 300, name="a", trim=(0, 0, 0, 0)), take=1, on_hand=1, buyable=False)
    large = replace(make_stock(1000, 1300, name="b", trim=(0, 0, 0, 0)), take=2, on_hand=1, buyable=False)
    instance = build(panels, [small, large], rules)
    search = OrderedSearch(instance)
    search.start()
    first, second = search.patterns
    assert [instance.types[t].panels[0].id for t in first.uses(instance)] == ["A/p/3"]
    assert sum(second.uses(instance).values()) == 2
    assert check(plan_of(instance, search.patterns, panels, keep=True)) == []


def test_a_sheet_that_yields_nothing_goes_whole(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    """Of numbered sheets none is passed over, one that is all flaws neither; one without a number is left out."""
    panels = [replace(make_panel(300, 200, id=f"A/p/{k}"), rack="r", slot=k) for k in (1, 2)]
    flawed = make_stock(500, 400, name="a", trim=(0, 0, 0, 0))
    flawed = replace(flawed, on_hand=1, buyable=False, flaws=(Flaw(0, 0, mm(500), mm(400), "rub"),))
    good = replace(make_stock(700, 400, name="b", trim=(0, 0, 0, 0)), on_hand=1, buyable=False)
    for takes, uses in (((1, 2), [0, 2]), ((None, None), [2])):
        stock = [replace(s, take=take) for s, take in zip((flawed, good), takes, strict=True)]
        instance = build(panels, stock, Rules(levels=3, last_cut=True, break_out=mm(10)))
        search = OrderedSearch(instance)
        search.start()
        assert [sum(p.uses(instance).values()) for p in search.patterns] == uses
        assert check(plan_of(instance, search.patterns, panels, keep=True)) == []


def test_bound_panels_may_run_short_of_their_stock(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    """Slots that are bound to two sheets by turns: what comes after the first change has no glass."""
    names = ("a", "b", "a", "b")
    panels = [
        replace(make_panel(300, 200, id=f"A/p/{k}"), rack="r", slot=k, from_stock=name)
        for k, name in enumerate(names, 1)
    ]
    sheet = replace(make_stock(700, 400, trim=(0, 0, 0, 0)), on_hand=1, buyable=False)
    stock = [replace(sheet, name="a", flaws=(Flaw(0, 0, mm(5), mm(5)),)), replace(sheet, name="b")]
    rules = Rules(levels=3, last_cut=True, break_out=mm(10))
    instance = build(panels, with_phantoms(stock, panels, OfOneRule(rules)), rules)
    search = OrderedSearch(instance)
    search.start()
    real = [p for p in search.patterns if not on_phantom(instance, p)]
    assert sorted(instance.types[t].panels[0].slot or 0 for p in real for t in p.uses(instance)) == [1, 2]
    assert sum(sum(p.uses(instance).values()) for p in search.patterns) == 4


def test_thin_panels_keep_the_least_waste(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    """Waste beside a panel thinner than waste may be is too thin as well, in any frame."""
    panels = [make_panel(90 + 30 * (k % 2), 20, id=f"A/p/{k}", turn=Turn.NONE) for k in range(4)]
    stock = [replace(make_stock(400, 300, trim=(0, 0, 0, 0)), take=1, on_hand=1, buyable=False)]
    rules = Rules(levels=3, last_cut=True, break_out=mm(10), least_waste=mm(60))
    instance = build(panels, stock, rules)
    variant = InOrder.all_of(instance, 0, None)
    variant.start()
    assert sum(sum(p.uses(instance).values()) for p in variant.patterns) == 4
    assert check(plan_of(instance, variant.patterns, panels, keep=True)) == []


def test_corners_of_blanks_keep_the_least_waste() -> None:
    corner = ((0, 0), (mm(300), 0), (mm(300), mm(50)))
    for least, fine in ((0, True), (mm(60), False)):
        rules = Rules(break_out=mm(12), least_waste=least, least_angle=30_000)
        assert breaks_off(corner, corner[0], corner[2], rules) is fine


KEYS = st.floats(min_value=0, max_value=1e300, allow_subnormal=True)


@given(
    st.one_of(
        st.lists(KEYS, max_size=40),
        st.lists(st.sampled_from([0.25, 0.5, 0.5000000001]), max_size=5 * FEW),
        st.lists(KEYS, min_size=1, max_size=3).map(
            lambda few: few + [1.0 + k % 7 / 9 for k in range(5 * FEW)]
        ),
    )
)
def test_candidates_stand_as_a_stable_sort_puts_them(keys: list[float]) -> None:
    """NumPy's stable argsort is the reference."""
    array = np.array(keys, np.float64)
    assert by_key(array).tolist() == np.argsort(array, kind="stable").tolist()


def racks(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece], number: int, long: int
) -> tuple[Instance, list[Panel]]:
    """So many racks of so many panels each, of sizes that do not fit well together."""
    panels = []
    for r in range(number):
        for k in range(long):
            size = 90 + (37 * r + 61 * k) % 140, 70 + (53 * r + 29 * k) % 110
            panels.append(replace(make_panel(*size, id=f"A/p{r}/{k + 1}"), rack=f"r{r:03}", slot=k + 1))
    stock = [make_stock(800, 600, trim=(0, 0, 0, 0))]
    return build(panels, stock, Rules(levels=4, break_out=mm(10))), panels


def test_more_racks_than_a_front_has_bits(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    """Racks share the bits that say what lies in the open row: the order of each holds all the same."""
    instance, panels = racks(make_panel, make_stock, 70, 2)
    search = OrderedSearch(instance)
    search.start()
    for _ in range(3):
        search.advance()
    assert sum(sum(p.uses(instance).values()) for p in search.patterns) == 140
    assert check(plan_of(instance, search.patterns, panels, keep=True)) == []


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[Run]:
    """The beams that the searches of a test make, as they are made."""
    runs: list[Run] = []

    def noted(*args: object, **more: object) -> Run:
        runs.append(Run(*args, **more))  # type: ignore[arg-type]
        return runs[-1]

    monkeypatch.setattr(search_module, "Run", noted)
    return runs


def test_the_widest_beams_go_on_with_other_worths(
    monkeypatch: pytest.MonkeyPatch,
    made: list[Run],
    make_panel: Callable[..., Panel],
    make_stock: Callable[..., StockPiece],
) -> None:
    """No beam as wide as beams get is made twice, and the same steps give the same plan."""
    instance, panels = racks(make_panel, make_stock, 4, 5)
    monkeypatch.setattr(search_module, "MOST_WIDTH", 60)
    plans = []
    for aim in (None, None, 40):
        made.clear()
        search = OrderedSearch(instance)
        search.aim = aim
        search.start()
        for _ in range(30):
            assert search.advance()
        plans.append((search.patterns, search.steps))
        widest = [run.guide for run in made if run.width == 60]
        assert len(widest) == len(set(widest)) > len(search_module.GUIDES)
        assert any(guide.draw for guide in widest)
        assert check(plan_of(instance, search.patterns, panels, keep=True)) == []
    assert plans[0] == plans[1]


def test_a_beam_that_saw_all_ends_the_search(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    instance, _ = racks(make_panel, make_stock, 1, 4)
    search = OrderedSearch(instance)
    search.start()
    for _ in range(200):
        if not search.advance():
            break
    assert search.finished


def test_the_pace_of_late_tells_at_which_step_a_moment_comes() -> None:
    """Slow at first, a hundred steps a second from the second one on."""
    pace = Pace()
    assert pace.steps_at(10, 0.1, 5) is None
    for tenth in range(4, 40):
        steps = tenth if tenth <= 10 else 10 * (tenth - 9)
        found = pace.steps_at(10, tenth / 10, steps)
    assert steps == 300 and found == 300 + int(100 * (JUST_BEFORE * 10 - 3.9))


def test_the_last_beam_before_a_known_end_is_wide_and_over_by_then(
    made: list[Run],
    make_panel: Callable[..., Panel],
    make_stock: Callable[..., StockPiece],
) -> None:
    instance, panels = racks(make_panel, make_stock, 5, 8)
    search = OrderedSearch(instance)
    variant = InOrder(instance, (), None, work=search, low=0, sharp=True)
    variant.start()
    while search.steps < 100:
        variant.advance()
    now, widest_so_far = search.steps, max(run.width for run in made)
    variant.stops_at(20.0, 1.0)  # so far `now` steps a second
    assert search.aim == now + int(now * (JUST_BEFORE * 20 - 1))
    while search.steps < search.aim and variant.advance():
        pass
    widest = max(made, key=lambda run: run.width)
    assert widest.width > 2 * widest_so_far and widest.over
    assert check(plan_of(instance, search.patterns, panels, keep=True)) == []
