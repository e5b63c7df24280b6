r"""How an assessor's verdicts move against those of the rest, where no attribute is scored.

For a glass of assessor i at time t,

    log odds of a rejection = α_i + β_i L + δ_i t        L = log (k + ½) / (n − k + ½)

with k of the n others having rejected the sample. α_i and β_i are the assessor's steady threshold
and how closely it follows the rest; δ_i is the drift a year, said as a share of glasses: δ_i times
the mean of p (1 − p).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from analysis.panel.measure import FEWEST_OTHERS
from analysis.panel.shift import UNKNOWN, Shifts, clustered

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.panel.measure import Measured

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]

_PRIOR = 0.01  # precision of every coefficient about 0: verdicts that never differ have an end
_STEPS = 50
_SETTLED = 1e-9


def verdict_shifts(measured: Measured, reference: Flags) -> Shifts:
    """Tell how each assessor's verdicts moved against those of the reference.

    Args:
        measured: rejections.
        reference: of each assessor, whether others are held against them.
    """
    rest, others = measured.rest(measured.value, reference[measured.who])
    rejected = rest * others
    odds = np.log((rejected + 0.5) / (others - rejected + 0.5))
    columns = np.stack([np.ones_like(odds), odds, measured.years], axis=1)
    assessors = len(reference)
    slope, variance = np.zeros(assessors), np.full(assessors, UNKNOWN)
    said = np.zeros(assessors)
    moved, weight = np.zeros(len(odds)), np.zeros(len(odds))
    for i in range(assessors):
        rows = np.flatnonzero((others >= FEWEST_OTHERS) & (measured.who == i))
        if not len(rows):
            continue
        own = measured.value[rows]
        effects, chance, inverse = _logistic(columns[rows], own)
        _, steady, _ = _logistic(columns[rows, :2], own)
        influence = (columns[rows] @ inverse)[:, 2] * (own - chance)
        slope[i] = effects[2]
        variance[i] = max(inverse[2, 2], clustered(measured, rows, influence))
        said[i] = np.mean(chance * (1.0 - chance))
        moved[rows], weight[rows] = own - steady, 1.0
    return Shifts(slope, variance, said, moved, weight)


def _logistic(columns: Array, rejected: Array) -> tuple[Array, Array, Array]:
    """Fit by Newton's steps; give the effects, each glass's chance, the inverse information."""
    prior = _PRIOR * np.eye(columns.shape[1])
    effects = np.zeros(columns.shape[1])
    for _ in range(_STEPS):
        chance = special.expit(columns @ effects)
        information = (columns * (chance * (1.0 - chance))[:, None]).T @ columns + prior
        step = np.linalg.solve(information, columns.T @ (rejected - chance) - prior @ effects)
        effects = effects + step
        if np.abs(step).max() < _SETTLED:
            break
    return (
        effects,
        np.asarray(special.expit(columns @ effects)),
        np.asarray(np.linalg.inv(information)),
    )
