r"""Likelihood of one series of verdicts that may be wrong.

The age T at which an assessor would begin to reject a lot in one storage is never seen, and each
verdict may be wrong: P(reject | not yet stale) = α, a false alarm, P(accept | stale) = δ, a miss.
For pulls a_1 ≤ … ≤ a_K of one series, with F the distribution of T and w_j the probability of the
K answers given that T lies in (a_j, a_{j+1}],

    L = w_K + Σ_k (w_{k−1} − w_k) · F(a_k)

With α = δ = 0 and answers that do not go back and forth this is the interval-censored likelihood.
A serving of fresh beer has F = 0: it tells α and brackets nothing. α and δ are 0.45 · expit(η),
below the one half of a guess.

Everything a series depends on is its predictor r = (location of log T₂₀, Ea, log scale, η_α, η_δ):
F is the law of W at z = (log a(Ea) − location) / scale on the clock of 20 °C. Value, gradient and
Hessian in r are exact; so is the third derivative, contracted with a covariance of r, that the
gradient of a Laplace approximation asks for.

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

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]

MOST_WRONG = 0.45  # of answers; half would be a guess
PREDICTORS = 5
_WIDTHS = (2, 3, 5, 8)  # lengths at which another array begins
_NO_LIKELIHOOD = 1e-100
_FAR_ENERGY = 400.0
_FAR = 40.0  # a step that tries parameters without sense must find a finite, poor value there
LOCATION, ENERGY, LOG_SCALE, ALPHA, DELTA = range(PREDICTORS)
"""Places in a series' predictor."""


def error_share(eta: Array) -> Array:
    """Return the share of wrong answers 0.45 · expit(η), elementwise."""
    return np.asarray(MOST_WRONG * expit(eta))


@dataclass(frozen=True)
class SeriesTerms:
    """log L of each series with its derivatives in the predictor.

    Attributes:
        value: shape (n,).
        gradient: shape (n, 5).
        hessian: shape (n, 5, 5).
    """

    value: Array
    gradient: Array
    hessian: Array


class Verdicts:
    """All series, ready to be evaluated at any predictor.

    Attributes:
        law: the law of W.
        n: number of series.
    """

    def __init__(self, series: pl.DataFrame, law: Law) -> None:
        """Take the series of `Evidence`: one row each, ages and answers as lists by age."""
        self.law = law
        self.n = series.height
        # series of like length share an array: most are short, and padding costs as much as pulls
        width = np.digitize(series["stored_days"].list.len().to_numpy(), _WIDTHS)
        self._blocks = [
            _Block(series[rows], rows)
            for rows in (np.flatnonzero(width == w) for w in np.unique(width))
        ]

    def terms(self, r: Array) -> SeriesTerms:
        """Return value, gradient and Hessian at predictors `r` of shape (n, 5)."""
        value = np.empty(self.n)
        gradient = np.empty((self.n, PREDICTORS))
        hessian = np.empty((self.n, PREDICTORS, PREDICTORS))
        for block in self._blocks:
            jet = _Jet(block, self.law, r[block.rows], 2)
            value[block.rows] = np.log(jet.likelihood)
            gradient[block.rows] = jet.first() / jet.likelihood[:, None]
            hessian[block.rows] = jet.second() / jet.likelihood[:, None, None]
        hessian -= gradient[:, :, None] * gradient[:, None, :]
        return SeriesTerms(value, gradient, hessian)

    def third_contracted(self, r: Array, covariance: Array) -> Array:
        """Return Σ_bc ∂³ log L / ∂r_a ∂r_b ∂r_c · C_bc for C of shape (n, 5, 5); shape (n, 5)."""
        contracted = np.empty((self.n, PREDICTORS))
        for block in self._blocks:
            jet = _Jet(block, self.law, r[block.rows], 3)
            own = covariance[block.rows]
            scale = jet.likelihood
            g = jet.first() / scale[:, None]
            h = jet.second() / scale[:, None, None]
            along = np.einsum("nbc,nc->nb", own, g)
            within = np.einsum("nbc,nbc->n", h, own)
            contracted[block.rows] = (
                jet.third(own) / scale[:, None]
                - 2.0 * np.einsum("nab,nb->na", h, along)
                - within[:, None] * g
                + 2.0 * g * np.einsum("nb,nb->n", g, along)[:, None]
            )
        return contracted


class _Block:
    """Series of like length in padded arrays (m, K); `rows` are their places among all."""

    def __init__(self, series: pl.DataFrame, rows: NDArray[np.intp]) -> None:
        self.rows = rows
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


class _Jet:
    """L and its derivatives in r; arrays of pulls have shape (n, K)."""

    def __init__(self, block: _Block, law: Law, r: Array, most: int) -> None:
        """Evaluate what derivatives up to the order `most` need."""
        aged = block.aged
        energy = r[:, ENERGY, None].clip(0.0, _FAR_ENERGY)
        age = block.clock.log_age(block.stored, energy)
        rate = np.exp(-r[:, LOG_SCALE, None].clip(-_FAR, _FAR))
        z = ((age.value - r[:, LOCATION, None]) * rate).clip(-_FAR, _FAR)
        self.failed = np.where(aged, law.share_failed(z), 0.0)
        density = np.where(aged, np.exp(law.log_density(z)), 0.0)
        slope = law.density_slope(z)
        self.f = (density, density * slope, density * (slope**2 + law.density_curvature(z)))
        # derivatives of z, by how often it is taken in location, Ea and log scale
        self.z = {
            (1, 0, 0): -rate * np.ones_like(z),
            (0, 1, 0): rate * age.slope,
            (0, 0, 1): -z,
            (0, 2, 0): rate * age.curvature,
            (0, 1, 1): -rate * age.slope,
            (1, 0, 1): rate * np.ones_like(z),
            (0, 0, 2): z,
            (0, 3, 0): rate * age.third,
            (0, 2, 1): -rate * age.curvature,
            (0, 1, 2): rate * age.slope,
            (1, 0, 2): -rate * np.ones_like(z),
            (0, 0, 3): -z,
        }
        false_alarm, miss = (_ErrorJet(r[:, place, None]) for place in (ALPHA, DELTA))
        real, rejected = block.real, block.rejected
        fresh = [_first(part) for part in false_alarm.answers(rejected, real, most)]
        stale = [_rest(part) for part in miss.answers(~rejected, real, most)]
        # w_j: the first j answers came from fresh beer, the rest from stale beer
        w = np.exp(fresh[0] + stale[0])
        alpha, delta = _moments(fresh), _moments(stale)
        self.w = {
            (i, j): w * alpha[i] * delta[j] for i in range(most + 1) for j in range(most + 1 - i)
        }
        self.drop = {order: part[:, :-1] - part[:, 1:] for order, part in self.w.items()}
        # far from sense rounding may leave nothing, or less
        self.likelihood = np.maximum(self._of_errors((0, 0)), _NO_LIKELIHOOD)

    def _of_errors(self, order: tuple[int, int]) -> Array:
        """Derivative of L in η_α and η_δ alone: average the place of T."""
        return np.asarray(self.w[order][:, -1] + (self.drop[order] * self.failed).sum(axis=1))

    def _of_failed(self, places: tuple[int, ...]) -> Array:
        """Derivative of F(z) in up to three of location, Ea and log scale, by the chain rule."""
        one = [self._z((place,)) for place in places]
        if len(places) == 1:
            return np.asarray(self.f[0] * one[0])
        if len(places) == 2:  # noqa: PLR2004 - a pair
            return np.asarray(self.f[1] * one[0] * one[1] + self.f[0] * self._z(places))
        a, b, c = places
        pairs = self._z((a, b)) * one[2] + self._z((a, c)) * one[1] + self._z((b, c)) * one[0]
        return np.asarray(
            self.f[2] * one[0] * one[1] * one[2] + self.f[1] * pairs + self.f[0] * self._z(places)
        )

    def _z(self, places: tuple[int, ...]) -> Array:
        taken = (places.count(LOCATION), places.count(ENERGY), places.count(LOG_SCALE))
        return self.z[taken] if taken in self.z else np.zeros(1)

    def _derivative(self, places: tuple[int, ...]) -> Array:
        """Derivative of L in up to three places of the predictor, shape (n,)."""
        errors = (places.count(ALPHA), places.count(DELTA))
        of_age = tuple(place for place in places if place < ALPHA)
        if not of_age:
            return self._of_errors(errors)
        return np.asarray((self.drop[errors] * self._of_failed(of_age)).sum(axis=1))

    def first(self) -> Array:
        """Gradient of L, shape (n, 5)."""
        return np.column_stack([self._derivative((a,)) for a in range(PREDICTORS)])

    def second(self) -> Array:
        """Hessian of L, shape (n, 5, 5)."""
        hessian = np.empty((len(self.likelihood), PREDICTORS, PREDICTORS))
        for a in range(PREDICTORS):
            for b in range(a, PREDICTORS):
                hessian[:, a, b] = hessian[:, b, a] = self._derivative((a, b))
        return hessian

    def third(self, covariance: Array) -> Array:
        """Third derivatives of L contracted with a covariance in the last two places."""
        contracted = np.zeros((len(self.likelihood), PREDICTORS))
        for a in range(PREDICTORS):
            for b in range(a, PREDICTORS):
                for c in range(b, PREDICTORS):
                    part = self._derivative((a, b, c))
                    for x, y, z in {(a, b, c), (b, a, c), (c, a, b)}:
                        twice = 1.0 if y == z else 2.0
                        contracted[:, x] += twice * part * covariance[:, y, z]
        return contracted


class _ErrorJet:
    """log p and log(1 − p) of p = 0.45 · expit(η) with three derivatives in η, shape (n, 1)."""

    def __init__(self, eta: Array) -> None:
        q = expit(eta.clip(-_FAR, _FAR))
        share = MOST_WRONG * q
        # with s = log p: s' = 1 − q, and q' = q (1 − q)
        bend = q * (1.0 - q)
        self.wrong = (np.log(share), 1.0 - q, -bend, -bend * (1.0 - 2.0 * q))
        # with t = log(1 − p): t' = −p (1 − q) / (1 − p)
        odds = share / (1.0 - share)
        first = -odds * (1.0 - q)
        odds_slope = odds * (1.0 - q) / (1.0 - share)
        second = -odds_slope * (1.0 - q) + odds * bend
        odds_bend = odds_slope * (1.0 - q) / (1.0 - share) + odds * (
            -bend / (1.0 - share) + (1.0 - q) * share * (1.0 - q) / (1.0 - share) ** 2
        )
        third = -odds_bend * (1.0 - q) + 2.0 * odds_slope * bend + odds * bend * (1.0 - 2.0 * q)
        self.right = (np.log1p(-share), first, second, third)

    def answers(self, wrong: NDArray[np.bool_], real: NDArray[np.bool_], most: int) -> list[Array]:
        """Return the log probability of each answer and its derivatives, each of shape (n, K)."""
        return [
            np.where(wrong, mistaken, correct) * real
            for mistaken, correct in zip(self.wrong[: most + 1], self.right, strict=False)
        ]


def _moments(logs: list[Array]) -> list[Array]:
    """Turn log w and its derivatives into those of w, over w: 1, l', l'² + l'', …."""
    moments: list[Array] = [np.ones_like(logs[0]), logs[1], logs[1] * logs[1] + logs[2]]
    if len(logs) > 3:  # noqa: PLR2004 - the third derivative is asked for
        moments.append(logs[1] * (moments[2] + 2.0 * logs[2]) + logs[3])
    return moments


def _first(by_pull: Array) -> Array:
    """Sum over the first j pulls, j = 0 … K: (n, K) to (n, K + 1)."""
    sums = np.zeros((by_pull.shape[0], by_pull.shape[1] + 1))
    np.cumsum(by_pull, axis=1, out=sums[:, 1:])
    return sums


def _rest(by_pull: Array) -> Array:
    """Sum over the pulls after the first j."""
    first = _first(by_pull)
    return np.asarray(first[:, -1:] - first)


def _padded(lists: pl.Series, filling: float) -> tuple[Array, NDArray[np.bool_]]:
    """Turn lists of unequal length into an array (n, K), and tell its real cells."""
    longest = int(lists.list.len().max() or 0)  # type: ignore[arg-type]
    real = np.arange(longest) < lists.list.len().to_numpy()[:, None]
    padded = np.full(real.shape, filling)
    padded[real] = lists.explode().to_numpy()
    return padded, real
