"""Tests of one pair together, by beta-binomial."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import betabinom, binom

from analysis.errors import InputError
from analysis.panel.difference import Plan, judge_difference
from analysis.panel.discrimination import METHODS
from analysis.panel.replicated import judge_replicated, log_likelihood

TRIANGLE = Plan(METHODS["triangle"])
ANSWERS = np.array([9, 8, 10, 9])
UNLIKE = np.array([8, 1, 3, 9])


@pytest.mark.parametrize("gamma", [1e-4, 0.05, 0.3, 0.8])
def test_the_likelihood_is_that_of_the_beta_binomial(gamma: float) -> None:
    """But for the coefficients, which hold no parameter (identity with scipy)."""
    a, b = 0.6 * (1 - gamma) / gamma, 0.4 * (1 - gamma) / gamma
    whole = betabinom.logpmf(UNLIKE, ANSWERS, a, b).sum()
    coefficients = (binom.logpmf(UNLIKE, ANSWERS, 0.5) - ANSWERS * np.log(0.5)).sum()
    assert log_likelihood(ANSWERS, UNLIKE, 0.6, gamma) == pytest.approx(whole - coefficients)


def test_without_overdispersion_it_is_the_binomial() -> None:
    """The limit is reached smoothly."""
    near = log_likelihood(ANSWERS, UNLIKE, 0.6, 1.1e-6)
    assert log_likelihood(ANSWERS, UNLIKE, 0.6, 0.0) == pytest.approx(near, abs=1e-3)


def test_the_estimate_has_the_largest_likelihood() -> None:
    """No point of a grid is likelier than what was found."""
    found = judge_replicated(TRIANGLE, ANSWERS, UNLIKE)
    mean = 1 / 3 + found.share.value * 2 / 3
    best = log_likelihood(ANSWERS, UNLIKE, mean, found.overdispersion)
    grid = [
        log_likelihood(ANSWERS, UNLIKE, m, g)
        for m in np.linspace(0.02, 0.98, 49)
        for g in np.linspace(0.0, 0.98, 50)
    ]
    assert best >= max(grid)


def test_tests_that_differ_widen_the_interval_and_are_said_to() -> None:
    """One nearly all right, one nearly none: alike is out, and the bounds reckon with it."""
    found = judge_replicated(TRIANGLE, ANSWERS, UNLIKE)
    assert found.overdispersion == pytest.approx(0.447, abs=0.002)
    assert found.p_alike < 0.001
    assert found.share.lower < found.added.share.lower
    assert found.share.upper > found.added.share.upper


def test_tests_that_agree_are_added_up() -> None:
    """No overdispersion, and bounds as of one test with all answers."""
    found = judge_replicated(TRIANGLE, [9, 8], [5, 4])
    assert (found.overdispersion, found.p_alike, found.tests) == (0.0, 1.0, 2)
    together = judge_difference(TRIANGLE, 17, 9)
    assert found.added == together
    assert found.share.lower == pytest.approx(together.share.lower)
    assert found.share.upper == pytest.approx(together.share.upper)


@pytest.mark.parametrize("correct", [(0, 0, 0), (9, 9, 9)])
def test_none_or_all_right_is_an_answer(correct: tuple[int, ...]) -> None:
    """At the ends there is no spread to see, and a bound all the same."""
    found = judge_replicated(TRIANGLE, [9, 9, 9], correct)
    assert found.overdispersion == 0.0
    assert 0.0 <= found.share.lower <= found.share.value <= found.share.upper <= 1.0


@pytest.mark.parametrize("gamma", [0.0, 0.2])
def test_intervals_cover_where_tests_differ_and_where_not(gamma: float) -> None:
    """150 pairs of 6 tests: the 90 % bounds hold the truth about as often as they say."""
    rng = np.random.default_rng(11)
    mean, tests, pairs = 0.6, 6, 150
    spread = (1 - gamma) / gamma if gamma else np.inf
    chances = (
        rng.beta(mean * spread, (1 - mean) * spread, (pairs, tests))
        if gamma
        else np.full((pairs, tests), mean)
    )
    correct = rng.binomial(10, chances)
    truth = (mean - 1 / 3) * 1.5
    held = 0
    for row in correct:
        share = judge_replicated(TRIANGLE, np.full(tests, 10), row).share
        held += share.lower <= truth <= share.upper
    assert held >= binom.ppf(0.001, pairs, 0.90)


@pytest.mark.parametrize(
    ("answers", "correct"), [([9], [5]), ([9, 8], [5]), ([9, 0], [5, 0]), ([9, 8], [5, 9])]
)
def test_counts_that_cannot_be_are_refused(answers: list[int], correct: list[int]) -> None:
    """One test alone, unequal lists, no answers, or more right than answers."""
    with pytest.raises(InputError):
        judge_replicated(TRIANGLE, answers, correct)


def test_both_sides_at_once_are_refused() -> None:
    """A test to two sides has no share that adds up."""
    with pytest.raises(InputError, match="one side"):
        judge_replicated(Plan(METHODS["paired"], two_sided=True), [9, 8], [5, 4])
