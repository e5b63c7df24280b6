r"""Whether retained samples kept to the printed date, by what the panel said around that day.

A glass of beer in which the policy's share p of drinkers finds age is rejected with probability
q = a + (1 − a) · p, a being the panel's false alarms on blind fresh beer. With k of n rejected
around the date, the exact (Clopper-Pearson) 90 % bounds of the share decide:

    did not keep   the lower bound lies above q
    kept           the upper bound lies below q
    too few        else

Reference: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
"""

from __future__ import annotations

import polars as pl

from analysis.panel.verdict_errors import exact_interval

AROUND_DAYS = 14
"""So far from the printed day a tasting still speaks of it."""
WARMEST_C = 25.0
"""Beer kept warmer was forced and says nothing of the date by itself."""


def kept_to_date(tasted: pl.DataFrame, share_rejected: float, false_alarms: float) -> pl.DataFrame:
    """Judge the samples that were tasted around the printed date of their lot.

    Args:
        tasted: lot, format, sample, storage_temp_c, age_days (from packaging to pull), printed_days
            (from packaging to the printed date; null: none printed), tasted, rejected.
        share_rejected: the share at which a life ends, 0 to 1.
        false_alarms: share of blind fresh beer that the panel rejects, 0 to 1.

    Returns:
        The rows of beer kept at no more than 25 °C within fourteen days of its date, with
        `rejected_lower`, `rejected_upper` (shares) and `finding`: `kept`, `did not keep` or
        `too few`; those that did not keep first, then by lot.
    """
    around = tasted.filter(
        pl.col("storage_temp_c") <= WARMEST_C,
        (pl.col("age_days") - pl.col("printed_days")).abs() <= AROUND_DAYS,
        pl.col("tasted") > 0,
    )
    lower, upper = exact_interval(around["rejected"].to_numpy(), around["tasted"].to_numpy())
    limit = false_alarms + (1.0 - false_alarms) * share_rejected
    order = {"did not keep": 0, "too few": 1, "kept": 2}
    return (
        around.with_columns(
            rejected_lower=pl.Series(lower, dtype=pl.Float64),
            rejected_upper=pl.Series(upper, dtype=pl.Float64),
        )
        .with_columns(
            finding=pl.when(pl.col("rejected_lower") > limit)
            .then(pl.lit("did not keep"))
            .when(pl.col("rejected_upper") < limit)
            .then(pl.lit("kept"))
            .otherwise(pl.lit("too few"))
        )
        .sort(pl.col("finding").replace_strict(order), "lot", "format", "sample")
    )
