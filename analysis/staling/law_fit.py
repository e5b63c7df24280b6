"""One law fitted: the spreads that maximise its marginal likelihood.

Where the answers of one assessor fit two stories about as well (early and often missing, or late
and rarely), the curvature that the approximation rests on all but vanishes in one direction.
`Laplace` holds it, which leaves Φ with an edge there; a maximum on an edge is sought from neighbour
to neighbour instead of by the gradient.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import scipy

from analysis.errors import NotConverged
from analysis.staling.design import SPREADS
from analysis.staling.laplace import Laplace

if TYPE_CHECKING:
    from collections.abc import Callable

    import polars as pl
    from numpy.typing import NDArray

    from analysis.staling.design import Layout
    from analysis.staling.mode import Mode
    from analysis.survival.laws import Law

    Array = NDArray[np.float64]
    Downhill = Callable[[Array], tuple[float, Array]]

NARROWEST_LOG_SPREAD, WIDEST_LOG_SPREAD = -6.0, 1.0
_BOUNDS = (NARROWEST_LOG_SPREAD, WIDEST_LOG_SPREAD)
_STEEP = 0.5  # a gradient in log spreads that no smooth maximum has
_START = np.array([0.06, 0.12, 0.10, 0.30])
_STEP, _WIDE_STEP = 0.05, 0.3  # in log spreads
_LEVEL = 1e-3  # a gain in Φ that is none
_NOWHERE = 1e6  # −Φ where the effects do not settle


@dataclass(frozen=True)
class LawFit:
    """One law at the maximum of its marginal likelihood.

    Attributes:
        law: the law.
        log_likelihood: marginal log-likelihood Φ, priors included.
        log_spreads: logs of the spreads there, shape (4,).
        spread_covariance: their covariance by the curvature of Φ, shape (4, 4).
        mode: the effects there.
        laplace: the approximation, for further inference.
    """

    law: Law
    log_likelihood: float
    log_spreads: Array
    spread_covariance: Array
    mode: Mode = field(repr=False)
    laplace: Laplace = field(repr=False)


@dataclass(frozen=True)
class LawToFit:
    """A law with the series and the layout that `designed` returns: one part of a fit.

    Attributes:
        start: logs of the spreads to begin from, where a like fit has found them.
    """

    series: pl.DataFrame
    layout: Layout
    law: Law
    start: Array | None = None

    def __str__(self) -> str:
        """Name the part for a person."""
        return f"law {self.law.name}"


def try_law(part: LawToFit) -> LawFit | NotConverged:
    """Fit one law; that it did not settle is an answer too."""
    try:
        return fit_law(part.series, part.layout, part.law, part.start)
    except NotConverged as error:
        return error


def fit_law(series: pl.DataFrame, layout: Layout, law: Law, start: Array | None = None) -> LawFit:
    """Maximise one law's marginal likelihood over the spreads.

    Args:
        series: as `designed` returns them.
        layout: likewise.
        law: the law of W.
        start: logs of the spreads to begin from, shape (4,).

    Raises:
        NotConverged: the effects or the spreads did not settle.
    """
    laplace = Laplace(series, layout, law)
    downhill = _downhill(laplace)
    found = scipy.optimize.minimize(
        downhill,
        np.log(_START) if start is None else start,
        jac=True,
        method="L-BFGS-B",
        bounds=[_BOUNDS] * len(SPREADS),
        options={"gtol": 5e-2, "maxiter": 60},
    ).x
    step = _STEP
    if _steep(found, downhill(found)[1]):
        found, step = _lowest_around(downhill, found), _WIDE_STEP
    value, gradient = downhill(found)
    if value >= _NOWHERE:
        message = f"the spreads of the {law.name} fit did not settle"
        raise NotConverged(message)
    return LawFit(
        law=law,
        log_likelihood=-value,
        log_spreads=found,
        spread_covariance=_spread_covariance(downhill, found, gradient, step),
        mode=laplace.mode(np.exp(found)),
        laplace=laplace,
    )


def _downhill(laplace: Laplace) -> Downhill:
    """Return −Φ and its gradient, each mode sought from the one before."""
    last: list[Mode] = []

    def downhill(log_spreads: Array) -> tuple[float, Array]:
        near = (last[-1].effects, last[-1].lots) if last else None
        try:
            value, gradient, mode = laplace.marginal(log_spreads, near)
        except NotConverged:
            return _NOWHERE, np.zeros(len(log_spreads))
        last.append(mode)
        return -value, -gradient

    return downhill


def _steep(at: Array, gradient: Array) -> bool:
    return bool(np.abs(np.clip(at - gradient, *_BOUNDS) - at).max() > _STEEP)


def _lowest_around(downhill: Downhill, at: Array) -> Array:
    """Go from neighbour to lower neighbour, in ever shorter steps: an edge has no gradient."""
    lowest, step = downhill(at)[0], _WIDE_STEP
    while step >= _STEP:
        steps = step * np.vstack([np.eye(len(at)), -np.eye(len(at))])
        around = np.clip(at + steps, *_BOUNDS)
        values = [downhill(neighbour)[0] for neighbour in around]
        if min(values) < lowest - _LEVEL:
            at, lowest = around[int(np.argmin(values))], min(values)
        else:
            step /= 2.0
    return at


def _spread_covariance(downhill: Downhill, at: Array, gradient: Array, step: float) -> Array:
    """Invert the curvature of −Φ by differences of its gradient; nothing wider than SD 1 in log."""
    curvature = np.empty((len(at), len(at)))
    for place in range(len(at)):
        moved = at.copy()
        moved[place] += step
        curvature[place] = (downhill(moved)[1] - gradient) / step
    size, direction = np.linalg.eigh(0.5 * (curvature + curvature.T))
    return np.asarray((direction / np.maximum(size, 1.0)) @ direction.T)
