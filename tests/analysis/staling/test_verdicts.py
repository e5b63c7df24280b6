"""The likelihood of verdicts that may be wrong."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from scipy.optimize import approx_fprime

from analysis.staling.design import Layout
from analysis.staling.verdicts import VerdictLikelihood, error_share
from analysis.survival.aft import IntervalLikelihood
from analysis.survival.laws import LAWS, WEIBULL, Law
from analysis.survival.penalised import Prior

if TYPE_CHECKING:
    from collections.abc import Callable

    from analysis.dating.assessment import Assessment
    from analysis.staling.evidence import Evidence

every_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)


def _likelihood(evidence: Evidence, law: Law) -> VerdictLikelihood:
    series = evidence.series
    layout = Layout(("style",), ("can",), tuple(series["assessor"].unique().sort()))
    return VerdictLikelihood(series, layout, law, Prior.flat(layout.size))


def _params(layout: Layout, *, alpha: float, delta: float) -> np.ndarray:
    """Median 50 days at 20 °C, scale 0.5, no other effect, the same errors for everybody."""
    params = np.zeros(layout.size)
    params[0], params[layout.log_scale] = np.log(50.0), np.log(0.5)
    params[layout.false_alarm.start], params[layout.miss.start] = alpha, delta
    return params


@every_law
def test_without_errors_it_is_the_interval_censored_likelihood(
    law: Law, evidence_of: Callable[..., Evidence]
) -> None:
    """Identity: answers that do not go back and forth, and errors that do not happen."""
    evidence = evidence_of({"one/a": "AARR", "one/b": "AAAA", "two/a": "RRRR", "two/b": "AAAR"})
    model = _likelihood(evidence, law)
    params = _params(model.layout, alpha=-40.0, delta=-40.0)
    intervals = evidence.brackets
    plain = IntervalLikelihood(
        intervals["lower"].to_numpy(),
        intervals["upper"].fill_null(np.inf).to_numpy(),
        np.ones((len(intervals), 1)),
        law,
    )
    expected = plain.loglikeobs(np.array([np.log(50.0), np.log(0.5)])).sum()
    assert model.loglikeobs(params).sum() == pytest.approx(expected, rel=1e-9)


@every_law
def test_probabilities_of_all_answers_add_to_one(
    law: Law, evidence_of: Callable[..., Evidence]
) -> None:
    """Identity: whatever three pulls answer, one of the eight outcomes happens."""
    outcomes = ["".join(answers) for answers in product("AR", repeat=3)]
    total = 0.0
    for answers in outcomes:
        model = _likelihood(evidence_of({"one/a": answers}), law)
        params = _params(model.layout, alpha=-1.0, delta=-2.0)
        total += np.exp(model.loglikeobs(params).sum())
    assert total == pytest.approx(1.0)


def test_fresh_servings_tell_false_alarms_alone(evidence_of: Callable[..., Evidence]) -> None:
    """Identity: a fresh glass is worth log α or log(1 − α), whatever the age of staling."""
    evidence = evidence_of({"one/a": "A"}, fresh="RAA")
    model = _likelihood(evidence, WEIBULL)
    params = _params(model.layout, alpha=-1.0, delta=-2.0)
    alpha = float(error_share(np.array(-1.0)))
    fresh = model.loglikeobs(params)[~evidence.series["aged"].to_numpy()]
    assert sorted(fresh) == pytest.approx(sorted([np.log(alpha), *[np.log(1 - alpha)] * 2]))


@every_law
def test_derivatives_are_those_of_the_value(law: Law, assessed: Assessment) -> None:
    """Score and Hessian equal finite differences on a part of a simulated brewery."""
    assert assessed.model is not None
    evidence, layout = assessed.evidence, assessed.model.layout
    series = evidence.series.filter(pl.col("style").is_in(layout.styles)).gather_every(40)
    model = VerdictLikelihood(series, layout, law, layout.prior(law))
    rng = np.random.default_rng(1)
    at = model.prior.mean + 0.05 * rng.standard_normal(layout.size)
    score = model.score(at)
    assert score == pytest.approx(approx_fprime(at, model.loglike, 1e-6), rel=1e-3, abs=1e-2)
    step = 1e-5
    for place in range(0, layout.size, 7):
        moved = at.copy()
        moved[place] += step
        by_difference = (model.score(moved) - score) / step
        assert model.hessian(at)[place] == pytest.approx(by_difference, rel=1e-2, abs=2e-2)


def test_an_error_share_stays_below_a_guess() -> None:
    """Errors lie between 0 and 0.45, whatever η."""
    assert error_share(np.array([-50.0, 0.0, 50.0])) == pytest.approx([0.0, 0.225, 0.45])
