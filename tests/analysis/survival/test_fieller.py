"""Fieller's confidence set of a ratio."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from analysis.survival.fieller import Shape, fieller


def test_regulation_of_a_reaction_chamber() -> None:
    """Published: Graybill & Iyer, Regression Analysis, 1994, p. 433: 66.5 (65.07, 68.03) at 99 %.

    The dial at which a reaction chamber's mean temperature is 400, from eleven settings.
    """
    dial = np.arange(0.0, 101.0, 10.0)
    degrees = [206.36, 225.52, 252.18, 289.33, 318.11, 349.49, 383.03, 410.70, 444.40, 469.14]
    (slope, intercept), covariance = np.polyfit(dial, [*degrees, 501.16], 1, cov=True)
    ratio = np.array([[covariance[1, 1], -covariance[0, 1]], [-covariance[0, 1], covariance[0, 0]]])
    found = fieller(400.0 - intercept, slope, ratio, stats.t.ppf(0.995, 9))
    assert found.shape is Shape.INTERVAL
    assert (400.0 - intercept) / slope == pytest.approx(66.5, abs=0.05)
    assert (found.lower, found.upper) == pytest.approx((65.07, 68.03), abs=0.005)


def test_ends_are_where_the_t_statistic_is_the_quantile() -> None:
    """Identity: at both ends of the set a − θb is exactly t standard errors from 0."""
    covariance = np.array([[0.5, -0.1], [-0.1, 0.2]])
    for a, b, t in ((3.0, 2.0, 1.7), (3.0, 0.5, 1.7), (-3.0, 2.0, 1.0), (3.0, -2.0, 2.2)):
        found = fieller(a, b, covariance, t)
        for ratio in (found.lower, found.upper):
            error = math.sqrt(np.array([1.0, -ratio]) @ covariance @ np.array([1.0, -ratio]))
            assert abs(a - ratio * b) / error == pytest.approx(t)


def test_is_the_delta_method_where_the_denominator_is_precise() -> None:
    """Identity: as the covariance shrinks, the ends become estimate ± t standard errors."""
    a, b, t = 3.0, 2.0, 2.0
    covariance = 1e-8 * np.array([[0.5, -0.1], [-0.1, 0.2]])
    gradient = np.array([1.0, -a / b]) / b
    half = t * math.sqrt(gradient @ covariance @ gradient)
    found = fieller(a, b, covariance, t)
    assert found.lower == pytest.approx(a / b - half, abs=1e-3 * half)
    assert found.upper == pytest.approx(a / b + half, abs=1e-3 * half)


def test_a_denominator_that_may_be_nought_leaves_a_gap_or_nothing() -> None:
    """What the data cannot tell has no end: a gap where only the numerator is sure."""
    unsure = np.diag([0.01, 1.0])
    gap = fieller(3.0, 0.5, unsure, 2.0)
    assert gap.shape is Shape.OUTSIDE
    assert gap.lower < 0.0 < gap.upper < 3.0 / 0.5
    everything = fieller(0.1, 0.5, unsure, 2.0)
    assert everything.shape is Shape.EVERYTHING
    assert (everything.lower, everything.upper) == (-math.inf, math.inf)


def test_holds_the_true_ratio_as_often_as_it_says() -> None:
    """Coverage: of 4,000 simulated lines, seeded, 80 % hold the age at which they pass 4.

    The slope is unsure in many, so that sets with a gap and without ends are among them.
    """
    rng = np.random.default_rng(7)
    age = np.arange(1.0, 9.0)
    columns = np.column_stack([np.ones_like(age), age])
    unscaled = np.linalg.inv(columns.T @ columns)
    scores = 1.0 + 0.4 * age + rng.normal(0.0, 1.5, (4000, len(age)))
    fits = scores @ columns @ unscaled
    variances = np.sum((scores - fits @ columns.T) ** 2, axis=1) / 6
    turned = unscaled * np.array([[1.0, -1.0], [-1.0, 1.0]])
    quantile = stats.t.ppf(0.9, 6)
    found = [
        fieller(4.0 - a, b, variance * turned, quantile)
        for (a, b), variance in zip(fits, variances, strict=True)
    ]
    held = [(one.lower <= 7.5 <= one.upper) != (one.shape is Shape.OUTSIDE) for one in found]
    assert {one.shape for one in found} == set(Shape)
    assert np.mean(held) == pytest.approx(0.8, abs=0.02)
