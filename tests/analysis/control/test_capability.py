"""How what a line does fits its target."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.control.capability import capability
from analysis.errors import InputError, NotEstimable


def test_cpk_agrees_with_the_handbook() -> None:
    """Published (NIST 6.1.6): targets 8 and 20, mean 16, s 2."""
    assert capability(16.0, 2.0, 50, lower=8.0, upper=20.0).cpk == pytest.approx(0.6667, abs=5e-5)


def test_a_mean_in_the_middle_gives_cp() -> None:
    """Published (NIST 6.1.6): Cp 1.0 is the Cpk of a mean midway between the targets."""
    assert capability(14.0, 2.0, 50, lower=8.0, upper=20.0).cpk == pytest.approx(1.0)


def test_one_target_alone_counts_alone() -> None:
    """Identity: an upper target at three SDs from the mean is Cpk 1, at the mean 0."""
    assert capability(1.0, 0.5, 20, upper=2.5).cpk == pytest.approx(1.0)
    assert capability(1.0, 0.5, 20, upper=1.0).cpk == 0.0


def test_the_interval_holds_as_often_as_it_says() -> None:
    """Of 4,000 simulated lines of 20 points, 87 to 92 % of the intervals of 90 % hold the truth."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(4_000):
        x = rng.normal(0.0, 1.0, 20)
        found = capability(x.mean(), x.std(ddof=1), 20, upper=3.0)
        held += found.lower <= 1.0 <= found.upper
    assert 0.87 < held / 4_000 < 0.92


@pytest.mark.parametrize(("lower", "upper"), [(2.0, 1.0), (-np.inf, np.inf)])
def test_targets_that_are_none_are_refused(lower: float, upper: float) -> None:
    """The wrong way round, or none at all."""
    with pytest.raises(InputError, match="leave nothing between"):
        capability(1.0, 1.0, 20, lower=lower, upper=upper)


@pytest.mark.parametrize(("sd", "points"), [(1.0, 7), (0.0, 20)])
def test_too_little_gives_no_capability(sd: float, points: int) -> None:
    """Fewer than eight points, or no spread."""
    with pytest.raises(NotEstimable, match="give no capability"):
        capability(1.0, sd, points, upper=2.0)
