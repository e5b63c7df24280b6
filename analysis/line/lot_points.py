"""One point a lot, in the order of filling: its mean log oxygen, or the bound that is known of it.

A lot's mean takes the packages that are only bounds as bounds. A lot with bounds to one side alone
has no mean; it is known to lie beyond the mean of its packages' bounds.
"""

from __future__ import annotations

import polars as pl

from analysis.oxygen.packages import LOT, log_bounds
from analysis.oxygen.shrinkage import shrink_lot_means

CHART = ("line", "format")


def lot_points(packages: pl.DataFrame, lots: pl.DataFrame) -> pl.DataFrame:
    """Return the points of all charts.

    Args:
        packages: as `package_oxygen` returns them.
        lots: lot, format, line, started_at (of the run, may be null).

    Returns:
        One row a lot and format with a package of which anything is known, sorted by line, format
        and filling (day, start of the run or else first reading, lot): line, format, lot,
        packaged_on, packages, late (packages read late), low and high (of log ppb: equal where the
        lot has a mean, ∓∞ for no bound), beer_ppb (geometric mean of the beer side, late ones left
        out, null without), from_end (1 for the newest lot of its chart).
    """
    known = log_bounds(packages)
    means = shrink_lot_means(known, lots).select(*LOT, "log_ppb")
    return (
        known.group_by(LOT)
        .agg(
            pl.col("line", "packaged_on").first(),
            pl.col("measured_at").min(),
            packages=pl.len().cast(pl.Int32),
            late=pl.col("late").sum().cast(pl.Int32),
            low=pl.col("log_lower").mean(),
            high=pl.col("log_upper").mean(),
            beer_ppb=pl.col("beer_ppb").filter(~pl.col("late")).log().mean().exp(),
        )
        .join(means, on=LOT)
        .join(lots.select(*LOT, "started_at"), on=LOT)
        .with_columns(
            low=pl.coalesce("log_ppb", "low"),
            high=pl.coalesce("log_ppb", "high"),
            filled_at=pl.coalesce("started_at", "measured_at"),
        )
        .sort(*CHART, "packaged_on", "filled_at", "lot", nulls_last=True)
        .select(
            *CHART,
            "lot",
            "packaged_on",
            "packages",
            "late",
            "low",
            "high",
            "beer_ppb",
            from_end=pl.int_range(pl.len(), 0, -1).over(CHART),
        )
    )
