r"""Lines through the scores of an attribute, and the age at which they pass its cut-off.

The response is the room that a score leaves to the worst end of its scale, so that it falls as the
beer gets worse. With t the age in days and r the room of a pull that weighs w,

    zero order    r = a + b·t + e         var e = σ²/w         crossing at the room of the cut-off
    first order   r = exp(a + b·t) + e    var e = σ²/w         crossing at its logarithm

so that the first order, an exponential approach to the end of the scale, is a line in the log of
the room. It is fitted by weighted non-linear least squares, which a pull at the very end of the
scale does not upset, and its covariance is that of the linear fit to the working response of a
Gaussian law with a log link at the solution (McCullagh & Nelder, Generalized Linear Models, 1989,
section 2.5). The order is the one of the lower AICc: both have three
parameters and the same errors, so that it is the one of the smaller sum of squares.

Pulls of one lot hang together, and so do pulls of one session, which share their fresh beer. The
covariance is therefore the two-way clustered sandwich

    V = V_lot + V_session − V_lot∩session

(one-way, or plain, where there is but one lot or session), raised to the plain covariance in
directions where it falls below it: few clusters must not feign precision. Its degrees of freedom
are the smaller number of clusters less one, and no more than those of the plain fit.

Reference: Cameron, Gelbach & Miller, J. Business & Economic Statistics 29, 2011, 238-249.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg, optimize, stats
from statsmodels.regression.linear_model import WLS

from analysis.errors import NotEstimable
from analysis.survival.fieller import RatioSet, fieller

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_FEWEST_PULLS = 3
_TURN_LEVEL = 0.05
_SPLITS = (0.25, 0.5, 0.75)
_START = 0.1
_SETTLED = 1e-10
_WORST_CONDITION = 1e4
_FURTHEST = 30.0  # exp must not overflow on the way


@dataclass(frozen=True)
class Pulls:
    """The pulls of one style and attribute, the youngest first; arrays of shape (n,).

    Attributes:
        age: days at 20 °C.
        room: from the panel's mean to the worst end of the scale, in units of the score.
        weight: glasses that the mean is worth.
        lot: a number for each lot, 0 … lots − 1.
        session: a number for each session, likewise.
    """

    age: Array
    room: Array
    weight: Array
    lot: NDArray[np.int64]
    session: NDArray[np.int64]


@dataclass(frozen=True)
class _Fit:
    """Weighted least squares: k parameters, their covariance, its df, and the weighted squares."""

    params: Array
    covariance: Array
    df: int
    squares: float


@dataclass(frozen=True)
class Line:
    """A line of the room, or of its log, on the age.

    Attributes:
        order: "zero" or "first".
        intercept: at age 0.
        slope: a day.
        covariance: of the two, shape (2, 2).
        df: degrees of freedom of the covariance.
        squares: weighted sum of squared residuals of the room.
    """

    order: str
    intercept: float
    slope: float
    covariance: Array
    df: int
    squares: float

    def at(self, cut_off_room: float) -> float:
        """Return the value of the line at which the room is that of the cut-off."""
        return cut_off_room if self.order == "zero" else math.log(cut_off_room)

    def crossing(self, cut_off_room: float, variance: float, confidence: float) -> RatioSet:
        """Return the ages at which the cut-off may be passed, as days at 20 °C.

        Args:
            cut_off_room: room at the cut-off.
            variance: of that room, as far as it is not known.
            confidence: of either end, one-sided.
        """
        along = 1.0 if self.order == "zero" else 1.0 / cut_off_room
        covariance = self.covariance * np.array([[1.0, -1.0], [-1.0, 1.0]])
        covariance[0, 0] += variance * along**2
        return fieller(
            self.at(cut_off_room) - self.intercept,
            self.slope,
            covariance,
            float(stats.t.ppf(confidence, self.df)),
        )


def best_line(pulls: Pulls, cut_off_room: float) -> Line:
    """Fit zero order, and first order where the cut-off is short of the scale's end; keep one.

    Raises:
        NotEstimable: there are too few pulls, all alike, or they surely go one way with age and
            then the other; the text says which.
    """
    _refuse_what_has_no_line(pulls)
    _refuse_what_turns(pulls)
    zero = _line("zero", pulls, pulls.room, pulls.weight)
    first = _first_order(pulls) if cut_off_room > 0.0 else None
    return first if first is not None and first.squares < zero.squares else zero


def _refuse_what_has_no_line(pulls: Pulls) -> None:
    n, ages = len(pulls.age), len(np.unique(pulls.age))
    message = None
    if n < _FEWEST_PULLS or ages < 2:  # noqa: PLR2004 - a line has two ends
        message = f"too few pulls: {n} at {ages} ages, where a line needs 3 at two ages"
    elif np.ptp(pulls.room) == 0.0:
        message = "the panel gave every pull the same score"
    if message is not None:
        raise NotEstimable(message)


def _refuse_what_turns(pulls: Pulls) -> None:
    """Leave out what surely gets worse with age and then better, or the other way round.

    The quadratic term of a parabola cannot tell that from levelling off; two lines can (Simonsohn,
    Advances in Methods and Practices in Psychological Science 1(4), 538-555, 2018). The pulls are
    split by age at each quarter and a line is fitted to either side: at one of the splits the
    slopes must be of opposite sign, each significant at 5 % one-sided, clustered by session: these
    lots are asked, not future ones. To leave out one too many costs less than a line that lies.
    """
    for turn in np.quantile(pulls.age, _SPLITS, method="lower"):
        old = pulls.age > turn
        sides = [pulls.age[side] for side in (~old, old)]
        if any(len(side) < _FEWEST_PULLS or np.ptp(side) == 0.0 for side in sides):
            continue
        columns = np.hstack([_columns(pulls.age) * side[:, None] for side in (~old, old)])
        fit = _clustered(columns, pulls.room, pulls.weight, pulls.session)
        slopes = fit.params[[1, 3]]
        errors = np.sqrt(np.diag(fit.covariance)[[1, 3]])
        sure = np.abs(slopes) > errors * stats.t.isf(_TURN_LEVEL, fit.df)
        if np.all(sure) and slopes[0] * slopes[1] < 0.0:
            first, then = ("worse", "better") if slopes[0] < 0.0 else ("better", "worse")
            message = (
                f"it rises and falls: {first} up to about day {turn:.0f} at 20 °C and {then} from "
                "there, so that no single age belongs to a score"
            )
            raise NotEstimable(message)


def _first_order(pulls: Pulls) -> Line | None:
    """Fit the exponential approach; nothing where the pulls do not tell its rate."""
    highest = pulls.room.max()
    if highest <= 0.0:
        return None
    columns, root = _columns(pulls.age / pulls.age[-1]), np.sqrt(pulls.weight)

    def level(params: Array) -> Array:
        return np.clip(columns @ params, -_FURTHEST, _FURTHEST)

    def residual(params: Array) -> Array:
        return root * (pulls.room - np.exp(level(params)))

    def derivative(params: Array) -> Array:
        return -(root * np.exp(level(params)))[:, None] * columns

    # Only the start needs a logarithm of the data, which a pull at the scale's end has not.
    start = np.linalg.lstsq(columns, np.log(np.maximum(pulls.room, _START * highest)))[0]
    found = optimize.least_squares(
        residual, start, derivative, ftol=_SETTLED, xtol=_SETTLED, gtol=_SETTLED
    )
    fitted = np.exp(level(found.x))
    weight = pulls.weight * fitted**2
    # A curve that has levelled off before the second pull tells nothing of its rate.
    if not found.success or np.linalg.cond(columns * np.sqrt(weight)[:, None]) > _WORST_CONDITION:
        return None
    return _line("first", pulls, level(found.x) + (pulls.room - fitted) / fitted, weight)


def _line(order: str, pulls: Pulls, response: Array, weight: Array) -> Line:
    fit = _clustered(_columns(pulls.age), response, weight, pulls.lot, pulls.session)
    intercept, slope = (float(value) for value in fit.params)
    return Line(order, intercept, slope, fit.covariance, fit.df, fit.squares)


def _clustered(
    columns: Array, response: Array, weight: Array, *clusters: NDArray[np.int64]
) -> _Fit:
    """Fit by weighted least squares; clusters count where there are two of them or more."""
    model = WLS(response, columns, weights=weight)
    plain = model.fit()
    groups = [cluster for cluster in clusters if np.ptp(cluster) > 0]
    covariance, df = np.asarray(plain.cov_params()), len(response) - columns.shape[1]
    if groups:
        df = min(df, *(len(np.unique(cluster)) - 1 for cluster in groups))
        grouping = {"groups": groups[0] if len(groups) == 1 else np.column_stack(groups)}
        clustered = model.fit(cov_type="cluster", cov_kwds=grouping).cov_params()
        covariance = _raised(np.asarray(clustered), plain.normalized_cov_params, plain.scale)
    return _Fit(np.asarray(plain.params), covariance, df, float(plain.ssr))


def _raised(covariance: Array, unscaled: Array, scale: float) -> Array:
    """Raise a covariance to `scale · unscaled` in the directions where it falls below."""
    root = linalg.cholesky(unscaled, lower=True)
    relative = linalg.solve_triangular(root, covariance, lower=True)
    relative = linalg.solve_triangular(root, relative.T, lower=True)
    size, direction = np.linalg.eigh(0.5 * (relative + relative.T))
    half = root @ direction
    return np.asarray((half * np.maximum(size, scale)) @ half.T)


def _columns(age: Array) -> Array:
    return np.column_stack([np.ones_like(age), age])
