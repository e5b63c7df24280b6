r"""The truth that the demo brewery is simulated from, and the shelf lives that follow from it.

The age T, days at 20 °C, at which an assessor begins to reject a filled lot for age:

    log T = log median - b · log(O / 60 ppb) + lot + assessor + residual,    all effects normal
    O = TPO + 90 · g

TPO is the lot's total package oxygen at filling (lognormal over lots), g the ingress at 20 °C in
ppb a day, counted for 90 days. A day at temperature T_K counts exp(-(Ea/R)(1/T_K - 1/293.15)) days.

Every number here is invented, near what breweries report. Lager is given the longest median of the
pale beers and the bottle a modern liner: with an ordinary crown, 5 ppb a day, a bottled lager would
end after two months at room temperature, which no brewer would believe of a demonstration.

Reference for the partition of oxygen: the solubility of Benson & Krause, Limnology and
Oceanography 29 (1984) 620-632, as a quadratic in °C that holds from 0 to 30 °C.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize, special

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

GAS_CONSTANT = 0.008314462618  # kJ/mol/K
REFERENCE_C = 20.0
REFERENCE_DOSE_PPB = 60.0
INGRESS_DAYS = 90.0
OXYGEN_MG_PER_ML = 1.331  # one mL of the gas at 20 °C and 1 atm
BEFORE_PLACING_C = 4.0

LOT_SD = 0.15
BATCH_SHARE = 0.5  # of the lots' variance: what formats filled from one tank have in common
ASSESSOR_SD = 0.35
RESIDUAL_SD = 0.35

FALSE_ALARMS = (0.05, 0.12)  # by assessor, even between these
MISSES = (0.03, 0.05)
NOT_SURE = 0.03
DRIFT_PER_YEAR = -0.45  # one assessor grows this much harder to please, in log days
GUESSING = 0.6  # another answers this share of glasses without tasting,
GUESSED_REJECT = 0.35  # and calls this share of them stale

HEAD_SD = 0.12
BAD_HEAD = 1.8  # what the one bad seamer head reads against the others
START_UP = 2.0  # what the first three packages of a run read
FAILED_SEAM = 3.0  # what the bad head read besides on the day that its seam failed


@dataclass(frozen=True)
class Style:
    """A style's staling: days, kJ/mol, and the power of oxygen.

    Attributes:
        median_days: median of T at 20 °C and 60 ppb.
        activation_energy: Ea, kJ/mol.
        oxygen_exponent: b.
        printed_days: date that the brewery prints, days from packaging, by format.
    """

    median_days: float
    activation_energy: float
    oxygen_exponent: float
    printed_days: dict[str, int]


@dataclass(frozen=True)
class Beer:
    """A beer: its style, strength, and the partner it is brewed for (empty: our own)."""

    beer: str
    number: int
    style: str
    abv_pct: float
    owner: str = ""
    live: bool = False


@dataclass(frozen=True)
class Format:
    """A package: mL, ppb, ppb a day, and what the brewery's list of formats says.

    Attributes:
        median_tpo_ppb: median over lots of the lot's total package oxygen.
        tpo_gsd: geometric standard deviation of the same.
        ingress_ppb_per_day: g at 20 °C; or, where the list has it in mL, `ingress_ml_per_day`.
        heads: filler or seamer heads.
    """

    kind: str
    volume_ml: float
    headspace_ml: float
    median_tpo_ppb: float
    tpo_gsd: float
    closure: str
    light: str
    pressure_limit_bar: float
    line: str
    heads: int
    ingress_ppb_per_day: float | None = None
    ingress_ml_per_day: float | None = None

    @property
    def ingress(self) -> float:
        """G in ppb a day at 20 °C, whichever way it was written down."""
        if self.ingress_ml_per_day is not None:
            return self.ingress_ml_per_day * OXYGEN_MG_PER_ML * 1e6 / self.volume_ml
        return self.ingress_ppb_per_day or 0.0


@dataclass(frozen=True)
class Stage:
    """A stretch of a route: days (infinite on the last: until the beer is drunk) at °C."""

    stage: str
    days: float
    temp_c: float


@dataclass(frozen=True)
class Route:
    """How beer travels: the package kinds that do, and the share of the market's volume."""

    market: str
    kinds: tuple[str, ...]
    share: float
    storage_text: str
    stages: tuple[Stage, ...]


STYLES = {
    "pale lager": Style(270, 75, 0.35, {"bottle 500": 182, "can 440": 182, "keg 30": 150}),
    "hazy ale": Style(55, 58, 0.45, {"can 440": 90, "keg 30": 84}),
    "pale ale": Style(130, 62, 0.40, {"bottle 500": 120, "can 440": 120, "keg 30": 120}),
    "stout": Style(
        260, 92, 0.15, {"bottle 500": 140, "can 440": 140, "keg 30": 150, "bottle 750": 180}
    ),
    "kettle sour": Style(220, 70, 0.20, {"bottle 500": 180, "can 440": 180, "bottle 750": 180}),
}

BEERS = (
    Beer("Lager No. 3", 3, "pale lager", 4.9),
    Beer("Small Lager No. 5", 5, "pale lager", 2.3),
    Beer("Haze No. 8", 8, "hazy ale", 6.2, live=True),
    Beer("Pale No. 2", 2, "pale ale", 5.0),
    Beer("Siding Pale", 12, "pale ale", 4.6, owner="Seventh Siding Taproom"),
    Beer("Stout No. 6", 6, "stout", 5.6),
    Beer("Plum Sour No. 11", 11, "kettle sour", 4.2),
)

FORMATS = {
    "bottle 500": Format(
        "bottle",
        500,
        20,
        70,
        1.35,
        "crown, modern liner",
        "brown",
        6.0,
        "bottling",
        8,
        ingress_ppb_per_day=1.0,
    ),
    "can 440": Format(
        "can", 440, 14, 55, 1.4, "seamed end", "dark", 6.2, "canning", 4, ingress_ppb_per_day=0.0
    ),
    "keg 30": Format(
        "keg", 30_000, 300, 35, 1.4, "spear", "dark", 7.0, "racking", 2, ingress_ppb_per_day=0.0
    ),
    "bottle 750": Format(
        "bottle",
        750,
        28,
        65,
        1.35,
        "crown, scavenging liner",
        "brown",
        7.0,
        "bottling",
        8,
        ingress_ml_per_day=0.0001,
    ),
}
NEW_FORMAT = "bottle 750"  # no beer of it has been tasted
BAD_HEAD_OF = ("canning", 3)  # line and head

ROUTES = {
    "cold chain": Route(
        "shops",
        ("bottle", "can"),
        0.35,
        "Keep refrigerated, 8 °C or below",
        (Stage("our cold store", 20, 4), Stage("shop fridge", math.inf, 8)),
    ),
    "ambient": Route(
        "shops",
        ("bottle", "can"),
        0.55,
        "Store cool and dark",
        (
            Stage("wholesaler", 14, 12),
            Stage("lorry", 2, 20),
            Stage("shop shelf", math.inf, 21),
        ),
    ),
    "export": Route(
        "shops",
        ("bottle", "can"),
        0.1,
        "Store cool and dark",
        (Stage("warehouse", 30, 15), Stage("sea", 40, 28), Stage("shop shelf", math.inf, 22)),
    ),
    "on-trade keg": Route(
        "on-trade",
        ("keg",),
        1.0,
        "Keep in the cellar, 8 °C or below",
        (Stage("delivery", 10, 6), Stage("cellar", math.inf, 8)),
    ),
}


def acceleration(temp_c: ArrayLike, activation_energy: ArrayLike) -> Array:
    """How many days at 20 °C one day at `temp_c` counts for, Ea in kJ/mol."""
    kelvin = np.asarray(temp_c, dtype=np.float64) + 273.15
    slope = 1.0 / kelvin - 1.0 / (REFERENCE_C + 273.15)
    return np.asarray(np.exp(-np.asarray(activation_energy) / GAS_CONSTANT * slope))


def shaken_multiplier(temp_c: ArrayLike, headspace_ml: ArrayLike, volume_ml: ArrayLike) -> Array:
    """Total package oxygen over dissolved oxygen once shaken: 1 + K(T) · V_h / V_b."""
    temp = np.asarray(temp_c, dtype=np.float64)
    partition = 20.27 + 0.5176 * temp - 0.00177 * temp**2
    headspace = np.asarray(headspace_ml, dtype=np.float64)
    return 1.0 + partition * headspace / np.asarray(volume_ml, dtype=np.float64)


def equivalent_age(route: Route, days: float, activation_energy: float) -> float:
    """Days at 20 °C that `days` from packaging on the route are worth."""
    age = 0.0
    for stage in route.stages:
        spent = min(days, stage.days)
        age += spent * float(acceleration(stage.temp_c, activation_energy))
        days -= spent
    return age


def day_at(route: Route, age: float, activation_energy: float) -> float:
    """Days from packaging on the route that are worth `age` days at 20 °C."""
    days = 0.0
    for stage in route.stages:
        rate = float(acceleration(stage.temp_c, activation_energy))
        if age <= stage.days * rate:
            return days + age / rate
        days += stage.days
        age -= stage.days * rate
    message = "a route's last stage must be open"
    raise ValueError(message)


def share_rejected(style: str, package: str, age: ArrayLike) -> Array:
    """Expected share of glasses rejected for age in a future lot by a random assessor.

    False alarms and misses are left out: this is the share that is stale to who drinks it. The
    lot's oxygen is integrated by Gauss-Hermite quadrature, the other effects in closed form.

    Args:
        style: a key of `STYLES`.
        package: a key of `FORMATS`.
        age: days at 20 °C or their equivalent, above 0; any shape.

    Returns:
        Shares from 0 to 1, the shape of `age`.
    """
    beer, filled = STYLES[style], FORMATS[package]
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    dose = filled.median_tpo_ppb * filled.tpo_gsd**nodes + INGRESS_DAYS * filled.ingress
    middle = np.log(beer.median_days) - beer.oxygen_exponent * np.log(dose / REFERENCE_DOSE_PPB)
    spread = np.sqrt(LOT_SD**2 + ASSESSOR_SD**2 + RESIDUAL_SD**2)
    standard = (np.log(np.asarray(age, dtype=np.float64))[..., None] - middle) / spread
    expected: Array = special.ndtr(standard) @ (weights / weights.sum())
    return expected


def true_shelf_life(style: str, package: str, route: str, share: float) -> float:
    """Age in days from packaging at which the share rejected for age reaches `share`.

    The beer is kept as the route says; the share is that of `share_rejected`.

    Args:
        style: a key of `STYLES`.
        package: a key of `FORMATS`.
        route: a key of `ROUTES`.
        share: above 0 and below 1.
    """
    log_age = optimize.brentq(
        lambda x: float(share_rejected(style, package, np.exp(x))) - share, -10.0, 15.0
    )
    return day_at(ROUTES[route], math.exp(log_age), STYLES[style].activation_energy)


def routes_of(package: str) -> tuple[str, ...]:
    """Name the routes that a format's kind takes."""
    kind = FORMATS[package].kind
    return tuple(name for name, route in ROUTES.items() if kind in route.kinds)


def main() -> None:
    """Print the true shelf lives at 10, 25 and 50 % rejected."""
    for style, beer in STYLES.items():
        for package in beer.printed_days:
            for route in routes_of(package):
                days = [true_shelf_life(style, package, route, s) for s in (0.10, 0.25, 0.50)]
                shown = "  ".join(f"{d:5.0f}" for d in days)
                print(f"{style:12} {package:11} {route:13} {shown}")  # noqa: T201 - its purpose


if __name__ == "__main__":
    main()
