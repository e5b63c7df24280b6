r"""How much of the taste complaints goes with the beer's age as the fit has it.

Of n complaints each comes, with the chance p, from packages as the fit expects them to be rejected
for age, and else from any package that is drunk:

    L(p) = Π ( p · S_i / ΣdS + (1 − p) / Σd )

S_i is the share expected to be rejected of the beer of complaint i, d the packages drunk of each
lot, week and customer, S their share. Whatever does not go with age (a warm shelf that no route
knows of, light, a dirty line, taste) is in the second part. p has a flat prior on 0 to 1. Where
p is near 1 the field agrees with the fit, where it is near 0 complaints know nothing of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_GRID = np.linspace(0.0, 1.0, 1001)
_NEVER = 1e-300  # a complaint about beer that nobody was expected to reject
_TAILS = (0.05, 0.95)


@dataclass(frozen=True)
class WithAge:
    """The part of the complaints that goes with age, 0 to 1: mean and 90 % bounds."""

    part: float
    lower: float
    upper: float


def with_age(shares: Array, packages: Array, of_packages: Array) -> WithAge:
    """Return how much of the complaints goes with the expected share.

    Args:
        shares: expected share rejected of each complaint's beer, 0 to 1, shape (n,).
        packages: drunk, 0 or above, shape (m,).
        of_packages: their expected share rejected, shape (m,).
    """
    whole, rejected = packages.sum(), float(packages @ of_packages)
    if not rejected > 0.0:
        return WithAge(0.0, 0.0, 0.0)
    against = shares * whole / rejected  # how much likelier a complaint is if it goes with age
    likelihood = np.maximum(1.0 + _GRID[:, None] * (against - 1.0), _NEVER)
    log_likelihood = np.log(likelihood).sum(axis=1)
    weight = np.exp(log_likelihood - log_likelihood.max())
    weight /= weight.sum()
    below = np.cumsum(weight)
    lower, upper = (float(_GRID[np.searchsorted(below, tail)]) for tail in _TAILS)
    return WithAge(float(weight @ _GRID), lower, upper)


def complaint_weights(part: float, packages: Array, of_packages: Array) -> Array:
    """Return what share of the complaints packages should have, adding to 1, shape (m,).

    Args:
        part: of the complaints that goes with age, 0 to 1.
        packages: drunk, 0 or above, shape (m,).
        of_packages: their expected share rejected, shape (m,); NaN where it is not known: the mean
            of the others then.
    """
    known = ~np.isnan(of_packages)
    rejected = packages * np.where(known, of_packages, 0.0)
    if not rejected.sum() > 0.0:
        return np.asarray(packages / packages.sum())
    middle = rejected.sum() / packages[known].sum()
    rejected = np.where(known, rejected, packages * middle)
    spread = packages / packages.sum()
    return np.asarray(part * rejected / rejected.sum() + (1.0 - part) * spread)
