r"""Confidence set of a ratio of two estimates by Fieller's theorem.

For estimates (a, b) of (α, β) with covariance V, (a − θb) / sqrt(V_aa − 2θV_ab + θ²V_bb) follows
a t law at the true θ = α/β. The set of all θ that it does not reject solves

    A·θ² − 2B·θ + C ≤ 0,   A = b² − t²V_bb,   B = ab − t²V_ab,   C = a² − t²V_aa

It is an interval where b is surely not 0 (A > 0); else it is everything outside of a gap, or every
number. The delta method is its limit as t²V_bb / b² goes to 0 and never says that the data cannot
tell.

Reference: Fieller, Journal of the Royal Statistical Society B 16(2), 175-185, 1954.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Shape(Enum):
    """What a confidence set of a ratio looks like."""

    INTERVAL = "from lower to upper"
    OUTSIDE = "up to lower, and from upper on"
    EVERYTHING = "every number"


@dataclass(frozen=True)
class RatioSet:
    """The ratios that the data do not reject.

    Attributes:
        shape: an interval, everything outside of a gap, or every number.
        lower: lower end of the interval or of the gap, −∞ where every number belongs to the set.
        upper: upper end of it, ∞ likewise.
    """

    shape: Shape
    lower: float
    upper: float


def fieller(numerator: float, denominator: float, covariance: Array, quantile: float) -> RatioSet:
    """Return the confidence set of `numerator / denominator`.

    Args:
        numerator: estimate a.
        denominator: estimate b, in any unit, and either sign.
        covariance: of (a, b), shape (2, 2), symmetric.
        quantile: t, of the t law with the degrees of freedom of `covariance`, 0 or more. At its
            0.9 quantile each end of an interval is a one-sided bound at confidence 0.9.
    """
    squared = quantile**2
    a = denominator**2 - squared * covariance[1, 1]
    b = numerator * denominator - squared * covariance[0, 1]
    c = numerator**2 - squared * covariance[0, 0]
    discriminant = b**2 - a * c
    if a > 0.0:
        # It is not negative then, but for rounding.
        half = math.sqrt(max(discriminant, 0.0)) / a
        return RatioSet(Shape.INTERVAL, float(b / a - half), float(b / a + half))
    if a < 0.0 < discriminant:
        half = math.sqrt(discriminant) / -a
        return RatioSet(Shape.OUTSIDE, float(b / a - half), float(b / a + half))
    return RatioSet(Shape.EVERYTHING, -math.inf, math.inf)
