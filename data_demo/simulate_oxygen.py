"""What the line measures: oxygen in single packages, and the meters' checks."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from data_demo import truth
from data_demo.simulate_cellar import LAST_DAY, QUARTERS

if TYPE_CHECKING:
    from numpy.typing import NDArray

METERS = {"M1": 0.05, "M2": 0.09}  # relative noise
FLOOR_PPB = 2.0
_LATE_SHARE, _LATE_KEEPS = 0.04, 0.6  # a late package has eaten the rest of its oxygen
_NO_TEMPERATURE, _DISSOLVED_ONLY, _RESTART, _START = 0.08, 0.06, 0.05, 0.05
_NOT_MIDDLE, _SHAKEN, _FIRST_METER = 0.3, 0.5, 0.75
_MEASURED_SHARE = 0.97  # packages that somebody wrote down
_WITHIN_LOT_SD = 0.10


def readings(
    rng: np.random.Generator, fills: pl.DataFrame, packages: tuple[int, int]
) -> pl.DataFrame:
    """Measure 3 to 12 packages a lot, half of them shaken; a few late, a few without temperature.

    A shaken reading is the beer's share once shaken, total over 1 + K(T) · V_h / V_b. Kegs cannot
    be shaken: they are read whole, or on the beer side only.

    Args:
        rng: where the draws come from.
        fills: as `simulate_cellar.fill` draws them.
        packages: fewest and most packages a lot.
    """
    few = np.where(fills["format"] == truth.NEW_FORMAT, 5, packages[1])
    counts = rng.integers(np.minimum(packages[0], few), few + 1)
    lot = np.repeat(np.arange(len(fills)), counts)
    n = len(lot)
    package = fills["format"].to_numpy()[lot]
    stated = [truth.FORMATS[f] for f in fills["format"]]
    line = np.array([f.line for f in stated])[lot]
    volume = np.array([float(f.volume_ml) for f in stated])[lot]
    headspace = np.array([float(f.headspace_ml) for f in stated])[lot]
    kegs = np.array([f.kind == "keg" for f in stated])[lot]

    head = rng.integers(1, np.array([f.heads for f in stated])[lot] + 1)
    lines = sorted(set(line))
    tendency = _head_tendencies(rng, fills, lines)
    draw = rng.uniform(size=n)
    position = np.select(
        [draw < _START, draw < _START + _RESTART, draw < _NOT_MIDDLE],
        ["start", "restart", "end"],
        "middle",
    )
    late = rng.uniform(size=n) < _LATE_SHARE
    after = np.where(late, rng.integers(240, 2400, n), rng.integers(10, 100, n))
    total = (
        fills["tpo_ppb"].to_numpy()[lot]
        * np.exp(tendency[np.searchsorted(lines, line), head] + rng.normal(0, _WITHIN_LOT_SD, n))
        * np.where(position == "start", truth.START_UP, 1.0)
        * np.where(late, _LATE_KEEPS, 1.0)
        * np.where(
            fills["seam_failed"].to_numpy()[lot] & (head == truth.BAD_HEAD_OF[1]),
            truth.FAILED_SEAM,
            1.0,
        )
    )
    shaken = ~kegs & (rng.uniform(size=n) < _SHAKEN)
    beer_side = kegs & (rng.uniform(size=n) < _DISSOLVED_ONLY)
    temp = np.where(kegs, 6.0, rng.normal(18.0, 3.0, n)).round(1)
    multiplier = truth.shaken_multiplier(temp, headspace, volume)
    true_value = total / np.where(shaken | beer_side, multiplier, 1.0)
    meter = np.where(rng.uniform(size=n) < _FIRST_METER, "M1", "M2")
    noise = np.where(meter == "M1", METERS["M1"], METERS["M2"])
    value = true_value * (1 + noise * rng.normal(size=n)) + rng.uniform(-FLOOR_PPB, FLOOR_PPB, n)
    temperature = pl.Series(temp)
    filled = fills["packaged_on"].to_numpy()[lot].astype("datetime64[us]") + (
        rng.integers(9 * 60, 13 * 60, n) * np.timedelta64(60_000_000, "us")
    )
    return (
        pl.DataFrame(
            {
                "lot": fills["lot"].to_numpy()[lot],
                "format": package,
                "measured_at": filled + after * np.timedelta64(60_000_000, "us"),
                "unit": "ppb",
                "reading": [f"R{i:05d}" for i in range(1, n + 1)],
                "minutes_after_fill": after.astype(np.float64),
                "temperature_c": temperature,
                "head": head.astype(str),
                "run_position": position,
                "meter": meter,
                "quantity": np.select([shaken, beer_side], ["shaken", "dissolved"], "total"),
                "value": np.maximum(value, 1.0).round(1),
                "bound": "",
            }
        )
        .with_columns(
            temperature_c=pl.when(pl.Series(rng.uniform(size=n) >= _NO_TEMPERATURE)).then(
                "temperature_c"
            )
        )
        .filter(pl.Series(rng.uniform(size=n) < _MEASURED_SHARE))
        .sort("measured_at", "reading")
    )


def _head_tendencies(
    rng: np.random.Generator, fills: pl.DataFrame, lines: list[str]
) -> NDArray[np.float64]:
    """Draw each head's log ratio to its line's mean, shape (lines, heads + 1); heads count from 1.

    A lot's oxygen is the geometric mean over its heads, so the ratios of a line sum to nothing.
    """
    heads = {truth.FORMATS[f].line: truth.FORMATS[f].heads for f in fills["format"].unique()}
    tendency = np.zeros((len(lines), max(heads.values()) + 1))
    for row, line in zip(tendency, lines, strict=True):
        ratios = rng.normal(0.0, truth.HEAD_SD, heads[line])
        if line == truth.BAD_HEAD_OF[0]:
            ratios[truth.BAD_HEAD_OF[1] - 1] = np.log(truth.BAD_HEAD)
        row[1 : heads[line] + 1] = ratios - ratios.mean()
    return tendency


def meter_checks(rng: np.random.Generator) -> pl.DataFrame:
    """Check both meters every second week; the second drifts upwards until it is adjusted."""
    days = [QUARTERS[0] + dt.timedelta(days=d) for d in range(0, (LAST_DAY - QUARTERS[0]).days, 14)]
    rows = []
    for meter, relative in METERS.items():
        for i, day in enumerate(days):
            drift = 0.012 * (i % 13) if meter == "M2" else 0.0
            for standard, expected, tolerance in (("zero", 0.0, 3.0), ("reference", 50.0, 5.0)):
                noise = rng.normal(0, 0.6) + expected * relative * 0.3 * rng.normal()
                rows.append(
                    {
                        "meter": meter,
                        "checked_at": dt.datetime.combine(day, dt.time(6, 40)),
                        "standard": standard,
                        "expected": expected,
                        "observed": round(expected * (1 + drift) + noise, 1),
                        "unit": "ppb",
                        "tolerance": tolerance,
                        "state": "found",
                    }
                )
    return pl.DataFrame(rows)
