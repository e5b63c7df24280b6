r"""How a panel's scores of one attribute scatter: a mixed model, by restricted likelihood.

    y = sample + assessor + assessor:sample + e,
    assessor ~ N(0, v_a),  assessor:sample ~ N(0, v_c),  e ~ N(0, v_e)

Samples are fixed. A cell of n glasses weighs τ = n/(v_e + n·v_c); T holds these, X and Z say which
sample and assessor a cell is of, and with the samples swept out N = Z'(T − TX(X'TX)⁻¹X'T)Z is as
small as assessors are few. With q = Z'T(ȳ − X(X'TX)⁻¹X'Tȳ) and K = (N + I/v_a)⁻¹,

    −2 log L = Σ_cells [(n − 1)·log v_e + log(v_e + n·v_c)] + Σ_samples log τ_i + log|I + v_a·N|
          + W/v_e + ȳ'Tȳ − ȳ'TX(X'TX)⁻¹X'Tȳ − q'Kq + (glasses − samples)·log 2π,

W the squares within cells. Where no cell has two glasses, v_c and v_e cannot be told apart and v_e
is both. Intervals of the variances are by profile likelihood, so that they end at 0 where the data
do. The F of the samples is Wald's; its denominator has Satterthwaite's degrees of freedom of the
mean variance of a difference of two samples: the textbook's where data are balanced.

References: Patterson & Thompson, Biometrika 58, 1971, 545-554 (restricted likelihood); Giesbrecht &
Burns, Biometrics 41, 1985, 477-486 (degrees of freedom).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy import optimize, stats

from analysis.errors import NotConverged, NotEstimable

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from analysis.panel.cells import Cells

    Array = NDArray[np.float64]

CONFIDENCE = 0.90  # two-sided
_LEAST_FREEDOM = 5  # glasses beyond samples and assessors
_LEAST_REPEATS = 5  # second glasses that tell an assessor's repeats from the disagreement
_CELL = 2  # place of v_c
_NOTHING = 1e-7  # of all variance: a spread that is none
_STEP = 1e-3  # of a logarithm, for differences
_END = 1e-4  # of the scatter: where an interval ends
_GRADIENT = 1e-9
_MOST_STEPS = 500


class Spread(NamedTuple):
    """A standard deviation with the ends of its interval; lower may be 0."""

    sd: float
    lower: float
    upper: float


class FTest(NamedTuple):
    """An F with its degrees of freedom and the chance of one as large."""

    f: float
    numerator: float
    denominator: float
    p: float


class Sweep(NamedTuple):
    """What the samples leave of the cells under given variances; m samples, k assessors.

    Attributes:
        weights: τ, shape (m, k).
        of_sample: its sums by sample, shape (m,); 1 for a sample without glasses.
        share: of each assessor in a sample's weight, shape (m, k).
        inner: (I + v_a·N)⁻¹, shape (k, k).
        curvature: N, shape (k, k).
        right: q, shape (k,).
        squares: of the cell means about their sample's, weighed.
    """

    weights: Array
    of_sample: Array
    share: Array
    inner: Array
    curvature: Array
    right: Array
    squares: float


def sweep(cells: Cells, residual: float, assessor: float, cell: float) -> Sweep:
    """Sweep the samples out; the variances are v_e, above 0, v_a and v_c."""
    weights = cells.counts / (residual + cells.counts * cell)
    of_sample: Array = weights.sum(axis=1)
    of_sample[of_sample == 0.0] = 1.0
    share = weights / of_sample[:, None]
    level = (share * cells.means).sum(axis=1)
    apart = weights * (cells.means - level[:, None])
    curvature = np.diag(weights.sum(axis=0)) - weights.T @ share
    return Sweep(
        weights,
        of_sample,
        share,
        np.asarray(np.linalg.inv(np.eye(cells.assessors) + assessor * curvature), np.float64),
        curvature,
        apart.sum(axis=0),
        float((apart * cells.means).sum()),
    )


def deviance(cells: Cells, variances: Array) -> tuple[float, Array]:
    """Return −2 log L and its gradient, shape (3,), at the variances v_e, v_a, v_c."""
    residual, assessor, cell = (float(v) for v in variances)
    swept = sweep(cells, residual, assessor, cell)
    filled = cells.counts > 0.0
    counts = cells.counts[filled]
    within, repeats = float(cells.within.sum()), float(cells.repeats.sum())
    k_right = swept.inner @ swept.right
    value = (
        repeats * math.log(residual)
        + float(np.log(residual + counts * cell).sum())
        + float(np.log(swept.of_sample).sum())
        - float(np.linalg.slogdet(swept.inner)[1])
        + within / residual
        + swept.squares
        - assessor * float(swept.right @ k_right)
        + (cells.glasses - cells.samples) * math.log(2.0 * math.pi)
    )
    effect = assessor * k_right
    by_cell = (_leverage(swept, assessor) - _scaled_residuals(cells, swept, effect) ** 2)[filled]
    return value, np.array(
        [
            repeats / residual - within / residual**2 + float((by_cell / counts).sum()),
            float(np.sum(swept.curvature * swept.inner)) - float(k_right @ k_right),
            float(by_cell.sum()),
        ]
    )


def _leverage(swept: Sweep, assessor: float) -> Array:
    """Return the diagonal of V⁻¹ − V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹ by cell."""
    K = assessor * swept.inner
    through = swept.share @ K
    own = (through * swept.share).sum(axis=1)[:, None]
    return np.asarray(
        swept.weights
        - swept.weights**2 / swept.of_sample[:, None]
        - swept.weights**2 * (np.diag(K) - 2.0 * through + own)
    )


def _scaled_residuals(cells: Cells, swept: Sweep, effect: Array) -> Array:
    apart = cells.means - effect
    return np.asarray(swept.weights * (apart - (swept.share * apart).sum(axis=1)[:, None]))


@dataclass(frozen=True)
class Levels:
    """Samples as the middle of the panel would score them, whoever was there.

    Attributes:
        mean: by sample, shape (m,); 0 for a sample without glasses.
        effect: what each assessor scores above the panel, shape (k,).
        own: part of each mean's variance that no other mean has, shape (m,).
        share: of each assessor in a mean, shape (m, k).
        of_effects: covariance of the errors of the effects, shape (k, k).
    """

    mean: Array
    effect: Array
    own: Array
    share: Array
    of_effects: Array

    def error(self, rows: NDArray[np.bool_] | slice = slice(None)) -> float:
        """Return half the mean variance of a difference of two of these samples, two at least."""
        own, share = self.own[rows], self.share[rows]
        shares, m = share.sum(axis=0), len(own)
        apart = np.sum((share.T @ share) * self.of_effects) - shares @ self.of_effects @ shares / m
        return float(own.sum() / m + apart / (m - 1))


def levels_of(cells: Cells, variances: Array) -> Levels:
    """Return the samples of these cells under the variances v_e, v_a, v_c."""
    swept = sweep(cells, *(float(v) for v in variances))
    of_effects = float(variances[1]) * swept.inner
    effect = of_effects @ swept.right
    mean = (swept.share * (cells.means - effect)).sum(axis=1)
    mean[cells.counts.sum(axis=1) == 0.0] = 0.0
    return Levels(mean, effect, 1.0 / swept.of_sample, swept.share, of_effects)


@dataclass(frozen=True)
class PanelFit:
    """A fitted panel.

    Attributes:
        cells: what it was fitted to.
        variances: v_e, v_a, v_c, shape (3,).
        repeated: whether repeats tell v_c from v_e; else v_c is 0 and v_e is both.
        minus_two_log_likelihood: restricted.
    """

    cells: Cells
    variances: Array
    repeated: bool
    minus_two_log_likelihood: float

    @cached_property
    def samples(self) -> FTest:
        """F of the samples."""
        residual, assessor, cell = self.variances
        swept = sweep(self.cells, residual, assessor, cell)
        unexplained = swept.squares - assessor * float(swept.right @ swept.inner @ swept.right)
        own = swept.weights.sum(axis=0)
        sums = (swept.weights * self.cells.means).sum(axis=0)
        shrunk = assessor / (1.0 + assessor * own)
        squares = float((swept.weights * self.cells.means**2).sum() - (sums**2 * shrunk).sum())
        level, weight = (sums - sums * own * shrunk).sum(), (own - own**2 * shrunk).sum()
        freedom = self.cells.samples - 1
        f = float(squares - level**2 / weight - unexplained) / freedom
        denominator = self.freedom(lambda variances: levels_of(self.cells, variances).error())
        return FTest(f, freedom, denominator, float(stats.f.sf(f, freedom, denominator)))

    def freedom(self, of: Callable[[Array], float]) -> float:
        """Return Satterthwaite's degrees of freedom of a variance, a function of the variances."""
        slopes = self._slopes(of)
        return 2.0 * of(self.variances) ** 2 / float(slopes @ self._covariance @ slopes)

    def _slopes(self, of: Callable[[Array], float | Array]) -> Array:
        """Return the slopes of a function by the logarithms of the variances that are not 0."""
        steps = np.exp(_STEP * np.eye(3)[self.variances > 0.0])
        apart = [of(self.variances * step) - of(self.variances / step) for step in steps]
        return np.array(apart) / (2.0 * _STEP)

    @cached_property
    def _covariance(self) -> Array:
        """Covariance of the logarithms of the variances that are not 0, by observed information."""
        there = self.variances > 0.0

        def slope(variances: Array) -> Array:
            return np.asarray((deviance(self.cells, variances)[1] * variances)[there])

        curvature = self._slopes(slope)
        return np.asarray(np.linalg.inv((curvature + curvature.T) / 4.0))

    @cached_property
    def spreads(self) -> tuple[Spread, Spread, Spread]:
        """SD of repeats, of the assessors' levels and of their disagreement over samples."""
        ends = [self._ends(which) for which in range(3)]
        found = [Spread(math.sqrt(v), *end) for v, end in zip(self.variances, ends, strict=True)]
        return found[0], found[1], found[2]

    def _ends(self, which: int) -> tuple[float, float]:
        """Return where the profile likelihood of an SD leaves its interval."""
        if which == _CELL and not self.repeated:
            return 0.0, math.inf
        allowed = self.minus_two_log_likelihood + float(stats.chi2.ppf(CONFIDENCE, 1))
        sd = math.sqrt(self.variances[which])
        scale = math.sqrt(self.variances.sum())

        def beyond(value: float) -> float:
            return self._lowest({which: value}) - allowed

        highest = max(sd, scale / 10.0)
        while beyond(highest := 2.0 * highest) < 0.0:
            if highest > scale * 1e3:
                return 0.0, math.inf
        upper = float(
            optimize.brentq(beyond, max(sd, _NOTHING * scale), highest, xtol=scale * _END)
        )
        lowest = scale * 1e-3
        if sd <= lowest or beyond(lowest) < 0.0:
            return 0.0, upper
        return float(optimize.brentq(beyond, lowest, sd, xtol=scale * _END)), upper

    def _lowest(self, fixed: dict[int, float]) -> float:
        """Return the least −2 log L with some SDs fixed."""
        return _minimum(self.cells, self.variances, fixed, repeated=self.repeated)[0]


def fit_panel(cells: Cells) -> PanelFit:
    """Fit the model.

    Raises:
        NotEstimable: fewer than two samples, or too few glasses beyond samples and assessors, or
            scores without scatter.
        NotConverged: the likelihood has no maximum that could be found.
    """
    freedom = cells.glasses - cells.samples - cells.assessors + 1
    if cells.samples < 2 or cells.assessors < 2 or freedom < _LEAST_FREEDOM:  # noqa: PLR2004
        message = (
            f"{cells.glasses} glasses of {cells.samples} samples by {cells.assessors} assessors "
            "are too few"
        )
        raise NotEstimable(message)
    start = sweep(cells, 1.0, 0.0, 0.0)
    squares = start.squares + float(cells.within.sum())
    of_assessors = float(start.right @ np.linalg.pinv(start.curvature) @ start.right)
    if squares - of_assessors <= _NOTHING * squares:
        message = "the assessors' scores differ by a constant or not at all"
        raise NotEstimable(message)
    scatter = squares / (cells.glasses - cells.samples)
    repeated = float(cells.repeats.sum()) >= _LEAST_REPEATS and bool(cells.within.sum() > 0.0)
    begin = scatter * np.array([0.5, 0.25, 0.25 if repeated else 0.0])
    value, variances = _minimum(cells, begin, {}, repeated=repeated)
    nothing = {w: 0.0 for w in (1, 2) if variances[w] < _NOTHING * variances.sum()}
    if nothing:
        value, variances = _minimum(cells, variances, nothing, repeated=repeated)
    return PanelFit(cells, variances, repeated, value)


def _minimum(
    cells: Cells, begin: Array, fixed: dict[int, float], *, repeated: bool
) -> tuple[float, Array]:
    """Minimise −2 log L over the variances that are not fixed, the others at these SDs.

    The SDs are the coordinates, in units of the whole scatter: smooth at 0 and either sign alike.
    """
    scale = math.sqrt(begin.sum())
    free = [w for w in range(3 if repeated else _CELL) if w not in fixed]
    sds = np.sqrt(begin)
    for which, value in fixed.items():
        sds[which] = value
    sds[free] = np.maximum(sds[free], 0.05 * scale)

    def at(x: Array) -> Array:
        inner = sds.copy()
        inner[free] = x * scale
        return inner

    def value_and_slope(x: Array) -> tuple[float, Array]:
        inner = at(x)
        inner[0] = max(abs(inner[0]), 1e-9 * scale)
        value, gradient = deviance(cells, inner**2)
        return value, np.asarray((2.0 * inner * gradient)[free]) * scale

    found = optimize.minimize(
        value_and_slope,
        sds[free] / scale,
        jac=True,
        method="L-BFGS-B",
        options={"gtol": _GRADIENT, "ftol": 1e-15, "maxiter": _MOST_STEPS},
    )
    if not np.isfinite(found.fun) or found.nit >= _MOST_STEPS:
        message = (
            "the panel's spreads did not settle; look for an attribute scored by almost nobody, or "
            "almost always alike"
        )
        raise NotConverged(message)
    return float(found.fun), at(found.x) ** 2
