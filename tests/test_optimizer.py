"""The optimizer against published examples, open data, a reference library and brute force."""

from __future__ import annotations

import json
from itertools import count

import pytest

from panewright.nesting.bounds import least_cost, least_sheets
from panewright.nesting.optimizer.equal_sheets import sheets_needed
from panewright.nesting.optimizer.one_sheet import most_value

# Christofides and Whitlock, "An algorithm for two-dimensional cutting problems", Operations Research
# 25 (1977): examples 1 and 3 as width, height, value, most copies; optima 244 and 1860 are printed there
# and repeated by Hifi and Roucairol 2001.
CW1 = (
    15,
    10,
    [(8, 4, 66, 2), (3, 7, 35, 1), (8, 2, 24, 3), (3, 4, 17, 5), (3, 3, 11, 2), (3, 2, 8, 2), (2, 1, 2, 1)],
)
CW3 = (
    40,
    70,
    [
        (31, 43, 500, 4),
        (30, 41, 480, 2),
        (29, 39, 460, 4),
        (28, 38, 440, 4),
        (27, 37, 420, 3),
        (26, 36, 410, 4),
        (25, 35, 400, 3),
        (24, 34, 380, 4),
        (33, 23, 360, 4),
        (22, 32, 340, 3),
        (31, 21, 320, 3),
        (29, 18, 300, 3),
        (17, 27, 280, 2),
        (15, 24, 240, 3),
        (16, 25, 260, 4),
        (23, 14, 220, 4),
        (21, 12, 180, 3),
        (19, 11, 160, 4),
        (9, 17, 140, 1),
    ],
)


@pytest.mark.parametrize(("example", "optimum"), [(CW1, 244), (CW3, 1860)], ids=["1", "3"])
def test_christofides_and_whitlock_1977(example, optimum):
    width, height, offers = example
    assert most_value(width, height, offers) == optimum


def test_one_sheet_never_beats_a_published_optimum(data_folder):
    # optima: Wang, Baldacci, Furini, Liu, Wei 2025 and Hifi and Roucairol 2001, as listed in the data
    text = (data_folder / "guillotine_knapsack" / "hifi_roucairol_and_cgcut.json").read_text(encoding="utf-8")
    share = []
    for instance in json.loads(text)["instances"]:
        found = most_value(instance["W"], instance["H"], [tuple(i) for i in instance["items"]], effort=10)
        assert found <= instance["best"]
        share.append(found / instance["best"])
    assert sum(share) / len(share) > 0.97


def _bwmv(data_folder, number):
    path = data_folder / "bwmv" / f"class{number:02d}.json"
    return json.loads(path.read_text(encoding="utf-8"))


def _counted(limit):
    return lambda steps: steps >= limit


def _needed(width, items, turn, effort):
    return sheets_needed(width, width, [tuple(i) for i in items], turn=turn, stop=_counted(effort))


@pytest.mark.parametrize("turn", [False, True])
def test_bounds_and_plans_enclose_the_proven_optima(data_folder, turn):
    # Berkey and Wang 1987; optima proven by Becker 2022 (thesis data), a sample of every class
    import csv

    column = "opt_2BP_R_G_becker2022" if turn else "opt_2BP_O_G_becker2022"
    with (data_folder / "bwmv" / "best_known_per_instance.csv").open(encoding="utf-8", newline="") as f:
        optimum = {row["name"]: int(row[column]) for row in csv.DictReader(f) if row[column]}
    checked = exact = 0
    for number in range(1, 11):
        data = _bwmv(data_folder, number)
        for instance in data["instances"][::10]:
            found = _needed(data["bin_w"], instance["items"], turn, 1500)
            assert found.bound <= found.sheets
            if instance["name"] in optimum:
                assert found.bound <= optimum[instance["name"]] <= found.sheets
                checked += 1
                exact += found.sheets == optimum[instance["name"]]
    assert checked > 20
    assert exact >= 0.85 * checked


def test_better_than_the_reference_library(data_folder):
    # rectpack, general-purpose rectangle packing: its best guillotine variants
    import rectpack

    ours = theirs = 0
    for number in (3, 5, 7):
        data = _bwmv(data_folder, number)
        side = data["bin_w"]
        for instance in data["instances"][2::10]:
            best = None
            for algo in (rectpack.GuillotineBssfSas, rectpack.GuillotineBafMinas, rectpack.GuillotineBlsfLas):
                packer = rectpack.newPacker(
                    mode=rectpack.PackingMode.Offline,
                    bin_algo=rectpack.PackingBin.BBF,
                    pack_algo=algo,
                    rotation=False,
                )
                for w, h in instance["items"]:
                    packer.add_rect(w, h)
                packer.add_bin(side, side, count=float("inf"))
                packer.pack()
                best = min(len(packer), best or len(packer))
            found = _needed(side, instance["items"], False, 100)
            assert found.sheets <= best
            ours, theirs = ours + found.sheets, theirs + best
    assert ours < theirs


def _least_by_hand(width, height, items):
    """Fewest sheets over all ways to pack by guillotine cuts, by exhaustive recursion."""
    from functools import cache

    @cache
    def fits(rest, w, h):
        if not rest:
            return True
        if len(rest) == 1:
            return rest[0][0] <= w and rest[0][1] <= h
        n = len(rest)
        for mask in range(1, 2**n - 1):
            a = tuple(rest[i] for i in range(n) if mask >> i & 1)
            b = tuple(rest[i] for i in range(n) if not mask >> i & 1)
            for x in range(1, w):
                if fits(a, x, h) and fits(b, w - x, h):
                    return True
            for y in range(1, h):
                if fits(a, w, y) and fits(b, w, h - y):
                    return True
        return False

    @cache
    def fewest(rest):
        if not rest:
            return 0
        best = len(rest)
        first, others = rest[0], rest[1:]
        for mask in range(2 ** len(others)):
            group = (first, *(others[i] for i in range(len(others)) if mask >> i & 1))
            if fits(tuple(sorted(group)), width, height):
                best = min(
                    best, 1 + fewest(tuple(others[i] for i in range(len(others)) if not mask >> i & 1))
                )
        return best

    return fewest(tuple(sorted(items)))


@pytest.mark.parametrize("seed", range(6))
def test_small_orders_against_exhaustive_search(seed):
    import numpy as np

    rng = np.random.default_rng(seed)
    width, height = 7, 6
    items = [(int(rng.integers(2, 6)), int(rng.integers(2, 6))) for _ in range(5)]
    found = sheets_needed(width, height, items, turn=False, stop=_counted(50))
    assert found.sheets == _least_by_hand(width, height, items)
    assert found.bound <= found.sheets


def test_least_cost_against_counting():
    offers = [(10, 7, None), (23, 15, 2), (4, 3, 5)]
    for area in range(1, 90):
        best = min(
            7 * a + 15 * b + 3 * c
            for a in range(12)
            for b in range(3)
            for c in range(6)
            if 10 * a + 23 * b + 4 * c >= area
        )
        assert least_cost(area, offers) == best


def test_large_panels_that_exclude_each_other_lift_the_bound():
    # three panels over half of both sides need a sheet each, though their area is under two sheets
    assert least_sheets(100, 100, [(51, 51)], [3], [False]) == 3
    assert least_sheets(100, 100, [(51, 51)], [3], [True]) == 3
    assert least_sheets(120, 100, [(61, 60)], [3], [True]) >= 2


def test_a_seed_and_an_effort_repeat_the_search():
    items = [(13 + 7 * i % 41, 11 + 5 * i % 37) for i in range(60)]
    runs = [sheets_needed(100, 100, items, turn=True, stop=_counted(400), seed=3) for _ in range(2)]
    assert runs[0].patterns == runs[1].patterns
    assert runs[0].steps == runs[1].steps


def test_a_thousand_different_panels_plan_whole():
    number = count()
    items = [(200 + (37 * next(number)) % 1800, 150 + 53 * i % 1300) for i in range(1000)]
    found = sheets_needed(6000, 3210, items, turn=True, stop=lambda _: True)
    assert sum(len(p.items()) for p in found.patterns) == 1000
    assert found.sheets <= 1.1 * found.bound
