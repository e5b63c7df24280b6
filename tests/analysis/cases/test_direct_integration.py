"""The odds equal direct integration, written out once more from the formulas."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import integrate, special, stats

from analysis.cases.ages import AgesDrunk
from analysis.cases.draws import draws_of
from analysis.cases.evidence import OtherComplaints, Oxygen, Tasted, Warmth
from analysis.cases.odds import weigh
from analysis.cases.particles import Assumed
from analysis.survival.laws import law_named
from tests.analysis.cases.example import complaint, shares
from tests.analysis.cases.simulated_complaints import ACCOUNTS, CUPBOARD, ages, staling_draws

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ONE_DRAW = 1
NOTHING_SHARED = Assumed(factor_range=1.0, warmth_range=0.0)
PRINTED, MEAN, SD = 150.0, math.log(60.0), 0.30
READ, SE, ABOVE = math.log(95.0), 0.2, math.log(70.0)
WARMER, OFF = 5.0, 3.0
GAS = 8.31446261815324e-3
HIGHEST = math.log(2.0)
OPENED = 95.0
OF_AGE = ("date too long", "high oxygen", "warm trade", "both", "past its date")


class Formulas:
    """One draw of the fit, and who rejects what."""

    def __init__(self, law: str) -> None:
        """Take the draw."""
        self.draws = staling_draws(ONE_DRAW, 5, law)
        (row,) = self.draws.iter_rows(named=True)
        self.row = row
        self.assessors = math.sqrt(row["between"] ** 2 - row["between_lots"] ** 2)
        self.law = law_named(law)

    def rejected(self, age: Array, log_ppb: Array, lot: Array) -> Array:
        """Return the share of drinkers who reject at days at 20 °C."""
        row = self.row
        away = np.log(age) - row["location"] - lot
        away = away + row["oxygen_exponent"] * (log_ppb - math.log(60.0))
        return special.ndtr(away / math.hypot(row["scale"], self.assessors))

    def rate(self, temp_c: Array | float) -> Array:
        """Return days at 20 °C that a day is worth."""
        kelvin = 273.15 + np.asarray(temp_c)
        energy = self.row["activation_energy_kj_mol"]
        return np.exp(energy / GAS * (1.0 / 293.15 - 1.0 / kelvin))

    def on_the_way(self, day: Array, warmer: Array) -> Array:
        """Return days at 20 °C on the ambient route."""
        worth = np.minimum(day, 14.0) * self.rate(12.0)
        worth = worth + np.clip(day - 14.0, 0.0, 2.0) * self.rate(20.0)
        return worth + np.maximum(day - 16.0, 0.0) * self.rate(21.0 + warmer)

    def items(self, log_ppb: Array, lot: Array, warmer: Array) -> Array:
        """Return how likely the evidence is, all but the complaints."""
        oxygen = stats.norm.pdf(READ, log_ppb, SE) * special.ndtr((log_ppb - ABOVE) / SE)
        stale = self.rejected(np.full(lot.shape, 80.0), log_ppb, lot)
        retained = stats.binom.pmf(4, 9, 0.1 + 0.86 * stale)
        back = self.rejected(self.on_the_way(np.array(105.0), warmer), log_ppb, lot)
        knows = 0.8 * stats.norm.pdf(WARMER, warmer, OFF) + 0.2 / 40.0
        return oxygen * retained * stats.binom.pmf(5, 6, 0.08 + 0.87 * back) * knows


ITEMS = (
    Oxygen("read", READ, SE),
    Oxygen("above the range", ABOVE, SE, at_least=True),
    Tasted("retained", 80.0, 9, 4, CUPBOARD, 0.10, 0.04),
    Tasted("come back", 105.0, 6, 5, None),
    Warmth("told", WARMER, OFF),
)


def integral(
    of: Callable[[Array, Array, Array], Array], lot_sd: float, *, high: bool, warm: bool
) -> float:
    """Integrate over u, v and w under an account."""
    mean, sd = (MEAN + HIGHEST, math.hypot(SD, 0.35)) if high else (MEAN, SD)

    def weighed(at: Array) -> Array:
        log_ppb, lot = mean + sd * at[:, 0], lot_sd * at[:, 1]
        density = stats.norm.pdf(at[:, 0]) * stats.norm.pdf(at[:, 1])
        warmer = at[:, 2] if warm else 2.0 * at[:, 2]
        density = density * (1.0 / 15.0 if warm else stats.norm.pdf(at[:, 2]))
        return of(log_ppb, lot, warmer) * density

    from_, to = ([-5.5, -5.5, 5.0], [5.5, 5.5, 20.0]) if warm else ([-5.5] * 3, [5.5] * 3)
    found = integrate.cubature(weighed, from_, to, rtol=1e-4, atol=0.0, rule="gk15")
    assert found.status == "converged"
    return float(found.estimate)


class Accounts:
    """The likelihood of age and evidence under each account, over every fifth day."""

    def __init__(self, formulas: Formulas, age_sd: float | None) -> None:
        """Take what is known of the age: to the day, roughly, or nothing."""
        self.formulas = formulas
        self.ages = AgesDrunk(np.where(ages().days % 5.0 == 0.0, ages().weights, 0.0))
        kept = self.ages.weights > 0.0
        self.day, self.drunk = self.ages.days[kept], self.ages.weights[kept]
        self.seen = self.drunk
        if age_sd == 0.0:
            self.seen = self.drunk * (self.day == OPENED)
        elif age_sd is not None:
            self.seen = self.drunk * np.exp(-0.5 * ((self.day - OPENED) / age_sd) ** 2)

    def rejected(self, weights: Array, log_ppb: Array, lot: Array, warmer: Array) -> Array:
        """Return the share rejected over weighted ages."""
        days = self.day[weights > 0.0]
        age = self.formulas.on_the_way(days, warmer[:, None])
        stale = self.formulas.rejected(age, log_ppb[:, None], lot[:, None])
        return stale @ weights[weights > 0.0]

    def integral(
        self, of: Callable[[Array, Array, Array], Array], *, high: bool = False, warm: bool = False
    ) -> float:
        """Integrate over lots and storages."""
        return integral(of, self.formulas.row["between_lots"], high=high, warm=warm)

    def likelihood(self, account: str, items: Callable[[Array, Array, Array], Array]) -> float:
        """Return R of an account that goes with age."""
        high, warm = account in ("high oxygen", "both"), account in ("warm trade", "both")
        inside = self.day <= PRINTED
        allowed = {"date too long": inside, "past its date": ~inside}.get(account, inside | ~inside)
        if not (self.seen * allowed).any():
            return 0.0

        def found(u: Array, v: Array, w: Array) -> Array:
            return self.rejected(self.seen * allowed, u, v, w) * items(u, v, w)

        def at_all(u: Array, v: Array, w: Array) -> Array:
            return self.rejected(self.drunk * allowed, u, v, w)

        return self.integral(found, high=high, warm=warm) / self.integral(
            at_all, high=high, warm=warm
        )


def weighed(likelihoods: dict[str, float]) -> dict[str, float]:
    """Return the odds that likelihoods leave of the priors, adding to 1."""
    joint = {account: ACCOUNTS[account] * value for account, value in likelihoods.items()}
    return {account: joint.get(account, 0.0) / sum(joint.values()) for account in ACCOUNTS}


@pytest.mark.parametrize("age_sd", [0.0, 8.0, None], ids=["to the day", "roughly", "unknown"])
def test_the_odds_are_those_of_direct_integration(age_sd: float | None) -> None:
    """With one draw, readings and tastings, each share is the integrals' within 0.001."""
    accounts = Accounts(Formulas("lognormal"), age_sd)
    items = accounts.formulas.items
    likelihoods = {account: accounts.likelihood(account, items) for account in OF_AGE}
    likelihoods["light"] = accounts.seen.sum() * 0.15 / 0.75 * accounts.integral(items)
    case = complaint(
        draws=accounts.formulas.draws,
        ages_drunk=accounts.ages,
        items=ITEMS,
        age_days=None if age_sd is None else OPENED,
        age_sd=age_sd or 0.0,
    )
    found = shares(weigh(case, assumed=NOTHING_SHARED))
    assert found == pytest.approx(weighed(likelihoods), abs=1e-3)


def test_other_complaints_are_those_of_direct_integration() -> None:
    """With one draw and others' complaints alone, each share is the integrals' within 0.001."""
    accounts = Accounts(Formulas("lognormal"), None)
    middle, nought = np.array([MEAN]), np.zeros(1)

    def of_the_lot(u: Array, v: Array, w: Array) -> Array:
        return accounts.rejected(accounts.drunk, u, v, np.zeros(w.shape))

    def at_the_outlet(_u: Array, _v: Array, w: Array) -> Array:
        return accounts.rejected(accounts.drunk, middle, nought, w)

    of_usual, at_usual = accounts.integral(of_the_lot), accounts.integral(at_the_outlet)

    def items(u: Array, v: Array, w: Array) -> Array:
        outlet = stats.poisson.pmf(1, 0.9 * at_the_outlet(u, v, w) / at_usual)
        return stats.poisson.pmf(2, 0.6 * of_the_lot(u, v, w) / of_usual) * outlet

    def usual(u: Array, v: Array, w: Array) -> Array:
        return stats.poisson.pmf(2, 0.6 * of_the_lot(u, v, w) / of_usual)

    likelihoods = {account: accounts.likelihood(account, items) for account in OF_AGE}
    likelihoods["light"] = 0.15 / 0.75 * accounts.integral(usual) * stats.poisson.pmf(1, 2.7)
    case = complaint(
        draws=accounts.formulas.draws,
        ages_drunk=accounts.ages,
        age_days=None,
        items=(
            OtherComplaints("lot", 2, 0.6),
            OtherComplaints("outlet", 1, 0.9, at_outlet=True),
        ),
    )
    found = shares(weigh(case, assumed=NOTHING_SHARED))
    assert found == pytest.approx(weighed(likelihoods), abs=1e-3)


@pytest.mark.parametrize("law", ["lognormal", "weibull", "loglogistic"])
def test_the_table_of_drinkers_is_the_integral(law: str) -> None:
    """Under every law the share of drinkers who reject is the integral over them, to 0.0002."""
    formulas = Formulas(law)
    table = draws_of(formulas.draws)
    location = formulas.row["location"]
    for log_age in np.linspace(location - 2.0, location + 1.5, 23):

        def one(drinker: float, at: float = log_age) -> float:
            w = np.array((at - location - formulas.assessors * drinker) / formulas.row["scale"])
            return float(formulas.law.share_failed(w)) * float(stats.norm.pdf(drinker))

        direct, _ = integrate.quad(one, -8.0, 8.0)
        found = float(table.share(np.array([log_age - location]))[0])
        assert found == pytest.approx(direct, abs=2e-4, rel=2e-2)
