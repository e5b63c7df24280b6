"""The band under the curve: how often it is right, and what must hold of any of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from analysis.errors import InputError
from analysis.survival.turnbull import turnbull
from analysis.survival.turnbull_band import Gap, largest_gap, turnbull_band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

INF = np.inf
PULLS = np.array([20.0, 40.0, 60.0, 80.0, 100.0, 130.0, 170.0, 230.0])
LOT, WITHIN = 0.3, 0.35


def _brackets(
    rng: np.random.Generator, lots: int, tasters: int = 6
) -> tuple[Array, Array, NDArray[np.int64]]:
    """Brackets of lots that differ, all pulled on the same days."""
    log_age = 4.5 + rng.normal(0.0, LOT, (lots, 1)) + rng.normal(0.0, WITHIN, (lots, tasters))
    ends = np.concatenate([[0.0], PULLS, [INF]])
    place = np.searchsorted(ends, np.exp(log_age).ravel())
    return ends[place - 1], ends[place], np.repeat(np.arange(lots), tasters)


@pytest.mark.parametrize("lots", [6, 15])
def test_bounds_are_right_about_as_often_as_they_say(lots: int) -> None:
    """Over simulated breweries, on days early, in the middle and late."""
    true = stats.norm.cdf((np.log(PULLS) - 4.5) / np.hypot(LOT, WITHIN))
    rng = np.random.default_rng(11)
    right = []
    for seed in range(60):
        band = turnbull_band(*_brackets(rng, lots), PULLS, confidence=0.9, resamples=60, seed=seed)
        right.append([band.lower <= true, band.upper >= true])
    lower, upper = np.mean(right, axis=0)
    assert (lower >= 0.78).all()
    assert (upper >= 0.78).all()
    assert 0.86 <= lower[1:6].mean() <= 0.99
    assert 0.86 <= upper[1:6].mean() <= 0.99


def test_lots_that_differ_widen_the_band() -> None:
    """The same rows, shuffled over the lots, tell more than rows that hang together."""
    rng = np.random.default_rng(5)
    lower, upper, lot = _brackets(rng, 20, tasters=30)
    together = turnbull_band(lower, upper, lot, [80.0], confidence=0.9, seed=1)
    shuffled = turnbull_band(lower, upper, rng.permutation(lot), [80.0], confidence=0.9, seed=1)
    assert together.upper - together.lower > 1.3 * (shuffled.upper - shuffled.lower)


@settings(max_examples=25)
@given(st.integers(0, 1_000), st.integers(5, 12), st.floats(0.5, 0.99))
def test_the_band_holds_the_estimate_and_never_falls(
    seed: int, lots: int, confidence: float
) -> None:
    """Bounds lie around the gap they bound, within 0 and 1, and rise with time."""
    times = np.linspace(0.0, 300.0, 40)
    rows = _brackets(np.random.default_rng(seed), lots, tasters=3)
    band = turnbull_band(*rows, times, confidence=confidence, resamples=10, seed=seed)
    assert (band.lower >= 0.0).all()
    assert (band.lower <= band.least).all()
    assert (band.least <= band.greatest).all()
    assert (band.greatest <= band.upper).all()
    assert (band.upper <= 1.0 + 1e-12).all()
    assert (np.diff(band.lower) >= -1e-12).all()
    assert (np.diff(band.upper) >= -1e-12).all()


def test_the_seed_decides() -> None:
    """The same seed gives the same band, names of lots or not; another gives another."""
    lower, upper, lot = _brackets(np.random.default_rng(8), 9)
    names = np.array([f"lot {number}" for number in lot])
    first = turnbull_band(lower, upper, lot, PULLS, confidence=0.9, resamples=30, seed=4)
    again = turnbull_band(lower, upper, names, PULLS, confidence=0.9, resamples=30, seed=4)
    other = turnbull_band(lower, upper, lot, PULLS, confidence=0.9, resamples=30, seed=5)
    assert (first.lower == again.lower).all()
    assert (first.upper == again.upper).all()
    assert (first.upper != other.upper).any()


def test_fewer_than_five_lots_bound_nothing() -> None:
    """The estimate stands, but no bound is claimed for what other lots would do."""
    band = turnbull_band(*_brackets(np.random.default_rng(2), 4), PULLS, confidence=0.9, seed=1)
    assert (band.lower == 0.0).all()
    assert (band.upper == 1.0).all()
    assert band.greatest[-1] > 0.5


def test_lots_that_all_agree_prove_no_more_than_their_number() -> None:
    """Ten lots without a failure leave room for a fifth of all lots to fail, at 90 %."""
    band = turnbull_band([50.0] * 10, [INF] * 10, range(10), [50.0], confidence=0.9, seed=1)
    assert band.greatest.tolist() == [0.0]
    assert band.upper == pytest.approx(1.0 - 0.1**0.1)


def test_faulty_arguments_are_refused() -> None:
    """A row without a lot, a confidence below a half and no resamples have no band."""
    with pytest.raises(InputError, match="belong to a cluster"):
        turnbull_band([0.0, 1.0], [1.0, 2.0], ["a"], [1.0], confidence=0.9, seed=1)
    for confidence, resamples in ((0.4, 10), (1.0, 10), (0.9, 0)):
        with pytest.raises(InputError, match="confidence must be"):
            turnbull_band(
                [0.0], [1.0], ["a"], [1.0], confidence=confidence, resamples=resamples, seed=1
            )


def test_the_largest_gap_is_the_heaviest_interval_with_two_ends() -> None:
    """What never failed has no end, and is no gap however much it holds."""
    estimate = turnbull([0.0, 14.0, 28.0], [14.0, 28.0, INF], [1.0, 3.0, 6.0])
    gap = largest_gap(estimate)
    assert gap is not None
    assert gap == pytest.approx(Gap(14.0, 28.0, 0.3))
    assert gap.wide
    assert not gap._replace(mass=0.25).wide


def test_exact_times_and_open_ends_leave_no_gap() -> None:
    """A time that is known is known, and nothing lies beyond the last look."""
    assert largest_gap(turnbull([3.0, 5.0, 9.0], [3.0, 5.0, INF])) is None
