"""The likelihood of verdicts that may be wrong, one series at a time."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import pytest

from analysis.staling.verdicts import PREDICTORS, Verdicts, error_share
from analysis.survival.aft import IntervalLikelihood
from analysis.survival.laws import LAWS, WEIBULL, Law

if TYPE_CHECKING:
    from collections.abc import Callable

    from analysis.dating.assessment import Assessment
    from analysis.staling.evidence import Evidence

every_law = pytest.mark.parametrize("law", LAWS, ids=lambda law: law.name)


def _log_likelihood(evidence: Evidence, law: Law, *, alpha: float, delta: float) -> np.ndarray:
    """Median 50 days at 20 °C, scale 0.5, the same errors for everybody."""
    verdicts = Verdicts(evidence.series, law)
    predictor = np.array([np.log(50.0), 75.0, np.log(0.5), alpha, delta])
    return verdicts.terms(np.tile(predictor, (verdicts.n, 1))).value


@every_law
def test_without_errors_it_is_the_interval_censored_likelihood(
    law: Law, evidence_of: Callable[..., Evidence]
) -> None:
    """Identity: answers that do not go back and forth, and errors that do not happen."""
    evidence = evidence_of({"one/a": "AARR", "one/b": "AAAA", "two/a": "RRRR", "two/b": "AAAR"})
    intervals = evidence.brackets
    plain = IntervalLikelihood(
        intervals["lower"].to_numpy(),
        intervals["upper"].fill_null(np.inf).to_numpy(),
        np.ones((len(intervals), 1)),
        law,
    )
    expected = plain.loglikeobs(np.array([np.log(50.0), np.log(0.5)])).sum()
    found = _log_likelihood(evidence, law, alpha=-40.0, delta=-40.0).sum()
    assert found == pytest.approx(expected, rel=1e-9)


@every_law
def test_probabilities_of_all_answers_add_to_one(
    law: Law, evidence_of: Callable[..., Evidence]
) -> None:
    """Identity: whatever three pulls answer, one of the eight outcomes happens."""
    outcomes = ["".join(answers) for answers in product("AR", repeat=3)]
    total = sum(
        np.exp(_log_likelihood(evidence_of({"one/a": answers}), law, alpha=-1.0, delta=-2.0).sum())
        for answers in outcomes
    )
    assert total == pytest.approx(1.0)


def test_fresh_servings_tell_false_alarms_alone(evidence_of: Callable[..., Evidence]) -> None:
    """Identity: a fresh glass is worth log α or log(1 − α), whatever the age of staling."""
    evidence = evidence_of({"one/a": "A"}, fresh="RAA")
    alpha = float(error_share(np.array(-1.0)))
    found = _log_likelihood(evidence, WEIBULL, alpha=-1.0, delta=-2.0)
    fresh = found[~evidence.series["aged"].to_numpy()]
    assert sorted(fresh) == pytest.approx(sorted([np.log(alpha), *[np.log(1 - alpha)] * 2]))


@every_law
def test_derivatives_are_those_of_the_value(law: Law, assessed: Assessment) -> None:
    """Gradient, Hessian and contracted third derivative equal central differences."""
    verdicts = Verdicts(assessed.evidence.series.gather_every(30), law)
    rng = np.random.default_rng(1)
    spread = np.array([0.3, 5.0, 0.2, 0.5, 0.5])
    r = np.array([4.5, 72.0, -0.7, -1.5, -2.0]) + spread * rng.normal(size=(verdicts.n, PREDICTORS))
    covariance = rng.normal(size=(verdicts.n, PREDICTORS, PREDICTORS))
    covariance = covariance @ covariance.transpose(0, 2, 1)
    terms, third = verdicts.terms(r), verdicts.third_contracted(r, covariance)
    for place, step in enumerate([1e-5, 1e-3, 1e-5, 1e-5, 1e-5]):
        moved = np.zeros(PREDICTORS)
        moved[place] = step
        above, below = verdicts.terms(r + moved), verdicts.terms(r - moved)
        slope = (above.value - below.value) / (2.0 * step)
        assert terms.gradient[:, place] == pytest.approx(slope, abs=1e-6)
        bend = (above.gradient - below.gradient) / (2.0 * step)
        assert terms.hessian[:, place] == pytest.approx(bend, abs=1e-5)
        turn = np.einsum("nbc,nbc->n", above.hessian - below.hessian, covariance) / (2.0 * step)
        assert third[:, place] == pytest.approx(turn, rel=1e-4, abs=1e-4)


@every_law
def test_a_step_far_outside_gives_a_finite_value(
    law: Law, evidence_of: Callable[..., Evidence]
) -> None:
    """Parameters without sense are worth little, and never not a number."""
    verdicts = Verdicts(evidence_of({"one/a": "ARAR"}).series, law)
    for wild in ([900.0, 75.0, 0.0, 0.0, 0.0], [0.0, 75.0, -900.0, 900.0, -900.0]):
        terms = verdicts.terms(np.array([wild]))
        assert np.isfinite(terms.value).all()
        assert np.isfinite(terms.hessian).all()


def test_an_error_share_stays_below_a_guess() -> None:
    """Errors lie between 0 and 0.45, whatever η."""
    assert error_share(np.array([-50.0, 0.0, 50.0])) == pytest.approx([0.0, 0.225, 0.45])
