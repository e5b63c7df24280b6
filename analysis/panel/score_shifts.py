r"""How an assessor's scores move against those of the rest.

For a glass of sample s and assessor i at time t, with distances from the good end of the scale,

    score = c_i + m_s · exp(a_i + δ_i t + u) + e        v = C log(1 + score / C), C = 0.4 spans

with m_s what the rest find in the sample, c_i and a_i the assessor's steady level, δ_i the drift a
year, u normal by series (assessor, lot, format, storage: what somebody finds stale stays stale to
them), e of each glass. A drift shows in stale beer and hardly in fresh, which is why it is looked
for as a factor; v makes the scatter about even. Gauss-Newton steps for the steady levels, then
generalised least squares with the spreads of u and e by moments.

Others' scores are first brought to the middle assessor's level. A score is held against the mean of
the others, but weighs by the mean of all, its own among them: the difference is independent of that
one, and weighing by the others' mean would pull slopes towards where samples were stale (Bland and
Altman, Lancet 327 (1986) 307-310, on plotting a difference against the mean).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.panel.measure import FEWEST_OTHERS
from analysis.panel.shift import UNKNOWN, Shifts, clustered

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.panel.measure import Measured

    Array = NDArray[np.float64]
    Numbers = NDArray[np.int64]
    Flags = NDArray[np.bool_]

_CURVE = 0.4  # C, in spans
_TOP = 0.95  # of the scale: above it a score has no room to move
_STEPS = 4
_MOST_LEVEL = 1.5  # of a, either way
_LEAST_SPREAD = 1e-6  # in spans squared
_LEAST_SHARE = 0.1  # of the panel's own spread
_HARDLY = 1e-6  # precision about 0, so that who never had stale beer can be solved for


@dataclass(frozen=True)
class _Linear:
    """The glasses seen from the steady levels.

    Attributes:
        rows: of each assessor, the glasses that can be compared.
        apart: v less what the rest lead to expect; one a glass.
        columns: its derivatives by c, a and δ; shape (glasses, 3).
    """

    rows: tuple[Numbers, ...]
    apart: Array
    columns: Array

    def off_level(self) -> Array:
        """Give how far each glass lies from its assessor's steady level, with no drift at all."""
        left = np.zeros(len(self.apart))
        for rows in self.rows:
            steady = self.columns[rows, :2]
            left[rows] = self.apart[rows] - steady @ _least_squares(steady, self.apart[rows])
        return left


def score_shifts(measured: Measured, reference: Flags) -> Shifts:
    """Tell how each assessor's scores moved against those of the reference.

    Args:
        measured: scores of an attribute.
        reference: of each assessor, whether others are held against them.
    """
    offset, level = np.zeros(len(reference)), np.zeros(len(reference))
    seen = _linear(measured, reference, offset, level)
    for _ in range(_STEPS):
        steps = np.array([_least_squares(seen.columns[r], seen.apart[r]) for r in seen.rows])
        offset = offset + steps[:, 0]
        level = np.clip(level + steps[:, 1], -_MOST_LEVEL, _MOST_LEVEL)
        offset -= np.median(offset[reference])
        level -= np.median(level[reference])
        seen = _linear(measured, reference, offset, level)
    return _solved(measured, seen, reference[measured.who])


def _linear(measured: Measured, reference: Flags, offset: Array, level: Array) -> _Linear:
    scores = measured.value / measured.span
    factor, start = np.exp(level)[measured.who], offset[measured.who]
    brought = (scores - start) / factor
    rest, others = measured.rest(brought, reference[measured.who])
    found = np.maximum((rest * others + brought) / (others + 1.0), 0.0)
    by_curve = 1.0 / (1.0 + np.maximum(start + factor * found, -_CURVE / 2.0) / _CURVE)
    by_level = by_curve * factor * found
    compared = (others >= FEWEST_OTHERS) & (found * np.maximum(factor, 1.0) < _TOP)
    return _Linear(
        rows=tuple(np.flatnonzero(compared & (measured.who == i)) for i in range(len(reference))),
        apart=_curved(scores) - _curved(start + factor * np.maximum(rest, 0.0)),
        columns=np.stack([by_curve, by_level, by_level * measured.years], axis=1),
    )


def _curved(score: Array) -> Array:
    return _CURVE * np.log1p(np.maximum(score, -_CURVE / 2.0) / _CURVE)


def _least_squares(columns: Array, values: Array) -> Array:
    information = columns.T @ columns + _HARDLY * np.eye(columns.shape[1])
    return np.asarray(np.linalg.solve(information, columns.T @ values))


def _solved(measured: Measured, seen: _Linear, counts: Flags) -> Shifts:
    """Weigh glasses by their spreads, and give the slopes with what lies off the steady level."""
    left = seen.off_level()
    by_series, by_level, by_glass = _spreads(measured, seen, left, counts)
    slope, variance = np.zeros(len(seen.rows)), np.full(len(seen.rows), UNKNOWN)
    moved, weight = np.zeros(len(left)), np.zeros(len(left))
    for i, rows in enumerate(seen.rows):
        if not len(rows):
            continue
        columns, z = seen.columns[rows], seen.columns[rows, 1]
        own = np.mean(left[rows] ** 2 - (by_series + by_level) * z**2)
        noise = np.maximum(own, _LEAST_SHARE * by_glass) + by_level * z**2
        weighted = _weighted(columns, z, noise, by_series, measured.series[rows])
        inverse = np.linalg.inv(columns.T @ weighted + _HARDLY * np.eye(3))
        effects = inverse @ (weighted.T @ seen.apart[rows])
        influence = (weighted @ inverse)[:, 2] * (seen.apart[rows] - columns @ effects)
        slope[i] = effects[2]
        variance[i] = max(inverse[2, 2], clustered(measured, rows, influence))
        moved[rows], weight[rows] = z * left[rows] / noise, z**2 / noise
    return Shifts(slope, variance, np.ones(len(slope)), moved, weight)


def _spreads(
    measured: Measured, seen: _Linear, left: Array, counts: Flags
) -> tuple[float, float, float]:
    """Give the variances of u, of what else goes with the level, and of e, by moments."""
    rows = np.concatenate(seen.rows)
    rows = np.sort(rows[counts[rows]])
    z, series = seen.columns[rows, 1], measured.series[rows]
    both, square = left[rows] * z, z**2
    pairs = np.sum(np.bincount(series, square) ** 2) - np.sum(square**2)
    shared = np.sum(np.bincount(series, both) ** 2) - np.sum(both**2)
    by_series = max(shared / pairs if pairs > 0.0 else 0.0, _LEAST_SPREAD)
    design = np.stack([square, np.ones_like(square)], axis=1)
    with_level, by_glass = _least_squares(design, left[rows] ** 2)
    return by_series, max(with_level - by_series, 0.0), max(by_glass, _LEAST_SPREAD)


def _weighted(columns: Array, z: Array, noise: Array, by_series: float, series: Numbers) -> Array:
    """Multiply columns by the inverse of noise + by_series · z zᵀ, block by series."""
    _, place = np.unique(series, return_inverse=True)
    w = z / noise
    shared = by_series / (1.0 + by_series * np.bincount(place, z * w))
    sums = np.zeros((len(shared), columns.shape[1]))
    np.add.at(sums, place, w[:, None] * columns)
    return np.asarray(columns / noise[:, None] - w[:, None] * (shared[:, None] * sums)[place])
