"""The ages at which packages of a beer are drunk.

    f(age) = sum over shipments of packages · g(age − day shipped) · sold(age)

g is the time from the brewery's gate to the glass, by the kind of package, and sold(age) is 1 up to
the printed day and less after it, for not everybody looks at the date: both as `drunk` assumes
them. Ages are days from packaging.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from analysis.cases.drunk import PAST_DATE, share_drunk
from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_LONGEST = 1_500
_SEEN = 0.0005  # of f; later ages are left out


@dataclass(frozen=True)
class AgesDrunk:
    """f by whole days.

    Attributes:
        weights: of the ages 1, 2, … days, 0 or above, adding to 1, shape (n,).

    Raises:
        InputError: a weight is below 0, or all are 0.
    """

    weights: Array = field(repr=False)

    def __post_init__(self) -> None:
        """Make the weights add to 1."""
        weights = np.asarray(self.weights, dtype=np.float64)
        if weights.ndim != 1 or not np.all(weights >= 0.0) or not weights.sum() > 0.0:
            message = "the ages at which beer is drunk need weights of 0 or above, not all 0"
            raise InputError(message)
        object.__setattr__(self, "weights", weights / weights.sum())

    @property
    def days(self) -> Array:
        """The ages, days, shape (n,)."""
        return np.arange(1.0, len(self.weights) + 1.0)

    def after(self, day: float) -> float:
        """Return the share drunk after a day."""
        return float(self.weights[self.days > day].sum())


def ages_drunk(
    shipments: Sequence[tuple[float, float]], printed_days: float | None, mean_days: float
) -> AgesDrunk:
    """Return the ages at which shipped packages are drunk.

    Args:
        shipments: day from packaging on which packages left, and how many; none: all on day 14.
        printed_days: days from packaging to the printed date; None where it is not known.
        mean_days: from the gate to the glass.
    """
    last = max((day for day, _ in shipments), default=14.0)
    days = np.arange(1.0, min(_LONGEST, last + 12.0 * mean_days) + 1.0)
    weights = np.zeros(len(days))
    for day, packages in shipments or [(14.0, 1.0)]:
        since = days - day
        drunk = share_drunk(since + 0.5, mean_days) - share_drunk(since - 0.5, mean_days)
        weights += packages * drunk
    if printed_days is not None:
        weights[days > printed_days] *= PAST_DATE
    kept = np.cumsum(weights[::-1])[::-1] > _SEEN * weights.sum()
    return AgesDrunk(weights[kept])


def nodes(days: Array, weights: Array, most: int) -> tuple[Array, Array]:
    """Gather ages into a few that stand for as much weight each.

    Args:
        days: ages, rising, shape (n,).
        weights: of each, 0 or above, shape (n,).
        most: of ages wanted.

    Returns:
        Mean age and weight of each group, shape (m,), m ≤ `most`; empty where nothing weighs.
    """
    kept = weights > 0.0
    if not kept.any():
        return np.empty(0), np.empty(0)
    age, weight = days[kept], weights[kept]
    middle = (np.cumsum(weight) - 0.5 * weight) / weight.sum()
    group = np.minimum((middle * most).astype(int), most - 1)
    mass = np.bincount(group, weight, most).astype(np.float64)
    total = np.bincount(group, weight * age, most).astype(np.float64)
    full = mass > 0.0
    return total[full] / mass[full], mass[full]
