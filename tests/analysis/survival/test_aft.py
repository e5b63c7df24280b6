"""Identities, derivatives and refusals of the accelerated-failure-time fit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import LogLogisticAFTFitter, LogNormalAFTFitter, WeibullAFTFitter
from pandas import DataFrame
from scipy.optimize import approx_fprime

from analysis.errors import InputError, NotEstimable
from analysis.survival.aft import IntervalLikelihood, fit_aft
from analysis.survival.laws import LAWS, LOGLOGISTIC, LOGNORMAL, WEIBULL, Law, law_named

every_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)


def _simulated(
    law: Law, rows: int = 300, seed: int = 7
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times with location 4 + 0.3 x and scale 0.5, inspected on days of their own."""
    rng = np.random.default_rng(seed)
    exog = np.column_stack([np.ones(rows), rng.normal(size=rows)])
    time = np.exp(exog @ [4.0, 0.3] + 0.5 * law.quantile(rng.uniform(size=rows)))
    inspected = np.array([10.0, 20.0, 35.0, 50.0, 70.0, 100.0]) * rng.uniform(0.8, 1.2, (rows, 1))
    grid = np.column_stack([np.zeros(rows), inspected, np.full(rows, np.inf)])
    past = (grid < time[:, None]).sum(axis=1)
    lower, upper = grid[np.arange(rows), past - 1], grid[np.arange(rows), past]
    return lower, upper, exog


@every_law
def test_derivatives_are_those_of_the_value(law: Law) -> None:
    """Score and Hessian equal finite differences, with open, closed and exact rows."""
    lower, upper, exog = _simulated(law, rows=40)
    lower[:5] = upper[:5] = 55.0
    model = IntervalLikelihood(lower, upper, exog, law)
    at = np.array([3.8, 0.2, -0.5])
    assert model.score(at) == pytest.approx(approx_fprime(at, model.loglike), rel=1e-4, abs=1e-3)
    by_differences = np.array(
        [approx_fprime(at, lambda p, i=i: model.score(p)[i]) for i in range(3)]
    )
    assert model.hessian(at) == pytest.approx(np.array(by_differences), rel=1e-4, abs=1e-3)


@pytest.mark.parametrize(
    ("law", "fitter"),
    [
        (WEIBULL, WeibullAFTFitter),
        (LOGNORMAL, LogNormalAFTFitter),
        (LOGLOGISTIC, LogLogisticAFTFitter),
    ],
    ids=lambda value: getattr(value, "name", ""),
)
@pytest.mark.filterwarnings("ignore")  # lifelines warns about itself
def test_the_same_fit_as_lifelines(law: Law, fitter: type) -> None:
    """Reference: lifelines 0.30, the same rows under the same law."""
    lower, upper, exog = _simulated(law)
    fit = fit_aft(lower, upper, exog, law)
    frame = DataFrame({"lower": lower, "upper": upper, "x": exog[:, 1]})
    other = fitter().fit_interval_censoring(frame, "lower", "upper")
    assert fit.log_likelihood == pytest.approx(other.log_likelihood_, rel=1e-6)
    by_name = other.params_.droplevel(0)
    assert fit.params[1] == pytest.approx(by_name["x"], abs=1e-3)


@every_law
@given(factor=st.floats(0.01, 100.0))
@settings(max_examples=5, deadline=None)
def test_days_to_hours_scales_a_quantile(law: Law, factor: float) -> None:
    """Another unit of time moves the location and nothing else."""
    lower, upper, exog = _simulated(law)
    days = fit_aft(lower, upper, exog, law)
    other = fit_aft(factor * lower, factor * upper, exog, law)
    assert other.quantile(0.25, [1.0, 0.5]) == pytest.approx(
        factor * days.quantile(0.25, [1.0, 0.5]), rel=1e-5
    )
    assert other.scale == pytest.approx(days.scale, rel=1e-5)


@every_law
def test_doubling_weights_is_doubling_rows(law: Law) -> None:
    """A weight counts how often a row was seen."""
    lower, upper, exog = _simulated(law, rows=60)
    weighted = fit_aft(lower, upper, exog, law, weights=np.full(60, 2.0))
    repeated = fit_aft(np.tile(lower, 2), np.tile(upper, 2), np.tile(exog, (2, 1)), law)
    assert weighted.params == pytest.approx(repeated.params, rel=1e-6)
    assert weighted.covariance == pytest.approx(repeated.covariance, rel=1e-5)


@every_law
def test_many_rows_start_from_a_part_of_them(law: Law) -> None:
    """Ten thousand rows give the truth they were drawn from, within four standard errors."""
    fit = fit_aft(*_simulated(law, rows=10_000), law)
    error = np.abs(fit.params - [4.0, 0.3, np.log(0.5)])
    assert (error < 4.0 * np.sqrt(np.diag(fit.covariance))).all()


@every_law
@given(w=st.floats(-40.0, 40.0))
def test_a_law_agrees_with_itself(law: Law, w: float) -> None:
    """Log survival falls at the rate that density over survival says, deep into both tails."""
    at = np.array([np.clip(w, -40.0, 5.0 if law is WEIBULL else 40.0)])
    slope = approx_fprime(at, lambda x: law.log_survival(x)[0], 1e-6)
    hazard = np.exp(law.log_density(at) - law.log_survival(at))
    assert slope == pytest.approx(-hazard, rel=1e-3, abs=1e-7)


@every_law
@given(share=st.floats(1e-6, 1 - 1e-6))
def test_quantile_and_share_are_inverse(law: Law, share: float) -> None:
    """The share failed by the quantile of a share is that share."""
    assert law.share_failed(law.quantile(np.array([share]))) == pytest.approx(share, rel=1e-8)


def test_arguments_are_left_as_they_were() -> None:
    """A fit changes nothing it was given."""
    given_ = _simulated(WEIBULL)
    kept = tuple(array.copy() for array in given_)
    fit_aft(*given_, WEIBULL)
    assert all(np.array_equal(a, b) for a, b in zip(given_, kept, strict=True))


@pytest.mark.parametrize(
    ("lower", "upper", "exog", "says"),
    [
        ([1.0, 3.0], [2.0, 2.0], [[1.0], [1.0]], "row 1 is no interval"),
        ([1.0, -1.0], [2.0, 2.0], [[1.0], [1.0]], "row 1 is no interval"),
        ([1.0, np.nan], [2.0, 2.0], [[1.0], [1.0]], "must be numbers"),
        ([1.0, 1.0], [2.0], [[1.0], [1.0]], "as many upper ends"),
    ],
)
def test_what_is_no_interval_is_refused(
    lower: list[float], upper: list[float], exog: list[list[float]], says: str
) -> None:
    """Faulty input is told by its row, before anything is fitted."""
    with pytest.raises(InputError, match=says):
        fit_aft(lower, upper, exog, LOGNORMAL)


def test_what_cannot_be_estimated_is_said() -> None:
    """All accepted, or covariates that repeat each other: a reason, never a number."""
    with pytest.raises(NotEstimable, match="nothing was rejected"):
        fit_aft([1.0, 2.0], [np.inf, np.inf], [[1.0], [1.0]], WEIBULL)
    with pytest.raises(NotEstimable, match="collinear"):
        fit_aft([1.0, 2.0], [3.0, 4.0], [[1.0, 2.0], [1.0, 2.0]], WEIBULL)


def test_an_unknown_law_is_refused() -> None:
    """The known ones are named."""
    assert law_named("weibull") is WEIBULL
    with pytest.raises(InputError, match="weibull, lognormal, loglogistic"):
        law_named("gompertz")
