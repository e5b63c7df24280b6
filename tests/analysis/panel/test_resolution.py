"""How far apart two samples must be before a panel tells them apart."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy import stats

from analysis.panel.mixed import fit_panel
from analysis.panel.resolution import told_apart
from tests.analysis.panel.scores import cells, long


def test_that_difference_is_found_four_times_in_five() -> None:
    """Simulated: 8 assessors, one glass of each of two samples, SDs 0.7 and 0.8, 4,000 sessions."""
    fit = fit_panel(cells(long(1, samples=400, assessors=12)))
    difference = told_apart(fit, 8).value
    rng = np.random.default_rng(1)
    seen = rng.normal(difference, sqrt(2.0 * (0.7**2 + 0.8**2) / 8.0), 4000)
    line = stats.norm.ppf(0.95) * sqrt(2.0 * (0.7**2 + 0.8**2) / 8.0)
    assert np.mean(seen > line) == pytest.approx(0.8, abs=0.04)


def test_four_times_the_assessors_halve_it() -> None:
    """Identity: with the root of their number; a second glass helps against repeats alone."""
    fit = fit_panel(cells(long(2)))
    one, four = told_apart(fit, 4), told_apart(fit, 16)
    assert four.value == pytest.approx(one.value / 2.0)
    assert one.lower < one.value < one.upper
    repeat, _, cell = fit.variances
    ratio = sqrt((cell + repeat / 2.0) / (cell + repeat))
    assert told_apart(fit, 4, 2).value / one.value == pytest.approx(ratio, rel=0.05)


def test_its_interval_covers() -> None:
    """Coverage: 60 simulated panels hold the true difference about nine times in ten."""
    truth = (stats.norm.ppf(0.95) + stats.norm.ppf(0.8)) * sqrt(2.0 * (0.7**2 + 0.8**2) / 8.0)
    found = [told_apart(fit_panel(cells(long(seed))), 8) for seed in range(60)]
    assert np.mean([one.lower <= truth <= one.upper for one in found]) == pytest.approx(
        0.9, abs=0.09
    )
