"""The non-parametric estimate against printed masses, and what must hold of any of them."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.survival.turnbull import turnbull

REFERENCE = Path(__file__).parents[2] / "reference"
INF = np.inf
ENDS = st.tuples(st.integers(0, 12), st.integers(1, 8), st.booleans())


def _cosmesis(arm: str) -> tuple[list[float], list[float]]:
    with (REFERENCE / "breast_cosmesis_intervals.csv").open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if row["treatment"] == arm]
    return [float(row["left"]) for row in rows], [float(row["right"]) for row in rows]


@pytest.mark.parametrize(
    ("arm", "log_likelihood", "masses"),
    [
        (
            "Rad",
            -58.06002,
            {
                (4, 5): 0.0463,
                (6, 7): 0.0334,
                (7, 8): 0.0887,
                (11, 12): 0.0708,
                (24, 25): 0.0926,
                (33, 34): 0.0818,
                (38, 40): 0.1209,
                (46, 48): 0.4656,
            },
        ),
        (
            "RadChem",
            -65.63696,
            {
                (4, 5): 0.0433,
                (5, 8): 0.0433,
                (11, 12): 0.0692,
                (16, 17): 0.1454,
                (18, 19): 0.1411,
                (19, 20): 0.1157,
                (24, 25): 0.0999,
                (30, 31): 0.0709,
                (35, 36): 0.1608,
                (44, 48): 0.0552,
                (48, 60): 0.0552,
            },
        ),
    ],
)
def test_breast_cosmesis(
    arm: str, log_likelihood: float, masses: dict[tuple[int, int], float]
) -> None:
    """Published: Fay & Shaw, J. Stat. Soft. 36(2), 2010, on Finkelstein & Wolfe 1985."""
    estimate = turnbull(*_cosmesis(arm))
    assert list(zip(estimate.lower, estimate.upper, strict=True)) == list(masses)
    assert estimate.mass == pytest.approx(list(masses.values()), abs=5e-5)
    assert estimate.log_likelihood == pytest.approx(log_likelihood, abs=5e-6)


def test_yoghurt_adults() -> None:
    """Refit: R npsurv 0.5-0 on the yoghurt adults of Hough 2010."""
    path = REFERENCE / "yoghurt_adults_intervals.csv"
    lower, upper, count = np.genfromtxt(path, delimiter=",", skip_header=1).T
    estimate = turnbull(lower, np.where(np.isnan(upper), INF, upper), count)
    assert estimate.upper.tolist() == [4, 8, 12, 24, 36, 48, INF]
    masses = [0.02607, 0.16531, 0.14112, 0.24704, 0.13740, 0.10915, 0.17391]
    assert estimate.mass == pytest.approx(masses, abs=1e-5)
    assert estimate.log_likelihood == pytest.approx(-66.18793, abs=1e-5)


def test_exact_times_give_the_empirical_distribution() -> None:
    """Intervals of no width are exact times, each with its share of the rows."""
    estimate = turnbull([1, 2, 2, 5], [1, 2, 2, 5])
    assert estimate.upper.tolist() == [1, 2, 5]
    assert estimate.mass == pytest.approx([0.25, 0.5, 0.25])


def test_a_gap_has_a_least_and_a_greatest_share() -> None:
    """Inside an interval that holds mass nobody knows where it lies."""
    least, greatest = turnbull([0, 4], [4, INF]).share_failed([2.0, 4.0, 9.0])
    assert least.tolist() == [0.0, 0.5, 0.5]
    assert greatest.tolist() == [0.5, 0.5, 1.0]


@given(st.lists(ENDS, min_size=1, max_size=30))
def test_no_interval_wants_more_mass(rows: list[tuple[int, int, bool]]) -> None:
    """Masses add to 1, doubled weights change nothing, and the gradient says it is a maximum."""
    lower = np.array([float(low) for low, _, _ in rows])
    upper = np.array([INF if never else float(low + width) for low, width, never in rows])
    estimate = turnbull(lower, upper)
    assert estimate.mass.sum() == pytest.approx(1.0)
    doubled = turnbull(lower, upper, np.full(len(rows), 2.0))
    assert doubled.log_likelihood == pytest.approx(2.0 * estimate.log_likelihood, abs=1e-6)
    inside = (estimate.lower >= lower[:, None]) & (estimate.upper <= upper[:, None])
    pull = (inside / (inside @ estimate.mass)[:, None]).sum(axis=0)
    assert pull == pytest.approx(len(rows), rel=1e-3)


@pytest.mark.parametrize(("lower", "upper"), [([], []), ([3.0], [2.0])])
def test_no_rows_or_an_empty_interval_is_refused(lower: list[float], upper: list[float]) -> None:
    """There is nothing to estimate from, and it is said."""
    with pytest.raises(InputError, match="at least one interval"):
        turnbull(lower, upper)
