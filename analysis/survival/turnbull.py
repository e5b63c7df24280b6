r"""Non-parametric maximum-likelihood estimate of a distribution from intervals (lower, upper].

Only the innermost intervals, a lower end followed directly by an upper end, can hold mass. With
p_j the mass of interval j, the log-likelihood is Σ_i w_i log Σ_{j in row i} p_j. The masses are
found by the self-consistency steps of Turnbull mixed with iterative convex minorant steps on the
cumulated masses, until hardly any log-likelihood is left to be gained.

With pull_j = Σ_i w_i [j in row i] / P_i the gradient in mass j, P_i the mass that row i covers and
N = Σ_i w_i, the log-likelihood l is concave and Σ_j p_j pull_j = N, so that for any other masses q
l(q) − l(p) ≤ Σ_j (q_j − p_j) pull_j ≤ max_j pull_j − N. This duality gap bounds what is missing
from above without knowing the maximum, and is 0 there.

References: Turnbull, J. Royal Stat. Soc. B 38, 1976, 290-295; Wellner & Zhan, J. Am. Stat. Assoc.
92, 1997, 945-959, for the mixture of the two steps; Lindsay, Annals of Statistics 11, 1983, 86-94,
and Gentleman & Geyer, Biometrika 81, 1994, 618-623, for the gradient as proof of the maximum, from
which the gap follows by concavity.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from analysis.errors import InputError, NotConverged

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Places = NDArray[np.intp]

_MOST_STEPS = 2_000
_GAP = 1e-6  # far below what a reader of the likelihood needs, so that the masses are right as well
_ROUNDING = 1e-11  # of N: below it the gap is rounding error
_NO_MASS = 1e-12


@dataclass(frozen=True)
class Turnbull:
    """The estimate: masses that lie somewhere in (lower, upper], in ascending order.

    Attributes:
        lower: lower ends, open, shape (m,).
        upper: upper ends, closed, shape (m,); the last may be ∞.
        mass: probability of each, shape (m,), all above 0, adding to 1.
        log_likelihood: at the estimate.
        duality_gap: no other masses have a log-likelihood higher by more than this; at most 1e-6,
            or 1e-11 of the sum of the weights where that is more.
    """

    lower: Array
    upper: Array
    mass: Array
    log_likelihood: float
    duality_gap: float

    def share_failed(self, time: ArrayLike) -> tuple[Array, Array]:
        """Return the least and the greatest share failed by `time`; they differ inside a gap."""
        at = np.asarray(time, dtype=float)[..., None]
        least = np.where(self.upper <= at, self.mass, 0.0).sum(axis=-1)
        greatest = np.where(self.lower < at, self.mass, 0.0).sum(axis=-1)
        return least, greatest


def turnbull(lower: ArrayLike, upper: ArrayLike, weights: ArrayLike | None = None) -> Turnbull:
    """Estimate the distribution of times known to lie in (lower, upper].

    Args:
        lower: lower ends, shape (n,); equal to the upper end for an exact time.
        upper: upper ends, shape (n,), ∞ where open.
        weights: how often each row was seen, shape (n,); default once. A row of weight 0 counts
            as not there; the others should be within a factor of a million of each other, or the
            masses may not settle.

    Raises:
        InputError: no rows of a weight above 0, an interval is empty, or a weight is negative or
            not finite.
        NotConverged: the masses did not settle.
    """
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    w = np.ones(len(low)) if weights is None else np.asarray(weights, dtype=float)
    if not (np.isfinite(w) & (w >= 0.0)).all():
        message = "weights must be finite and not negative"
        raise InputError(message)
    seen = w > 0.0
    low, high, w = low[seen], high[seen], w[seen]
    if len(low) == 0 or not (low <= high).all():
        message = "there must be at least one interval of a weight above 0, each with lower ≤ upper"
        raise InputError(message)
    low = np.where(low == high, np.nextafter(low, -np.inf), low)
    left, right = _innermost(low, high)
    first = np.searchsorted(left, low, side="left")
    past = np.searchsorted(right, high, side="right")
    mass = _masses(first, past, w, len(left))
    kept = mass > _NO_MASS
    mass = np.where(kept, mass, 0.0) / mass[kept].sum()
    log_likelihood = float(w @ np.log(_covered(mass, first, past)))
    gap = max(float(_pull(mass, first, past, w).max() - w.sum()), 0.0)
    return Turnbull(left[kept], right[kept], mass[kept], log_likelihood, gap)


def _innermost(low: Array, high: Array) -> tuple[Array, Array]:
    """Find each lower end directly followed by an upper end; at a tie the closed one is first."""
    ends = np.concatenate([np.unique(low), np.unique(high)])
    opens = np.repeat([True, False], [len(np.unique(low)), len(np.unique(high))])
    order = np.lexsort((opens, ends))
    ends, opens = ends[order], opens[order]
    start = np.flatnonzero(opens[:-1] & ~opens[1:])
    return ends[start], ends[start + 1]


def _covered(mass: Array, first: Places, past: Places) -> Array:
    cumulated = np.concatenate([[0.0], np.cumsum(mass)])
    return np.asarray(cumulated[past] - cumulated[first])


def _pull(mass: Array, first: Places, past: Places, w: Array) -> Array:
    """Gradient of the log-likelihood in each mass: the sum of w/P over the rows that cover it."""
    share = w / _covered(mass, first, past)
    steps = np.bincount(first, share, len(mass) + 1) - np.bincount(past, share, len(mass) + 1)
    return np.asarray(np.cumsum(steps)[:-1])


def _masses(first: Places, past: Places, w: Array, size: int) -> Array:
    total = w.sum()
    enough = max(_GAP, _ROUNDING * total)
    mass = np.full(size, 1.0 / size)
    for _ in range(_MOST_STEPS):
        pull = _pull(mass, first, past, w)
        if pull.max() - total <= enough:
            return mass
        mass = _convex_minorant_step(mass * pull / total, first, past, w)
    message = "the non-parametric estimate did not settle; look for intervals without overlap"
    raise NotConverged(message)


def _convex_minorant_step(mass: Array, first: Places, past: Places, w: Array) -> Array:
    """Move the cumulated masses to the isotonic fit of a Newton step, halved until it is better."""
    covered = _covered(mass, first, past)
    size = len(mass)
    slope, bend = w / covered, w / covered**2
    gradient = (np.bincount(past, slope, size + 1) - np.bincount(first, slope, size + 1))[1:size]
    curvature = (np.bincount(past, bend, size + 1) + np.bincount(first, bend, size + 1))[1:size]
    if size == 1:
        return mass
    curvature = np.maximum(curvature, 1e-12 * curvature.max())
    now = np.cumsum(mass)[:-1]
    wanted = scipy.optimize.isotonic_regression(now + gradient / curvature, weights=curvature).x
    wanted = np.clip(wanted, 0.0, 1.0)
    before = w @ np.log(covered)
    step = 1.0
    while step > 1e-3:  # noqa: PLR2004 - below a thousandth the plain step is as good
        cumulated = np.concatenate([[0.0], now + step * (wanted - now), [1.0]])
        moved = np.diff(cumulated)
        reached = _covered(moved, first, past)
        if (reached > 0.0).all() and w @ np.log(reached) > before:
            return moved
        step *= 0.5
    return mass
