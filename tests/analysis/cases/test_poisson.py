"""Exact limits and comparisons of counts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analysis.cases.poisson import (
    among_many,
    by_luck,
    chance_of_as_few,
    chance_of_as_many,
    limits,
    told_from,
)

# Garwood's exact 95 % limits, Biometrika 28, 1936, as tables of them print: recalled, not looked
# up, but for 0 (R epitools, pois.exact: 3.689) and 10 (4.80 to 18.39, published calculator notes).
GARWOOD = {
    0: (0.0, 3.689),
    1: (0.0253, 5.572),
    2: (0.242, 7.225),
    3: (0.619, 8.767),
    4: (1.090, 10.242),
    5: (1.623, 11.668),
    10: (4.795, 18.390),
    20: (12.217, 30.888),
}
# Published: GraphPad, "How QuickCalcs computes the confidence interval of a count", 25 events.
TWENTY_FIVE = {0.90: (17.38, 34.92), 0.95: (16.18, 36.90), 0.99: (14.00, 41.00)}
# Published output of R's poisson.test(c(11, 21), c(800, 3011)), lung cancer in Fredericia against
# three other cities: 6.7174 expected of 32, 95 % limits of the ratio, p 0.07967.
CASES, ALL, SHARE = 11, 32, 800 / 3811
RATIO_LIMITS = (0.8584264, 4.2772659)


@pytest.mark.parametrize(("count", "printed"), GARWOOD.items())
def test_limits_are_those_of_the_printed_table(count: int, printed: tuple[float, float]) -> None:
    """Small counts, none among them."""
    lower, upper = limits(count, 0.95)
    assert (float(lower), float(upper)) == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(("confidence", "printed"), TWENTY_FIVE.items())
def test_limits_at_three_confidences(confidence: float, printed: tuple[float, float]) -> None:
    """As printed for 25."""
    lower, upper = limits(25, confidence)
    assert (float(lower), float(upper)) == pytest.approx(printed, abs=5e-3)


@given(count=st.integers(0, 3000), confidence=st.floats(0.5, 0.999))
def test_limits_cut_off_the_tails_they_should(count: int, confidence: float) -> None:
    """Identity: at each limit a count as far out has half the chance that is left."""
    lower, upper = limits(count, confidence)
    tail = 0.5 * (1.0 - confidence)
    assert float(stats.poisson.cdf(count, upper)) == pytest.approx(tail, rel=1e-6)
    if count:
        assert float(stats.poisson.sf(count - 1, lower)) == pytest.approx(tail, rel=1e-6)


def test_a_group_against_the_whole_is_the_published_comparison() -> None:
    """Each limit of the ratio leaves 2.5 %, and the two-sided chance is the printed one."""
    assert pytest.approx(6.7174, abs=5e-5) == ALL * SHARE

    def share_at(ratio: float) -> float:
        return ratio * 800 / (ratio * 800 + 3011)

    lower, upper = RATIO_LIMITS
    assert chance_of_as_many(CASES, ALL, share_at(lower)) == pytest.approx(0.025, abs=1e-7)
    assert chance_of_as_few(CASES, ALL, share_at(upper)) == pytest.approx(0.025, abs=1e-7)
    other = max(
        x for x in range(7) if stats.binom.pmf(x, ALL, SHARE) <= stats.binom.pmf(CASES, ALL, SHARE)
    )
    both = chance_of_as_many(CASES, ALL, SHARE) + chance_of_as_few(other, ALL, SHARE)
    assert both == pytest.approx(0.07967, abs=5e-6)


def test_chances_are_corrected_for_looking_at_all() -> None:
    """By hand: the least times four, the next times three, never less than the one before."""
    assert among_many([0.02, 0.01, 0.5, 0.04]) == pytest.approx([0.06, 0.04, 0.5, 0.08])
    assert among_many([0.6, 0.6]) == pytest.approx([1.0, 1.0])
    assert among_many([]).shape == (0,)


@given(
    total=st.integers(0, 200), share=st.floats(0.0, 1.0), error=st.sampled_from([0.001, 0.05, 0.5])
)
def test_a_group_is_told_from_its_critical_number_on(
    total: int, share: float, error: float
) -> None:
    """That count has a chance of at most the error, one fewer has more."""
    first = float(told_from(total, share, error))
    assert 1.0 <= first <= total + 1
    assert chance_of_as_many(first, total, share) <= error
    if first > 1.0:
        assert chance_of_as_many(first - 1, total, share) > error


def test_luck_is_counted_exactly() -> None:
    """Thousands of steady draws give as many groups below the error as is said, seldom one told.

    Sixty groups of unequal size share forty counts; 4,000 draws, within 3 standard errors.
    """
    rng = np.random.default_rng(28)
    share = rng.dirichlet(np.full(60, 2.0))
    drawn = rng.multinomial(40, share, size=4000)
    chances = chance_of_as_many(drawn, 40, share)
    below = (chances <= 0.05).sum(axis=1)
    luck = by_luck(40, share, 0.05)
    assert abs(below.mean() - luck) < 3.0 * below.std() / np.sqrt(4000)
    told = np.array([(among_many(row) <= 0.05).any() for row in chances])
    assert told.mean() <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / 4000)
    assert told.any()
