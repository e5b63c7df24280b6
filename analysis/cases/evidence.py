r"""The evidence about a complaint, each item a likelihood over lots and storages.

    oxygen of the lot       N(log reading; u, SE), or Φ((u − log bound) / SE) for a lower bound
    glasses tasted          C(n, r) p^r (1 − p)^(n − r),   p = α + (1 − α − δ) · S(age)
    how it was kept         0.8 · N(told; w, SE) + 0.2 · even over 40 °C
    other complaints        Poisson(observed; background + expected · S / S of usual lots)
    a sign                  a share for each account, assumed

u is the lot's log oxygen, w what the trade kept it warmer, S the share of drinkers who reject it
(`particles`); α and δ are the panel's false alarms and misses. A neighbouring lot, filled from the
same batch or on the same line that week, shares `alike` of what sets the lot apart; the rest is its
own, with the spread of lots, averaged by Gauss and Hermite. One in five who tells how a package was
kept does not know (assumed). Light and dispense are an outlet's own: its other complaints are
taken to be three times the expected then (assumed).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy import special

from analysis.cases.accounts import ACCOUNTS, DISPENSE, LIGHT
from analysis.cases.particles import Way
from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analysis.cases.particles import Particles
    from analysis.kinetics.history import Stages

    Array = NDArray[np.float64]

KNOWS_C = 3.0
"""How far off a person is who knows how a package was kept, SD in °C: assumed."""

ELSEWHERE_C = 6.0
"""How far the days that nobody tells of may lie from those told of, SD in °C: assumed."""

TELLS_NOTHING = 0.2
"""Share of those told who do not know: assumed."""

_RANGE_C = 40.0
_OUTLETS_OWN = 3.0
_LEAST_SHARE = 1e-9
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_NODE_WEIGHTS = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_LOG_ROOT_TWO_PI = 0.5 * math.log(2.0 * math.pi)


class Item(Protocol):
    """One fact."""

    @property
    def name(self) -> str:
        """What it is called, once in a case."""
        ...

    def log_likelihood(self, lots: Particles, account: str) -> Array:
        """Return the log of how likely it is, broadcast against (d, j)."""
        ...


@dataclass(frozen=True)
class Oxygen:
    """What was read of the lot's total oxygen at filling.

    Attributes:
        name: what it is called.
        log_ppb: log of the geometric mean, ppb.
        log_se: its standard error, above 0.
        at_least: whether it is a lower bound: a late reading, the beer alone.
    """

    name: str
    log_ppb: float
    log_se: float
    at_least: bool = False

    def __post_init__(self) -> None:
        """Refuse what is no reading."""
        _check(
            sound=math.isfinite(self.log_ppb) and 0.0 < self.log_se < math.inf,
            message=f"{self.name}: a reading needs a value and a standard error above 0, in logs",
        )

    def log_likelihood(self, lots: Particles, account: str) -> Array:  # noqa: ARG002 - an Item's
        """Return log N, or log Φ for a bound."""
        z = (lots.log_ppb - self.log_ppb) / self.log_se
        if self.at_least:
            return np.asarray(special.log_ndtr(z))
        return np.asarray(-0.5 * z * z - math.log(self.log_se) - _LOG_ROOT_TWO_PI)


@dataclass(frozen=True)
class Tasted:
    """Glasses of a package tasted blind by the panel.

    Attributes:
        name: what it is called.
        days: days from packaging when it was tasted.
        glasses: accepted or rejected.
        rejected: of them.
        stages: how it was kept; None: where the complaint's package was, a package come back.
        false_alarms: the panel's share of fresh glasses rejected, below 0.5.
        misses: its share of stale glasses accepted, below 0.5.
        alike: 1 for this lot; for a neighbour the share it has of what sets the lot apart.
    """

    name: str
    days: float
    glasses: int
    rejected: int
    stages: Stages | None
    false_alarms: float = 0.08
    misses: float = 0.05
    alike: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what is no tasting."""
        _check(
            sound=self.days > 0.0
            and 0 <= self.rejected <= self.glasses
            and min(self.false_alarms, self.misses) >= 0.0
            and max(self.false_alarms, self.misses) < 0.5  # noqa: PLR2004 - a guess
            and 0.0 <= self.alike <= 1.0,
            message=f"{self.name}: a tasting needs an age above 0, as many rejections as glasses "
            "at most, errors below one half and a likeness from 0 to 1",
        )

    def log_likelihood(self, lots: Particles, account: str) -> Array:  # noqa: ARG002 - an Item's
        """Return the binomial's log, averaged over what a neighbour has of its own."""
        world = lots.world
        mean, sd = world.usual
        own = math.sqrt(1.0 - self.alike**2)
        location = world.location(mean + self.alike * (lots.log_ppb - mean), self.alike * lots.lot)
        if self.stages is None:
            way, warmth = world.way, lots.warmth
        else:
            way, warmth = Way(self.stages, 0.0), np.zeros((len(location), 1))
        log_age = way.log_age(np.array([self.days]), warmth, world.draws.energy)[:, :, 0]
        away = log_age - location
        if own == 0.0:
            return self._binomial(world.draws.share(away))
        spread = own * np.hypot(world.draws.lots, world.draws.exponent * sd)[:, None, None]
        shares = world.draws.share(away[:, :, None] + spread * _NODES)
        return np.log(np.maximum(np.exp(self._binomial(shares)) @ _NODE_WEIGHTS, 1e-300))

    def _binomial(self, stale: Array) -> Array:
        says = self.false_alarms + (1.0 - self.false_alarms - self.misses) * stale
        says = np.clip(says, _LEAST_SHARE, 1.0 - _LEAST_SHARE)
        accepted = self.glasses - self.rejected
        ways = math.log(math.comb(self.glasses, self.rejected))
        return np.asarray(ways + self.rejected * np.log(says) + accepted * np.log1p(-says))


@dataclass(frozen=True)
class Warmth:
    """What is known of how much warmer than the route the trade kept it.

    Attributes:
        name: what it is called.
        warmer_c: °C above the route's temperature; below 0 where cooler.
        sd_c: how far off that may be, SD in °C.
    """

    name: str
    warmer_c: float
    sd_c: float

    def __post_init__(self) -> None:
        """Refuse what is no temperature."""
        _check(
            sound=math.isfinite(self.warmer_c) and 0.0 < self.sd_c < math.inf,
            message=f"{self.name}: needs a temperature, and an SD above 0 °C",
        )

    def log_likelihood(self, lots: Particles, account: str) -> Array:  # noqa: ARG002 - an Item's
        """Return the log of the mixture of who knows and who does not."""
        z = (lots.warmth - self.warmer_c) / self.sd_c
        knows = (1.0 - TELLS_NOTHING) * np.exp(-0.5 * z * z - _LOG_ROOT_TWO_PI) / self.sd_c
        return np.asarray(np.log(knows + TELLS_NOTHING / _RANGE_C))


def told(name: str, warmer_c: float, told_days: float, trade_days: float) -> Warmth:
    """Return what is said of how a package was kept.

    Args:
        name: what it is called.
        warmer_c: what was said, °C above the route's temperature then.
        told_days: days of which it was said.
        trade_days: days that the trade and the drinker had the package.
    """
    untold = 1.0 - min(1.0, max(0.0, told_days) / trade_days) if trade_days > 0.0 else 0.0
    return Warmth(name, warmer_c, math.hypot(KNOWS_C, ELSEWHERE_C * math.sqrt(untold)))


@dataclass(frozen=True)
class OtherComplaints:
    """Other taste complaints, or their absence.

    Attributes:
        name: what it is called.
        observed: how many beside this one.
        expected: of a lot and a storage like any other; above 0.
        at_outlet: whether they are about other lots at the same outlet; else about this lot,
            wherever it was sold.
        background: how many of the others come whatever the age, 0 or above.
        shared: the chance that what is so of this package is so of the others; else they are like
            any other.
    """

    name: str
    observed: int
    expected: float
    at_outlet: bool = False
    background: float = 0.0
    shared: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what is no count."""
        _check(
            sound=self.observed >= 0
            and 0.0 < self.expected < math.inf
            and 0.0 <= self.background < math.inf
            and 0.0 <= self.shared <= 1.0,
            message=f"{self.name}: needs a count of 0 or more, an expected number above 0, a "
            "background of 0 or more and a chance from 0 to 1",
        )

    def log_likelihood(self, lots: Particles, account: str) -> Array:
        """Return the Poisson's log."""
        usual = lots.world.usual_lots
        if not self.at_outlet:
            ratio = lots.of_the_lot / usual.of_the_lot.mean(axis=1, keepdims=True)
        elif account in (LIGHT, DISPENSE):
            own = _OUTLETS_OWN * (self.background + self.expected) - self.background
            ratio = np.full((1, 1), own / self.expected)
        else:
            ratio = lots.at_the_outlet / usual.at_the_outlet.mean(axis=1, keepdims=True)
        like_this = self._poisson(np.maximum(ratio, _LEAST_SHARE))
        if self.shared == 1.0:
            return like_this
        weights = np.log([max(self.shared, _LEAST_SHARE), 1.0 - self.shared])
        like_any = self._poisson(np.ones((1, 1)))
        return np.asarray(np.logaddexp(weights[0] + like_this, weights[1] + like_any))

    def _poisson(self, ratio: Array) -> Array:
        mean = self.background + self.expected * ratio
        return np.asarray(self.observed * np.log(mean) - mean - math.lgamma(self.observed + 1.0))


@dataclass(frozen=True)
class Sign:
    """Something that is seen more often under some accounts than under others.

    Attributes:
        name: what it is called.
        likelihoods: how likely it is under each account, above 0; 1 where not named.
    """

    name: str
    likelihoods: Mapping[str, float]

    def __post_init__(self) -> None:
        """Refuse what is no likelihood."""
        _check(
            sound=set(self.likelihoods) <= set(ACCOUNTS)
            and all(0.0 < value < math.inf for value in self.likelihoods.values()),
            message=f"{self.name}: needs a likelihood above 0 for each account it names",
        )

    def log_likelihood(self, lots: Particles, account: str) -> Array:  # noqa: ARG002 - an Item's
        """Return the log of the account's share."""
        return np.full((1, 1), math.log(self.likelihoods.get(account, 1.0)))


def _check(*, sound: bool, message: str) -> None:
    if not sound:
        raise InputError(message)
