"""Fits against numbers printed in handbooks or refitted with R; see tests/reference/SOURCES.md."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from analysis.survival.aft import AftFit, fit_aft
from analysis.survival.laws import LOGLOGISTIC, LOGNORMAL, WEIBULL, Law

REFERENCE = Path(__file__).parents[2] / "reference"
LOG_LIKELIHOOD = 1e-4  # relative, as the sources print it


def _read(name: str) -> np.ndarray:
    return np.genfromtxt(REFERENCE / name, delimiter=",", skip_header=1).T


def _alone(lower: np.ndarray, upper: np.ndarray, count: np.ndarray, law: Law) -> AftFit:
    open_ended = np.where(np.isnan(upper), np.inf, upper)
    return fit_aft(lower, open_ended, np.ones((len(lower), 1)), law, weights=count)


def _nist_arrhenius() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    temp_c, hours, failed, count = _read("nist_8421_arrhenius_alt.csv")
    return temp_c, hours, np.where(failed == 1, hours, np.inf), count


@pytest.mark.parametrize(
    ("temp_c", "mu", "sigma", "log_likelihood"),
    [(85, 8.891, 1.21, -53.4), (105, 6.470, 0.715, -265.2), (125, 5.33, 0.81, -156.5)],
)
def test_lognormal_at_one_temperature(
    temp_c: int, mu: float, sigma: float, log_likelihood: float
) -> None:
    """Published: NIST/SEMATECH e-Handbook 8.4.2.2, one lognormal a temperature."""
    temp, lower, upper, count = _nist_arrhenius()
    at = temp == temp_c
    fit = _alone(lower[at], upper[at], count[at], LOGNORMAL)
    assert fit.params[0] == pytest.approx(mu, abs=0.005)
    assert fit.scale == pytest.approx(sigma, abs=0.005)
    assert fit.log_likelihood == pytest.approx(log_likelihood, abs=0.05)


def test_arrhenius_over_three_temperatures() -> None:
    """Published: NIST 8.4.2.2, acceleration fit, and its likelihood ratio against free fits."""
    temp, lower, upper, count = _nist_arrhenius()
    per_ev = 1.0 / (8.617e-5 * (temp + 273.16))  # the constants of that page
    fit = fit_aft(
        lower, upper, np.column_stack([np.ones(len(temp)), per_ev]), LOGNORMAL, weights=count
    )
    assert fit.params[:2] == pytest.approx([-19.906, 0.863], abs=5e-4)
    assert np.sqrt(np.diag(fit.covariance))[:2] == pytest.approx([2.320, 0.0761], abs=5e-4)
    assert fit.scale == pytest.approx(0.772, abs=5e-4)
    assert fit.log_likelihood == pytest.approx(-476.709, rel=1e-6)
    free = sum(
        _alone(lower[at], upper[at], count[at], LOGNORMAL).log_likelihood
        for at in (temp == 85, temp == 105, temp == 125)
    )
    ratio = 2.0 * (free - fit.log_likelihood)
    assert ratio == pytest.approx(3.194, abs=5e-4)
    assert stats.chi2.sf(ratio, 3) == pytest.approx(0.363, abs=5e-4)
    location = fit.params[0] + fit.params[1] / (8.617e-5 * (25 + 273.16))
    share = LOGNORMAL.share_failed(np.array([(np.log(1e5) - location) / fit.scale]))
    assert share[0] == pytest.approx(0.0025, abs=5e-5)  # the page prints 0.003


def test_weibull_with_exact_and_censored_times() -> None:
    """Published: NIST 8.4.1.3, twenty units of which ten survive."""
    hours, failed, count = _read("nist_8413_weibull_censored.csv")
    upper = np.where(failed == 1, hours, np.inf)
    weibull = _alone(hours, upper, count, WEIBULL)
    assert np.exp(weibull.params[0]) == pytest.approx(606.528, abs=5e-3)
    assert 1.0 / weibull.scale == pytest.approx(1.7208, abs=5e-5)
    assert weibull.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    lognormal = _alone(hours, upper, count, LOGNORMAL)
    assert 4.0 - 2.0 * weibull.log_likelihood == pytest.approx(154.27, abs=5e-3)
    assert 4.0 - 2.0 * lognormal.log_likelihood == pytest.approx(154.39, abs=5e-3)


def test_part_cracking_is_pure_interval_data() -> None:
    """Refit: R survival 3.5-3 survreg on Nelson, Applied Life Data Analysis, 1982, p. 415."""
    lower, upper, count = _read("nelson_turbine_part_cracking.csv")
    weibull = _alone(lower, upper, count, WEIBULL)
    assert np.exp(weibull.params[0]) == pytest.approx(71.690, abs=5e-4)
    assert 1.0 / weibull.scale == pytest.approx(1.4854, abs=5e-5)
    assert weibull.log_likelihood == pytest.approx(-309.668, rel=LOG_LIKELIHOOD)
    lognormal = _alone(lower, upper, count, LOGNORMAL)
    assert lognormal.params[0] == pytest.approx(4.02685, abs=1e-5)
    assert np.sqrt(lognormal.covariance[0, 0]) == pytest.approx(0.08998, abs=1e-5)
    assert lognormal.scale == pytest.approx(0.99853, abs=1e-5)
    assert lognormal.log_likelihood == pytest.approx(-311.915, rel=LOG_LIKELIHOOD)


@pytest.mark.parametrize(
    ("law", "log_likelihood", "quantiles"),
    [
        (LOGNORMAL, -66.7457, {0.10: 6.031, 0.25: 10.602, 0.50: 19.842}),
        (WEIBULL, -68.2237, {0.25: 11.081, 0.50: 22.203}),
        (LOGLOGISTIC, -67.1828, {}),
    ],
)
def test_yoghurt_adults(law: Law, log_likelihood: float, quantiles: dict[float, float]) -> None:
    """Refit: R survreg on the yoghurt adults of Hough 2010, rejection under three laws."""
    lower, upper, count = _read("yoghurt_adults_intervals.csv")
    fit = _alone(lower, upper, count, law)
    assert fit.log_likelihood == pytest.approx(log_likelihood, rel=LOG_LIKELIHOOD)
    for share, hours in quantiles.items():
        assert fit.quantile(share, [1.0]) == pytest.approx(hours, abs=1e-3)
    if law is LOGNORMAL:
        assert fit.params[0] == pytest.approx(2.98780, abs=1e-5)
        assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(0.14925, abs=1e-5)
        assert fit.scale == pytest.approx(0.92928, abs=1e-5)
