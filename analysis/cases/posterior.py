r"""What evidence leaves of the accounts, and when that decides.

    p(account) = π(account) · mean R(account) / Σ π · mean R          mean over draws of the fit

Within a draw p uses that draw's R; its bounds are the 5 and 95 % quantiles over the draws, each
with the weight that the evidence gives it and with assumptions of its own. It is decided for an
account where

    p ≥ 0.80,  its lower bound ≥ 0.50,  and all evidence together favours it 3 times or more,

so that a prior alone never decides; else it cannot be decided.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LIKELY = 0.80
LOWER = 0.50
FAVOURED = 3.0
_BOUNDS = (0.05, 0.95)


@dataclass(frozen=True)
class Posterior:
    """What the evidence leaves of the accounts that can be.

    Attributes:
        share: of each, adding to 1, shape (accounts,).
        lower, upper: its bounds, 90 % between them, shape (accounts,).
        decided: place of the account for which it is decided; None where it cannot be.
    """

    share: Array
    lower: Array
    upper: Array
    decided: int | None


def posterior(ratios: Array, prior: Array) -> Posterior:
    """Return what evidence leaves of the accounts.

    Args:
        ratios: R by account and draw, in any common unit, shape (accounts, d).
        prior: of each account, adding to 1, shape (accounts,).
    """
    joint = prior[:, None] * ratios
    by_draw = joint.sum(axis=0)
    total = by_draw.sum()
    if not total > 0.0:
        return Posterior(prior, np.zeros(len(prior)), np.ones(len(prior)), None)
    share = joint.sum(axis=1) / total
    within = joint / np.where(by_draw > 0.0, by_draw, 1.0)
    lower, upper = (
        np.array([_quantile(one, by_draw / total, q) for one in within]) for q in _BOUNDS
    )
    likeliest = int(share.argmax())
    decided = (
        share[likeliest] >= LIKELY
        and lower[likeliest] >= LOWER
        and odds_factor(share[likeliest], prior[likeliest]) >= FAVOURED
    )
    return Posterior(share, lower, upper, likeliest if decided else None)


def odds_factor(share: float, before: float) -> float:
    """Return by how much the odds of a share rose; 1 where both are sure."""
    if min(share, before) >= 1.0 or max(share, before) <= 0.0:
        return 1.0
    if share >= 1.0 or before <= 0.0:
        return math.inf
    return share / (1.0 - share) * (1.0 - before) / before if before < 1.0 else 0.0


def _quantile(values: Array, weights: Array, share: float) -> float:
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    return float(values[order][min(int(np.searchsorted(reached, share)), len(values) - 1)])
