r"""Two meters on the same packages: Deming regression and limits of agreement.

Both meters read with error, so that neither is the x axis. With λ the variance of y's errors over
that of x's, and s the sample (co)variances,

    slope = (s_yy − λ·s_xx + √((s_yy − λ·s_xx)² + 4λ·s_xy²)) / (2·s_xy),    intercept = ȳ − slope·x̄

Intervals by the jackknife (Linnet, Clinical Chemistry 36, 1990, 1463-1473), t with n − 2. Limits of
agreement are mean difference ± 1.96 SD of the differences (Bland & Altman, Lancet 327, 1986,
307-310). In logs the slope is a power and the difference a ratio.

Reference: Deming, Statistical Adjustment of Data, 1943; for λ = 1 it is the line of closest fit of
Pearson, Philosophical Magazine 2, 1901, 559-572.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from analysis.errors import NotEstimable

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

LEAST_PAIRS = 5


@dataclass(frozen=True)
class Estimate:
    """An estimate with the ends of its interval."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Deming:
    """The line through two meters' readings."""

    slope: Estimate
    intercept: Estimate


@dataclass(frozen=True)
class Agreement:
    """How far two meters lie apart on the same package: mean difference y − x, and its limits."""

    bias: Estimate
    lower: float
    upper: float


def deming(
    x: ArrayLike, y: ArrayLike, *, error_ratio: float = 1.0, confidence: float = 0.90
) -> Deming:
    """Fit the line of two meters that both err.

    Args:
        x: one meter's readings, shape (n,).
        y: the other's on the same packages.
        error_ratio: λ, the variance of y's errors over that of x's; above 0.
        confidence: of the two-sided intervals.

    Raises:
        NotEstimable: fewer than five pairs, or readings that do not go together.
    """
    first, second = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    n = len(first)
    if n < LEAST_PAIRS:
        message = f"{n} pairs are too few to compare two meters: {LEAST_PAIRS} are needed"
        raise NotEstimable(message)
    whole = np.array(_line(first, second, error_ratio))
    kept = ~np.eye(n, dtype=np.bool_)
    left_out = np.array([_line(first[row], second[row], error_ratio) for row in kept])
    pseudo = n * whole - (n - 1) * left_out
    error = pseudo.std(axis=0, ddof=1) / math.sqrt(n)
    half = float(special.stdtrit(n - 2, 0.5 + confidence / 2.0)) * error
    slope, intercept = np.column_stack([whole, whole - half, whole + half]).tolist()
    return Deming(Estimate(*slope), Estimate(*intercept))


def _line(x: Array, y: Array, error_ratio: float) -> tuple[float, float]:
    (s_xx, s_xy), (_, s_yy) = np.cov(x, y)
    if s_xy == 0.0:
        message = "the two meters' readings do not go together, so there is no line"
        raise NotEstimable(message)
    apart = s_yy - error_ratio * s_xx
    slope = (apart + math.sqrt(apart**2 + 4.0 * error_ratio * s_xy**2)) / (2.0 * s_xy)
    return slope, float(y.mean() - slope * x.mean())


def limits_of_agreement(x: ArrayLike, y: ArrayLike, *, confidence: float = 0.90) -> Agreement:
    """Return the mean difference of two meters, and where 95 % of the differences lie.

    Raises:
        NotEstimable: fewer than five pairs.
    """
    apart = np.asarray(y, dtype=np.float64) - np.asarray(x, dtype=np.float64)
    n = len(apart)
    if n < LEAST_PAIRS:
        message = f"{n} pairs are too few to compare two meters: {LEAST_PAIRS} are needed"
        raise NotEstimable(message)
    mean, sd = float(apart.mean()), float(apart.std(ddof=1))
    half = float(special.stdtrit(n - 1, 0.5 + confidence / 2.0)) * sd / math.sqrt(n)
    return Agreement(Estimate(mean, mean - half, mean + half), mean - 1.96 * sd, mean + 1.96 * sd)
