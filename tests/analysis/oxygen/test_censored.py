"""Means of values known between bounds, against closed forms, lifelines and scipy."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import LogNormalFitter
from scipy import optimize, stats

from analysis.errors import InputError, NotEstimable
from analysis.oxygen.censored import between, censored_means, censored_normal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ONE = np.zeros(1, dtype=np.int64)


def simulated(seed: int, n: int = 60) -> tuple[Array, Array]:
    """Simulate logs of which a sixth are lower and a twelfth upper bounds."""
    values = np.random.default_rng(seed).normal(4.0, 0.4, n)
    low, high = values.copy(), values.copy()
    low[: n // 6], high[: n // 6] = values[: n // 6] - 0.5, math.inf
    low[-n // 12 :], high[-n // 12 :] = -math.inf, values[-n // 12 :] + 0.2
    return low, high


def test_at_the_sd_of_lifelines_the_mean_is_that_of_lifelines() -> None:
    """LogNormalFitter.fit_interval_censoring on the same bounds: within 1e-4 in log ppb."""
    low, high = simulated(1)
    reference = LogNormalFitter().fit_interval_censoring(
        np.maximum(np.exp(low), 1e-9), np.exp(high)
    )
    found = censored_means(low, high, np.zeros(len(low)), 1, float(reference.sigma_))
    assert found.mean[0] == pytest.approx(reference.mu_, abs=1e-4)


def test_one_value_and_one_lower_bound_solve_the_equation_by_hand() -> None:
    """With x = 0 and at least c, the mean m solves m = λ(c − m), λ the normal's hazard."""
    bound = 1.3
    found = censored_means([0.0, bound], [0.0, math.inf], [0, 0], 1, 1.0)

    def slope(mean: float) -> float:
        return -mean + float(stats.norm.pdf(bound - mean) / stats.norm.sf(bound - mean))

    assert found.mean[0] == pytest.approx(optimize.brentq(slope, 0.0, bound), abs=1e-9)


def test_half_bounded_on_each_side_is_the_point_of_symmetry() -> None:
    """At least −1 and at most 3 alone: the likelihood is largest in their middle."""
    found = censored_means([-1.0, -math.inf], [math.inf, 3.0], [0, 0], 1, 0.5)
    assert found.mean[0] == pytest.approx(1.0, abs=1e-8)


def test_clean_values_are_averaged_exactly() -> None:
    """Two groups: plain means, their numbers, and ω/√n."""
    found = censored_means([1.0, 2.0, 6.0], [1.0, 2.0, 6.0], [1, 1, 0], 3, 0.4)
    assert found.mean[:2].tolist() == [6.0, 1.5]
    assert found.effective.tolist() == [1.0, 2.0, 0.0]
    assert found.standard_error.tolist() == [0.4, 0.4 / math.sqrt(2.0), math.inf]
    assert math.isnan(found.mean[2])


def test_bounds_to_one_side_alone_give_no_mean() -> None:
    """Only lower bounds: as high as you like; only upper ones: as low."""
    found = censored_means([1.0, 2.0, -math.inf], [math.inf, math.inf, 3.0], [0, 0, 1], 2, 0.4)
    assert found.mean.tolist() == [math.inf, -math.inf]
    assert found.effective.tolist() == [0.0, 0.0]


@settings(deadline=None, max_examples=60)
@given(
    st.floats(-30.0, 30.0),
    st.floats(1e-3, 30.0),
    st.sampled_from(["both", "lower", "upper"]),
)
def test_moments_between_bounds_are_those_of_scipy(start: float, width: float, which: str) -> None:
    """Mean within 1e-6 and variance within 1e-5 of scipy's truncnorm, wherever it has them."""
    low = -math.inf if which == "upper" else start
    high = math.inf if which == "lower" else start + width
    mean, variance = between(np.array([low]), np.array([high]))
    expected = stats.truncnorm.stats(low, high, moments="mv")
    assert mean[0] == pytest.approx(float(expected[0]), rel=1e-6, abs=1e-6)
    assert variance[0] == pytest.approx(float(expected[1]), rel=1e-3, abs=1e-5)


def test_late_readings_taken_as_bounds_are_right_and_averaged_are_not() -> None:
    """300 lots of 8, a third late and read 40 % low: up by at most 7 % as bounds, else 15 % low."""
    rng = np.random.default_rng(5)
    group = np.repeat(np.arange(300), 8)
    truth = rng.normal(4.0, 0.3, 300)
    values = truth[group] + rng.normal(0.0, 0.34, len(group))
    late = rng.uniform(size=len(group)) < 1 / 3
    low = values - np.where(late, 0.5, 0.0)
    high = np.where(late, math.inf, low)
    as_bounds = censored_means(low, high, group, 300, 0.34).mean - truth
    averaged = np.bincount(group, low) / 8 - truth
    assert 0.0 < np.mean(as_bounds) < 0.07
    assert np.mean(averaged) < -0.15


@pytest.mark.parametrize(
    ("low", "high", "sd"),
    [(2.0, 1.0, 0.4), (math.nan, 1.0, 0.4), (math.inf, math.inf, 0.4), (1.0, 1.0, 0.0)],
)
def test_what_is_no_bound_is_refused(low: float, high: float, sd: float) -> None:
    """The wrong way round, missing, infinite on both sides, or without a spread."""
    with pytest.raises(InputError, match="bound"):
        censored_means([low], [high], ONE, 1, sd)


def test_mean_and_spread_agree_with_lifelines() -> None:
    """Refit (lifelines 0.30, LogNormalFitter.fit_interval_censoring): within 1e-4 each."""
    low, high = simulated(1)
    reference = LogNormalFitter().fit_interval_censoring(
        np.maximum(np.exp(low), 1e-9), np.exp(high)
    )
    found = censored_normal(low, high)
    assert found.mean == pytest.approx(reference.mu_, abs=1e-4)
    assert found.sd == pytest.approx(reference.sigma_, abs=1e-4)


def test_clean_values_have_the_plain_mean_and_spread() -> None:
    """Identity: divided by n, as maximum likelihood has it."""
    found = censored_normal([1.0, 2.0, 6.0], [1.0, 2.0, 6.0])
    assert (found.mean, found.sd) == (3.0, pytest.approx(math.sqrt(14.0 / 3.0)))


@pytest.mark.parametrize("low", [[1.0, 0.5], [1.0, 1.0]])
def test_a_spread_needs_two_values_that_differ(low: list[float]) -> None:
    """One value and a bound, or two alike, are refused."""
    high = [1.0, math.inf if low[1] < 1.0 else 1.0]
    with pytest.raises(NotEstimable, match="too few values"):
        censored_normal(low, high)
