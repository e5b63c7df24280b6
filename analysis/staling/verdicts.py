r"""Likelihood of verdicts that may be wrong.

The age T at which an assessor would begin to reject a lot in one storage is never seen, and each
verdict may be wrong: P(reject | not yet stale) = α, a false alarm, P(accept | stale) = δ, a miss.
For pulls a_1 ≤ … ≤ a_K of one series, with F the distribution of T and w_j the probability of the
K answers given that T lies in (a_j, a_{j+1}],

    L = w_K + Σ_k (w_{k−1} − w_k) · F(a_k)

With α = δ = 0 and answers that do not go back and forth this is the interval-censored likelihood.
A serving of fresh beer has F = 0: it tells α and brackets nothing. α and δ of an assessor are
0.45 · expit(η), below the one half of a guess, with η shared plus the assessor's own part.

F is the law of W at z = (log a − log T₂₀) / scale on the clock of 20 °C. All derivatives are exact.

Reference for misclassified interval censoring: García-Zattera, Jara & Komárek, Biometrics 72, 2016,
473-483.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy.special import expit

from analysis.staling.clock import Clock
from analysis.staling.design import MOST_WRONG
from analysis.survival.penalised import PenalisedLikelihood

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.staling.design import Layout
    from analysis.survival.laws import Law
    from analysis.survival.penalised import Prior

    Array = NDArray[np.float64]


def error_share(eta: Array) -> Array:
    """Return the share of wrong answers 0.45 · expit(η), elementwise."""
    return np.asarray(MOST_WRONG * expit(eta))


@dataclass(frozen=True)
class ErrorShare:
    """A share of wrong answers and the derivatives of log p and log(1 − p) in η, shape (n,)."""

    log_wrong: Array
    log_right: Array
    wrong_slope: Array
    right_slope: Array
    wrong_bend: Array
    right_bend: Array

    @classmethod
    def at(cls, eta: Array) -> ErrorShare:
        """Evaluate p = 0.45 · expit(η)."""
        share = error_share(eta)
        slope = share * (1.0 - share / MOST_WRONG)
        bend = slope * (1.0 - 2.0 * share / MOST_WRONG)
        wrong, right = slope / share, -slope / (1.0 - share)
        return cls(
            np.log(share),
            np.log1p(-share),
            wrong,
            right,
            bend / share - wrong**2,
            -bend / (1.0 - share) - right**2,
        )


@dataclass(frozen=True)
class _Terms:
    """What value, score and Hessian share; n series of at most K pulls."""

    likelihood: Array  # (n,)
    z: Array  # (n, K), as are the next seven
    slope: Array
    curvature: Array
    by_z: Array  # first derivative of log L
    by_zz: Array  # second derivative of L, over L
    by_z_alpha: Array
    by_z_delta: Array
    by_alpha: Array  # (n,), as are the rest, all over L
    by_delta: Array
    by_alpha_alpha: Array
    by_delta_delta: Array
    by_alpha_delta: Array


class VerdictLikelihood(PenalisedLikelihood):
    """The likelihood above over all series; parameters in the order of the layout."""

    def __init__(self, series: pl.DataFrame, layout: Layout, law: Law, prior: Prior) -> None:
        """Take the series of `Evidence`: one row each, ages and answers as lists by age."""
        self.layout = layout
        location, self.energy_rows = layout.rows(series)
        self.clock = Clock.of(
            *(
                series[name].to_numpy()[:, None]
                for name in ("before_days", "before_temp_c", "storage_temp_c")
            )
        )
        self.stored, self.real = _padded(series["stored_days"], 1.0)
        rejected, _ = _padded(series["rejected"].list.eval(pl.element().cast(pl.Float64)), 0.0)
        self.rejected = rejected > 0.0
        self.aged = series["aged"].to_numpy()[:, None] & self.real
        self.assessor = np.array([layout.assessors.index(a) for a in series["assessor"]])
        self._at: bytes = b""
        self._now: _Terms | None = None
        super().__init__(law, prior, self.stored, location)

    def loglikeobs(self, params: Array) -> Array:
        """Return each series' log-likelihood, shape (n,)."""
        return np.log(self._evaluate(params).likelihood)

    def score_obs(self, params: Array) -> Array:
        """Return each series' score, shape (n, k)."""
        t = self._evaluate(params)
        return np.column_stack(
            [
                self._along(t, t.by_z, params),
                -(t.by_z * t.z).sum(axis=1),
                self._spread(t.by_alpha),
                self._spread(t.by_delta),
            ]
        )

    def rows_hessian(self, params: Array) -> Array:
        """Return the second derivatives of the sum over series, shape (k, k)."""
        t, layout = self._evaluate(params), self.layout
        scale, x, e = np.exp(params[layout.log_scale]), self.exog, self.energy_rows
        both = (t.by_zz * t.slope**2).sum(axis=1) / scale**2
        both += (t.by_z * t.curvature).sum(axis=1) / scale
        mixed = e.T @ (((t.by_zz * t.slope).sum(axis=1) / scale**2)[:, None] * x)
        alone = t.by_zz.sum(axis=1) / scale**2
        full = np.zeros((layout.size, layout.size))
        place, at_scale = slice(0, layout.log_scale), layout.log_scale
        full[place, place] = (
            e.T @ (both[:, None] * e) - mixed - mixed.T + x.T @ (alone[:, None] * x)
        )
        full[place, at_scale] = self._along(t, -(t.by_zz * t.z + t.by_z), params).sum(axis=0)
        full[at_scale, at_scale] = (t.by_zz * t.z**2 + t.by_z * t.z).sum()
        alpha, delta = layout.false_alarm, layout.miss
        for columns, by_z in ((alpha, t.by_z_alpha), (delta, t.by_z_delta)):
            full[place, columns] = self._along(t, by_z, params).T @ self._spread(np.ones(len(x)))
            full[at_scale, columns] = -self._spread((by_z * t.z).sum(axis=1)).sum(axis=0)
        once = self._spread(np.ones(len(x)))
        full[alpha, alpha] = once.T @ self._spread(t.by_alpha_alpha)
        full[delta, delta] = once.T @ self._spread(t.by_delta_delta)
        full[alpha, delta] = once.T @ self._spread(t.by_alpha_delta)
        upper = np.triu(full)
        score = self.score_obs(params)
        return upper + np.triu(full, 1).T - score.T @ score

    def errors(self, params: Array) -> tuple[Array, Array]:
        """Return η of the false alarms and of the misses of each series' assessor, shape (n,)."""
        alpha, delta = params[self.layout.false_alarm], params[self.layout.miss]
        return alpha[0] + alpha[1:][self.assessor], delta[0] + delta[1:][self.assessor]

    def _along(self, t: _Terms, by_z: Array, params: Array) -> Array:
        """Carry derivatives in z of each pull over to the location parameters, shape (n, k)."""
        scale = np.exp(params[self.layout.log_scale])
        by_energy = (by_z * t.slope).sum(axis=1)[:, None] * self.energy_rows
        return np.asarray((by_energy - by_z.sum(axis=1)[:, None] * self.exog) / scale)

    def _spread(self, by_eta: Array) -> Array:
        """Give a derivative in η to the shared part and to the assessor's own, shape (n, 1 + m)."""
        spread = np.zeros((len(by_eta), 1 + len(self.layout.assessors)))
        spread[:, 0] = by_eta
        spread[np.arange(len(by_eta)), 1 + self.assessor] = by_eta
        return spread

    def _evaluate(self, params: Array) -> _Terms:
        """Evaluate all series at `params`, once for value, score and Hessian together."""
        if self._now is None or params.tobytes() != self._at:
            self._now, self._at = self._terms(params), params.tobytes()
        return self._now

    def _terms(self, params: Array) -> _Terms:
        location = params[: self.layout.log_scale]
        age = self.clock.log_age(self.stored, (self.energy_rows @ location)[:, None])
        z = (age.value - (self.exog @ location)[:, None]) / np.exp(params[self.layout.log_scale])
        failed = np.where(self.aged, self.law.share_failed(z), 0.0)
        density = np.where(self.aged, np.exp(self.law.log_density(z)), 0.0)
        false_alarm, miss = (ErrorShare.at(eta[:, None]) for eta in self.errors(params))
        fresh = self._answers(false_alarm, wrong_is_reject=True)
        stale = self._answers(miss, wrong_is_reject=False)
        # w_j: the first j answers came from fresh beer, the rest from stale beer
        w = np.exp(_first(fresh[0]) + _rest(stale[0]))
        a, d = _first(fresh[1]), _rest(stale[1])
        likelihood = _mixed(w, failed)
        drop, drop_alpha, drop_delta = (
            (q[:, :-1] - q[:, 1:]) * density / likelihood[:, None] for q in (w, w * a, w * d)
        )
        return _Terms(
            likelihood=likelihood,
            z=z,
            slope=age.slope,
            curvature=age.curvature,
            by_z=drop,
            by_zz=drop * self.law.density_slope(z),
            by_z_alpha=drop_alpha,
            by_z_delta=drop_delta,
            by_alpha=_mixed(w * a, failed) / likelihood,
            by_delta=_mixed(w * d, failed) / likelihood,
            by_alpha_alpha=_mixed(w * (a**2 + _first(fresh[2])), failed) / likelihood,
            by_delta_delta=_mixed(w * (d**2 + _rest(stale[2])), failed) / likelihood,
            by_alpha_delta=_mixed(w * a * d, failed) / likelihood,
        )

    def _answers(self, error: ErrorShare, *, wrong_is_reject: bool) -> tuple[Array, Array, Array]:
        """Return log probability of each answer with its slope and bend in η, shape (n, K)."""
        wrong = self.rejected if wrong_is_reject else ~self.rejected
        return (
            np.where(self.real, np.where(wrong, error.log_wrong, error.log_right), 0.0),
            np.where(self.real, np.where(wrong, error.wrong_slope, error.right_slope), 0.0),
            np.where(self.real, np.where(wrong, error.wrong_bend, error.right_bend), 0.0),
        )


def _first(by_pull: Array) -> Array:
    """Sum over the first j pulls, j = 0 … K: (n, K) to (n, K + 1)."""
    return np.cumsum(np.pad(by_pull, ((0, 0), (1, 0))), axis=1)


def _rest(by_pull: Array) -> Array:
    """Sum over the pulls after the first j."""
    first = _first(by_pull)
    return np.asarray(first[:, -1:] - first)


def _mixed(by_place: Array, failed: Array) -> Array:
    """Average a quantity of each place of T over where T may lie: (n, K + 1), (n, K) to (n,)."""
    return np.asarray(by_place[:, -1] + ((by_place[:, :-1] - by_place[:, 1:]) * failed).sum(axis=1))


def _padded(lists: pl.Series, filling: float) -> tuple[Array, NDArray[np.bool_]]:
    """Turn lists of unequal length into an array (n, K), and tell its real cells."""
    longest = int(lists.list.len().max() or 0)  # type: ignore[arg-type]
    real = np.arange(longest) < lists.list.len().to_numpy()[:, None]
    padded = np.full(real.shape, filling)
    padded[real] = lists.explode().to_numpy()
    return padded, real
