"""What temperature loggers say: trips of readings, the days they make, and what a cupboard was.

    a reading holds until the next one; the last of a trip as long as the logger's middle interval

A gap of more than ten such intervals, and of more than a day, parts two trips: nobody knows what
was between them. A single reading tells no length and is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.kinetics.arrhenius import acceleration
from analysis.kinetics.history import Stages, mean_kinetic_temperature

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_APART = 10.0  # middle intervals
_DAY = 1.0
_WEEK = 7.0
OFF_C = 1.0
"""A place is named where it was further than this from what its samples say, °C."""

_PLACES: dict[str, pl.DataType | type[pl.DataType]] = {
    "place": pl.String,
    "storage_temp_c": pl.Float64,
    "samples": pl.Int32,
    "readings": pl.Int32,
    "first_at": pl.Datetime("us"),
    "last_at": pl.Datetime("us"),
    "lowest_c": pl.Float64,
    "highest_c": pl.Float64,
    "mean_c": pl.Float64,
    "mean_kinetic_c": pl.Float64,
    "energy_kj_mol": pl.Float64,
    "worth_days": pl.Float64,
    "off": pl.Boolean,
}


@dataclass(frozen=True)
class Trip:
    """Readings of one logger without a long gap.

    Attributes:
        logger: its name.
        begins_at: first reading.
        ends_at: when the last one ceases to hold.
        days: how long each holds, days, shape (n,).
        temp_c: °C, shape (n,).
    """

    logger: str
    begins_at: datetime
    ends_at: datetime
    days: Array = field(repr=False)
    temp_c: Array = field(repr=False)

    @property
    def length(self) -> float:
        """Days that it lasted."""
        return float(self.days.sum())

    def mean_kinetic(self, energy: float) -> float:
        """Return its mean kinetic temperature, °C, with an activation energy in kJ/mol."""
        return mean_kinetic_temperature(self.temp_c, self.days, energy)

    def daily(self, energy: float) -> Stages:
        """Return its days, each at its mean kinetic temperature."""
        place = np.floor(np.cumsum(self.days) - self.days + 1e-9)
        kept = [self._of(place == day, energy) for day in np.unique(place)]
        lengths, temps = zip(*kept, strict=True)
        return Stages(lengths, temps)

    def _of(self, there: NDArray[np.bool_], energy: float) -> tuple[float, float]:
        days = self.days[there]
        return float(days.sum()), mean_kinetic_temperature(self.temp_c[there], days, energy)


def trips(log: pl.DataFrame) -> tuple[Trip, ...]:
    """Part the readings of each logger into trips.

    Args:
        log: logger, read_at, temp_c; of loggers on one route, or in one place.

    Returns:
        The trips of loggers with two readings or more, by logger and time.
    """
    made = []
    for (logger,), part in log.sort("logger", "read_at").group_by("logger", maintain_order=True):
        at = part["read_at"].to_numpy()
        gaps = np.diff(at) / np.timedelta64(1, "D")
        if not len(gaps):
            continue
        usual = float(np.median(gaps))
        ends = np.append(gaps > max(_APART * usual, _DAY), values=True)
        days = np.where(ends, usual, np.append(gaps, usual))
        begins = np.flatnonzero(np.append(True, ends[:-1]))
        for begin, end in zip(begins, np.flatnonzero(ends) + 1, strict=True):
            held = days[begin:end]
            begins_at = part["read_at"][int(begin)]
            made.append(
                Trip(
                    logger=str(logger),
                    begins_at=begins_at,
                    ends_at=begins_at + timedelta(days=float(held.sum())),
                    days=held,
                    temp_c=part["temp_c"].to_numpy()[begin:end],
                )
            )
    return tuple(made)


def hottest_week(kept: Stages, energy: float) -> tuple[float, Stages]:
    """Find the seven days that aged the beer most.

    Args:
        kept: days with their temperatures, closed.
        energy: activation energy, kJ/mol.

    Returns:
        Days from its beginning to that of the week, and the week; all of it where it is shorter.
    """
    days = np.asarray(kept.days)
    begins = np.cumsum(days) - days
    worth = np.append(0.0, np.cumsum(days * acceleration(kept.temp_c, energy)))
    lengths = np.append(0.0, np.cumsum(days))
    last = np.searchsorted(lengths, begins + _WEEK - 1e-9)
    whole = np.flatnonzero(last < len(lengths))
    if not len(whole):
        return 0.0, kept
    by_day = (worth[last[whole]] - worth[whole]) / (lengths[last[whole]] - lengths[whole])
    first = int(whole[np.argmax(by_day)])
    end = int(last[first])
    return float(begins[first]), Stages(kept.days[first:end], kept.temp_c[first:end])


def places(log: pl.DataFrame, samples: pl.DataFrame, energy: float) -> pl.DataFrame:
    """Set what loggers read in each place beside what its samples say.

    Args:
        log: logger, read_at, temp_c, place.
        samples: place, storage_temp_c.
        energy: activation energy, kJ/mol.

    Returns:
        One row for each place with readings and each temperature that samples there have (null
        where none names it): samples, readings, first_at, last_at, lowest_c, highest_c, mean_c,
        mean_kinetic_c, energy_kj_mol, worth_days (what 100 days there were worth in days at that
        temperature), off (further than 1 °C from it).
    """
    said = samples.drop_nulls(["place", "storage_temp_c"])
    rows = []
    for (place,), part in (
        log.drop_nulls("place").sort("place").group_by("place", maintain_order=True)
    ):
        if not (kept := trips(part)):
            continue
        temps = np.concatenate([trip.temp_c for trip in kept])
        days = np.concatenate([trip.days for trip in kept])
        kinetic = mean_kinetic_temperature(temps, days, energy)
        there = said.filter(pl.col("place") == place).group_by("storage_temp_c").len()
        for nominal, count in there.sort("storage_temp_c").rows() or [(None, 0)]:
            worth = None if nominal is None else float(acceleration(kinetic, energy, nominal))
            rows.append(
                (
                    *(place, nominal, count, len(temps)),
                    *(min(t.begins_at for t in kept), max(t.ends_at for t in kept)),
                    *(float(temps.min()), float(temps.max())),
                    *(float(np.average(temps, weights=days)), kinetic, energy),
                    None if worth is None else 100.0 * worth,
                    nominal is not None and abs(kinetic - nominal) > OFF_C,
                )
            )
    return pl.DataFrame(rows, schema=_PLACES, orient="row")
