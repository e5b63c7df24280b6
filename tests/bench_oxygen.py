"""How long half a million oxygen readings take; part of `make bench`."""

from __future__ import annotations

import statistics
import time

import numpy as np
import polars as pl

from analysis.line.charts import ChartPlan, oxygen_charts
from analysis.oxygen.packages import package_oxygen

READINGS = 500_000
A_LOT = 6
RUNS = 3
LINES = (
    ("canning", "can 330", "can", 330.0, 17.0),
    ("canning", "can 440", "can", 440.0, 20.0),
    ("bottling", "bottle 500", "bottle", 500.0, 22.0),
    ("racking", "keg 30", "keg", 30_000.0, 600.0),
)

Tables = dict[str, pl.DataFrame]


def tables(readings: int, seed: int = 1) -> Tables:
    """Simulate readings of four lines, six a lot: half shaken, some late, some below the floor."""
    rng = np.random.default_rng(seed)
    number = np.arange(-(-readings // A_LOT))
    line, format_, kind, volume, headspace = zip(*LINES, strict=True)
    lots = pl.DataFrame(
        {
            "lot": [f"L{n:06d}" for n in number],
            "format": np.take(format_, number % len(LINES)),
            "line": np.take(line, number % len(LINES)),
            "packaged_on": np.datetime64("2000-01-01") + number // 12 * np.timedelta64(1, "D"),
            "started_at": pl.Series([None] * len(number), dtype=pl.Datetime("us")),
        }
    ).with_columns(pl.col("packaged_on").cast(pl.Date))
    lot = np.repeat(number, A_LOT)[:readings]
    shaken = rng.random(readings) < 0.5
    log_ppb = np.log(60.0) + rng.normal(0.0, 0.25, len(number))[lot]
    total = np.exp(log_ppb + rng.normal(0.0, 0.15, readings))
    oxygen = (
        lots[lot]
        .select("lot", "format", measured_at=pl.col("packaged_on").cast(pl.Datetime("us")))
        .with_columns(
            unit=pl.lit("ppb"),
            quantity=pl.Series(np.where(shaken, "shaken", "total")),
            value=pl.Series(total / np.where(shaken, 2.2, 1.0)),
            bound=pl.Series(np.where(rng.random(readings) < 0.01, "below", "")),
            reading=pl.format("R{}", pl.int_range(pl.len())),
            filled_at=pl.lit(None, pl.Datetime("us")),
            minutes_after_fill=pl.Series(np.where(rng.random(readings) < 0.04, 500.0, 30.0)),
            temperature_c=pl.when(pl.Series(rng.random(readings) < 0.9)).then(18.0),
            headspace_ml=pl.lit(None, pl.Float64),
            head=pl.Series(rng.integers(1, 13, readings)).cast(pl.String),
            run_position=pl.lit("middle"),
            meter=pl.lit("M1"),
            file=pl.lit("oxygen.csv"),
            sheet=pl.lit(""),
            row_number=pl.int_range(pl.len()),
            load_id=1,
        )
    )
    formats = pl.DataFrame(
        {"format": format_, "kind": kind, "volume_ml": volume, "headspace_ml": headspace}
    )
    return {"lots": lots, "oxygen": oxygen, "formats": formats}


def charting() -> None:
    """From readings to packages, and from packages to charts with their signals."""
    made = tables(READINGS)
    lots, formats = made["lots"], made["formats"]
    targets = formats.select("format", "kind", target_ppb=100.0, target_assumed=True)
    taken = []
    for _ in range(RUNS):
        began = time.perf_counter()
        packages = package_oxygen(
            made["oxygen"], lots, formats, shaken_temperature_c=20.0, late_after_minutes=120.0
        )
        read = time.perf_counter()
        charts = oxygen_charts(packages, lots, targets, ChartPlan())
        taken.append((read - began, time.perf_counter() - read))
    reading, charted = (statistics.median(part) for part in zip(*taken, strict=True))
    print(
        f"package oxygen, {READINGS:,} readings of {lots.height:,} lots: packages {reading:.1f} s, "
        f"charts with {charts['oxygen_signals'].height:,} signals {charted:.1f} s"
    )


if __name__ == "__main__":
    charting()
