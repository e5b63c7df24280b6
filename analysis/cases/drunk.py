"""How soon beer is drunk once it is shipped, and how stale it is by then.

    share drunk t days after shipping = 1 − (1 + 2t/m) · exp(−2t/m)

a gamma law of shape 2 whose mean m is assumed by the kind of package: hardly anything is drunk on
the day of shipping, most of it within some weeks, some of it long after. What is past its printed
date is drunk 0.15 times as often (assumed).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

MEAN_DAYS = {"keg": 20.0, "plastic keg": 20.0, "cask": 10.0}
"""Mean days from shipping to the glass of draught beer (assumed)."""

OTHER_MEAN_DAYS = 35.0
"""The same of a bottle or a can."""

PAST_DATE = 0.15
"""A package past its printed date is drunk so many times as often as one before it."""


def mean_days(kind: str) -> float:
    """Return the mean days from shipping to the glass of a kind of package."""
    return MEAN_DAYS.get(kind, OTHER_MEAN_DAYS)


def share_drunk(days: ArrayLike, mean: ArrayLike) -> Array:
    """Return the share of a shipment that is drunk by so many days after it, elementwise.

    Args:
        days: days since shipping; nothing is drunk before 0.
        mean: mean days from shipping to the glass, above 0.
    """
    waited = 2.0 * np.maximum(np.asarray(days, dtype=np.float64), 0.0) / np.asarray(mean)
    return np.asarray(1.0 - (1.0 + waited) * np.exp(-waited))
