"""The marginal likelihood against quadrature, against a dense matrix, and against differences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from scipy import special

from analysis.staling.design import ASSESSOR, SPREADS, Layout, designed
from analysis.staling.laplace import Laplace
from analysis.survival.laws import LAWS, LOGNORMAL, Law

if TYPE_CHECKING:
    from analysis.dating.assessment import Assessment

every_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)
SPREADS_NOW = np.array([0.07, 0.14, 0.11, 0.32])


@pytest.fixture(scope="module")
def small(assessed: Assessment) -> tuple[pl.DataFrame, Layout]:
    """Two styles of a simulated brewery, every fifth series."""
    series, layout = designed(assessed.evidence)
    kept = series.filter(pl.col("style").is_in(layout.styles[:2])).gather_every(5)
    return kept, Layout(layout.styles[:2], layout.formats, layout.assessors)


@every_law
def test_the_gradient_is_that_of_the_marginal_likelihood(
    law: Law, small: tuple[pl.DataFrame, Layout]
) -> None:
    """Central differences of Φ in each log spread, mode and determinant moving along.

    The mode is found to 1e-4 of its standard deviations; shorter steps would measure that.
    """
    laplace = Laplace(*small, law)
    at = np.log(SPREADS_NOW)
    _, gradient, mode = laplace.marginal(at)
    start = (mode.effects, mode.lots)
    for place in range(len(SPREADS)):
        moved = np.zeros(len(SPREADS))
        moved[place] = 1e-2
        above, below = (laplace.marginal(at + sign * moved, start)[0] for sign in (1.0, -1.0))
        assert gradient[place] == pytest.approx((above - below) / 2e-2, rel=2e-3, abs=2e-3)


def test_the_schur_complement_is_the_dense_matrix(small: tuple[pl.DataFrame, Layout]) -> None:
    """Identity: log |N| and the solve equal those of N written out whole by differences."""
    laplace = Laplace(*small, LOGNORMAL)
    mode = laplace.mode(SPREADS_NOW)
    size, lots = len(mode.effects), len(mode.lots)

    def gradient(at: np.ndarray) -> np.ndarray:
        u, v = at[:size], at[size:]
        by_predictor = laplace.verdicts.terms(laplace.predictor(u, v)).gradient
        rows = zip(laplace.rows, laplace.layout.blocks, strict=True)
        by_u = np.concatenate([part.T @ by_predictor[:, a] for a, (part, _) in enumerate(rows)])
        by_v = np.bincount(laplace.lot_of, by_predictor[:, 0], lots)
        batch = laplace.batch_of[:, None] == laplace.batch_of[None, :]
        prior = SPREADS_NOW[1] ** 2 * np.eye(lots) + SPREADS_NOW[2] ** 2 * batch
        sd = np.array([term.prior_sd or 0.0 for term in laplace.layout.terms(LOGNORMAL)])
        sd[laplace.layout.interaction] = SPREADS_NOW[0]
        sd[laplace.layout.assessor] = SPREADS_NOW[ASSESSOR]
        by_u -= (u - laplace.prior_mean) / sd**2
        return np.concatenate([by_u, by_v - np.linalg.solve(prior, v)])

    at = np.concatenate([mode.effects, mode.lots])
    assert gradient(at) == pytest.approx(np.zeros(len(at)), abs=1e-2)
    step = 1e-5
    whole = np.empty((len(at), len(at)))
    for place in range(len(at)):
        moved = np.zeros(len(at))
        moved[place] = step
        whole[place] = (gradient(at - moved) - gradient(at + moved)) / (2.0 * step)
    whole = 0.5 * (whole + whole.T)
    covariance = np.linalg.inv(whole)
    by_root = np.linalg.inv(mode.schur_root @ mode.schur_root.T)
    assert by_root == pytest.approx(covariance[:size, :size], rel=1e-3, abs=1e-5)


def test_a_probit_random_intercept_equals_quadrature() -> None:
    """One pull a series, no errors, assessors alone: adaptive quadrature, written out here.

    Laplace's error per assessor falls with the number of answers; with 40 each it is below 0.02
    in the log, and the likelihoods differ by less than that for every assessor.
    """
    rng = np.random.default_rng(4)
    people, glasses, tau, scale = 12, 40, 0.5, 0.6
    own = rng.normal(0.0, tau, people)
    age = np.exp(rng.uniform(np.log(20.0), np.log(200.0), (people, glasses)))
    turns = np.log(70.0) + own[:, None] + scale * rng.normal(size=age.shape)
    rejected = np.log(age) > turns
    names = [f"a{person:02}" for person in range(people)]
    series = pl.DataFrame(
        {
            "aged": True,
            "style": "s",
            "format": "f",
            "lot": "l",
            "batch": "l",
            "assessor": np.repeat(names, glasses),
            "storage_temp_c": 20.0,
            "before_days": 0.0,
            "before_temp_c": 20.0,
            "stored_days": [[float(days)] for days in age.ravel()],
            "rejected": [[bool(answer)] for answer in rejected.ravel()],
            "log_dose": 0.0,
        }
    )
    layout = Layout(("s",), ("f",), tuple(names))
    laplace = Laplace(series, layout, LOGNORMAL)
    tiny = 1e-4
    laplace._prior_sd = np.where(np.isnan(laplace._prior_sd), np.nan, tiny)  # noqa: SLF001
    laplace.prior_mean[:] = 0.0
    laplace.prior_mean[0] = np.log(70.0)
    laplace.prior_mean[layout.log_scale] = np.log(scale)
    laplace.prior_mean[layout.false_alarm.start] = laplace.prior_mean[layout.miss.start] = -40.0
    spreads = np.array([tiny, tiny, tiny, tau])
    value, _, mode = laplace.marginal(np.log(spreads))

    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    exact = 0.0
    for person in range(people):
        z = (np.log(age[person]) - np.log(70.0) - tau * nodes[:, None]) / scale
        sign = np.where(rejected[person], 1.0, -1.0)
        likelihood = np.exp(special.log_ndtr(sign * z).sum(axis=1))
        exact += np.log(likelihood @ weights / weights.sum())
    half_normal = spreads**2 / np.array([0.10, 0.20, 0.15, 0.40]) ** 2
    hyperprior = float((np.log(spreads) - 0.5 * half_normal).sum())
    assert value - hyperprior == pytest.approx(exact, abs=0.02 * people)
    assert mode.effects[layout.assessor] == pytest.approx(own, abs=0.6)
