"""Two meters on the same packages, against worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.control.comparison import deming, limits_of_agreement
from analysis.errors import NotEstimable

# Pearson, Philosophical Magazine 2, 1901, 559-572: his ten points and the line he prints.
PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]

# Bland & Altman, Lancet 327, 1986, 307-310, table 1: peak flow by two meters, litres a minute,
# first readings. From memory, as are the mean difference -2.1, the SD 38.8, and the limits of -79.7
# and 75.5 that the paper gives with 2 in place of 1.96.
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def test_the_line_is_that_of_pearsons_example() -> None:
    """For his ten points, equal errors in both: y = 5.784 − 0.5456 x."""
    line = deming(PEARSON_X, PEARSON_Y)
    assert line.slope.value == pytest.approx(-0.5456, abs=5e-5)
    assert line.intercept.value == pytest.approx(5.784, abs=5e-4)
    assert line.slope.lower < line.slope.value < line.slope.upper


@pytest.mark.parametrize("ratio", [0.25, 1.0, 4.0])
def test_the_line_is_the_principal_axis_where_errors_are_made_equal(ratio: float) -> None:
    """With y over √λ, errors are equal and the line is numpy's first eigenvector: within 1e-9."""
    rng = np.random.default_rng(3)
    truth = rng.normal(4.0, 0.4, 40)
    x, y = truth + rng.normal(0.0, 0.1, 40), 0.1 + 1.05 * truth + rng.normal(0.0, 0.15, 40)
    axis = np.linalg.eigh(np.cov(x, y / np.sqrt(ratio))).eigenvectors[:, -1]
    slope = float(axis[1] / axis[0] * np.sqrt(ratio))
    line = deming(x, y, error_ratio=ratio)
    assert line.slope.value == pytest.approx(slope, rel=1e-9)
    assert line.intercept.value == pytest.approx(y.mean() - slope * x.mean(), rel=1e-9)


def test_swapping_the_meters_turns_the_line_over() -> None:
    """With equal errors the slope of x on y is one over that of y on x; least squares is not."""
    assert deming(PEARSON_Y, PEARSON_X).slope.value == pytest.approx(
        1.0 / deming(PEARSON_X, PEARSON_Y).slope.value
    )


def test_the_limits_of_agreement_are_those_of_the_peak_flow_meters() -> None:
    """Mean difference −2.1, limits −78.1 and 73.9 litres a minute (± 1.96 SD of 38.8)."""
    found = limits_of_agreement(MINI, LARGE)
    assert found.bias.value == pytest.approx(-2.1, abs=0.05)
    assert (found.lower, found.upper) == pytest.approx(
        (-2.1 - 1.96 * 38.8, -2.1 + 1.96 * 38.8), abs=0.2
    )
    two_sd = (found.upper - found.lower) / 1.96
    assert found.bias.value - two_sd == pytest.approx(-79.7, abs=0.1)
    assert found.bias.value + two_sd == pytest.approx(75.5, abs=0.1)


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    """Of 400 pairs of meters on 20 packages, 90 % intervals hold slope and bias in 84 to 95 %."""
    rng = np.random.default_rng(8)
    held = np.zeros(2)
    for _ in range(400):
        truth = rng.normal(4.0, 0.4, 20)
        x = truth + rng.normal(0.0, 0.1, 20)
        y = 0.05 + truth + rng.normal(0.0, 0.1, 20)
        slope, bias = deming(x, y).slope, limits_of_agreement(x, y).bias
        held += [slope.lower <= 1.0 <= slope.upper, bias.lower <= 0.05 <= bias.upper]
    assert np.all((held / 400 > 0.84) & (held / 400 < 0.95))


@pytest.mark.parametrize("pairs", [[], [1.0] * 4])
def test_few_pairs_are_too_few(pairs: list[float]) -> None:
    """Fewer than five packages on both meters."""
    with pytest.raises(NotEstimable, match="too few"):
        deming(pairs, pairs)
    with pytest.raises(NotEstimable, match="too few"):
        limits_of_agreement(pairs, pairs)


def test_readings_that_do_not_go_together_have_no_line() -> None:
    """No covariance at all: every slope fits alike."""
    with pytest.raises(NotEstimable, match="do not go together"):
        deming([1.0, 2.0, 3.0, 4.0, 5.0], [1.0, 1.0, 1.0, 1.0, 1.0])
