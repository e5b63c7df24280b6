r"""The typical value of several lots, or pairs of lots, some of which are known as bounds only.

    m = mean of log x,    exp(m ± t · SD / √n)

x being ppb of lots, or ratios of two lots. A value of which only bounds are known enters m by its
likelihood (`censored`) and adds to n what it is worth beside a clean one; the SD is that of the
clean ones. t has one degree of freedom less than n.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import stats

from analysis.oxygen.censored import censored_means

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

CONFIDENCE = 0.90
"""Of an interval, two-sided."""


@dataclass(frozen=True)
class Typical:
    """The geometric mean and its interval.

    Attributes:
        value: of x; None where all are bounds.
        lower: None with fewer than two clean values, or where these are all alike.
        upper: likewise.
        number: values that say anything.
        bounds: values among them of which only bounds are known.
    """

    value: float | None
    lower: float | None
    upper: float | None
    number: int
    bounds: int


def typical(log_lower: ArrayLike, log_upper: ArrayLike) -> Typical:
    """Return the geometric mean of values with its 90 % interval.

    Args:
        log_lower: what log x is at least, shape (n,); −∞ for no bound.
        log_upper: what it is at most; equal to `log_lower` for a clean value, ∞ for no bound.
    """
    low, high = (np.asarray(bound, dtype=np.float64) for bound in (log_lower, log_upper))
    says = np.isfinite(low) | np.isfinite(high)
    low, high = low[says], high[says]
    clean = low == high
    number, bounds = len(low), int((~clean).sum())
    if not clean.any():
        return Typical(None, None, None, number, bounds)
    values = low[clean]
    if len(values) == 1 or np.ptp(values) == 0.0:
        return Typical(float(np.exp(values.mean())), None, None, number, bounds)
    group = np.zeros(number, dtype=np.int64)
    found = censored_means(low, high, group, 1, float(values.std(ddof=1)))
    middle = float(found.mean[0])
    reach = float(
        found.standard_error[0] * stats.t.ppf(0.5 + CONFIDENCE / 2, found.effective[0] - 1)
    )
    lower, upper = np.exp([middle - reach, middle + reach]).tolist()
    return Typical(float(np.exp(middle)), lower, upper, number, bounds)
