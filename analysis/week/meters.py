"""Which oxygen meters are to be checked against a standard."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from analysis.week.due import Due, with_status


def due_meter_checks(
    meters: pl.DataFrame, *, every_days: int, at_rest_after_days: int, today: date
) -> Due:
    """Give the meters whose check is overdue, due within the week, or was never made.

    A meter that was neither used nor checked for long stands in a drawer: it is counted only.

    Args:
        meters: meter, checked_on (its last check, or null), read_on (its last reading, or null).
        every_days: days from one check to the next.
        at_rest_after_days: days without a reading or a check after which a meter is at rest.
        today: the day.

    Returns:
        meter, checked_on, read_on, due_on (null where it was never checked), days_late, status
        (overdue, due or never); `missed` counts the meters at rest.
    """
    known = with_status(
        meters.with_columns(due_on=pl.col("checked_on") + timedelta(days=every_days)), today
    ).with_columns(
        days_late=pl.col("days_late").fill_null(0),
        status=pl.when(pl.col("checked_on").is_null())
        .then(pl.lit("never"))
        .otherwise(pl.col("status")),
    )
    last = pl.max_horizontal("checked_on", "read_on")
    at_rest = last < pl.lit(today - timedelta(days=at_rest_after_days))
    return Due(
        known.filter(~at_rest, pl.col("status") != "later")
        .select("meter", "checked_on", "read_on", "due_on", "days_late", "status")
        .sort(pl.col("due_on"), "meter", nulls_last=False),
        known.filter(at_rest).height,
    )
