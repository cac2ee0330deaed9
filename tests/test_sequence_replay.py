"""The printed sequence is enough: who does only what its text says cuts the plan.

The text is read line by line as a person reads it (piece, edge, measure, marks) and done with polygons of
the general-purpose library shapely, without any code of the program's geometry. Marks rounded to the step
of the shop may leave a piece off by that step an edge; without rounding by what the text cannot show.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import hypot

import pytest
from shapely import LineString, Polygon
from shapely.affinity import scale
from shapely.ops import split

from panewright.io import bench_angled
from panewright.io.sequence_files import sequence_text
from panewright.nesting.outlines import make_outline
from panewright.nesting.panels import Panel
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.sequencing.arrange import arranged
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.shop_table import Habit, TableWork
from panewright.nesting.units import INCH, MM, mm, use_style

DIRECTIONS = {
    "left": (-1, 0),
    "right": (1, 0),
    "bottom": (0, -1),
    "top": (0, 1),
    "lower left": (-0.7071, -0.7071),
    "lower right": (0.7071, -0.7071),
    "upper left": (-0.7071, 0.7071),
    "upper right": (0.7071, 0.7071),
}
WORDS = "|".join(sorted(DIRECTIONS, key=len, reverse=True))


# ---------------------------------------------------------------- reading


def length(text: str) -> float:
    """A length as printed, in mm."""
    if text.endswith(" mm"):
        return float(text[:-3])
    found = re.fullmatch(r'(?:(\d+)-)?(?:(\d+)/(\d+))?(\d+)?"', text)
    assert found, text
    whole, top, under, alone = found.groups()
    value = int(whole or alone or 0) + (int(top) / int(under) if top else 0)
    return 25.4 * value


@dataclass
class Block:
    """What one block of the text says, its wrapped lines joined."""

    said: list[tuple[str, str]] = field(default_factory=list)

    def all(self, label: str) -> list[str]:
        return [text for name, text in self.said if name == label]

    def one(self, label: str) -> str:
        (text,) = self.all(label)
        return text


def blocks(sheet: str) -> list[Block]:
    """The blocks of a sheet after its head; the big figures on the left are left out."""
    out = []
    for part in sheet.split("-" * 78 + "\n")[1:]:
        block = Block()
        for line in part.splitlines():
            if set(line) <= {"=", " "}:
                continue
            # the gutter with the step number is as wide as the figures need
            found = re.search(r"^[ _|]*?(HAND|MEASURE|MARK|BREAK|LAY|SCORE|->|!) +(.*)$", line)
            if found:
                block.said.append((found[1], found[2]))
            elif block.said and line.strip(" _|"):
                name, text = block.said[-1]
                block.said[-1] = (name, f"{text} {line.strip(' _|').strip()}")
        if block.said:
            out.append(block)
    return out


# ---------------------------------------------------------------- doing


def sides(piece: Polygon) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    corners = list(piece.exterior.coords)
    if piece.exterior.is_ccw is False:
        corners.reverse()
    return [(a, b) for a, b in pairwise(corners) if hypot(b[0] - a[0], b[1] - a[1]) > 1e-3]


def outward(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    long = hypot(b[0] - a[0], b[1] - a[1])
    return (b[1] - a[1]) / long, (a[0] - b[0]) / long


def the_edge(piece: Polygon, word: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """The edge of a piece that lies where the word says; the longest of several."""
    ux, uy = DIRECTIONS[word]

    def facing(edge: tuple[tuple[float, float], tuple[float, float]]) -> float:
        nx, ny = outward(*edge)
        return nx * ux + ny * uy

    good = [e for e in sides(piece) if facing(e) > 0.92]
    assert good, (word, piece.wkt)
    return max(good, key=lambda e: (round(facing(e), 3), hypot(e[1][0] - e[0][0], e[1][1] - e[0][1])))


def edges_facing(piece: Polygon, word: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    ux, uy = DIRECTIONS[word]
    return [e for e in sides(piece) if sum(n * u for n, u in zip(outward(*e), (ux, uy))) > 0.92]


def parallel(piece: Polygon, word: str, distance: float) -> LineString:
    (ax, ay), (bx, by) = the_edge(piece, word)
    nx, ny = outward((ax, ay), (bx, by))
    return LineString([(ax - nx * distance, ay - ny * distance), (bx - nx * distance, by - ny * distance)])


def marked(piece: Polygon, text: str) -> list[tuple[float, float]]:
    """Where a mark may lie: on every edge that its words fit."""
    corner = re.match(r"at the corner itself: (left|right|lower|upper) end of the (.*) edge", text)
    found = corner or re.match(r"(\S+(?: mm)?) from the (left|right|lower|upper) end of the (.*) edge", text)
    assert found, text
    away, end, word = (0.0, corner[1], corner[2]) if corner else (length(found[1]), found[2], found[3])
    out = []
    for a, b in edges_facing(piece, word):
        axis, sign = {"left": (0, 1), "right": (0, -1), "lower": (1, 1), "upper": (1, -1)}[end]
        start, other = sorted((a, b), key=lambda p: sign * p[axis])
        long = hypot(other[0] - start[0], other[1] - start[1])
        out.append(tuple(s + (o - s) * away / long for s, o in zip(start, other)))
    return out


def halves(piece: Polygon, line: LineString) -> list[Polygon]:
    """Both parts along a line drawn through the whole piece."""
    parts = split(piece, scale(line, 1e4, 1e4))
    return [p for p in parts.geoms if p.area > 1e-6]


@dataclass
class Table:
    """What lies on the table, by the step and the part that made it."""

    sheet: Polygon
    parts: dict[tuple[int, str], Polygon] = field(default_factory=dict)
    kept: list[tuple[str, Polygon]] = field(default_factory=list)
    laid: tuple[str, Polygon, list[float]] | None = None
    step: int = 0

    def hand(self, text: str) -> Polygon:
        if text.startswith("the sheet"):
            return self.sheet
        found = re.match(rf"({WORDS}) part of step (\d+)", text)
        assert found, text
        return self.parts[int(found[2]), found[1]]

    def do(self, block: Block) -> None:
        if block.all("LAY"):
            found = re.fullmatch(r"from the (?:raw )?(\w+) edge: (.*)", block.one("MARK"))
            assert found, block
            piece = self.hand(block.one("LAY"))
            self.laid = found[1], piece, [length(t.strip()) for t in found[2].split("|")]
            assert block.one("SCORE").startswith(f"{len(self.laid[2])} scores of")
            return
        if not block.all("HAND"):
            return
        self.step += 1
        piece = self.hand(block.one("HAND"))
        if block.all("BREAK"):
            found = re.match(r"(?:the (?:mark|score) )?(\S+(?: mm)?) from the (\w+) edge", block.one("BREAK"))
            assert found, block
            word, at, whole = found[2], length(found[1]), piece
            if "the mark" in block.one("BREAK"):
                assert self.laid is not None
                edge, whole, marks = self.laid
                assert edge == word and at in marks  # it was marked and scored before
                marks.remove(at)
            lines = [parallel(whole, word, at)]
        elif block.all("MARK"):
            first, second = (marked(piece, text) for text in block.all("MARK"))
            lines = [LineString([p, q]) for p in first for q in second if p != q]
        else:
            found = re.match(rf"(\S+(?: mm)?) from the (?:raw )?({WORDS}) edge", block.one("MEASURE"))
            assert found, block
            lines = [parallel(piece, found[2], length(found[1]))]
        fits = [parts for line in lines if len(parts := halves(piece, line)) == 2]
        assert fits, (self.step, block)
        made = [re.fullmatch(r"([A-Z ]+): (.*)", text) for text in block.all("->")]
        assert all(made) and len(made) == 2
        # of several lines that the words fit, the one whose parts are as large as the text says
        parts = min(fits, key=lambda p: abs(self._sized(p, made[0][1].lower(), made[0][2])))
        for found in made:
            part = farthest(parts, found[1].lower())
            self.parts[self.step, found[1].lower()] = part
            what = found[2]
            kind = next((k for k in ("panel", "keep as offcut", "cullet") if what.startswith(k)), None)
            if kind:
                self.kept.append((kind, part))

    def _sized(self, parts: list[Polygon], word: str, what: str) -> float:
        x0, y0, x1, y1 = farthest(parts, word).bounds
        found = re.search(r'([\d./"-]+) x ([\d./"-]+(?: mm)?)', what)
        assert found, what
        unit = " mm" if found[2].endswith("mm") else ""
        return abs(x1 - x0 - length(found[1] + unit)) + abs(y1 - y0 - length(found[2]))


def farthest(parts: list[Polygon], word: str) -> Polygon:
    ux, uy = DIRECTIONS[word]
    return max(parts, key=lambda p: p.centroid.x * ux + p.centroid.y * uy)


def replayed(plan: Plan, slack: float) -> int:
    """Do what the text says for every sheet, and compare with the leaves of the plan; the steps done."""
    sheets = re.split(r"={78}\n(?==|plan )", sequence_text(plan))[1:]
    texts = [s for s in sheets if s.strip("=\n")]
    assert len(texts) == len(plan.layouts)
    steps = 0
    kinds = {LeafKind.PANEL: "panel", LeafKind.OFFCUT: "keep as offcut", LeafKind.CULLET: "cullet"}
    for layout, text in zip(plan.layouts, texts, strict=True):
        w, h = layout.width / 1e6, layout.height / 1e6
        table = Table(Polygon([(0, 0), (w, 0), (w, h), (0, h)]))
        for block in blocks(text):
            table.do(block)
        assert table.step == len(layout.cuts)
        assert table.laid is None or table.laid[2] == []  # everything that was scored was broken
        leaves = [(kinds[x.kind], Polygon([(a / 1e6, b / 1e6) for a, b in x.outline])) for x in layout.leaves]
        assert len(leaves) == len(table.kept)
        for kind, want in leaves:
            near = [p for k, p in table.kept if k == kind]
            assert min(p.hausdorff_distance(want) for p in near) <= slack, (kind, want.wkt)
        steps += table.step
    return steps


# ---------------------------------------------------------------- plans


def in_habit(plan: Plan, habit: Habit, work: TableWork | None = None) -> Plan:
    work = work or TableWork()
    thickness = {p.glass: p.thickness for p in plan.panels}
    layouts = tuple(
        arranged(x, plan.rules[x.glass], thickness[x.glass], work, habit, permute=False) for x in plan.layouts
    )
    return replace(plan, layouts=layouts)


@pytest.mark.parametrize("habit", list(Habit))
@pytest.mark.parametrize("which", ["hand_plan", "pentagon_plan", "octagon_plan", "trapezoids", "pentagons"])
def test_the_text_alone_cuts_plans_laid_by_hand(
    which: str, habit: Habit, request: pytest.FixtureRequest
) -> None:
    plan = in_habit(request.getfixturevalue(which), habit)
    step = max((r.mark_step or 0) for r in plan.rules.values()) / 1e6
    assert replayed(plan, 2 * step + 0.03) > 0


@pytest.mark.parametrize("habit", list(Habit))
def test_the_text_alone_cuts_a_plan_in_inches(inch_plan: Plan, habit: Habit) -> None:
    use_style(INCH)
    try:
        assert replayed(in_habit(inch_plan, habit), 25.4 / 16) > 0
    finally:
        use_style(MM)


def searched(make_panel: Callable[..., Panel], make_stock: Callable, habit: Habit, *, exact: bool) -> Plan:
    sizes = [(702, 402), (702, 402), (1202, 502), (1202, 502), (1202, 402), (402, 502), (402, 502)]
    panels = [make_panel(w, h, id=f"K-{i // 7}/{i}") for i, (w, h) in enumerate(sizes * 3)]
    octagon = [(120, 0), (480, 0), (600, 120), (600, 480), (480, 600), (120, 600), (0, 480), (0, 120)]
    outline = make_outline([(mm(x), mm(y)) for x, y in octagon])
    panels += [bench_angled.angled_panel(f"O/base/{i}", outline, "1.5") for i in range(3)]
    cutting = CuttingChoice(levels=3, last_cut=True, mark_step=0 if exact else None)
    shop = Shop(work=TableWork(habit=habit), cutting=cutting)
    stock = [make_stock(3210, 2250)]
    planner = Planner(panels, stock, shop, effort=60)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("habit", list(Habit))
def test_the_text_alone_cuts_what_the_planner_made(
    make_panel: Callable[..., Panel],
    make_stock: Callable,
    outsider: Callable[[Plan], None],
    habit: Habit,
    exact: bool,
) -> None:
    plan = searched(make_panel, make_stock, habit, exact=exact)
    outsider(plan)
    assert {x.habit for x in plan.layouts} == {habit.value}
    assert replayed(plan, 0.03 if exact else 1.03) > 30


def test_a_wrong_figure_in_the_text_is_found(hand_plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    from panewright.io import step_words

    plan = in_habit(hand_plan, Habit.STOP)
    true = step_words.measure_words

    def off(step: object) -> str:
        return true(step).replace("0", "1", 1)  # type: ignore[arg-type]

    monkeypatch.setattr(step_words, "measure_words", off)
    with pytest.raises(AssertionError):
        replayed(plan, 0.03)


def test_a_machine_table_scores_everything_first_and_then_breaks(hand_plan: Plan) -> None:
    plan = in_habit(hand_plan, Habit.MACHINE)
    text = sequence_text(plan)
    assert "BREAK" in text and "MEASURE" not in text
    for layout in plan.layouts:
        listed = re.findall(r"\(steps ([0-9, ]+)\)", text)
        assert sorted(int(n) for one in listed for n in one.split(",")) == [c.step for c in layout.cuts]
