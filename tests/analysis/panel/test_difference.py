"""Difference tests from counts: exact, with what they miss."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from analysis.errors import InputError, NotEstimable
from analysis.panel.difference import (
    Plan,
    critical_numbers,
    exact_interval,
    judge_difference,
    judge_similarity,
    power_of,
    similarity_power,
    similarity_size,
    smallest_size,
)
from analysis.panel.discrimination import METHODS, correct_of

REFERENCE = Path(__file__).parents[2] / "reference"
ALPHAS = {"a20": 0.20, "a10": 0.10, "a05": 0.05, "a01": 0.01, "a001": 0.001}
TRIANGLE = Plan(METHODS["triangle"])
PAIRED_BOTH_WAYS = Plan(METHODS["paired"], two_sided=True)


@st.composite
def counts(draw: st.DrawFn) -> tuple[int, int]:
    """Draw answers and correct ones among them."""
    assessments = draw(st.integers(1, 200))
    return assessments, draw(st.integers(0, assessments))


@pytest.mark.parametrize(
    ("file", "method", "cells"),
    [
        ("triangle_critical_numbers_FAO.csv", "triangle", 176),
        ("duotrio_critical_numbers_ISO10399.csv", "duo-trio", 200),
        ("duotrio_critical_numbers_ISO10399.csv", "paired", 200),
    ],
)
def test_critical_numbers_are_those_printed(file: str, method: str, cells: int) -> None:
    """Every cell of the printed tables (published); where one is empty, no number is enough.

    No cell differs from the exact binomial, so none needs explaining.
    """
    printed = pl.read_csv(REFERENCE / file)
    compared = 0
    for column in printed.columns[1:]:
        plan = Plan(METHODS[method], alpha=ALPHAS[column])
        for n, wanted in printed.select("n", column).iter_rows():
            exact = judge_difference(plan, n, 0).critical
            assert exact == wanted, (n, column)
            compared += 1
    assert compared == cells


def test_the_power_of_a_triangle_goes_up_in_saw_teeth() -> None:
    """30 % noticing: 0.19 at 8; 0.815 at 40, 0.771 at 41; for good from 42 (derived)."""
    chance = correct_of(METHODS["triangle"], 0.3)
    powers = power_of(TRIANGLE, np.array([8, 40, 41]), chance)
    assert powers == pytest.approx([0.193, 0.815, 0.771], abs=0.0006)
    size = smallest_size(TRIANGLE)
    assert (size.first, size.always) == (40, 42)
    every = power_of(TRIANGLE, np.arange(1, 400), chance) >= 0.8
    assert not every[:39].any()
    assert every[41:].all()


@given(counts(), st.sampled_from(sorted(METHODS)))
def test_the_chance_and_the_interval_are_those_of_the_exact_binomial(
    tested: tuple[int, int], method: str
) -> None:
    """As scipy's binomial test has them (identity)."""
    n, x = tested
    found = judge_difference(Plan(METHODS[method]), n, x)
    guess = METHODS[method].guess
    one_sided = binomtest(x, n, guess, alternative="greater")
    assert found.p == pytest.approx(one_sided.pvalue, abs=1e-12)
    bounds = binomtest(x, n, guess).proportion_ci(0.90, method="exact")
    _, lower, upper = exact_interval(n, x, 0.90)
    assert (lower, upper) == pytest.approx((bounds.low, bounds.high), abs=1e-9)


@given(counts())
def test_a_paired_test_to_both_sides_is_scipys(tested: tuple[int, int]) -> None:
    """Either beer may be the one chosen more often (identity)."""
    n, x = tested
    found = judge_difference(PAIRED_BOTH_WAYS, n, x)
    assert found.p == pytest.approx(binomtest(x, n, 0.5).pvalue, abs=1e-12)


@given(tested=counts(), method=st.sampled_from(sorted(METHODS)), both_ways=st.booleans())
def test_finding_chance_interval_and_critical_number_agree(
    tested: tuple[int, int], method: str, *, both_ways: bool
) -> None:
    """A difference is found where p is at most alpha, and there the bounds exclude nobody."""
    n, x = tested
    two_sided = both_ways and method == "paired"
    found = judge_difference(Plan(METHODS[method], two_sided=two_sided), n, x)
    most = max(x, n - x) if two_sided else x
    assert found.found == (found.p <= 0.05 + 1e-12)
    assert found.found == (found.critical is not None and most >= found.critical)
    assert found.found == (found.share.lower > 0.0)
    assert found.share.lower <= found.share.value <= found.share.upper
    assert found.d_prime.lower <= found.d_prime.value <= found.d_prime.upper


@given(n=st.integers(1, 300), alpha=st.sampled_from([0.2, 0.05, 0.01]), two_sided=st.booleans())
def test_luck_alone_finds_a_difference_no_more_often_than_alpha(
    n: int, alpha: float, *, two_sided: bool
) -> None:
    """And one correct answer fewer would let it."""
    plan = Plan(METHODS["paired"], two_sided=two_sided, alpha=alpha)
    assert power_of(plan, n, 0.5) <= alpha + 1e-12
    critical = int(critical_numbers(plan, n))
    reach = 2.0 if two_sided else 1.0
    assert reach * binomtest(critical - 1, n, 0.5, alternative="greater").pvalue > alpha


@given(counts())
def test_similarity_is_shown_where_the_upper_bound_is_below_what_matters(
    tested: tuple[int, int],
) -> None:
    """The number that is allowed, the bound and the judgement agree."""
    n, x = tested
    found = judge_similarity(TRIANGLE, n, x)
    assert found.shown == (found.upper < TRIANGLE.share)
    assert found.shown == (found.most is not None and x <= found.most)


def test_nine_tasters_hardly_ever_show_similarity() -> None:
    """Even where nobody notices, 14 times in 100; 39 answers do 4 times in 5, all from 46."""
    assert judge_similarity(TRIANGLE, 9, 3).power == pytest.approx(0.143, abs=0.001)
    size = similarity_size(TRIANGLE)
    assert (size.first, size.always) == (39, 46)
    assert (similarity_power(TRIANGLE, np.arange(46, 400)) >= 0.8).all()


def test_two_answers_cannot_show_anything() -> None:
    """No number of correct ones is enough, so that any difference is missed."""
    found = judge_difference(TRIANGLE, 2, 2)
    assert (found.critical, found.found, found.power) == (None, False, 0.0)
    assert judge_similarity(Plan(METHODS["paired"], two_sided=True), 3, 1).most is None


@pytest.mark.parametrize("level", [0.1, 0.3, 0.6])
def test_intervals_of_the_share_cover(level: float) -> None:
    """The share of people who notice lies in the 90 % bounds in at least 90 % of tests (exact)."""
    n = 20
    chance = correct_of(METHODS["duo-trio"], level)
    plan = Plan(METHODS["duo-trio"])
    held = [judge_difference(plan, n, x).share for x in range(n + 1)]
    covered = [share.lower <= level <= share.upper for share in held]
    assert binom.pmf(np.arange(n + 1), n, chance)[covered].sum() >= 0.90


@pytest.mark.parametrize(("n", "x"), [(0, 0), (5, 6), (5, -1)])
def test_counts_that_cannot_be_are_refused(n: int, x: int) -> None:
    """No answers, more correct ones than answers, or fewer than none."""
    with pytest.raises(InputError):
        judge_difference(TRIANGLE, n, x)


@pytest.mark.parametrize(
    "asked",
    [
        {"alpha": 0.0},
        {"power": 1.0},
        {"share": 0.0},
        {"two_sided": True},
    ],
)
def test_plans_that_cannot_be_are_refused(asked: dict[str, float]) -> None:
    """Chances are between 0 and 1, and a triangle has one side."""
    with pytest.raises(InputError):
        Plan(METHODS["triangle"], **asked)  # type: ignore[arg-type]


def test_a_share_that_nobody_can_taste_for_has_no_size() -> None:
    """One in a thousand takes more answers than anyone gives."""
    with pytest.raises(NotEstimable, match="answers would be needed"):
        smallest_size(Plan(METHODS["triangle"], share=0.001))
