r"""One assessor's scores of an attribute, on the samples that the others had too.

The others' level of a sample, L, is what the panel without this assessor would have scored with all
of its members there, by the mixed model; y is the assessor's mean of the sample.

    discrimination  F between samples over repeats, and the share (F − 1)/(F + n₀ − 1) of the
                    scatter that is samples, n₀ the glasses a sample has
    repeatability   SD of blind glasses of one sample in one session
    agreement       correlation of y with L
    bias            mean of y − L
    scale           slope of y on L: below 1 narrower than the others, above 1 wider. L errs by a
                    known variance u, so that the slope is s_yL/(s_LL − u); its variance is
                    (s_LL·s_vv + slope²·u²)/((n − 1)(s_LL − u)²), v = y − slope·L

References: ISO 8586 and ISO 11132 (the indicators); Fuller, Measurement Error Models, 1987, section
1.2 (the slope).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy import stats

from analysis.panel.mixed import CONFIDENCE, Spread, levels_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.panel.cells import Cells

    Array = NDArray[np.float64]

LEAST_REPEATS = 5
LEAST_SAMPLES = 10
_LEAST_RELIABLE = 0.5  # of the scatter of the others' levels: the rest is how well these are known
_UPPER = 0.5 + CONFIDENCE / 2.0

# How far a bound must be beyond the others before practice is suggested. Assumed.
NARROW, WIDE = 2.0 / 3.0, 1.5  # of the others' scale
UNSTEADY = 1.5  # times the others' SD of repeats
AGREES_LESS = 0.7  # times the middle correlation


class Bounded(NamedTuple):
    """An estimate with the ends of its 90 % interval."""

    value: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Discrimination:
    """F between samples, its degrees of freedom, the chance of one as large, and the share."""

    f: float
    numerator: int
    denominator: int
    p: float
    share: Bounded


@dataclass(frozen=True)
class Indicators:
    """An assessor beside the others; None where there is too little to say.

    Attributes:
        glasses: glasses scored.
        samples: of them, those that another assessor had too.
        repeats: second glasses of a sample.
        mean: of the assessor's samples.
        discrimination: whether repeats are nearer than samples.
        repeatability: in points.
        agreement: from −1 to 1.
        bias: in points.
        scale: as a factor.
    """

    glasses: int
    samples: int
    repeats: int
    mean: float
    discrimination: Discrimination | None
    repeatability: Spread | None
    agreement: Bounded | None
    bias: Bounded | None
    scale: Bounded | None


def indicators(cells: Cells, variances: Array) -> tuple[Indicators, ...]:
    """Return every assessor's, in the order of the cells.

    Args:
        cells: all glasses of an attribute.
        variances: v_e, v_a and v_c of the panel's fit.
    """
    return tuple(_assessor(cells, variances, place) for place in range(cells.assessors))


def _assessor(cells: Cells, variances: Array, place: int) -> Indicators:
    counts, means = cells.counts[:, place], cells.means[:, place]
    own, others = counts > 0.0, cells.without(place)
    shared = own & (others.counts.sum(axis=1) > 0.0)
    repeats, within = int(cells.repeats[place]), float(cells.within[place])
    agreement = bias = scale = None
    if shared.sum() >= LEAST_SAMPLES:
        levels = levels_of(others, variances)
        y, level = means[shared], levels.mean[shared]
        bias = _mean(y - level)
        agreement = _correlation(y, level)
        scale = _slope(y, level, levels.error(shared))
    return Indicators(
        glasses=int(counts.sum()),
        samples=int(shared.sum()),
        repeats=repeats,
        mean=float(means[own].mean()),
        discrimination=_discrimination(counts[own], means[own], within, repeats),
        repeatability=_repeatability(within, repeats),
        agreement=agreement,
        bias=bias,
        scale=scale,
    )


def _discrimination(
    counts: Array, means: Array, within: float, repeats: int
) -> Discrimination | None:
    if repeats < LEAST_REPEATS or not within > 0.0 or len(counts) < 2:  # noqa: PLR2004
        return None
    freedom, glasses = len(counts) - 1, counts.sum()
    middle = (counts * means).sum() / glasses
    f = float((counts * (means - middle) ** 2).sum() / freedom / (within / repeats))
    usual = float((glasses - (counts**2).sum() / glasses) / freedom)
    tail = stats.f(freedom, repeats)
    share = [
        (ratio - 1.0) / (ratio + usual - 1.0)
        for ratio in (f, f / tail.ppf(_UPPER), f / tail.ppf(1.0 - _UPPER))
    ]
    value, lower, upper = (max(float(s), 0.0) for s in share)
    return Discrimination(f, freedom, repeats, float(tail.sf(f)), Bounded(value, lower, upper))


def _repeatability(within: float, repeats: int) -> Spread | None:
    if repeats < LEAST_REPEATS:
        return None
    lower, upper = within / stats.chi2(repeats).ppf([_UPPER, 1.0 - _UPPER])
    return Spread(math.sqrt(within / repeats), math.sqrt(lower), math.sqrt(upper))


def _mean(apart: Array) -> Bounded:
    n = len(apart)
    half = float(stats.t.ppf(_UPPER, n - 1)) * float(apart.std(ddof=1)) / math.sqrt(n)
    value = float(apart.mean())
    return Bounded(value, value - half, value + half)


def _correlation(y: Array, level: Array) -> Bounded | None:
    """Return the correlation with Fisher's interval; none where one of the two is constant."""
    if not (np.ptp(y) > 0.0 and np.ptp(level) > 0.0):
        return None
    r = float(np.clip(np.corrcoef(y, level)[0, 1], -1.0, 1.0))
    if abs(r) == 1.0:
        return Bounded(r, r, r)
    half = float(stats.norm.ppf(_UPPER)) / math.sqrt(len(y) - 3)
    return Bounded(r, math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half))


def _slope(y: Array, level: Array, error: float) -> Bounded | None:
    """Return the slope on levels that err; none where they hardly differ by more than that."""
    n, scatter = len(y), float(level.var(ddof=1))
    true = scatter - error
    if true < _LEAST_RELIABLE * scatter or not scatter > 0.0:
        return None
    slope = float(np.cov(y, level)[0, 1]) / true
    rest = y - slope * level
    variance = (scatter * float(rest.var(ddof=2)) + (slope * error) ** 2) / ((n - 1) * true**2)
    half = float(stats.t.ppf(_UPPER, n - 2)) * math.sqrt(variance)
    return Bounded(slope, slope - half, slope + half)


class Beside(NamedTuple):
    """Where an assessor surely stands apart from the others; None where there is too little to say.

    Attributes:
        agrees_less: the correlation is surely below 0.7 times the others' middle one.
        unsteady: the SD of repeats is surely above one and a half times the others'.
        scale_apart: "narrower", "wider" or "as the others".
    """

    agrees_less: bool | None
    unsteady: bool | None
    scale_apart: str | None


def beside(one: Indicators, panel: tuple[Indicators, ...]) -> Beside:
    """Set one assessor beside the others of the panel."""
    others = [other for other in panel if other is not one]
    correlations = [other.agreement.value for other in others if other.agreement is not None]
    agrees_less = unsteady = scale_apart = None
    if one.agreement is not None and correlations:
        agrees_less = one.agreement.upper < AGREES_LESS * float(np.median(correlations))
    steady = [(o.repeatability.sd**2, o.repeats) for o in others if o.repeatability is not None]
    if one.repeatability is not None and steady:
        variances, repeats = np.array(steady).T
        usual = math.sqrt(float(np.average(variances, weights=repeats)))
        unsteady = one.repeatability.lower > UNSTEADY * usual
    if one.scale is not None:
        narrower, wider = one.scale.upper < NARROW, one.scale.lower > WIDE
        scale_apart = "narrower" if narrower else "wider" if wider else "as the others"
    return Beside(agrees_less, unsteady, scale_apart)
