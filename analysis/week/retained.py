"""Which retained samples may go: beer still in storage whose lot is well past its date.

Beyond its date a lot is no longer in the trade, and after some weeks more no complaint about it is
likely: what stands of it takes room. A sample that is to be pulled within the week stays: it is on
the list of pulls.
"""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from analysis.week.due import WEEK, pulled


def samples_to_go(
    samples: pl.DataFrame,
    tasted: pl.DataFrame,
    lots: pl.DataFrame,
    *,
    keep_days: int,
    today: date,
) -> pl.DataFrame:
    """Give the samples in storage that may go, gathered by lot, format and storage.

    Args:
        samples: sample, lot, format, storage_temp_c, pulled_on, place.
        tasted: sample: those of which a glass was tasted.
        lots: lot, format, beer, packaged_on, best_before (printed, or null), cap_days (the longest
            date of its style, which stands in where none is printed).
        keep_days: days after its date that a lot's samples are kept.
        today: the day.

    Returns:
        lot, format, beer, storage_temp_c, place, ended_on (the date), printed (whether it was),
        days_past, samples (how many), names (of the samples), pull_on (the first pull written
        down), longest past first.
    """
    ended = lots.with_columns(
        printed=pl.col("best_before").is_not_null(),
        ended_on=pl.coalesce("best_before", pl.col("packaged_on") + pl.duration(days="cap_days")),
    ).select("lot", "format", "beer", "printed", "ended_on")
    return (
        samples.with_columns(pulled=pulled(samples, tasted, today))
        .filter(~pl.col("pulled"), pl.col("pulled_on") >= pl.lit(today + WEEK))
        .join(ended, on=["lot", "format"])
        .filter(pl.col("ended_on") < pl.lit(today - timedelta(days=keep_days)))
        .sort("sample")
        .group_by("lot", "format", "beer", "storage_temp_c", "place", "ended_on", "printed")
        .agg(
            samples=pl.len().cast(pl.Int32),
            names=pl.col("sample").str.join(", "),
            pull_on=pl.col("pulled_on").min(),
        )
        .with_columns(days_past=(pl.lit(today) - pl.col("ended_on")).dt.total_days().cast(pl.Int32))
        .sort("ended_on", "lot", "format", "storage_temp_c", "place")
    )
