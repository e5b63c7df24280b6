"""The non-parametric estimate against printed masses, and what must hold of any of them."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.survival.turnbull import turnbull

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

REFERENCE = Path(__file__).parents[2] / "reference"
INF = np.inf
ROWS = st.lists(
    st.tuples(st.integers(0, 12), st.integers(1, 8), st.booleans()), min_size=1, max_size=30
)


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


def _intervals(rows: list[tuple[int, int, bool]]) -> tuple[Array, Array]:
    lower = np.array([float(low) for low, _, _ in rows])
    return lower, np.array([INF if never else float(low + width) for low, width, never in rows])


@given(ROWS)
def test_no_interval_wants_more_mass(rows: list[tuple[int, int, bool]]) -> None:
    """Masses add to 1, doubled weights change nothing, and the gradient says it is a maximum."""
    lower, upper = _intervals(rows)
    estimate = turnbull(lower, upper)
    assert estimate.mass.sum() == pytest.approx(1.0)
    doubled = turnbull(lower, upper, np.full(len(rows), 2.0))
    assert doubled.log_likelihood == pytest.approx(2.0 * estimate.log_likelihood, abs=1e-6)
    inside = (estimate.lower >= lower[:, None]) & (estimate.upper <= upper[:, None])
    pull = (inside / (inside @ estimate.mass)[:, None]).sum(axis=0)
    assert pull == pytest.approx(len(rows), rel=1e-3)


@given(ROWS, st.integers(0, 2**32 - 1))
def test_no_other_masses_are_better_by_more_than_the_gap(
    rows: list[tuple[int, int, bool]], seed: int
) -> None:
    """Any distribution at all, near the estimate or far, stays within the duality gap of it."""
    lower, upper = _intervals(rows)
    estimate = turnbull(lower, upper)
    assert 0.0 <= estimate.duality_gap < 1e-4
    ends = np.unique(np.concatenate([lower, upper]))
    cells = (ends[:-1] >= lower[:, None]) & (ends[1:] <= upper[:, None])
    own = np.isin(ends[1:], estimate.upper).astype(float)
    own[own > 0.0] = estimate.mass
    others = np.random.default_rng(seed).dirichlet(np.ones(len(own)), size=20)
    for part in (1.0, 0.1, 1e-3, 1e-6):
        covered = (part * others + (1.0 - part) * own) @ cells.T
        gained = np.log(covered).sum(axis=1) - estimate.log_likelihood
        assert (gained <= estimate.duality_gap + 1e-9).all()


@pytest.mark.parametrize("kind", ["wide", "narrow"])
def test_many_irregular_intervals_settle(kind: str) -> None:
    """Two thousand intervals, every end its own, leave next to nothing to be gained."""
    rng = np.random.default_rng(3)
    time = rng.lognormal(4.0, 0.5, 2_000)
    width = rng.exponential(3.0 if kind == "narrow" else 60.0, 2_000)
    lower = np.maximum(time - width * rng.random(2_000), 0.0)
    estimate = turnbull(lower, lower + width)
    assert estimate.duality_gap < 1e-4
    assert (len(estimate.mass) > 200) == (kind == "narrow")


@given(ROWS, st.data())
def test_weights_are_repeated_rows(rows: list[tuple[int, int, bool]], data: st.DataObject) -> None:
    """A row of weight 0 is as good as not there, one of weight 2 as good as two."""
    lower, upper = _intervals(rows)
    size = len(rows)
    often = np.array(data.draw(st.lists(st.integers(0, 3), min_size=size, max_size=size)))
    often[0] += 1
    weighted = turnbull(lower, upper, often)
    repeated = turnbull(np.repeat(lower, often), np.repeat(upper, often))
    assert weighted.log_likelihood == pytest.approx(repeated.log_likelihood, abs=1e-5)
    assert set(weighted.upper) <= set(upper[often > 0])


@pytest.mark.parametrize("weights", [[-1.0, 2.0], [1.0, np.nan], [1.0, INF]])
def test_weights_that_are_no_counts_are_refused(weights: list[float]) -> None:
    """A weight below 0 or without a value has no meaning."""
    with pytest.raises(InputError, match="weights must be finite"):
        turnbull([0.0, 1.0], [1.0, 2.0], weights)


def test_rows_of_weight_zero_alone_are_no_rows() -> None:
    """Nothing was seen, so there is nothing to estimate from."""
    with pytest.raises(InputError, match="of a weight above 0"):
        turnbull([0.0], [1.0], [0.0])


@pytest.mark.parametrize(("lower", "upper"), [([], []), ([3.0], [2.0])])
def test_no_rows_or_an_empty_interval_is_refused(lower: list[float], upper: list[float]) -> None:
    """There is nothing to estimate from, and it is said."""
    with pytest.raises(InputError, match="at least one interval"):
        turnbull(lower, upper)
