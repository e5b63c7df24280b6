"""Which pulled samples wait to be tasted: beer that stands after its pull goes on ageing."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from analysis.week.due import Due, pulled, with_status

TASTED_ROLES = ("aged", "fresh")


def due_tastings(
    samples: pl.DataFrame,
    tasted: pl.DataFrame,
    lots: pl.DataFrame,
    *,
    within_days: int,
    missed_after_days: int,
    today: date,
) -> Due:
    """Give every sample that was pulled and not tasted.

    Args:
        samples: sample, lot, format, storage_temp_c, placed_on, pulled_on, place, role.
        tasted: sample: those of which a glass was tasted.
        lots: lot, format, beer, style.
        within_days: a sample is to be tasted within this many days of its pull.
        missed_after_days: days overdue after which it is counted as missed.
        today: the day.

    Returns:
        sample, lot, format, beer, style, role, storage_temp_c, place, age_days (in storage),
        pulled_on, due_on, days_late, status; a sample that is not due within the week is among
        them, as *later*.
    """
    waiting = with_status(
        samples.with_columns(
            role=pl.col("role").fill_null("aged"), pulled=pulled(samples, tasted, today)
        )
        .filter("pulled", pl.col("role").is_in(TASTED_ROLES))
        .join(tasted, on="sample", how="anti")
        .join(lots, on=["lot", "format"])
        .with_columns(
            age_days=(pl.col("pulled_on") - pl.col("placed_on")).dt.total_days().cast(pl.Int32),
            due_on=pl.col("pulled_on") + timedelta(days=within_days),
        ),
        today,
    )
    gone = pl.col("days_late") > missed_after_days
    return Due(
        waiting.filter(~gone)
        .select(
            "sample",
            "lot",
            "format",
            "beer",
            "style",
            "role",
            "storage_temp_c",
            "place",
            "age_days",
            "pulled_on",
            "due_on",
            "days_late",
            "status",
        )
        .sort("due_on", "sample"),
        waiting.filter(gone).height,
    )
