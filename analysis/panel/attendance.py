"""How often each assessor came, of the sessions held while they were on the panel."""

from __future__ import annotations

import polars as pl


def attendance(tastings: pl.DataFrame, assessors: pl.DataFrame) -> pl.DataFrame:
    """Count the sessions of each assessor, and those held meanwhile.

    On the panel is who tastes: from the first session, or the day of training where that is
    earlier, to the day of leaving. Who is in the table assessors and has not left is on it still;
    who is not in the table was on it until the last session that they came to.

    Args:
        tastings: session, tasted_on, assessor.
        assessors: assessor, trained_on, left_on.

    Returns:
        assessor, first_session, last_session (days), sessions, sessions_held; sorted by assessor.
    """
    came = tastings.select("session", "tasted_on", "assessor").unique()
    held = came.group_by("session").agg(held_on=pl.col("tasted_on").min())
    last = held["held_on"].max()
    of_each = (
        came.group_by("assessor")
        .agg(
            first_session=pl.col("tasted_on").min(),
            last_session=pl.col("tasted_on").max(),
            sessions=pl.col("session").n_unique().cast(pl.Int32),
        )
        .join(
            assessors.select("assessor", "trained_on", "left_on", listed=True),
            on="assessor",
            how="left",
        )
        .with_columns(
            since=pl.min_horizontal("first_session", "trained_on"),
            until=pl.max_horizontal(
                "last_session",
                pl.when("listed").then(pl.col("left_on").fill_null(pl.lit(last, pl.Date))),
            ),
        )
    )
    counted = (
        of_each.join_where(
            held, pl.col("held_on") >= pl.col("since"), pl.col("held_on") <= pl.col("until")
        )
        .group_by("assessor")
        .agg(sessions_held=pl.len().cast(pl.Int32))
    )
    return (
        of_each.join(counted, on="assessor")
        .select("assessor", "first_session", "last_session", "sessions", "sessions_held")
        .sort("assessor")
    )
