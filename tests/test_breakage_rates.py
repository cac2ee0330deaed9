"""Breakage rates: the beta and beta-binomial distributions against exact and published values, and the shrinkage."""

from __future__ import annotations

from fractions import Fraction
from math import asin, comb, isclose, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.breakage.beta import incomplete_beta, quantile
from panewright.nesting.breakage.counts import Worked
from panewright.nesting.breakage.predictive import Beta, Count, broken_of, product, together
from panewright.nesting.breakage.rates import HELD, Rates
from panewright.nesting.breakage.settings import BreakageSettings, Start
from panewright.nesting.breakage.size_class import SizeClass
from panewright.nesting.breakage.ways import breaks_anywhere, breaks_at
from panewright.nesting.happened import AtStep

SHARES = st.fractions(Fraction(1, 1000), Fraction(999, 1000), max_denominator=1000)
PARAMETERS = st.fractions(Fraction(1, 10), Fraction(60), max_denominator=10)


@given(n=st.integers(1, 60), m=st.integers(1, 60), x=SHARES)
@settings(max_examples=30)
def test_the_incomplete_beta_is_the_binomial_sum(n: int, m: int, x: Fraction) -> None:
    # DLMF 8.17.5: I_x(m, n - m + 1) is the sum of the binomial terms from m to n, here in exact fractions
    m = min(m, n)
    exact = sum((comb(n, j) * x**j * (1 - x) ** (n - j) for j in range(m, n + 1)), Fraction(0))
    assert isclose(incomplete_beta(float(x), m, n - m + 1), float(exact), rel_tol=1e-11, abs_tol=1e-15)


@given(x=SHARES, a=PARAMETERS, b=PARAMETERS)
@settings(max_examples=30)
def test_the_incomplete_beta_obeys_its_relations(x: Fraction, a: Fraction, b: Fraction) -> None:
    # DLMF 8.17.4, 8.17.7 at b = 1, and the recurrence 8.17.12
    f, g, h = float(x), float(a), float(b)
    assert isclose(incomplete_beta(f, g, h), 1 - incomplete_beta(1 - f, h, g), abs_tol=1e-12)
    assert isclose(incomplete_beta(f, g, 1), f**g, rel_tol=1e-11)
    whole = f * incomplete_beta(f, g, h + 1) + (1 - f) * incomplete_beta(f, g + 1, h)
    assert isclose(incomplete_beta(f, g + 1, h + 1), whole, rel_tol=1e-10, abs_tol=1e-14)
    # the arcsine law: DLMF 8.17.1 with a = b = 1/2
    assert isclose(incomplete_beta(f, 0.5, 0.5), 2 / pi * asin(sqrt(f)), rel_tol=1e-11)


def test_published_posteriors_are_met() -> None:
    # Gelman and others, Bayesian Data Analysis, 2.4 (from memory): 437 girls of 980 births give the central
    # 95 % interval 0.415 to 0.477; Laplace's 241,945 girls of 493,472 births a chance of 1.15e-42
    assert [round(quantile(q, 438, 544), 3) for q in (0.025, 0.975)] == [0.415, 0.477]
    assert isclose(incomplete_beta(0.5, 251_528, 241_946), 1.15e-42, rel_tol=0.005)
    # "rule of three", Hanley and Lippman-Hand 1983: nothing of n is at most about 3/n, exactly 1 - 0.05**(1/n)
    assert isclose(quantile(0.95, 1, 100), 1 - 0.05 ** (1 / 100), rel_tol=1e-12)


@pytest.mark.parametrize("bad", [(-0.1, 1, 1), (1.1, 1, 1), (0.5, 0, 1), (0.5, 1, -1), (float("nan"), 1, 1)])
def test_what_is_no_beta_distribution_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError):
        incomplete_beta(*bad)


@given(share=st.floats(0.001, 0.999), a=PARAMETERS, b=PARAMETERS)
@settings(max_examples=20)
def test_a_quantile_is_the_other_way_round(share: float, a: Fraction, b: Fraction) -> None:
    x = quantile(share, float(a), float(b))
    # where the distribution is steep, the next float of x is as near as one gets
    near = [incomplete_beta(min(1.0, max(0.0, x + d)), float(a), float(b)) for d in (-1e-9, 1e-9)]
    assert near[0] - 1e-9 <= share <= near[1] + 1e-9


def rising(x: Fraction, n: int) -> Fraction:
    out = Fraction(1)
    for i in range(n):
        out *= x + i
    return out


@given(n=st.integers(0, 25), a=PARAMETERS, b=PARAMETERS)
@settings(max_examples=25)
def test_the_predictive_is_the_exact_one_and_sums_to_one(n: int, a: Fraction, b: Fraction) -> None:
    count = broken_of(n, Beta(a, b))
    exact = [comb(n, k) * rising(a, k) * rising(b, n - k) / rising(a + b, n) for k in range(n + 1)]
    assert sum(exact) == 1 and isclose(sum(count.shares), 1, rel_tol=1e-12)
    for k, share in enumerate(exact):
        held = 0 <= k - count.first < len(count.shares)
        got = count.shares[k - count.first] if held else 0.0
        assert isclose(got, float(share), rel_tol=1e-10, abs_tol=1e-13)
        assert isclose(count.at_least(k) + count.at_most(k - 1), 1, rel_tol=1e-12)


def test_a_published_beta_binomial_is_met() -> None:
    # Geissler's 6,115 families with 12 children, fitted by Lindsey and Altham 1998 (from memory)
    count = broken_of(12, Beta(Fraction("34.09558"), Fraction("31.5715")))
    printed = (2.3, 22.6, 104.8, 310.9, 655.7, 1036.2, 1257.9, 1182.1, 853.6, 461.9, 177.9, 43.8, 5.2)
    assert all(abs(6115 * s - p) < 0.06 for s, p in zip(count.shares, printed, strict=True))
    # Bayes 1763: with nothing known before, every number is as likely
    assert broken_of(7, Beta(Fraction(1), Fraction(1))).shares == pytest.approx([1 / 8] * 8)


@given(st.lists(st.tuples(st.integers(0, 6), PARAMETERS, PARAMETERS), max_size=4))
@settings(max_examples=20)
def test_sums_are_those_of_all_combinations(parts: list[tuple[int, Fraction, Fraction]]) -> None:
    counts = [broken_of(n, Beta(a, b)) for n, a, b in parts]
    total = together(counts)
    plain = {0: 1.0}
    for one in counts:
        new: dict[int, float] = {}
        for at, p in plain.items():
            for k, q in enumerate(one.shares, one.first):
                new[at + k] = new.get(at + k, 0.0) + p * q
        plain = new
    assert isclose(sum(total.shares), 1, rel_tol=1e-12)
    for k, share in plain.items():
        assert isclose(total.at_least(k) - total.at_least(k + 1), share, abs_tol=1e-12)


def test_long_sums_are_the_same_by_transforms(monkeypatch: pytest.MonkeyPatch) -> None:
    from panewright.nesting.breakage import predictive

    parts = [broken_of(300, Beta.of(Fraction(1, 20), Fraction(40))) for _ in range(3)]
    direct = together(parts)
    monkeypatch.setattr(predictive, "DIRECT", 0)
    other = together(parts)
    assert direct.within(HELD) == other.within(HELD)
    assert all(abs(direct.at_most(k) - other.at_most(k)) < 1e-12 for k in range(0, 400, 7))


@given(n=st.integers(1, 400), a=PARAMETERS, b=PARAMETERS)
@settings(max_examples=20)
def test_an_interval_holds_what_it_says(n: int, a: Fraction, b: Fraction) -> None:
    count = broken_of(n, Beta(a, b))
    low, high = count.within(HELD)
    assert 0 <= low <= high <= n
    assert count.at_most(low - 1) < 0.05 + 1e-8 and count.at_least(high + 1) < 0.05 + 1e-8
    assert count.at_most(low) > 0.05 - 1e-8 and count.at_least(high) > 0.05 - 1e-8


def test_a_wide_interval_of_few() -> None:
    assert Count(3, (0.5, 0.5)).within(HELD) == (3, 4)
    assert Count(0, (0.96, 0.04)).within(HELD) == (0, 0)


@given(st.lists(st.tuples(SHARES, st.integers(1, 5000)), min_size=1, max_size=5))
@settings(max_examples=20)
def test_a_product_keeps_both_moments(parts: list[tuple[Fraction, int]]) -> None:
    shares = [Beta.of(mean, Fraction(weight)) for mean, weight in parts]
    mean = square = Fraction(1)
    for one in shares:
        mean, square = mean * one.mean, square * one.square
    got = product(shares)
    assert got.mean == mean
    if got.a + got.b < 10**12:
        assert got.square == square


@given(
    rates=st.lists(st.tuples(st.integers(1, 60), st.integers(50, 2000)), min_size=2, max_size=4),
    pieces=st.integers(1, 12),
)
@settings(max_examples=15)
def test_none_of_n_breaks_nearly_as_often_as_exactly(rates: list[tuple[int, int]], pieces: int) -> None:
    # exact: the n-th moment of a product of independent beta shares is the product of their n-th moments
    spared = [Beta.of(1 - Fraction(per_mille, 1000), Fraction(weight)) for per_mille, weight in rates]
    exact = Fraction(1)
    for one in spared:
        exact *= rising(one.a, pieces) / rising(one.a + one.b, pieces)
    got = broken_of(pieces, product(spared).turned).at_most(0)
    assert abs(got - float(exact)) < 2e-3


# ---------------------------------------------------------------- shrinkage

STEP, OTHER = AtStep.EDGING, AtStep.DRILLING
SETTINGS = BreakageSettings(start=Start(rate=Fraction(1, 100), weight=Fraction(100)), steps={})
CELLS = st.lists(
    st.builds(
        lambda step, glass, size, done, part: Worked(
            step=step, glass=glass, size=size if glass else None, done=done, broken=done * part // 20
        ),
        st.sampled_from((STEP, OTHER)),
        st.sampled_from(("", "clear-6", "clear-10")),
        st.sampled_from((None, SizeClass.SMALL, SizeClass.LARGE)),
        st.integers(0, 500),
        st.integers(0, 20),
    ),
    max_size=8,
)


def data_shares(rates: Rates, step: AtStep) -> list[Fraction]:
    cells = [c for c in rates.counts if c.step is step and c.done]
    return [Fraction(c.broken, c.done) for c in cells]


@given(CELLS)
@settings(max_examples=25)
def test_a_rate_lies_between_the_shop_file_and_the_record(counts: list[Worked]) -> None:
    rates = Rates(counts, SETTINGS)
    for rate in rates.all():
        held = [SETTINGS.start.rate, *data_shares(rates, rate.step)]
        assert min(held) <= rate.share.mean <= max(held)
        low, high = rate.interval()
        assert 0 <= low <= high <= 10**6
    # what nobody has cut starts from the level above
    assert rates.of(STEP, "coated-6", SizeClass.LARGE).share.mean == rates.of(STEP).share.mean
    assert rates.of(AtStep.SCORING).share.mean == SETTINGS.start.rate


@given(CELLS, st.integers(0, 7))
@settings(max_examples=25)
def test_one_more_broken_raises_every_rate_that_hears_of_it(counts: list[Worked], which: int) -> None:
    if not counts or counts[which % len(counts)].broken == counts[which % len(counts)].done:
        return
    k = which % len(counts)
    old = counts[k]
    more = Worked(step=old.step, glass=old.glass, size=old.size, done=old.done, broken=old.broken + 1)
    before, after = Rates(counts, SETTINGS), Rates([*counts[:k], more, *counts[k + 1 :]], SETTINGS)
    for one, two in zip(before.all(), after.all(), strict=True):
        if one.step is not old.step:
            assert one.share == two.share
        elif one.glass in ("", old.glass) and one.size in (None, old.size):
            assert one.share.mean < two.share.mean
        else:
            assert one.share.mean <= two.share.mean


def test_no_piece_counts_twice() -> None:
    # one glass of one size: the three levels know the same pieces, and so say the same
    rates = Rates([Worked(step=STEP, glass="clear-6", size=SizeClass.SMALL, done=100, broken=10)], SETTINGS)
    assert rates.of(STEP).share.mean == Fraction(1 + 10, 100 + 100)
    assert rates.of(STEP, "clear-6").share.mean == rates.of(STEP).share.mean
    assert rates.of(STEP, "clear-6", SizeClass.SMALL).share.mean == rates.of(STEP).share.mean
    # worked by hand: step without clear-6 (1 + 4)/(100 + 100), that of clear-6 (2.5 + 10)/(100 + 100)
    more = Worked(step=STEP, glass="clear-10", size=SizeClass.SMALL, done=100, broken=4)
    rates = Rates([*rates.counts, more], SETTINGS)
    assert rates.of(STEP, "clear-6").share.mean == Fraction(125, 2000)
    assert rates.of(STEP).share.mean == Fraction(15, 300)


def test_much_evidence_outweighs_the_shop_file_and_none_leaves_it() -> None:
    many = Worked(step=STEP, glass="clear-6", size=SizeClass.SMALL, done=1_000_000, broken=30_000)
    assert abs(Rates([many], SETTINGS).of(STEP, "clear-6", SizeClass.SMALL).ppm - 30_000) < 5
    default = BreakageSettings()
    rates = Rates([], default)
    assert not rates.told
    assert [rates.of(step).ppm for step in AtStep] == [5_000, 10_000, 5_000, 20_000, 5_000]


@given(CELLS, st.sets(st.sampled_from(list(AtStep)), min_size=1))
@settings(max_examples=30)
def test_breaking_anywhere_is_the_sum_of_breaking_at_each_step(
    counts: list[Worked], chosen: set[AtStep]
) -> None:
    rates = Rates(counts, BreakageSettings())
    steps = tuple(step for step in AtStep if step in chosen)
    where = [breaks_at(rates, "clear-6", SizeClass.SMALL, steps, k).mean for k in range(len(steps))]
    assert sum(where) == breaks_anywhere(rates, "clear-6", SizeClass.SMALL, steps).mean
