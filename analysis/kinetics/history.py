"""A storage history of several temperatures, and the age at 20 °C that it is worth.

    equivalent age(d) = Σ_k (days spent in stage k by day d) · exp(-(Ea / R)(1/T_k - 1/293.15 K))
    mean kinetic temperature = (Ea / R) / -ln(Σ w_i exp(-Ea / (R·T_i)) / Σ w_i)

Day 0 is packaging; stage k begins when stage k - 1 ends. Ea is the activation energy, kJ/mol; T_k
the absolute temperature of a stage, given in °C; w_i the time spent at T_i. The equivalent age
rises without a break, and at least stays, so that it can be turned round: `day_at`.

Reference: Haynes, Journal of Pharmaceutical Sciences 60(6), 927-929, 1971.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import InputError
from analysis.kinetics.arrhenius import acceleration
from analysis.units import GAS_CONSTANT, REFERENCE_C, celsius, kelvin

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Stages:
    """Where beer is kept from packaging on, one temperature after the other.

    Attributes:
        days: length of each stage, days, 0 or more; the last may be infinite: until it is drunk.
        temp_c: temperature of each stage, °C.

    Raises:
        InputError: there is no stage, the two differ in length, a length is negative or not a
            number, a stage before the last never ends, or a temperature is no temperature.
    """

    days: tuple[float, ...]
    temp_c: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse what is no history."""
        fault = None
        if not self.days or len(self.days) != len(self.temp_c):
            fault = "a storage history needs at least one stage, and a temperature for each"
        elif not all(days >= 0.0 for days in self.days):
            fault = "the days of a stage must be 0 or more"
        elif math.inf in self.days[:-1]:
            fault = "only the last stage may last until the beer is drunk"
        elif np.any(np.isnan(kelvin(self.temp_c))):
            fault = "a stage needs a temperature"
        if fault is not None:
            raise InputError(fault)

    @property
    def distribution_days(self) -> float:
        """Days from packaging until the last stage begins."""
        return math.fsum(self.days[:-1])


def equivalent_age(stages: Stages, day: ArrayLike, activation_energy: ArrayLike) -> Array:
    """Return the days at 20 °C that the history is worth by a day.

    Args:
        stages: the history.
        day: days from packaging; after the end of a closed history nothing is added.
        activation_energy: kJ/mol.

    Returns:
        Equivalent ages, days at 20 °C, in the shape to which `day` and `activation_energy`
        broadcast.
    """
    day, energy = np.broadcast_arrays(
        np.asarray(day, dtype=np.float64), np.asarray(activation_energy, dtype=np.float64)
    )
    age = np.zeros(day.shape)
    begins = 0.0
    for days, temp_c in zip(stages.days, stages.temp_c, strict=True):
        age = age + np.clip(day - begins, 0.0, days) * acceleration(temp_c, energy)
        begins += days
    return age


def day_at(stages: Stages, equivalent_age: ArrayLike, activation_energy: ArrayLike) -> Array:
    """Return the day by which the history is worth an equivalent age.

    Args:
        stages: the history.
        equivalent_age: days at 20 °C, for instance one a draw.
        activation_energy: kJ/mol, for instance of the same draw.

    Returns:
        Days from packaging, in the shape to which the two broadcast; infinite where a closed
        history ends before.
    """
    age, energy = np.broadcast_arrays(
        np.asarray(equivalent_age, dtype=np.float64),
        np.asarray(activation_energy, dtype=np.float64),
    )
    day = np.zeros(age.shape)
    reached = np.zeros(age.shape)
    for days, temp_c in zip(stages.days, stages.temp_c, strict=True):
        rate = acceleration(temp_c, energy)
        day = day + np.clip((age - reached) / rate, 0.0, days)
        reached = reached + days * rate
    return np.where(age > reached, np.inf, day)


def spells(stages: Stages, begin: float, end: float) -> list[tuple[float, float]]:
    """Return the days and °C of a history from one day to another; none where it has ended."""
    kept = []
    starts = 0.0
    for days, temp_c in zip(stages.days, stages.temp_c, strict=True):
        length = min(end, starts + days) - max(begin, starts)
        if length > 0.0:
            kept.append((length, temp_c))
        starts += days
    return kept


def overlaid(stages: Stages, begin: float, kept: Stages) -> Stages:
    """Return a history in which what was kept otherwise takes the place of the same days.

    Args:
        stages: the history.
        begin: day from packaging on which the other begins.
        kept: the other; closed.
    """
    whole = [
        *spells(stages, 0.0, begin),
        *zip(kept.days, kept.temp_c, strict=True),
        *spells(stages, begin + math.fsum(kept.days), math.inf),
    ]
    days, temp_c = zip(*whole, strict=True)
    return Stages(days, temp_c)


def mean_kinetic_temperature(
    temps: ArrayLike, weights: ArrayLike, activation_energy: float
) -> float:
    """Return the one temperature, °C, that would have aged the beer as much as all of them.

    Args:
        temps: temperatures, °C, shape (n,).
        weights: time spent at each, in any unit, shape (n,).
        activation_energy: kJ/mol, above 0.

    Raises:
        InputError: the weights are negative or all 0, the shapes differ, or the energy is not
            above 0.
    """
    temp_c = np.asarray(temps, dtype=np.float64)
    time = np.asarray(weights, dtype=np.float64)
    if temp_c.shape != time.shape or not np.all(time >= 0.0) or not np.any(time > 0.0):
        message = "a mean kinetic temperature needs a weight of 0 or more for each temperature"
        raise InputError(message)
    if not activation_energy > 0.0:
        message = "a mean kinetic temperature needs an activation energy above 0"
        raise InputError(message)
    mean_rate = np.average(acceleration(temp_c, activation_energy), weights=time)
    inverse = 1.0 / kelvin(REFERENCE_C) - np.log(mean_rate) * GAS_CONSTANT / activation_energy
    return float(celsius(1.0 / inverse))
