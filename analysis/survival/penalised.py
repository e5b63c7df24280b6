r"""Penalised maximum likelihood: independent normal priors over any likelihood of independent rows.

    maximise  Σ_i log L_i(θ) − ½ Σ_j ((θ_j − mean_j) / SD_j)²

A prior with SD ∞ leaves its parameter free. A likelihood is a statsmodels model that gives each
row's value and score and the sum of the rows' second derivatives, all exact.

Reference: Cox & Hinkley, Theoretical Statistics, 1974, section 10.6, on the mode of a posterior.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from statsmodels.base.model import GenericLikelihoodModel

from analysis.errors import NotConverged

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_SETTLED = 1e-9  # a Newton step, in squared standard errors
_POLISHING_STEPS = 8


@dataclass(frozen=True)
class Prior:
    """Independent normal priors: arrays of shape (k,); SD ∞ is flat."""

    mean: Array
    sd: Array

    @classmethod
    def flat(cls, size: int) -> Prior:
        """Return a prior that says nothing about any of `size` parameters."""
        return cls(np.zeros(size), np.full(size, np.inf))

    @property
    def precision(self) -> Array:
        """1/SD², 0 where flat."""
        return self.sd**-2.0


class PenalisedLikelihood(GenericLikelihoodModel):  # type: ignore[misc] # statsmodels is untyped
    """A likelihood with priors. A subclass gives `loglikeobs`, `score_obs` and `rows_hessian`."""

    def __init__(self, law: Law, prior: Prior, endog: Array, exog: Array) -> None:
        """Take the law of W, the priors, and what statsmodels wants to hold: rows and columns."""
        self.law = law
        self.prior = prior
        super().__init__(endog, exog)
        self.df_model = len(prior.mean) - self.k_constant
        self.df_resid = len(endog) - len(prior.mean)

    def loglikeobs(self, params: Array) -> Array:
        """Return each row's log-likelihood without the prior, shape (n,)."""
        raise NotImplementedError

    def score_obs(self, params: Array) -> Array:
        """Return each row's score without the prior, shape (n, k)."""
        raise NotImplementedError

    def rows_hessian(self, params: Array) -> Array:
        """Return the second derivatives of the rows' sum without the prior, shape (k, k)."""
        raise NotImplementedError

    def loglike(self, params: Array) -> float:
        """Return the log-likelihood plus the log prior, its constant left out."""
        pull = (params - self.prior.mean) * np.sqrt(self.prior.precision)
        return float(self.loglikeobs(params).sum() - 0.5 * pull @ pull)

    def score(self, params: Array) -> Array:
        """Return the gradient of `loglike`, shape (k,)."""
        pull = (params - self.prior.mean) * self.prior.precision
        return np.asarray(self.score_obs(params).sum(axis=0) - pull)

    def hessian(self, params: Array) -> Array:
        """Return the second derivatives of `loglike`, shape (k, k)."""
        return self.rows_hessian(params) - np.diag(self.prior.precision)


@dataclass(frozen=True)
class Fit:
    """A maximum.

    Attributes:
        law: the law of W.
        params: where it lies, shape (k,).
        covariance: inverse of minus the Hessian of the penalised log-likelihood, shape (k, k).
        log_likelihood: at `params`, without the prior.
        model: the likelihood, for scores and further inference.
    """

    law: Law
    params: Array
    covariance: Array
    log_likelihood: float
    model: PenalisedLikelihood = field(repr=False)


def maximise(model: PenalisedLikelihood, start: Array) -> Fit:
    """Find the maximum by a trust region with exact derivatives, then polish by Newton steps.

    Raises:
        NotConverged: no maximum was found; the text says what to look at.
    """
    result = model.fit(
        start, method="minimize", min_method="trust-exact", disp=0, skip_hessian=True, gtol=1e-5
    )
    params = np.asarray(result.params)
    for _ in range(_POLISHING_STEPS):
        information, score = -model.hessian(params), model.score(params)
        usable = np.isfinite(information).all() and np.isfinite(score).all()
        if not usable or np.linalg.eigvalsh(information)[0] <= 0.0:
            break
        step = np.linalg.solve(information, score)
        if step @ score < _SETTLED:
            return Fit(
                law=model.law,
                params=params,
                covariance=np.asarray(np.linalg.inv(information), dtype=np.float64),
                log_likelihood=float(model.loglikeobs(params).sum()),
                model=model,
            )
        params = params + step
    message = (
        f"the {model.law.name} fit did not settle. Look for: a group without a single rejection "
        "or without a single acceptance, a covariate that hardly varies, ages in mixed units"
    )
    raise NotConverged(message)
