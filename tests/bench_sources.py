"""How long it takes to take half a million packages' oxygen apart; part of `make bench`."""

from __future__ import annotations

import statistics
import time

import numpy as np
import polars as pl

from analysis.line.heads import head_report
from analysis.line.sources import source_report

PACKAGES = 500_000
A_LOT = 6
HEADS = 24
RUNS = 3
CHARTS = (
    ("canning", "can 330"),
    ("canning", "can 440"),
    ("bottling", "bottle"),
    ("racking", "keg"),
)
NO_CHANGES = pl.DataFrame(
    schema={"changed_on": pl.Date, **dict.fromkeys(("line", "beer", "format"), pl.String)}
)


def packages(number: int, seed: int = 1) -> pl.DataFrame:
    """Simulate packages of three lines, six a lot, twelve lots a day; one in twenty is late."""
    rng = np.random.default_rng(seed)
    lot = np.arange(number) // A_LOT
    line, format_ = zip(*CHARTS, strict=True)
    ppb = 60.0 * np.exp(rng.normal(0.0, 0.25, lot[-1] + 1)[lot] + rng.normal(0.0, 0.15, number))
    late = rng.random(number) < 0.05
    return pl.DataFrame(
        {
            "lot": pl.Series(lot).cast(pl.String).str.zfill(6),
            "format": np.take(format_, lot % len(CHARTS)),
            "line": np.take(line, lot % len(CHARTS)),
            "packaged_on": np.datetime64("2000-01-01") + lot // 12 * np.timedelta64(1, "D"),
            "head": pl.Series(rng.integers(1, HEADS + 1, number)).cast(pl.String),
            "run_position": np.take(("start", "middle", "end"), rng.integers(0, 3, number)),
            "basis": "total",
            "lower_ppb": ppb,
            "upper_ppb": pl.select(pl.when(pl.Series(~late)).then(pl.Series(ppb))).to_series(),
        }
    ).with_columns(pl.col("packaged_on").cast(pl.Date))


def taking_apart() -> None:
    """From packages to variance by source, and from packages to the heads of the last lots."""
    made = packages(PACKAGES)
    taken = []
    for _ in range(RUNS):
        began = time.perf_counter()
        sources = source_report(made)
        apart = time.perf_counter()
        head_report(made, NO_CHANGES)
        taken.append((apart - began, time.perf_counter() - apart))
    apart_in, heads_in = (statistics.median(part) for part in zip(*taken, strict=True))
    print(
        f"package oxygen, {PACKAGES:,} packages of {int(sources['oxygen_lines']['lots'].sum()):,} "
        f"lots: taken apart by source in {apart_in:.1f} s, heads in {heads_in:.1f} s"
    )


if __name__ == "__main__":
    taking_apart()
