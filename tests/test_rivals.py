"""Scores, Croston's methods and the rivals of the simulation, against published values and a library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.forecast.croston import Pattern, croston, mean_interval, pattern, size_variation, tsb
from panewright.nesting.forecast.futures import quantile_of
from panewright.nesting.forecast.rivals import (
    ALL,
    FITTED,
    PLAIN,
    Past,
    all_weeks,
    last_year,
    library,
    same_season,
    whole,
)
from panewright.nesting.forecast.scores import block_means, held, loss, pinball, standard_error

PRODUCT_C = (
    [0, 2, 0, 1, 0, 11, 0, 0, 0, 0, 2, 0, 6, 3, 0, 0, 0, 0, 0, 7] + [0] * 7 + [3, 1, 0, 0, 1, 0, 1, 0, 0]
)
"""36 months of the data set `productC` of the R package fpp2 (Hyndman and Athanasopoulos, Forecasting: Principles and Practice,
2nd edition)."""


def generator(seed: int = 0) -> np.random.Generator:
    return np.random.Generator(np.random.Philox(seed))


def past(counts: list[list[float]], ahead: int = 4) -> Past:
    n = len(counts)
    return Past(
        weeks=np.arange(n),
        ahead=np.arange(n, n + ahead),
        counts=np.array(counts, float),
        season=np.ones(n),
        season_ahead=np.ones(ahead),
    )


# ---------------------------------------------------------------- scores


def test_loss_of_the_middle_is_half_the_distance() -> None:
    assert pinball(4, 7, 0.5) == pinball(7, 4, 0.5) == 1.5


def test_expected_loss_is_least_at_the_quantile() -> None:
    """The critical fractile of the newsvendor problem: the same function (any inventory textbook)."""
    demand = np.arange(100)
    costs = [pinball(q, demand, 0.8).mean() for q in range(100)]
    assert int(np.argmin(costs)) == quantile_of(demand, 0.8) == 79


def test_loss_by_hand() -> None:
    """Futures 1 to 10 and 8 came: quantiles 1, 5, 8, 9, 10; losses .7, 1.5, 0, .1, .1."""
    assert loss(np.arange(1, 11)[:, None], [8]) == pytest.approx([(0.7 + 1.5 + 0 + 0.1 + 0.1) / 5])


def test_band_holds_its_ends() -> None:
    sums = np.arange(1, 11)[:, None]
    assert [bool(held(sums, [x], 0.8)[0]) for x in (0, 1, 9, 10)] == [False, True, True, False]


def test_blocks_and_their_error() -> None:
    assert block_means([1, 3, 5, 7, 9], 2).tolist() == [2.0, 7.0]
    assert standard_error([2.0, 4.0, 6.0]) == pytest.approx(2 / 3**0.5)
    assert np.isinf(standard_error([2.0]))


# ---------------------------------------------------------------- Croston and his successors


def test_croston_and_sba_of_published_data() -> None:
    """Worked out with the equations of Croston 1972 and Syntetos and Boylan 2005, alpha 0.1, first size and interval as
    starting values; the library gives 0.98459652 for the first."""
    assert croston(PRODUCT_C).mean == pytest.approx(0.98460, abs=5e-6)
    assert croston(PRODUCT_C, unbiased=True).mean == pytest.approx(0.93537, abs=5e-6)


def test_tsb_of_published_data() -> None:
    """Equations of Teunter, Syntetos and Babai 2011, both constants 0.1, begun at the first size."""
    assert tsb(PRODUCT_C).mean == pytest.approx(0.83466, abs=5e-6)


def test_classes_of_syntetos_boylan_croston() -> None:
    """Limits 1.32 and 0.49 (Journal of the Operational Research Society 56, 2005)."""
    assert mean_interval(PRODUCT_C) == pytest.approx(3.2727, abs=5e-5)
    assert size_variation(PRODUCT_C) == pytest.approx(0.798, abs=5e-4)
    assert pattern(PRODUCT_C) is Pattern.LUMPY
    assert pattern([3, 4, 3, 4]) is Pattern.SMOOTH
    assert pattern([1, 9, 1, 1]) is Pattern.ERRATIC
    assert pattern([0, 2, 0, 2]) is Pattern.INTERMITTENT
    assert pattern([0, 0]) is Pattern.NONE


def test_what_was_said_before_a_week_does_not_know_it() -> None:
    changed = [*PRODUCT_C[:20], 500, *PRODUCT_C[21:]]
    for method in (croston, tsb):
        assert method(PRODUCT_C).before[:21] == method(changed).before[:21]
        assert method(PRODUCT_C).before[21] != method(changed).before[21]


def test_nothing_ever_ordered() -> None:
    assert croston([0, 0, 0]).mean == tsb([]).mean == 0


# ---------------------------------------------------------------- rivals


def test_sizes_are_drawn_from_the_same_week() -> None:
    rows = [[float(k), 100.0 - k] for k in range(60)]
    for rival in (last_year, all_weeks, same_season):
        assert (rival(past(rows), 50, generator()).sum(axis=2) == 100).all()


def test_the_last_year_forgets_what_is_older() -> None:
    rows = [[99.0]] * 10 + [[1.0]] * 52
    assert last_year(past(rows), 50, generator()).max() == 1
    assert all_weeks(past(rows), 200, generator()).max() == 99


def test_season_is_drawn_from_the_same_time_of_earlier_years() -> None:
    rows = [[100.0 if w % 52 < 26 else 0.0] for w in range(104)]
    busy = same_season(past(rows, 26), 20, generator())
    assert busy[:, 10].min() == 100 and busy[:, 13].min() == 100


def test_short_and_empty_pasts() -> None:
    for rival in ALL.values():
        few = rival(past([[2.0]] * 3), 5, generator())
        assert few.shape == (5, 4, 1) and (few == 2).all()
        none = replace(past([[0.0, 0.0]]), weeks=np.zeros(0), counts=np.zeros((0, 2)), season=np.zeros(0))
        assert (rival(none, 5, generator()) == 0).all()


def test_same_seed_same_paths() -> None:
    rows = [[float(x)] for x in PRODUCT_C]
    for rival in PLAIN.values():
        a, b = rival(past(rows), 20, generator(7)), rival(past(rows), 20, generator(7))
        assert np.array_equal(a, b) and not np.array_equal(a, rival(past(rows), 20, generator(8)))


@settings(derandomize=True, deadline=None, max_examples=50)
@given(st.lists(st.floats(-5, 30), min_size=1, max_size=12))
def test_whole_sheets_keep_the_sums(weeks: list[float]) -> None:
    paths = np.array(weeks)[None, :, None]
    sheets = whole(paths)
    assert sheets.dtype == np.int32 and sheets.min() >= 0
    if min(weeks) >= 0:
        assert np.abs(sheets.cumsum(axis=1) - paths.cumsum(axis=1)).max() <= 0.5 + 1e-9


def test_rivals_of_the_library() -> None:
    """Croston against the general-purpose library, and the smoothing methods on series with a known answer."""
    models = library()
    if models is None:
        pytest.skip("the extra forecast is not installed")
    counts = np.array(PRODUCT_C, float)
    theirs = models.CrostonClassic().forecast(y=counts, h=1)["mean"][0]
    assert croston(PRODUCT_C).mean == pytest.approx(theirs, rel=1e-9)
    theirs = models.CrostonSBA().forecast(y=counts, h=1)["mean"][0]
    assert croston(PRODUCT_C, unbiased=True).mean == pytest.approx(theirs, rel=1e-9)
    rng = generator(3)
    steady = [[5.0 + x] for x in rng.standard_normal(80)]
    for name in FITTED:
        paths = ALL[name](past(steady), 400, generator())
        assert np.isfinite(paths).all() and abs(paths.mean() - 5) < 0.8
        assert 0.5 < paths[:, 0].std() < 1.6
        assert (ALL[name](past([[0.0]] * 30), 5, generator()) == 0).all()
    # a season that is known is taken out before smoothing, and put back after it
    factor = np.where(np.arange(60) % 2 == 0, 0.5, 1.5)
    seen = replace(past((8 * factor[:56, None]).tolist()), season=factor[:56], season_ahead=factor[56:])
    assert ALL["SES, season"](seen, 5, generator())[0].ravel().tolist() == [4, 12, 4, 12]
