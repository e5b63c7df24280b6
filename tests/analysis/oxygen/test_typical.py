"""The typical value of several lots, some of which are known as bounds only."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from analysis.oxygen.typical import typical

LOTS = np.log([40.0, 55.0, 60.0, 90.0])


def test_clean_lots_give_the_geometric_mean_with_its_t_interval() -> None:
    """Closed form: mean of logs ± t SD/√n with n − 1 degrees of freedom."""
    found = typical(LOTS, LOTS)
    lower, upper = stats.t.interval(0.90, 3, LOTS.mean(), LOTS.std(ddof=1) / 2.0)
    assert found.value == pytest.approx(np.exp(LOTS.mean()))
    assert (found.lower, found.upper) == pytest.approx(np.exp([lower, upper]).tolist())
    assert (found.number, found.bounds) == (4, 0)


def test_a_bound_is_not_averaged_as_if_clean() -> None:
    """At least 90 ppb raises the mean, and above that of a lot that reads 90; at least 5 hardly."""
    low = np.append(LOTS, np.log(90.0))
    high = np.append(LOTS, np.inf)
    found, as_if_clean = typical(low, high), typical(low, low)
    assert found.value is not None
    assert as_if_clean.value is not None
    assert found.value > as_if_clean.value
    assert found.bounds == 1
    loose = typical(np.append(LOTS, np.log(5.0)), high)
    assert loose.value == pytest.approx(typical(LOTS, LOTS).value, rel=1e-3)


def test_turning_a_ratio_round_turns_its_interval_round() -> None:
    """The typical of 1/x is one over that of x, its bounds swapped."""
    low, high = np.append(LOTS, 3.0), np.append(LOTS, np.inf)
    one, other = typical(low, high), typical(-high, -low)
    assert other.value == pytest.approx(1.0 / (one.value or np.nan))
    assert other.lower == pytest.approx(1.0 / (one.upper or np.nan))


def test_what_says_nothing_is_not_counted_and_too_few_give_no_interval() -> None:
    """No bound at all is left out; one clean lot has no interval; bounds alone have no mean."""
    nothing = typical([-np.inf, LOTS[0]], [np.inf, LOTS[0]])
    assert nothing.value == pytest.approx(40.0)
    assert (nothing.lower, nothing.upper, nothing.number) == (None, None, 1)
    assert typical(LOTS[:2], [np.inf, np.inf]).value is None
    assert typical([], []).number == 0
