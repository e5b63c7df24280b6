r"""Accelerated-failure-time model for interval-censored times, by penalised maximum likelihood.

    log T = x'β + scale · W,        T in (lower, upper]

T in any unit of time, x the row's covariates, W one of the standard laws, and the last parameter
is log scale, so that nothing is bounded. Parameters may carry independent normal priors, which add
−½ Σ ((θ − mean)/SD)² to the log-likelihood. First and second derivatives are exact.

Reference: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 2003, chapter 6.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from statsmodels.base.model import GenericLikelihoodModel

from analysis.errors import InputError, NotConverged, NotEstimable
from analysis.survival.likelihood import Ends, RowTerms, row_terms

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_WARM_START_ROWS = 4_000
_SETTLED = 1e-9  # size of a Newton step, in squared standard errors


@dataclass(frozen=True)
class Prior:
    """Independent normal priors: arrays of shape (k + 1,), the last for log scale; SD ∞ is flat."""

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


@dataclass(frozen=True)
class Residuals:
    """log end − location at both ends of each row, with derivatives in the location parameters.

    Attributes:
        lower: residual of the lower ends, shape (n,).
        upper: residual of the upper ends, shape (n,).
        lower_jacobian: shape (n, k).
        upper_jacobian: shape (n, k).
        curvature: second derivatives as (lower (n,), upper (n,), direction (n, k)): row i's Hessian
            is its number times the outer product of its direction; None where residuals are linear.
    """

    lower: Array
    upper: Array
    lower_jacobian: Array
    upper_jacobian: Array
    curvature: tuple[Array, Array, Array] | None = None


class IntervalLikelihood(GenericLikelihoodModel):  # type: ignore[misc] # statsmodels is untyped
    """The model above as a statsmodels likelihood; parameters are (β, log scale)."""

    def __init__(
        self,
        lower: Array,
        upper: Array,
        exog: Array,
        law: Law,
        *,
        weights: Array | None = None,
        prior: Prior | None = None,
    ) -> None:
        """Take intervals (lower, upper] of shape (n,), covariates (n, k) and row weights (n,)."""
        self.law = law
        self.ends = Ends.of(lower, upper)
        self.weights = np.ones(len(lower)) if weights is None else weights
        self.prior = prior or Prior.flat(exog.shape[1] + 1)
        with np.errstate(divide="ignore"):
            self.log_lower, self.log_upper = np.log(lower), np.log(upper)
        self._at: bytes = b""
        self._now: tuple[Residuals, Array, Array, RowTerms] | None = None
        super().__init__(np.column_stack([lower, upper]), exog)
        self.df_model = exog.shape[1] + 1 - self.k_constant
        self.df_resid = len(lower) - exog.shape[1] - 1

    def residuals(self, location: Array) -> Residuals:
        """Return log end − x'β. A subclass whose clock depends on a parameter says so here."""
        fitted = self.exog @ location
        jacobian = -self.exog
        low = np.where(self.ends.lower, self.log_lower, 0.0) - fitted
        high = np.where(self.ends.upper, self.log_upper, 0.0) - fitted
        return Residuals(low, high, jacobian, jacobian)

    def loglikeobs(self, params: Array) -> Array:
        """Return each row's log-likelihood, weighted, without the prior; shape (n,)."""
        _, _, _, terms = self._evaluate(params)
        exact = np.where(
            self.ends.exact, -params[-1] - np.where(self.ends.exact, self._logs(), 0), 0
        )
        return np.asarray(self.weights * (terms.value + exact))

    def loglike(self, params: Array) -> float:
        """Return the log-likelihood plus the log prior, its constant left out."""
        pull = (params - self.prior.mean) * np.sqrt(self.prior.precision)
        return float(self.loglikeobs(params).sum() - 0.5 * pull @ pull)

    def score_obs(self, params: Array) -> Array:
        """Return each row's score, weighted, without the prior; shape (n, k + 1)."""
        residuals, z_low, z_high, t = self._evaluate(params)
        scale = np.exp(params[-1])
        location = (
            t.at_lower[:, None] * residuals.lower_jacobian
            + t.at_upper[:, None] * residuals.upper_jacobian
        ) / scale
        log_scale = -(t.at_lower * z_low + t.at_upper * z_high) - self.ends.exact
        return np.asarray(self.weights[:, None] * np.column_stack([location, log_scale]))

    def score(self, params: Array) -> Array:
        """Return the gradient of `loglike`, shape (k + 1,)."""
        pull = (params - self.prior.mean) * self.prior.precision
        return np.asarray(self.score_obs(params).sum(axis=0) - pull)

    def hessian(self, params: Array) -> Array:
        """Return the second derivatives of `loglike`, shape (k + 1, k + 1)."""
        residuals, z_low, z_high, t = self._evaluate(params)
        scale, w = np.exp(params[-1]), self.weights
        jacobian_low, jacobian_high = residuals.lower_jacobian, residuals.upper_jacobian
        if jacobian_low is jacobian_high:
            both = w * (t.lower_lower + t.upper_upper + 2.0 * t.lower_upper)
            location = jacobian_low.T @ (both[:, None] * jacobian_low)
        else:
            cross = jacobian_low.T @ ((w * t.lower_upper)[:, None] * jacobian_high)
            location = (
                jacobian_low.T @ ((w * t.lower_lower)[:, None] * jacobian_low)
                + jacobian_high.T @ ((w * t.upper_upper)[:, None] * jacobian_high)
                + cross
                + cross.T
            )
        location = location / scale**2
        if residuals.curvature is not None:
            bend_low, bend_high, direction = residuals.curvature
            bend = w * (t.at_lower * bend_low + t.at_upper * bend_high) / scale
            location = location + direction.T @ (bend[:, None] * direction)
        by_low = t.lower_lower * z_low + t.lower_upper * z_high + t.at_lower
        by_high = t.upper_upper * z_high + t.lower_upper * z_low + t.at_upper
        mixed = -(jacobian_low.T @ (w * by_low) + jacobian_high.T @ (w * by_high)) / scale
        size = len(params)
        full = np.empty((size, size))
        full[:-1, :-1] = location
        full[:-1, -1] = full[-1, :-1] = mixed
        full[-1, -1] = w @ (by_low * z_low + by_high * z_high)
        return full - np.diag(self.prior.precision)

    @property
    def start_params(self) -> Array:
        """Least squares on the middles of the intervals, open ones stretched by half."""
        lower, upper = self.endog.T
        middle = np.where(np.isfinite(upper), 0.5 * (lower + upper), 1.5 * lower)
        log_middle = np.log(middle)
        root = np.sqrt(self.weights)
        location = np.linalg.lstsq(root[:, None] * self.exog, root * log_middle, rcond=None)[0]
        spread = np.average((log_middle - self.exog @ location) ** 2, weights=self.weights)
        return np.append(location, 0.5 * np.log(max(spread, 1e-4)))

    def _logs(self) -> Array:
        return np.asarray(self.log_upper)

    def _evaluate(self, params: Array) -> tuple[Residuals, Array, Array, RowTerms]:
        """Evaluate all rows at `params`, once for value, score and Hessian together."""
        if self._now is None or params.tobytes() != self._at:
            residuals = self.residuals(params[:-1])
            scale = np.exp(params[-1])
            z_low = np.where(self.ends.lower, residuals.lower / scale, 0.0)
            z_high = np.where(self.ends.upper, residuals.upper / scale, 0.0)
            terms = row_terms(self.law, z_low, z_high, self.ends)
            self._now, self._at = (residuals, z_low, z_high, terms), params.tobytes()
        return self._now


@dataclass(frozen=True)
class AftFit:
    """A fitted model.

    Attributes:
        law: the law of W.
        params: (β, log scale), shape (k + 1,).
        covariance: inverse of minus the Hessian of the penalised log-likelihood.
        log_likelihood: at `params`, without the prior.
        model: the likelihood, for scores and further inference.
    """

    law: Law
    params: Array
    covariance: Array
    log_likelihood: float
    model: IntervalLikelihood = field(repr=False)

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
    prior: Prior | None = None,
) -> AftFit:
    """Fit log T = x'β + scale·W to times known to lie in (lower, upper].

    Args:
        lower: lower ends, shape (n,), 0 or more; equal to the upper end for an exact time.
        upper: upper ends, shape (n,), ∞ where the time is only known to exceed the lower end.
        exog: covariates, shape (n, k), with a column of ones where an intercept is meant.
        law: the law of W.
        weights: how often each row was seen, shape (n,); default once.
        prior: normal priors of (β, log scale); default flat.

    Returns:
        The fit; the arguments are not changed.

    Raises:
        InputError: shapes differ, a number is missing, or an interval is empty.
        NotEstimable: no interval has an upper end, or the covariates are collinear.
        NotConverged: no maximum was found.
    """
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    x = np.atleast_2d(np.asarray(exog, dtype=float))
    w = np.ones(len(low)) if weights is None else np.asarray(weights, dtype=float)
    _check(low, high, x, w)
    if prior is None and np.linalg.matrix_rank(x) < x.shape[1]:
        message = "the covariates are collinear: one of them can be written by the others"
        raise NotEstimable(message)
    return maximise(IntervalLikelihood(low, high, x, law, weights=w, prior=prior), thin=_thinned)


def maximise(
    model: IntervalLikelihood,
    *,
    thin: Callable[[IntervalLikelihood], IntervalLikelihood] | None = None,
) -> AftFit:
    """Find the maximum of a likelihood by a trust region with exact derivatives, then polish.

    Args:
        model: the likelihood.
        thin: model to a smaller one of every so many rows, for a start near the maximum.

    Raises:
        NotEstimable: no interval has an upper end.
        NotConverged: no maximum was found; the text says what to look at.
    """
    if not model.ends.upper.any():
        message = "nothing was rejected: every interval is open to the right"
        raise NotEstimable(message)
    start = model.start_params
    if thin is not None and len(model.log_lower) > 2 * _WARM_START_ROWS:
        start = maximise(thin(model)).params
    result = model.fit(
        start, method="minimize", min_method="trust-exact", disp=0, skip_hessian=True, gtol=1e-5
    )
    params, information = _polish(model, np.asarray(result.params))
    return AftFit(
        law=model.law,
        params=params,
        covariance=np.asarray(np.linalg.inv(information), dtype=np.float64),
        log_likelihood=float(model.loglikeobs(params).sum()),
        model=model,
    )


def _polish(model: IntervalLikelihood, params: Array) -> tuple[Array, Array]:
    """Take Newton steps until they are far below a standard error; return minus the Hessian too."""
    for _ in range(5):
        information, score = -model.hessian(params), model.score(params)
        usable = np.isfinite(information).all() and np.isfinite(score).all()
        if not usable or np.linalg.eigvalsh(information)[0] <= 0.0:
            break
        step = np.linalg.solve(information, score)
        if step @ score < _SETTLED:
            return params, information
        params = params + step
    message = (
        f"the {model.law.name} fit did not settle. Look for: a group without a single rejection "
        "or without a single acceptance, a covariate that hardly varies, ages in mixed units"
    )
    raise NotConverged(message)


def _thinned(model: IntervalLikelihood) -> IntervalLikelihood:
    every = slice(None, None, len(model.log_lower) // _WARM_START_ROWS)
    lower, upper = model.endog[every].T
    return IntervalLikelihood(
        lower,
        upper,
        model.exog[every],
        model.law,
        weights=model.weights[every],
        prior=model.prior,
    )


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
