"""Counts of rare things: exact limits, a group against the whole, and what luck makes of many.

    limits      of the mean of a Poisson count n at 1 − 2t:  χ²(t; 2n)/2  and  χ²(1 − t; 2n + 2)/2
    a group     of the n that all groups have, one that should have the share w of them has
                X ~ binomial(n, w) where its rate is that of all: the exact conditional comparison
                of Poisson rates, which knows that the rate of all is estimated too
    many        of k groups the smallest chance is held against error/k, the next against
                error/(k − 1), and so on: where all rates are alike, any group at all is told of
                with a chance of at most `error`

Reference: Garwood, Biometrika 28, 437-442, 1936; Przyborowski & Wilenski, Biometrika 31, 313-323,
1940; Holm, Scandinavian Journal of Statistics 6, 65-70, 1979.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import scipy

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


def limits(count: ArrayLike, confidence: float) -> tuple[Array, Array]:
    """Return the exact two-sided limits of the mean of Poisson counts, each of their shape.

    Args:
        count: whole numbers, 0 or above.
        confidence: of both limits together, 0 to 1.
    """
    n = np.asarray(count, dtype=np.float64)
    tail = 0.5 * (1.0 - confidence)
    lower = np.where(n > 0.0, 0.5 * scipy.stats.chi2.ppf(tail, 2.0 * np.maximum(n, 1.0)), 0.0)
    return lower, np.asarray(0.5 * scipy.stats.chi2.ppf(1.0 - tail, 2.0 * n + 2.0))


def chance_of_as_many(observed: ArrayLike, total: ArrayLike, share: ArrayLike) -> Array:
    """Return how often luck alone gives a group so many or more, elementwise.

    Args:
        observed: counts of the groups.
        total: count of all groups together.
        share: of the total that each should have, 0 to 1.
    """
    return np.asarray(scipy.stats.binom.sf(_floats(observed) - 1.0, _floats(total), _floats(share)))


def chance_of_as_few(observed: ArrayLike, total: ArrayLike, share: ArrayLike) -> Array:
    """Return how often luck alone gives a group so many or fewer; arguments as above."""
    return np.asarray(scipy.stats.binom.cdf(_floats(observed), _floats(total), _floats(share)))


def among_many(chances: ArrayLike) -> Array:
    """Return the chances corrected for looking at all of them, shape (k,).

    Each is the smallest error at which its group would be told of.
    """
    raw = np.asarray(chances, dtype=np.float64)
    order = np.argsort(raw, kind="stable")
    stepped = np.maximum.accumulate(raw[order] * np.arange(len(raw), 0, -1.0))
    corrected = np.empty_like(raw)
    corrected[order] = np.minimum(stepped, 1.0)
    return corrected


def by_luck_alone(total: ArrayLike, share: ArrayLike, level: float) -> tuple[Array, Array]:
    """Return between which counts luck alone leaves a group so often, elementwise.

    Args:
        total: count of all groups together.
        share: of the total that each should have, 0 to 1.
        level: how often at least, 0 to 1; half of the rest lies on either side.
    """
    n, w = np.broadcast_arrays(_floats(total), _floats(share))
    tail = 0.5 * (1.0 - level)
    lower, upper = (np.asarray(scipy.stats.binom.ppf(at, n, w)) for at in (tail, 1.0 - tail))
    return np.maximum(lower, 0.0), upper


def told_from(total: ArrayLike, share: ArrayLike, error: float) -> Array:
    """Return the smallest count whose chance is at most `error`, elementwise; total + 1: none.

    Args:
        total: count of all groups together.
        share: of the total that each should have, 0 to 1.
        error: the chance, above 0.
    """
    n, w = np.broadcast_arrays(_floats(total), _floats(share))
    first = np.asarray(scipy.stats.binom.isf(error, n, w))  # the smallest x with P(X > x) ≤ error
    return np.asarray(np.clip(first, 0.0, n) + 1.0)


def by_luck(total: ArrayLike, share: ArrayLike, error: float) -> float:
    """Return how many groups luck alone brings to a chance of at most `error`, on average."""
    return float(np.sum(chance_of_as_many(told_from(total, share, error), total, share)))


def _floats(values: ArrayLike) -> Array:
    return np.asarray(values, dtype=np.float64)
