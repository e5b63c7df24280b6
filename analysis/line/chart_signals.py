"""What the rules find on one chart, in lots, days and ppb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

from analysis.control.charts import WEIGHT
from analysis.control.rules import signals

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analysis.control.charts import Limits

    Array = NDArray[np.float64]

_Z = float(stats.norm.ppf(0.95))  # of a two-sided interval of 90 %
SIGNALS = pl.Schema(
    {
        "rule": pl.String,
        "side": pl.String,
        "first_lot": pl.String,
        "first_on": pl.Date,
        "found_lot": pl.String,
        "found_on": pl.Date,
        "last_lot": pl.String,
        "last_on": pl.Date,
        "lots": pl.Int32,
        "ongoing": pl.Boolean,
        "bound": pl.Boolean,
        "level_ppb": pl.Float64,
        "change_ppb": pl.Float64,
        "change_lower_ppb": pl.Float64,
        "change_upper_ppb": pl.Float64,
        "sigmas": pl.Float64,
    }
)


def signals_of(points: pl.DataFrame, limits: Limits, rules: Sequence[str]) -> pl.DataFrame:
    """Return the signals of a chart.

    Args:
        points: of one chart, as `lot_points` returns them.
        limits: of the chart.
        rules: names of rules.

    Returns:
        One row a signal, sorted by the day on which it was found, with the columns of `SIGNALS`:
        side (above, below), where it begins, was found and ends, lots that tell in it, whether no
        lot that tells came after; level_ppb (geometric mean of its lots that have one; where all of
        them are bounds, of those, and `bound` says so) and change_ppb from the centre, with the
        ends of its interval of 90 %, and how many SDs that is.
    """
    low, high = points["low"].to_numpy(), points["high"].to_numpy()
    place = points.select("lot", "packaged_on")
    frames = []
    for rule in rules:
        found = signals(rule, low, high, limits, weight=WEIGHT)
        level, lots, bound = _levels(low, high, found.first, found.last, found.side)
        half = _Z * limits.sd * np.sqrt(1.0 / lots + 1.0 / limits.points)
        centre = np.exp(limits.centre)
        day = {
            f"{when}_{name}": column
            for when, at in (("first", found.first), ("found", found.found), ("last", found.last))
            for name, column in zip(("lot", "on"), place[at].get_columns(), strict=True)
        }
        frames.append(
            pl.DataFrame(
                {
                    "rule": pl.Series([rule] * len(level), dtype=pl.String),
                    "side": np.where(found.side > 0, "above", "below"),
                    **day,
                    "lots": found.points,
                    "ongoing": found.ongoing,
                    "bound": bound,
                    "level_ppb": np.exp(level),
                    "change_ppb": np.exp(level) - centre,
                    "change_lower_ppb": np.exp(level - half) - centre,
                    "change_upper_ppb": np.exp(level + half) - centre,
                    "sigmas": np.abs(level - limits.centre) / limits.sd,
                }
            ).cast(SIGNALS)
        )
    every = pl.concat([pl.DataFrame(schema=SIGNALS), *frames])
    return every.sort("found_on", "first_on", "rule", "first_lot")


def _levels(
    low: Array,
    high: Array,
    first: NDArray[np.int64],
    last: NDArray[np.int64],
    side: NDArray[np.int64],
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return the mean of the lots of each signal, how many it rests on, and whether all are bounds.

    The mean of lots that are all bounds is that of what they are beyond.
    """
    clean = low == high
    total, number = _sums(np.where(clean, low, 0.0), clean, first, last)
    bound = number == 0
    bounds = [
        _sums(np.where(np.isfinite(b), b, 0.0), np.isfinite(b), first, last) for b in (low, high)
    ]
    beyond, beyond_number = (
        np.where(side > 0, lower, upper) for lower, upper in zip(*bounds, strict=True)
    )
    lots = np.where(bound, beyond_number, number)
    return np.where(bound, beyond, total) / lots, lots, bound


def _sums(
    values: Array, counts: NDArray[np.bool_], first: NDArray[np.int64], last: NDArray[np.int64]
) -> tuple[Array, Array]:
    """Return the sum of values and of counts from first to last, both included."""
    sums = (np.concatenate([[0.0], np.cumsum(part)]) for part in (values, counts))
    total, number = (part[last + 1] - part[first] for part in sums)
    return total, number
