"""Limits of a chart and its running mean."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.control.charts import Limits, ewma, individuals_limits
from analysis.errors import InputError, NotEstimable

REFERENCE = Path(__file__).parents[2] / "reference"
FLOW = pl.read_csv(REFERENCE / "nist_6322_individuals.csv")["flowrate"].to_numpy()
MEANS = pl.read_csv(REFERENCE / "nist_6324_ewma.csv")
values = st.lists(st.floats(-50.0, 50.0), min_size=8, max_size=40)


def test_individuals_agree_with_the_handbook() -> None:
    """Published (NIST 6.3.2.2): centre, mean moving range, and both limits."""
    limits = individuals_limits(FLOW)
    assert limits.centre == pytest.approx(50.81, abs=5e-3)
    assert limits.sd * 1.128 == pytest.approx(1.8778, abs=5e-5)
    assert limits.upper == pytest.approx(55.8041, abs=5e-4)
    assert limits.lower == pytest.approx(45.8159, abs=5e-4)
    assert limits.moving_range == pytest.approx(3.267 * 1.8778, abs=5e-4)
    assert limits.points == 10


def test_the_running_mean_agrees_with_the_handbook() -> None:
    """Published (NIST 6.3.2.4): every mean to two decimals, and the limits that the last nears."""
    x = MEANS["x"].to_numpy()
    means, half = ewma(x, Limits(50.0, 2.0539, 20), weight=0.3)
    assert means == pytest.approx(MEANS["ewma_printed"].to_numpy(), abs=6e-3)
    assert 50.0 + half[-1] == pytest.approx(52.5884, abs=1e-3)
    assert 50.0 - half[-1] == pytest.approx(47.4115, abs=1e-3)
    assert half[0] == pytest.approx(3.0 * 2.0539 * 0.3)  # identity: one point of weight 0.3


@given(values)
def test_a_point_that_is_only_a_bound_changes_nothing(points: list[float]) -> None:
    """Limits and running mean are those of the points with a value; the mean waits meanwhile."""
    gaps = np.insert(np.array(points), [0, 4, len(points)], np.nan)
    known = ~np.isnan(gaps)
    limits = Limits(1.0, 2.0, 8)
    plain, half = ewma(points, limits)
    with_gaps, half_gaps = ewma(gaps, limits)
    assert np.array_equal(with_gaps[known], plain)
    assert np.array_equal(half_gaps[known], half)
    assert with_gaps[0] == limits.centre
    assert half_gaps[0] == 0.0
    assert with_gaps[-1] == plain[-1]
    if np.abs(np.diff(points)).mean() > 0.0:
        assert individuals_limits(gaps) == individuals_limits(points)


@given(values, st.floats(0.05, 1.0))
def test_the_running_mean_is_what_its_formula_says(points: list[float], weight: float) -> None:
    """Identity: each mean is the weighted sum of its point and the mean before."""
    limits = Limits(3.0, 1.0, 8)
    means, _ = ewma(points, limits, weight)
    before = np.concatenate([[limits.centre], means[:-1]])
    assert means == pytest.approx(weight * np.array(points) + (1.0 - weight) * before, abs=1e-9)


def test_only_bounds_leave_the_running_mean_at_the_centre() -> None:
    """Nothing known is nothing moved."""
    means, half = ewma([np.nan, np.nan], Limits(4.0, 1.0, 8))
    assert means.tolist() == [4.0, 4.0]
    assert half.tolist() == [0.0, 0.0]


@pytest.mark.parametrize("weight", [0.0, -0.1, 1.1, np.nan])
def test_a_weight_outside_of_its_range_is_refused(weight: float) -> None:
    """λ lies above 0 and up to 1."""
    with pytest.raises(InputError, match="not above 0"):
        ewma([1.0], Limits(0.0, 1.0, 8), weight)


@pytest.mark.parametrize(
    ("points", "why"),
    [([1.0] * 7, "7 points are too few"), ([1.0] * 9, "alike"), ([np.nan] * 9, "0 points")],
)
def test_no_limits_from_too_little(points: list[float], why: str) -> None:
    """Fewer than eight points, or no spread, give no limits, and the text says which."""
    with pytest.raises(NotEstimable, match=why):
        individuals_limits(points)


def test_a_drift_does_not_widen_the_limits() -> None:
    """The spread comes from neighbours: a slow rise leaves it as it was."""
    rng = np.random.default_rng(1)
    noise = rng.normal(0.0, 1.0, 200)
    assert individuals_limits(noise + np.linspace(0.0, 10.0, 200)).sd == pytest.approx(
        individuals_limits(noise).sd, rel=0.02
    )
