r"""Limits of a control chart of single values, and its running mean.

    individuals      centre ± 3 · s,      s = mean moving range / d₂,   d₂ = 1.128
    moving range     0 … D₄ · mean moving range,                        D₄ = 3.267
    EWMA             z_t = λ·x_t + (1 − λ)·z_{t−1},   z_0 = centre
                     centre ± 3·s·√(λ/(2 − λ) · (1 − (1 − λ)^{2t}))

Values in any unit, here log ppb. The spread comes from neighbours in time, so that a slow drift
does not widen the limits that should show it. A point of which only a bound is known has no value
here: NaN, passed over.

Reference: NIST/SEMATECH e-Handbook of Statistical Methods, doi:10.18434/M32189, 6.3.2.2 and
6.3.2.4.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError, NotEstimable

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

D2 = 1.128  # mean range of two standard normal values, as the handbook rounds it
D4 = 3.267  # upper three-sigma limit of a range of two, in mean ranges
LEAST_POINTS = 8
SIGMAS = 3.0
WEIGHT = 0.2


@dataclass(frozen=True)
class Limits:
    """Where points lie while nothing changes.

    Attributes:
        centre: mean of the stated period.
        sd: from its moving ranges, above 0.
        points: how many points it rests on.
    """

    centre: float
    sd: float
    points: int

    @property
    def lower(self) -> float:
        """Lower three-sigma limit."""
        return self.centre - SIGMAS * self.sd

    @property
    def upper(self) -> float:
        """Upper three-sigma limit."""
        return self.centre + SIGMAS * self.sd

    @property
    def moving_range(self) -> float:
        """Upper limit of the difference between two neighbours."""
        return D4 * D2 * self.sd


def individuals_limits(values: ArrayLike) -> Limits:
    """Return the limits that a period's points give.

    Args:
        values: in the order of time, shape (n,); NaN where a point is only a bound.

    Raises:
        NotEstimable: fewer than eight points, or all alike.
    """
    known = np.asarray(values, dtype=np.float64)
    known = known[~np.isnan(known)]
    if len(known) < LEAST_POINTS:
        message = f"{len(known)} points are too few for limits: {LEAST_POINTS} are needed"
        raise NotEstimable(message)
    sd = float(np.abs(np.diff(known)).mean() / D2)
    if not sd > 0.0:
        message = "all points are alike, so there are no limits"
        raise NotEstimable(message)
    return Limits(float(known.mean()), sd, len(known))


def ewma(values: ArrayLike, limits: Limits, weight: float = WEIGHT) -> tuple[Array, Array]:
    """Return the exponentially weighted mean at each point, and the half width of its limits.

    Args:
        values: in the order of time, shape (n,); a NaN leaves the mean as it was.
        limits: centre and spread.
        weight: λ, above 0 and up to 1.

    Raises:
        InputError: the weight is outside of its range.
    """
    if not 0.0 < weight <= 1.0:
        message = f"the weight {weight} is not above 0 and up to 1"
        raise InputError(message)
    points = np.asarray(values, dtype=np.float64)
    known = ~np.isnan(points)
    seen = np.cumsum(known)
    held = 1.0 - weight
    if known.any():
        from scipy.signal import lfilter

        start = np.array([held * limits.centre])
        means, _ = lfilter([weight], [1.0, -held], points[known], zi=start)
        mean = np.concatenate([[limits.centre], means])[seen]
    else:
        mean = np.full(len(points), limits.centre)
    spread = weight / (2.0 - weight) * (1.0 - held ** (2.0 * seen))
    return mean, SIGMAS * limits.sd * np.sqrt(spread)
