"""Convex panels by cuts at any angle: jigsaws with a known optimum, rules, and published layouts.

A jigsaw is a number of sheets cut up at random by edge-to-edge cuts, its pieces shuffled and turned: all of
it fits those sheets again without waste, so that the optimum is known by construction.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from panewright.io.bench_polygons import convex_optimum, wrong_with
from panewright.nesting.free_regions import Filled, Nest, Shape, SheetSize, Slivers
from panewright.nesting.free_regions.separable import faults, overlap, separable

Corners = NDArray[np.float64]
SHEET = SheetSize(1000.0, 700.0)


# ------------------------------------------------------------------ helpers


def cut(p: Corners, a: Corners, b: Corners) -> tuple[Corners, Corners]:
    """The parts left and right of the line from a to b."""
    direction = (b - a) / np.hypot(*(b - a))
    side = direction[0] * (p[:, 1] - a[1]) - direction[1] * (p[:, 0] - a[0])
    parts: tuple[list[Corners], list[Corners]] = ([], [])
    for k, (here, d) in enumerate(zip(p, side, strict=True)):
        after, e = p[(k + 1) % len(p)], side[(k + 1) % len(p)]
        if d > -1e-7:
            parts[0].append(here)
        if d < 1e-7:
            parts[1].append(here)
        if (d > 1e-7 and e < -1e-7) or (d < -1e-7 and e > 1e-7):
            for part in parts:
                part.append(here + (after - here) * d / (d - e))
    left, right = (np.array(part).reshape(-1, 2) for part in parts)
    return left, right


def size_of(p: Corners) -> float:
    x, y = p[:, 0], p[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2 if len(p) > 2 else 0.0


def width_of(p: Corners) -> float:
    """Least width over all directions of an edge."""
    edges = np.roll(p, -1, axis=0) - p
    normals = np.column_stack((-edges[:, 1], edges[:, 0])) / np.hypot(edges[:, 0], edges[:, 1])[:, None]
    return float(np.ptp(p @ normals.T, axis=0).min())


def turned(p: Corners, angle: float) -> Corners:
    c, s = np.cos(angle), np.sin(angle)
    return p @ np.array([[c, s], [-s, c]])


def jigsaw(rng: np.random.Generator, sheets: int, pieces: int, sheet: SheetSize = SHEET) -> list[Corners]:
    """Sheets cut up at random, the largest piece first, from a point on one edge to one on another."""
    out: list[Corners] = []
    for _ in range(sheets):
        mine = [np.array([[0, 0], [sheet.width, 0], [sheet.width, sheet.height], [0, sheet.height]], float)]
        while len(mine) < pieces:
            mine.sort(key=size_of)
            p = mine.pop()
            i, j = sorted(rng.choice(len(p), 2, replace=False).tolist())
            ends = [p[k] + (p[(k + 1) % len(p)] - p[k]) * rng.uniform(0.25, 0.75) for k in (i, j)]
            mine += cut(p, ends[0], ends[1])
        out += mine
    return [out[k] for k in rng.permutation(len(out))]


def solved(shapes: list[Shape], sheets: int, *, effort: int, seed: int = 0) -> Nest:
    """A nest that has reached this number of sheets; checked."""
    nest = Nest(shapes, [1] * len(shapes), [SHEET], seed=seed)
    nest.start()
    while nest.cost > sheets and nest.steps < effort and nest.advance():
        pass
    assert wrong_with(nest.best, shapes, [1] * len(shapes), SHEET) == []
    return nest


def turn_of(placed: Corners, shape: Shape, *, mirrored: bool) -> float:
    """By how much the panel was turned, after it was turned over. [degrees]"""
    p = (shape.corners * (-1.0, 1.0))[::-1] if mirrored else shape.corners
    a, b = p[1] - p[0], placed[1] - placed[0]
    return float(np.degrees(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)) % 360)


def replayed(filled: Filled) -> tuple[list[Corners], list[tuple[Corners, Corners, Corners, int]]]:
    """The pieces that the scores make of the room, and each off-cut with its score and its number."""
    w, h = filled.width, filled.height
    pieces = [np.array([[0, 0], [w, 0], [w, h], [0, h]], float)]
    off = []
    for score in filled.scores:
        a, b = np.array(score.start), np.array(score.end)
        left, right = cut(pieces[score.piece], a, b)
        assert size_of(left) > 0 and size_of(right) > 0
        pieces[score.piece] = left
        pieces.append(right)
        off.append((right, a, b, len(pieces) - 1))
    return pieces, off


def check_scores(filled: Filled) -> None:
    """Every panel is exactly the piece that it is said to become."""
    pieces, _ = replayed(filled)
    assert len(set(filled.pieces)) == len(filled.placed)
    for one, number in zip(filled.placed, filled.pieces, strict=True):
        assert size_of(pieces[number]) == pytest.approx(size_of(one.corners), abs=1e-2)
        for corner in one.corners:
            assert np.hypot(*(pieces[number] - corner).T).min() < 1e-5


def random_shapes(
    rng: np.random.Generator, count: int, *, least: float = 90.0, apart: float = 0.3, **options: object
) -> list[Shape]:
    """Triangles, trapezoids, pentagons, all at least so wide."""
    out: list[Shape] = []
    while len(out) < count:
        n = int(rng.integers(3, 7))
        angles = np.sort(rng.uniform(0, 2 * np.pi, n))
        p = rng.uniform(80, 260) * np.column_stack((np.cos(angles), np.sin(angles)))
        if (
            np.diff(np.r_[angles, angles[0] + 2 * np.pi]).min() > 0.3
            and size_of(p) > 0
            and width_of(p) > least
        ):
            out.append(Shape(p, **options))  # type: ignore[arg-type]
    return out


# ------------------------------------------------------------------ jigsaws


@given(seed=st.integers(0, 10**6), sheets=st.integers(1, 4), pieces=st.integers(2, 12))
@settings(max_examples=25)
def test_a_jigsaw_is_put_together_again(seed: int, sheets: int, pieces: int) -> None:
    rng = np.random.default_rng(seed)
    shapes = [Shape(turned(p, rng.uniform(0, 7))) for p in jigsaw(rng, sheets, pieces)]
    nest = solved(shapes, sheets, effort=20_000)
    assert nest.cost == nest.bound == sheets
    assert nest.proven and not nest.advance()
    for filled in nest.best:
        check_scores(filled)


@pytest.mark.parametrize("step", [90, 180, 360])
def test_a_jigsaw_whose_panels_turn_by_steps(step: int) -> None:
    rng = np.random.default_rng(step)
    shapes = [
        Shape(turned(p, np.radians(step) * rng.integers(360 // step)), step=step) for p in jigsaw(rng, 3, 9)
    ]
    nest = solved(shapes, 3, effort=20_000)
    assert nest.cost == 3
    for filled in nest.best:
        for one in filled.placed:
            off = turn_of(one.corners, shapes[one.shape], mirrored=False) % step
            assert min(off, step - off) < 1e-6


def test_a_jigsaw_whose_panels_were_turned_over() -> None:
    rng = np.random.default_rng(5)
    shapes = [
        Shape((p * (-1.0, 1.0))[::-1].copy() if k % 2 else p, mirror=True)
        for k, p in enumerate(jigsaw(rng, 2, 8))
    ]
    nest = solved(shapes, 2, effort=20_000)
    assert nest.cost == 2
    assert any(one.mirrored for filled in nest.best for one in filled.placed)


def test_equal_panels_count_as_one_shape() -> None:
    # right trapezoids 500/350 x 400: two make a rectangle of 850 x 400, four a square sheet of 850 x 800
    shape = Shape(np.array([[0, 0], [500, 0], [350, 400], [0, 400]], float))
    sheet = SheetSize(850.0, 800.0)
    nest = Nest([shape], [40], [sheet])
    nest.start()
    assert nest.cost == 10 == nest.bound
    assert wrong_with(nest.best, [shape], [40], sheet) == []


# ------------------------------------------------------------------ free regions


@given(seed=st.integers(0, 10**6), mirror=st.booleans(), step=st.sampled_from([0, 90, 180, 360]))
@settings(max_examples=15)
def test_any_order_is_placed_and_can_be_cut(seed: int, mirror: bool, step: int) -> None:
    rng = np.random.default_rng(seed)
    shapes = random_shapes(rng, 6, step=step, mirror=mirror)
    demand = rng.integers(1, 4, 6).tolist()
    nest = Nest(shapes, demand, [SHEET], seed=seed)
    nest.start()
    for _ in range(9):
        nest.advance()
    assert not nest.unplaced.any()
    assert nest.bound <= nest.cost == len(nest.best)
    assert wrong_with(nest.best, shapes, demand, SHEET) == []
    for filled in nest.best:
        check_scores(filled)
        for one in filled.placed:
            off = turn_of(one.corners, shapes[one.shape], mirrored=one.mirrored) % step if step else 0.0
            assert min(off, step - off) < 1e-6


@given(seed=st.integers(0, 10**6), deep=st.sampled_from([0.0, 8.0, 25.0]))
@settings(max_examples=15)
def test_sliver_rules_hold(seed: int, deep: float) -> None:
    rng = np.random.default_rng(seed)
    shapes = random_shapes(rng, 8, apart=0.8)
    rules = Slivers(break_out=30.0, corner_depth=deep, least_angle=40.0, longest=600.0)
    nest = Nest(shapes, [1] * 8, [SHEET], rules, seed=seed)
    nest.start()
    for _ in range(6):
        nest.advance()
    assert not nest.unplaced.any()
    assert wrong_with(nest.best, shapes, [1] * 8, SHEET) == []
    for filled in nest.best:
        check_scores(filled)
        pieces, off = replayed(filled)
        for part, a, b, number in off:
            along = (b - a) / np.hypot(*(b - a))
            ends = [
                k
                for k, p in enumerate(part)
                if abs(along[0] * (p[1] - a[1]) - along[1] * (p[0] - a[0])) < 1e-6
            ]
            assert len(ends) == 2
            if np.abs(along).min() > 1e-9:
                assert np.hypot(*(part[ends[0]] - part[ends[1]])) <= 600 + 1e-6
            if number in filled.pieces or width_of(part) >= 30 - 1e-5:
                continue
            assert width_of(part) >= deep - 1e-5
            for k in ends:
                u, v = part[k - 1] - part[k], part[(k + 1) % len(part)] - part[k]
                assert np.degrees(np.arccos(u @ v / np.hypot(*u) / np.hypot(*v))) >= 40 - 1e-4
        for k, piece in enumerate(pieces):
            if k not in filled.pieces:
                assert width_of(piece) >= min(30.0, deep) - 1e-5


def test_the_same_input_gives_the_same_sheets() -> None:
    def run(seed: int) -> list[object]:
        shapes = random_shapes(np.random.default_rng(3), 7, apart=0.8)
        nest = Nest(shapes, [2] * 7, [SHEET, SheetSize(800.0, 500.0, 1)], seed=seed)
        nest.start()
        for _ in range(310):
            nest.advance()
        return [nest.steps, [(f.sheet, [p.corners.tolist() for p in f.placed]) for f in nest.best]]

    assert run(1) == run(1)


def test_effort_never_makes_a_plan_worse() -> None:
    shapes = random_shapes(np.random.default_rng(8), 8, apart=0.8)
    nest = Nest(shapes, [2] * 8, [SHEET])
    nest.start()
    last = (nest.cost, nest.last_part)
    first = last
    for _ in range(120):
        nest.advance()
        assert (nest.cost, nest.last_part) <= last
        last = (nest.cost, nest.last_part)
    assert last < first


def test_many_shapes_are_filled_from_a_window() -> None:
    rng = np.random.default_rng(6)
    shapes = [
        Shape(np.array([[0, 0], [a, 0], [b, h], [0, h]], float))
        for a, b, h in zip(
            rng.integers(200, 400, 200), rng.integers(100, 199, 200), rng.integers(150, 300, 200)
        )
    ]
    nest = Nest(shapes, [1] * 200, [SHEET])
    nest.start()
    assert not nest.unplaced.any()
    assert wrong_with(nest.best, shapes, [1] * 200, SHEET) == []
    assert nest.cost <= 1.35 * nest.bound


def test_scarce_stock_leaves_panels_over() -> None:
    square = Shape(np.array([[0, 0], [600, 0], [600, 600], [0, 600]], float))
    nest = Nest([square], [3], [SheetSize(1000.0, 700.0, 5, 1), SheetSize(700.0, 650.0, 9, 1)])
    nest.start()
    assert nest.unplaced.tolist() == [1]
    assert sorted(filled.sheet for filled in nest.best) == [0, 1]


def test_the_cheaper_size_is_taken() -> None:
    square = Shape(np.array([[0, 0], [300, 0], [300, 300], [0, 300]], float))
    nest = Nest([square], [2], [SheetSize(1000.0, 700.0, 7), SheetSize(610.0, 310.0, 2)])
    nest.start()
    assert nest.cost == 2


def test_the_pool_holds_sheets_once() -> None:
    shapes = random_shapes(np.random.default_rng(4), 8)
    nest = Nest(shapes, [2] * 8, [SHEET])
    nest.start()
    for _ in range(60):
        nest.advance()
    uses = [(f.sheet, f.uses(8)) for f in nest.pool]
    assert len(uses) == len(set(uses)) > 5
    for filled in nest.pool[:20]:
        assert faults([p.corners for p in filled.placed], SHEET.width, SHEET.height) == []


@pytest.mark.parametrize(
    "corners",
    [
        [[0, 0], [0, 5], [5, 0]],
        [[0, 0], [5, 0], [2, 1], [0, 5]],
        [[0, 0], [5, 0]],
        [[0, 0], [5, 0], [9, 0], [0, 5]],
    ],
)
def test_other_outlines_are_refused(corners: list[list[float]]) -> None:
    with pytest.raises(ValueError):
        Shape(np.array(corners, float))


# ------------------------------------------------------------------ the independent test


def test_a_pinwheel_cannot_be_cut_edge_to_edge() -> None:
    def box(x: float, y: float, w: float, h: float) -> Corners:
        return np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]], float)

    arms = [box(0, 0, 2, 1), box(2, 0, 1, 2), box(1, 2, 2, 1), box(0, 1, 1, 2)]
    assert not separable([*arms, box(1, 1, 1, 1)])
    assert separable(arms[:3])
    assert faults([box(0, 0, 2, 1), box(1, 0, 2, 1)], 3, 3)
    assert overlap(box(0, 0, 2, 1), box(1, 0, 2, 1)) == pytest.approx(1.0)
    assert overlap(box(0, 0, 2, 1), box(2, 0, 2, 1)) == pytest.approx(0.0)
    assert faults([box(0, 0, 4, 1)], 3, 3) == ["panel 0 outside the sheet"]


@given(seed=st.integers(0, 10**6))
@settings(max_examples=20)
def test_what_was_cut_can_be_cut(seed: int) -> None:
    rng = np.random.default_rng(seed)
    assert separable(jigsaw(rng, 1, 14))


# ------------------------------------------------------------------ published layouts


@pytest.mark.parametrize("name", ["TA002", "TF010", "TI006", "TM012", "TN020", "TQ030", "TR002"])
def test_published_optima_are_met(data_folder: Path, name: str) -> None:
    # Terashima-Marin et al. 2010: layouts without waste, so the number of sheets is the area
    problem = next(p for p in convex_optimum(data_folder) if p.name == name)
    shapes = [Shape(np.array(item, np.float64)) for item in problem.items]
    sheet = SheetSize(float(problem.width), float(problem.height))
    nest = Nest(shapes, [1] * len(shapes), [sheet])
    nest.start()
    assert nest.cost == problem.optimum
    assert wrong_with(nest.best, shapes, [1] * len(shapes), sheet) == []
    for filled in nest.best:
        check_scores(filled)
