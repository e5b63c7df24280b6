"""Complaints whose cause is known, made one package at a time.

Nothing of `weigh` is in here but its assumptions, written out again: under an account packages are
filled, kept and drunk, each with a lot, a storage, an age and a drinker of its own, until somebody
finds one stale; that is the complaint. Then its lot is read, its retained packages are poured to
tasters with errors of their own, other packages of the lot are drunk and other beers at the outlet,
somebody says how warm it was, and the age is known to the day, roughly, or not at all. Some others
complain whatever the age of their beer, and not every beer of an outlet is kept like this one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.ages import AgesDrunk
from analysis.cases.case import Case
from analysis.cases.evidence import OtherComplaints, Oxygen, Tasted, Warmth
from analysis.kinetics.history import Stages

if TYPE_CHECKING:
    from analysis.cases.evidence import Item

AMBIENT = Stages((14.0, 2.0, math.inf), (12.0, 20.0, 21.0))
CUPBOARD = Stages((math.inf,), (20.0,))
ACCOUNTS = {
    "date too long": 30.0,
    "high oxygen": 15.0,
    "warm trade": 35.0,
    "both": 5.0,
    "light": 5.0,
    "dispense": 25.0,
    "past its date": 10.0,
}
WORDS = {  # of stale, other flavour, lightstruck
    "light": (0.15, 0.25, 0.60),
    "dispense": (0.30, 0.69, 0.01),
}
LOT_SD = 0.18
USUAL = (math.log(60.0), 0.30)
PRINTED = 150.0
AT_ONCE = 2_000
FALSE_ALARMS, MISSES = 0.08, 0.05


def staling_draws(number: int, seed: int, law: str = "lognormal") -> pl.DataFrame:
    """Return draws of a staling fit: what is known of a pale ale in a can."""
    rng = np.random.default_rng(seed)
    return pl.DataFrame(
        {
            "draw": np.arange(number),
            "distribution": [law] * number,
            "location": math.log(150.0) + 0.12 * rng.standard_normal(number),
            "oxygen_exponent": 0.40 + 0.08 * rng.standard_normal(number),
            "scale": 0.35 * np.exp(0.1 * rng.standard_normal(number)),
            "between": np.full(number, math.hypot(LOT_SD, 0.35)),
            "between_lots": np.full(number, LOT_SD),
            "activation_energy_kj_mol": 70.0 + 6.0 * rng.standard_normal(number),
        }
    )


def ages() -> AgesDrunk:
    """Return ages from 20 to 200 days, rising to day 80 and falling from there."""
    day = np.arange(1.0, 201.0)
    return AgesDrunk(np.where(day < 20.0, 0.0, np.minimum(day / 80.0, 80.0 / day)))


@dataclass(frozen=True)
class Brewery:
    """The truth behind a complaint: one draw, and what the assumptions are this time."""

    location: float
    exponent: float
    scale: float
    assessors: float
    energy: float
    factor: float
    stretch: float

    def life(self, rng: np.random.Generator, log_ppb: np.ndarray, lot: np.ndarray) -> np.ndarray:
        """Draw when a drinker begins to reject, log days at 20 °C, one for each lot given."""
        own = self.assessors * rng.standard_normal(lot.shape)
        own = own + self.scale * rng.standard_normal(lot.shape)
        return self.location - self.exponent * (log_ppb - math.log(60.0)) + lot + own

    def age(self, days: np.ndarray, temp_c: float, warmer: np.ndarray | float) -> np.ndarray:
        """Return log days at 20 °C after the route's two cold stages and then `temp_c`."""

        def rate(at: np.ndarray | float) -> np.ndarray:
            return np.exp(
                self.energy / 8.31446261815324e-3 * (1.0 / 293.15 - 1.0 / (273.15 + np.asarray(at)))
            )

        worth = np.minimum(days, 14.0) * rate(12.0) + np.clip(days - 14.0, 0.0, 2.0) * rate(20.0)
        return np.log(worth + np.maximum(days - 16.0, 0.0) * rate(temp_c + warmer))

    def high(self, rng: np.random.Generator, size: int) -> np.ndarray:
        """Draw by how much lots of high oxygen are above their line, in logs."""
        return math.log(self.factor) + 0.35 * rng.standard_normal(size)

    def warmth(self, rng: np.random.Generator, size: int, *, warm: bool) -> np.ndarray:
        """Draw how much warmer than the route the trade is, °C."""
        drawn = rng.uniform(5.0, 20.0, size) if warm else 2.0 * rng.standard_normal(size)
        return np.asarray(self.stretch * drawn)


def brewery(rng: np.random.Generator, draws: pl.DataFrame) -> Brewery:
    """Draw the truth from what is known of it."""
    row = draws.row(int(rng.integers(draws.height)), named=True)
    return Brewery(
        location=row["location"],
        exponent=row["oxygen_exponent"],
        scale=row["scale"],
        assessors=math.sqrt(row["between"] ** 2 - row["between_lots"] ** 2),
        energy=row["activation_energy_kj_mol"],
        factor=2.0 * (4.0 / 3.0) ** rng.uniform(-1.0, 1.0),
        stretch=1.0 + 0.3 * rng.uniform(-1.0, 1.0),
    )


@dataclass(frozen=True)
class Package:
    """The package complained about: its lot, storage and age."""

    log_ppb: float
    lot: float
    warmer: float
    days: float


def complained(rng: np.random.Generator, truth: Brewery, account: str) -> Package:
    """Drink packages under an account until somebody complains."""
    drunk = ages()
    while True:
        size = AT_ONCE
        log_ppb = USUAL[0] + USUAL[1] * rng.standard_normal(size)
        if account in ("high oxygen", "both"):
            log_ppb += truth.high(rng, size)
        lot = LOT_SD * rng.standard_normal(size)
        warmer = truth.warmth(rng, size, warm=account in ("warm trade", "both"))
        days = rng.choice(drunk.days, size, p=drunk.weights)
        stale = truth.age(days, 21.0, warmer) > truth.life(rng, log_ppb, lot)
        if account in ("light", "dispense"):
            stale[:] = True
        if account == "date too long":
            stale &= days <= PRINTED
        if account == "past its date":
            stale &= days > PRINTED
        if stale.any():
            at = int(stale.argmax())
            return Package(*(float(of[at]) for of in (log_ppb, lot, warmer, days)))


def evidence(rng: np.random.Generator, truth: Brewery, account: str, of: Package) -> list[Item]:
    """Collect what is found about it: something of each kind, two times in three."""
    items: list[Item] = []
    if rng.random() < 2.0 / 3.0:
        read, above = of.log_ppb + 0.15 * rng.standard_normal(), math.log(120.0)
        bound = bool(rng.random() < 0.3 and read > above)  # above the meter's range
        items.append(Oxygen("oxygen", above if bound else read, 0.15, at_least=bound))
    if rng.random() < 2.0 / 3.0:
        days = float(rng.choice([60.0, 90.0, 120.0]))
        items.append(poured(rng, truth, "retained", days, of.log_ppb, of.lot))
    if rng.random() < 2.0 / 3.0:
        lot = 0.6 * of.lot + 0.8 * LOT_SD * rng.standard_normal()
        mean, sd = USUAL
        log_ppb = mean + 0.6 * (of.log_ppb - mean) + 0.8 * sd * rng.standard_normal()
        items.append(poured(rng, truth, "neighbour", 90.0, log_ppb, lot, alike=0.6))
    if rng.random() < 2.0 / 3.0:
        knows = rng.random() < 0.8
        said = of.warmer + 3.0 * rng.standard_normal() if knows else rng.uniform(-20.0, 20.0)
        items.append(Warmth("how it was kept", said, 3.0))
    if rng.random() < 2.0 / 3.0:
        items.append(other_complaints(rng, truth, account, of, at_outlet=False))
        items.append(other_complaints(rng, truth, account, of, at_outlet=True))
    return items


def poured(
    rng: np.random.Generator,
    truth: Brewery,
    name: str,
    days: float,
    log_ppb: float,
    lot: float,
    alike: float = 1.0,
) -> Tasted:
    """Pour a package kept at 20 °C to ten tasters who err."""
    glasses = 10
    life = truth.life(rng, np.full(glasses, log_ppb), np.full(glasses, lot))
    wrong = rng.random(glasses)
    rejects = np.where(math.log(days) > life, wrong > MISSES, wrong < FALSE_ALARMS)
    return Tasted(name, days, glasses, int(rejects.sum()), CUPBOARD, FALSE_ALARMS, MISSES, alike)


def other_complaints(
    rng: np.random.Generator, truth: Brewery, account: str, of: Package, *, at_outlet: bool
) -> OtherComplaints:
    """Let others drink of the same lot, or other beer at the same outlet.

    Those at the outlet are kept like this one seven times in ten, and else like any other.
    """
    expected, background, drunk = 0.8, 0.4, ages()
    shared = 0.7 if at_outlet else 1.0

    def stale(size: int, log_ppb: np.ndarray, lot: np.ndarray, warmer: np.ndarray) -> np.ndarray:
        days = rng.choice(drunk.days, size, p=drunk.weights)
        return truth.age(days, 21.0, warmer) > truth.life(rng, log_ppb, lot)

    many = 20_000
    usual = USUAL[0] + USUAL[1] * rng.standard_normal(many)
    lots, middle = LOT_SD * rng.standard_normal(many), np.full(many, USUAL[0])
    at_w = truth.warmth(rng, many, warm=False)
    if at_outlet:
        rate = stale(many, middle, np.zeros(many), at_w).mean()
    else:
        rate = stale(many, usual, lots, np.zeros(many)).mean()
    would = int(rng.poisson(expected / rate))  # who would complain of a stale one
    whatever = int(rng.poisson(background))
    if rng.random() > shared:
        observed = int(rng.poisson(expected)) + whatever
    elif at_outlet and account in ("light", "dispense"):
        observed = int(rng.poisson(3.0 * (expected + background)))
    elif at_outlet:
        made = (np.full(would, USUAL[0]), np.zeros(would), np.full(would, of.warmer))
        observed = int(stale(would, *made).sum()) + whatever
    else:
        made = (np.full(would, of.log_ppb), np.full(would, of.lot), np.zeros(would))
        observed = int(stale(would, *made).sum()) + whatever
    name = "others at the outlet" if at_outlet else "others of the lot"
    return OtherComplaints(name, observed, expected, at_outlet, background, shared)


def simulated(seed: int, draws: pl.DataFrame, *, told: bool = True) -> tuple[str, Case]:
    """Return a cause and the complaint that came of it.

    Args:
        seed: of this one.
        draws: what is known of staling.
        told: whether anything is found out; else it has neither age nor evidence.
    """
    rng = np.random.default_rng(seed)
    kind, light = [("can", None), ("bottle", "brown"), ("keg", None)][rng.integers(3)]
    possible = [
        name
        for name in ACCOUNTS
        if not (name == "light" and kind != "bottle") and not (name == "dispense" and kind != "keg")
    ]
    shares = np.array([ACCOUNTS[name] for name in possible])
    account = str(rng.choice(possible, p=shares / shares.sum()))
    truth = brewery(rng, draws)
    of = complained(rng, truth, account)
    words = WORDS.get(account, (0.75, 0.22, 0.03))
    category = str(rng.choice(["stale", "other flavour", "lightstruck"], p=words))
    known = rng.choice(["to the day", "roughly", "not at all"]) if told else "not at all"
    roughly = max(1.0, of.days + 10.0 * rng.standard_normal())
    case = Case(
        draws=draws,
        usual_log_ppb=USUAL,
        stages=AMBIENT,
        ages_drunk=ages(),
        kind=kind,
        categories=(category,) if told else (),
        age_days={"to the day": of.days, "roughly": roughly}.get(str(known)),
        age_sd=10.0 if known == "roughly" else 0.0,
        printed_days=PRINTED,
        light=light,
        items=tuple(evidence(rng, truth, account, of)) if told else (),
    )
    return account, case
