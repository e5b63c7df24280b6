r"""Accelerated-failure-time model for interval-censored times, by penalised maximum likelihood.

    log T = x'β + scale · W,        T in (lower, upper]

T in any unit of time, x the row's covariates, W one of the standard laws, and the last parameter
is log scale, so that nothing is bounded. First and second derivatives are exact.

Reference: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 2003, chapter 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError, NotEstimable
from analysis.survival.likelihood import Ends, RowTerms, row_terms
from analysis.survival.penalised import Fit, PenalisedLikelihood, Prior, maximise

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

_WARM_START_ROWS = 4_000


class IntervalLikelihood(PenalisedLikelihood):
    """The model above; parameters are (β, log scale)."""

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
        self.ends = Ends.of(lower, upper)
        self.weights = np.ones(len(lower)) if weights is None else weights
        with np.errstate(divide="ignore"):
            self.log_lower = np.where(self.ends.lower, np.log(lower), 0.0)
            self.log_upper = np.where(self.ends.upper, np.log(upper), 0.0)
        self._at: bytes = b""
        self._now: tuple[Array, Array, RowTerms] | None = None
        ends = np.column_stack([lower, upper])
        super().__init__(law, prior or Prior.flat(exog.shape[1] + 1), ends, exog)

    def loglikeobs(self, params: Array) -> Array:
        """Return each row's log-likelihood, weighted, without the prior; shape (n,)."""
        _, _, terms = self._evaluate(params)
        of_time = np.where(self.ends.exact, params[-1] + self.log_upper, 0.0)
        return np.asarray(self.weights * (terms.value - of_time))

    def score_obs(self, params: Array) -> Array:
        """Return each row's score, weighted, without the prior; shape (n, k + 1)."""
        z_low, z_high, t = self._evaluate(params)
        location = -(t.at_lower + t.at_upper)[:, None] * self.exog / np.exp(params[-1])
        log_scale = -(t.at_lower * z_low + t.at_upper * z_high) - self.ends.exact
        return np.asarray(self.weights[:, None] * np.column_stack([location, log_scale]))

    def rows_hessian(self, params: Array) -> Array:
        """Return the second derivatives of the rows' sum, shape (k + 1, k + 1)."""
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
            lower, upper, self.exog[part], self.law, weights=self.weights[part], prior=self.prior
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
class AftFit(Fit):
    """A fitted model; `params` are (β, log scale)."""

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
    if not np.isfinite(high).any():
        message = "nothing was rejected: every interval is open to the right"
        raise NotEstimable(message)
    if prior is None and np.linalg.matrix_rank(x) < x.shape[1]:
        message = "the covariates are collinear: one of them can be written by the others"
        raise NotEstimable(message)
    model = IntervalLikelihood(low, high, x, law, weights=w, prior=prior)
    start = model.start_params
    if len(low) > 2 * _WARM_START_ROWS:
        part = model.every(len(low) // _WARM_START_ROWS)
        start = maximise(part, part.start_params).params
    return AftFit(**vars(maximise(model, start)))


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
