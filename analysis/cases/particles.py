r"""Lots, storages and drinkers drawn under an account, and how many of the drinkers reject.

    log T20 = location − b · log(O / 60 ppb) + v,       O = exp(u) + what the closure lets in
    A(day; w) = Σ days in the stage · exp(−(Ea / R)(1/T − 1/293.15 K)), T + w from the trade on
    S(day; u, v, w) = E[F((log A(day; w) − log T20 − e) / scale)]

u is the log total oxygen of the lot at filling, ppb; v ~ N(0, lots) its own effect; w what the
trade kept it warmer than the route says, °C; e ~ N(0, assessors) the drinker, who is one like those
of the panel; F, scale, b, Ea and location are those of each draw of the staling fit. By account:

    u   usual: N(mean, SD) of its line;     high: usual + N(log 2, 0.35)
    w   usual: N(0, 2 °C);                  warm: even between 5 and 20 °C

Each draw takes its own assumptions, between 0.75 and 1.33 times the factor 2, and the temperatures
30 % to either side, so that what is assumed for all complaints alike widens the bounds. Within a
draw u, v and w follow a Halton sequence, the same for every account.

Reference: Halton, Numerische Mathematik 2, 84-90, 1960, for the sequence.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from analysis.cases.ages import nodes
from analysis.kinetics.arrhenius import acceleration
from analysis.kinetics.history import spells
from analysis.staling.evidence import REFERENCE_DOSE_PPB

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.cases.ages import AgesDrunk
    from analysis.cases.draws import Draws
    from analysis.kinetics.history import Stages

    Array = NDArray[np.float64]

PARTICLES = 32_768
SEED = 6
_COARSE = 12  # ages that stand for all of them where other packages are counted


@dataclass(frozen=True)
class Assumed:
    """What is assumed of lots and storages under the accounts.

    Attributes:
        high_factor: median by which a lot of high oxygen is above its line.
        high_log_sd: SD of its log.
        usual_warmth_sd: how far the trade is from the route, SD in °C.
        warm_from, warm_to: what a warm trade is above it, °C.
        factor_range: each draw's factor lies between 1 / this and this times `high_factor`.
        warmth_range: each draw's temperatures lie by up to this share of them to either side.
    """

    high_factor: float = 2.0
    high_log_sd: float = 0.35
    usual_warmth_sd: float = 2.0
    warm_from: float = 5.0
    warm_to: float = 20.0
    factor_range: float = 4.0 / 3.0
    warmth_range: float = 0.3


@dataclass(frozen=True)
class Way:
    """From packaging on: the route, warmer or cooler by w from the trade on."""

    stages: Stages
    trade_from: float

    def log_age(self, days: Array, warmth: Array, energy: Array) -> Array:
        """Return log days at 20 °C.

        Args:
            days: ages, shape (n,), above 0.
            warmth: w, °C, shape (d, j).
            energy: Ea, kJ/mol, shape (d,).

        Returns:
            Shape (d, j, n).
        """
        age = np.zeros((*warmth.shape, len(days)))
        begins = 0.0
        for length, temp_c in spells(self.stages, 0.0, self.trade_from):
            rate = acceleration(temp_c, energy)[:, None, None]
            age += rate * np.clip(days - begins, 0.0, length)
            begins += length
        begins = self.trade_from
        for length, temp_c in spells(self.stages, self.trade_from, np.inf):
            rate = acceleration(temp_c + warmth, energy[:, None])[:, :, None]
            age += rate * np.clip(days - begins, 0.0, length)
            begins += length
        return np.log(np.maximum(age, 1e-9))


@dataclass(frozen=True)
class World:
    """What is the same under every account.

    Attributes:
        draws: of the staling fit, d of them.
        way: from packaging on.
        coarse: a few ages with weights that stand for those at which the beer is drunk.
        usual: mean and SD of the log oxygen of the line's lots, log ppb.
        ingress_dose_ppb: what the closure adds to the dose, ppb.
        assumed: what is assumed of lots and storages.
        shift: where each draw lies in the range of its factor and of its temperatures, −1 to 1,
            shape (2, d).
        points: of the sequence, above 0 and below 1, shape (d, j, 4).
    """

    draws: Draws = field(repr=False)
    way: Way
    coarse: tuple[Array, Array] = field(repr=False)
    usual: tuple[float, float]
    ingress_dose_ppb: float
    assumed: Assumed
    shift: Array = field(repr=False)
    points: Array = field(repr=False)

    def under(self, *, high: bool, warm: bool) -> Particles:
        """Draw lots of usual or high oxygen, kept as usual or warm."""
        assumed = self.assumed
        mean, sd = self.usual
        z = special.ndtri(self.points)
        log_ppb = mean + sd * z[..., 0]
        if high:
            middle = np.log(assumed.high_factor) + np.log(assumed.factor_range) * self.shift[0]
            log_ppb = log_ppb + middle[:, None] + assumed.high_log_sd * z[..., 3]
        stretch = (1.0 + assumed.warmth_range * self.shift[1])[:, None]
        even = assumed.warm_from + (assumed.warm_to - assumed.warm_from) * self.points[..., 2]
        warmth = stretch * (even if warm else assumed.usual_warmth_sd * z[..., 2])
        return Particles(self, log_ppb, self.draws.lots[:, None] * z[..., 1], warmth)

    @cached_property
    def usual_lots(self) -> Particles:
        """Lots and storages like any other."""
        return self.under(high=False, warm=False)

    def location(self, log_ppb: Array, lot: Array) -> Array:
        """Return log T20 of lots with such an oxygen and own effect, shape (d, j)."""
        dose = np.exp(log_ppb) + self.ingress_dose_ppb
        exponent = self.draws.exponent[:, None]
        return np.asarray(
            self.draws.location[:, None] - exponent * np.log(dose / REFERENCE_DOSE_PPB) + lot
        )

    def rejected(self, days: Array, location: Array, warmth: Array) -> Array:
        """Return the share of drinkers who reject at ages (n,), shape (d, j, n)."""
        log_age = self.way.log_age(days, warmth, self.draws.energy)
        return self.draws.share(log_age - location[:, :, None])


@dataclass(frozen=True)
class Particles:
    """Lots and storages drawn under an account, j for each of d draws.

    Attributes:
        world: what is the same under every account.
        log_ppb: u, shape (d, j).
        lot: v, log days, shape (d, j).
        warmth: w, °C, shape (d, j).
    """

    world: World
    log_ppb: Array = field(repr=False)
    lot: Array = field(repr=False)
    warmth: Array = field(repr=False)

    @cached_property
    def location(self) -> Array:
        """Log T20 of these lots, shape (d, j)."""
        return self.world.location(self.log_ppb, self.lot)

    def rejected(self, days: Array) -> Array:
        """Return the share of drinkers who reject it at such ages, (n,) to (d, j, n)."""
        return self.world.rejected(days, self.location, self.warmth)

    @cached_property
    def of_the_lot(self) -> Array:
        """Share rejected of the lot's packages wherever they go, kept as the route says, (d, j)."""
        days, weights = self.world.coarse
        return self.world.rejected(days, self.location, np.zeros((len(self.warmth), 1))) @ weights

    @cached_property
    def at_the_outlet(self) -> Array:
        """Share rejected of a middle lot's packages where this one was kept, shape (d, j)."""
        days, weights = self.world.coarse
        middle = np.full((len(self.warmth), 1), self.world.usual[0])
        location = self.world.location(middle, np.zeros(1))
        return self.world.rejected(days, location, self.warmth) @ weights


def halton(number: int) -> Array:
    """Return points 1 to `number` of the Halton sequence in the bases 2, 3, 5 and 7, (n, 4).

    Worked out here, for the library that has it takes a second to load; an answer may take three.
    """
    points = np.zeros((number, 4))
    for place, base in enumerate((2, 3, 5, 7)):
        digits, worth = np.arange(1, number + 1), 1.0
        while digits.any():
            worth /= base
            points[:, place] += worth * (digits % base)
            digits //= base
    return points


def world_of(
    draws: Draws,
    way: Way,
    ages: AgesDrunk,
    usual: tuple[float, float],
    ingress_dose_ppb: float,
    assumed: Assumed,
    particles: int,
) -> World:
    """Prepare what every account shares.

    Args:
        draws: of the staling fit.
        way: from packaging on.
        ages: at which the beer is drunk.
        usual: mean and SD of the log oxygen of the line's lots, log ppb.
        ingress_dose_ppb: what the closure adds to the dose, ppb.
        assumed: what is assumed of lots and storages.
        particles: an account, shared evenly among the draws.
    """
    number = len(draws.location)
    each = max(1, particles // number)
    points = halton(number * each).reshape(number, each, 4)
    order = np.random.default_rng(SEED).permutation(number)
    even = (np.arange(number) + 0.5) / number * 2.0 - 1.0
    return World(
        draws=draws,
        way=way,
        coarse=nodes(ages.days, ages.weights, _COARSE),
        usual=usual,
        ingress_dose_ppb=ingress_dose_ppb,
        assumed=assumed,
        shift=np.stack([even[order], even[order[::-1]]]),
        points=points,
    )
