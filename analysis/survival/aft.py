r"""Accelerated-failure-time model for interval-censored times, by maximum likelihood.

    log T = x'β + scale · W,        T in (lower, upper]

T in any unit of time, x the row's covariates, W one of the standard laws, and the last parameter
is log scale, so that nothing is bounded. First and second derivatives are exact.

This is the plain model that textbooks and other programs fit; the staling model must agree with it
where its effects and errors are nothing.

Reference: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 2003, chapter 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from statsmodels.base.model import GenericLikelihoodModel

from analysis.errors import InputError, NotConverged, NotEstimable
from analysis.survival.likelihood import Ends, RowTerms, row_terms

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_WARM_START_ROWS = 4_000
_MOST_STEPS = 8
_SETTLED = 1e-9  # a Newton step, in squared standard errors


class IntervalLikelihood(GenericLikelihoodModel):  # type: ignore[misc] # statsmodels is untyped
    """The model above as a statsmodels likelihood; parameters are (β, log scale)."""

    def __init__(
        self, lower: Array, upper: Array, exog: Array, law: Law, *, weights: Array | None = None
    ) -> None:
        """Take intervals (lower, upper] of shape (n,), covariates (n, k) and row weights (n,)."""
        self.law = law
        self.ends = Ends.of(lower, upper)
        self.weights = np.ones(len(lower)) if weights is None else weights
        with np.errstate(divide="ignore"):
            self.log_lower = np.where(self.ends.lower, np.log(lower), 0.0)
            self.log_upper = np.where(self.ends.upper, np.log(upper), 0.0)
        self._at: bytes = b""
        self._now: tuple[Array, Array, RowTerms] | None = None
        super().__init__(np.column_stack([lower, upper]), exog)
        self.df_model = exog.shape[1] + 1 - self.k_constant
        self.df_resid = len(lower) - exog.shape[1] - 1

    def loglikeobs(self, params: Array) -> Array:
        """Return each row's log-likelihood, weighted; shape (n,)."""
        _, _, terms = self._evaluate(params)
        of_time = np.where(self.ends.exact, params[-1] + self.log_upper, 0.0)
        return np.asarray(self.weights * (terms.value - of_time))

    def score(self, params: Array) -> Array:
        """Return the gradient of the log-likelihood, shape (k + 1,)."""
        z_low, z_high, t = self._evaluate(params)
        location = -self.exog.T @ (self.weights * (t.at_lower + t.at_upper)) / np.exp(params[-1])
        log_scale = t.at_lower * z_low + t.at_upper * z_high + self.ends.exact
        return np.append(location, -(self.weights @ log_scale))

    def hessian(self, params: Array) -> Array:
        """Return the second derivatives of the log-likelihood, shape (k + 1, k + 1)."""
        z_low, z_high, t = self._evaluate(params)
        scale, x, w = np.exp(params[-1]), self.exog, self.weights
        by_low = t.lower_lower * z_low + t.lower_upper * z_high + t.at_lower
        by_high = t.upper_upper * z_high + t.lower_upper * z_low + t.at_upper
        twice = t.lower_lower + t.upper_upper + 2.0 * t.lower_upper
        full = np.empty((len(params), len(params)))
        full[:-1, :-1] = x.T @ ((w * twice)[:, None] * x) / scale**2
        full[:-1, -1] = full[-1, :-1] = x.T @ (w * (by_low + by_high)) / scale
        full[-1, -1] = w @ (by_low * z_low + by_high * z_high)
        return full

    @property
    def start_params(self) -> Array:
        """Least squares on the middles of the intervals, open ones stretched by half."""
        lower, upper = self.endog.T
        log_middle = np.log(np.where(np.isfinite(upper), 0.5 * (lower + upper), 1.5 * lower))
        root = np.sqrt(self.weights)
        location = np.linalg.lstsq(root[:, None] * self.exog, root * log_middle, rcond=None)[0]
        spread = np.average((log_middle - self.exog @ location) ** 2, weights=self.weights)
        return np.append(location, 0.5 * np.log(max(spread, 1e-4)))

    def every(self, step: int) -> IntervalLikelihood:
        """Return the likelihood of every so many rows."""
        part = slice(None, None, step)
        lower, upper = self.endog[part].T
        return IntervalLikelihood(
            lower, upper, self.exog[part], self.law, weights=self.weights[part]
        )

    def _evaluate(self, params: Array) -> tuple[Array, Array, RowTerms]:
        """Evaluate all rows at `params`, once for value, score and Hessian together."""
        if self._now is None or params.tobytes() != self._at:
            scale, fitted = np.exp(params[-1]), self.exog @ params[:-1]
            z_low = np.where(self.ends.lower, (self.log_lower - fitted) / scale, 0.0)
            z_high = np.where(self.ends.upper, (self.log_upper - fitted) / scale, 0.0)
            self._now = z_low, z_high, row_terms(self.law, z_low, z_high, self.ends)
            self._at = params.tobytes()
        return self._now


@dataclass(frozen=True)
class AftFit:
    """A fitted model.

    Attributes:
        law: the law of W.
        params: (β, log scale), shape (k + 1,).
        covariance: inverse of minus the Hessian, shape (k + 1, k + 1).
        log_likelihood: at `params`.
    """

    law: Law
    params: Array
    covariance: Array
    log_likelihood: float

    @property
    def scale(self) -> float:
        """Scale of log T."""
        return float(np.exp(self.params[-1]))

    def quantile(self, share: ArrayLike, x: ArrayLike) -> Array:
        """Return the time by which `share` has failed at covariates `x`, in the data's unit."""
        location = np.asarray(x, dtype=float) @ self.params[:-1]
        return np.exp(location + self.scale * self.law.quantile(np.asarray(share, dtype=float)))


def fit_aft(
    lower: ArrayLike,
    upper: ArrayLike,
    exog: ArrayLike,
    law: Law,
    *,
    weights: ArrayLike | None = None,
) -> AftFit:
    """Fit log T = x'β + scale·W to times known to lie in (lower, upper].

    Args:
        lower: lower ends, shape (n,), 0 or more; equal to the upper end for an exact time.
        upper: upper ends, shape (n,), ∞ where the time is only known to exceed the lower end.
        exog: covariates, shape (n, k), with a column of ones where an intercept is meant.
        law: the law of W.
        weights: how often each row was seen, shape (n,); default once.

    Returns:
        The fit; the arguments are not changed.

    Raises:
        InputError: shapes differ, a number is missing, or an interval is empty.
        NotEstimable: no interval has an upper end, or the covariates are collinear.
        NotConverged: no maximum was found; the text says what to look at.
    """
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    x = np.atleast_2d(np.asarray(exog, dtype=float))
    w = np.ones(len(low)) if weights is None else np.asarray(weights, dtype=float)
    _check(low, high, x, w)
    if not np.isfinite(high).any():
        message = "nothing was rejected: every interval is open to the right"
        raise NotEstimable(message)
    if np.linalg.matrix_rank(x.T @ x, hermitian=True) < x.shape[1]:
        message = "the covariates are collinear: one of them can be written by the others"
        raise NotEstimable(message)
    model = IntervalLikelihood(low, high, x, law, weights=w)
    many = len(low) > 2 * _WARM_START_ROWS
    fit = None
    if many:  # the maximum of a part lies within Newton steps of the whole's
        fit = _newton(model, _by_trust_region(model.every(len(low) // _WARM_START_ROWS)))
    fit = fit or _newton(model, _by_trust_region(model))
    if fit is None:
        message = (
            f"the {law.name} fit did not settle. Look for: a group without a single rejection or "
            "a single acceptance, a covariate that hardly varies, times in mixed units"
        )
        raise NotConverged(message)
    return fit


def _by_trust_region(model: IntervalLikelihood) -> Array:
    result = model.fit(
        method="minimize", min_method="trust-exact", disp=0, skip_hessian=True, gtol=1e-5
    )
    return np.asarray(result.params)


def _newton(model: IntervalLikelihood, params: Array) -> AftFit | None:
    """Take Newton steps until they are far below a standard error; None where they run away."""
    for _ in range(_MOST_STEPS):
        information, score = -model.hessian(params), model.score(params)
        usable = np.isfinite(information).all() and np.isfinite(score).all()
        if not usable or np.linalg.eigvalsh(information)[0] <= 0.0:
            return None
        step = np.linalg.solve(information, score)
        if step @ score < _SETTLED:
            covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
            return AftFit(model.law, params, covariance, float(model.loglikeobs(params).sum()))
        params = params + step
    return None


def _check(lower: Array, upper: Array, exog: Array, weights: Array) -> None:
    rows = len(lower)
    if upper.shape != (rows,) or exog.shape[0] != rows or weights.shape != (rows,):
        message = f"{rows} lower ends need as many upper ends, rows of covariates and weights"
        raise InputError(message)
    if np.isnan(lower).any() or np.isnan(upper).any() or not np.isfinite(exog).all():
        message = "ends and covariates must be numbers"
        raise InputError(message)
    empty = (lower < 0.0) | (upper < lower) | ~np.isfinite(lower) | (upper == 0.0)
    if empty.any():
        message = f"row {int(np.argmax(empty))} is no interval: 0 ≤ lower ≤ upper, lower finite"
        raise InputError(message)
