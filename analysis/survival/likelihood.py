r"""Log-likelihood of interval-censored log times, row by row, with its derivatives.

A time T is known to lie in (lower, upper]. With z = (log t − location)/scale at either end,

    log L = log(S(z_lower) − S(z_upper))
          = log S(z_lower) + log(−expm1(log S(z_upper) − log S(z_lower)))

lower = 0 leaves log F(z_upper), upper = ∞ leaves log S(z_lower), and lower = upper is an exact
time, whose log density on the time axis is log f(z) − log scale − log t. The form in logs keeps a
gradient where the plain difference underflows.

Reference: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., 2003, section 2.3.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.survival.laws import Law

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class RowTerms:
    """Value and derivatives of each row's log-likelihood in its two z; arrays of shape (n,).

    An exact row keeps all of its derivative in `at_upper` and `upper_upper`; the lower end's are 0.
    """

    value: Array
    at_lower: Array
    at_upper: Array
    lower_lower: Array
    upper_upper: Array
    lower_upper: Array


@dataclass(frozen=True)
class Ends:
    """Which end of each row exists: boolean arrays of shape (n,)."""

    lower: NDArray[np.bool_]
    upper: NDArray[np.bool_]
    exact: NDArray[np.bool_]

    @classmethod
    def of(cls, lower: Array, upper: Array) -> Ends:
        """Tell the ends of intervals (lower, upper] given as times, 0 ≤ lower ≤ upper ≤ ∞."""
        exact = lower == upper
        return cls(lower=(lower > 0.0) & ~exact, upper=np.isfinite(upper), exact=exact)


def row_terms(law: Law, z_lower: Array, z_upper: Array, ends: Ends) -> RowTerms:
    """Evaluate every row; where an end does not exist its z is ignored.

    Args:
        law: the standard law.
        z_lower: standardised log lower ends, shape (n,).
        z_upper: standardised log upper ends, shape (n,).
        ends: which of them exist.

    Returns:
        The terms. Exact rows leave out −log scale − log t, which the caller adds.
    """
    low = np.where(ends.lower, z_lower, 0.0)
    high = np.where(ends.upper, z_upper, 0.0)
    log_s_low = np.where(ends.lower, law.log_survival(low), 0.0)
    log_s_high = np.where(ends.upper, law.log_survival(high), -np.inf)
    log_f_high = law.log_density(high)
    with np.errstate(divide="ignore"):  # an interval of no probability is worth −inf, and says so
        between = log_s_low + np.log(-np.expm1(log_s_high - log_s_low))
    value = np.where(ends.exact, log_f_high, between)

    slope_low = law.density_slope(low)
    slope_high = law.density_slope(high)
    with np.errstate(over="ignore", invalid="ignore"):
        at_lower = np.where(ends.lower, -np.exp(law.log_density(low) - value), 0.0)
        at_upper = np.where(ends.upper, np.exp(log_f_high - value), 0.0)
        lower_lower = at_lower * (slope_low - at_lower)
        upper_upper = at_upper * (slope_high - at_upper)
        lower_upper = -at_lower * at_upper
    if ends.exact.any():
        at_upper = np.where(ends.exact, slope_high, at_upper)
        upper_upper = np.where(ends.exact, law.density_curvature(high), upper_upper)
        lower_upper = np.where(ends.exact, 0.0, lower_upper)
    return RowTerms(value, at_lower, at_upper, lower_lower, upper_upper, lower_upper)
