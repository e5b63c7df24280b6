"""How far an assessor has moved from their own usual level: what both kinds of measure share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.panel.measure import Measured

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]


UNKNOWN = 1e6
"""The variance of a slope that nothing tells."""


@dataclass(frozen=True)
class Shifts:
    """What a fit says of each assessor's movement, relative to a reference of other assessors.

    Attributes:
        slope: of each assessor, a year, in the fit's own unit; shape (assessors,).
        variance: of the slope; `UNKNOWN` where nothing tells it.
        said: what a slope is multiplied by for a shift in the unit of `moved / weight`.
        moved, weight: of each glass; over any glasses of an assessor, the sum of `moved` over that
            of `weight` is how far they lay from the assessor's usual level. 0 where not compared.
    """

    slope: Array
    variance: Array
    said: Array
    moved: Array
    weight: Array


def clustered(measured: Measured, mine: NDArray[np.int64], parts: Array) -> float:
    """Give the variance of the sum of some glasses' parts, glasses of a cluster going together.

    The larger of those by series and by session, each with its small-sample factor G / (G − 1).

    Args:
        measured: the glasses.
        mine: which of them the parts belong to.
        parts: one each.
    """
    found = 0.0
    for cluster in (measured.series, measured.session):
        _, place = np.unique(cluster[mine], return_inverse=True)
        sums = np.bincount(place, parts)
        if len(sums) > 1:
            found = max(found, float(sums @ sums) * len(sums) / (len(sums) - 1.0))
    return found
