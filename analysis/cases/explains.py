r"""The steady storage in the trade that would explain a complaint.

    A(trade) = age by which the share is rejected − A(way)
    1/T      = 1/293.15 K − (R / Ea) · log(A(trade) / days in the trade)

For each draw of the fit: the temperature at which, steady from the day the trade had it until it
was opened, the share of drinkers would reject it, for a lot of usual oxygen and for one with the
oxygen that was read, drawn towards its line. Bounds are the 5 and 95 % quantiles over the draws.
Temperatures worked out backwards like this were 3 to 11 °C off where they could be checked
(published, from memory).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.evidence import Oxygen
from analysis.kinetics.history import equivalent_age
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.predict import Cells, LawPart
from analysis.survival.laws import law_named
from analysis.units import GAS_CONSTANT, REFERENCE_C, celsius, kelvin

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.cases.case import Case

    Array = NDArray[np.float64]

OFF_BY_C = (3.0, 11.0)
"""How far off such temperatures are, °C."""

USUAL, THIS_LOT = "usual", "this lot"
ON_THE_WAY, IN_TRADE, NOT_BY_AGE = "on the way", "in the trade", "not by age"
_SHARES = (0.25, 0.50)
_COLDEST, _WARMEST = -5.0, 60.0
_SCHEMA = {
    "oxygen": pl.String,
    "total_oxygen_ppb": pl.Float64,
    "share_rejected": pl.Float64,
    "temp_c": pl.Float64,
    "lower_c": pl.Float64,
    "upper_c": pl.Float64,
    "reached": pl.String,
}


def explaining_storage(case: Case) -> pl.DataFrame:
    """Return the steady storage in the trade at which 25 and 50 % would reject it when opened.

    Args:
        case: the complaint.

    Returns:
        oxygen (`usual`, or `this lot` where it was read), total_oxygen_ppb, share_rejected,
        temp_c, lower_c, upper_c (null below −5 and above 60 °C) and reached: `in the trade`, `on
        the way` (before the trade had it), or `not by age` (above 60 °C). Empty where the age is
        not known, or the trade never had it.
    """
    if case.age_days is None or case.age_days <= case.trade_from:
        return pl.DataFrame(schema=_SCHEMA)
    ordered = case.draws.sort("draw")
    energy = ordered["activation_energy_kj_mol"].to_numpy()
    exponent = ordered["oxygen_exponent"].to_numpy()
    way = equivalent_age(case.stages, case.trade_from, energy)
    drinkers = _drinkers(ordered)
    rows = []
    for oxygen, log_ppb in _doses(case):
        dose = math.exp(log_ppb) + case.ingress_dose_ppb
        for share in _SHARES:
            age = drinkers.age_at(share) * (dose / REFERENCE_DOSE_PPB) ** -exponent
            temps = _steady(age - way, case.age_days - case.trade_from, energy)
            middle, lower, upper = np.quantile(temps, (0.5, 0.05, 0.95), method="inverted_cdf")
            reached = NOT_BY_AGE if middle > _WARMEST else IN_TRADE
            reached = ON_THE_WAY if middle < _COLDEST else reached
            shown = [
                float(t) if _COLDEST <= t <= _WARMEST else None for t in (middle, lower, upper)
            ]
            rows.append((oxygen, math.exp(log_ppb), share, *shown, reached))
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row")


def _steady(age: Array, days: float, energy: Array) -> Array:
    """Return the °C that give an age at 20 °C in so many days; −∞ where it is there already."""
    with np.errstate(divide="ignore", invalid="ignore"):
        per_kelvin = np.log(age / days) * GAS_CONSTANT / energy
        inverse = 1.0 / kelvin(REFERENCE_C) - per_kelvin
        temps = np.where(inverse > 0.0, celsius(1.0 / inverse), np.inf)
    return np.where(age > 0.0, temps, -np.inf)


def _drinkers(draws: pl.DataFrame) -> Cells:
    """Return who rejects a lot of 60 ppb drawn from all lots."""
    parts = tuple(
        LawPart(
            law_named(str(name)),
            part["location"].to_numpy()[:, None],
            part["scale"].to_numpy(),
            part["between"].to_numpy(),
        )
        for (name,), part in draws.group_by("distribution", maintain_order=True)
    )
    return Cells(parts, np.ones(1), draws["activation_energy_kj_mol"].to_numpy())


def _doses(case: Case) -> list[tuple[str, float]]:
    mean, sd = case.usual_log_ppb
    read = [item for item in case.items if isinstance(item, Oxygen)]
    if not read:
        return [(USUAL, mean)]
    precision, weighted = 1.0 / sd**2, mean / sd**2
    for item in read:
        if not item.at_least:
            precision += 1.0 / item.log_se**2
            weighted += item.log_ppb / item.log_se**2
    at_least = max((item.log_ppb for item in read if item.at_least), default=-math.inf)
    return [(USUAL, mean), (THIS_LOT, max(weighted / precision, at_least))]
