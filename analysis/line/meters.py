"""What a brewery's meters say of themselves and of each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.control.comparison import deming, limits_of_agreement
from analysis.control.meters import (
    bias_and_drift,
    check_standard,
    doubtful_spans,
    in_doubt,
    judged_checks,
    recent_checks,
)
from analysis.errors import NotEstimable
from analysis.oxygen.packages import LOT, is_clean

if TYPE_CHECKING:
    from collections.abc import Mapping

LEAST_PACKAGES = 3
"""Clean packages of a lot on each of two meters from which its means are compared."""


def readings_in_doubt(tables: Mapping[str, pl.DataFrame]) -> pl.Series:
    """Tell which rows of the oxygen table a meter read while it was in doubt.

    Args:
        tables: oxygen and meter_checks.
    """
    return in_doubt(tables["oxygen"], doubtful_spans(judged_checks(tables["meter_checks"])))


def meter_report(
    tables: Mapping[str, pl.DataFrame], packages: pl.DataFrame
) -> dict[str, pl.DataFrame]:
    """Tabulate the meters' checks, what is in doubt, and how meters compare.

    Args:
        tables: the input tables oxygen and meter_checks.
        packages: as `package_oxygen` returns them, of all readings.

    Returns:
        By name: `meter_checks` (each judged), `meter_bias` (by meter and standard, with repeats),
        `meter_readings` (rows of each meter, those that name none too, and how many in doubt),
        `meter_doubts` (each span with the rows and lots read in it), `readings_in_doubt` (rows by
        lot, format, line and meter), `meter_pairs` (two meters on the same lots).
    """
    judged = judged_checks(tables["meter_checks"])
    spans = doubtful_spans(judged)
    readings = tables["oxygen"].select(*LOT, "meter", "measured_at")
    readings = readings.with_columns(in_doubt(readings, spans))
    lines = packages.select(*LOT, "line").unique()
    return {
        "meter_checks": judged,
        "meter_bias": bias_and_drift(judged).join(
            _repeats(judged), on=["meter", "standard", "unit"], how="left"
        ),
        "meter_readings": readings.group_by("meter")
        .agg(
            readings=pl.len().cast(pl.Int32),
            in_doubt=pl.col("in_doubt").sum().cast(pl.Int32),
            last_read=pl.col("measured_at").max(),
        )
        .sort("meter"),
        "meter_doubts": _doubts(readings, spans),
        "readings_in_doubt": readings.filter("in_doubt")
        .join(lines, on=LOT, how="left")
        .group_by(*LOT, "line", "meter")
        .agg(readings=pl.len().cast(pl.Int32))
        .sort(*LOT, "meter"),
        "meter_pairs": _pairs(packages),
    }


def _doubts(readings: pl.DataFrame, spans: pl.DataFrame) -> pl.DataFrame:
    numbered = spans.with_row_index("span")
    counted = pl.concat(
        [
            readings.filter(in_doubt(readings, part)).select(
                span=pl.lit(number, pl.UInt32), lot=pl.struct(LOT)
            )
            for number, part in enumerate(spans.iter_slices(1))
        ]
        or [
            pl.DataFrame(
                schema={"span": pl.UInt32, "lot": pl.Struct(dict.fromkeys(LOT, pl.String))}
            )
        ]
    )
    totals = counted.group_by("span").agg(
        readings=pl.len().cast(pl.Int32), lots=pl.col("lot").n_unique().cast(pl.Int32)
    )
    return (
        numbered.join(totals, on="span", how="left")
        .sort("span")
        .with_columns(pl.col("readings", "lots").fill_null(0))
        .rename({"span": "episode"})
        .with_columns(pl.col("episode").cast(pl.Int32) + 1)
    )


def _repeats(judged: pl.DataFrame) -> pl.DataFrame:
    """Return what repeats of a standard within a day show, of its error; none where none repeat."""
    rows = []
    for key, part in recent_checks(judged).group_by(
        "meter", "standard", "unit", maintain_order=True
    ):
        try:
            shown = check_standard(
                part["error"].to_numpy(), part["checked_at"].dt.date().cast(pl.Int32).to_numpy()
            )
        except NotEstimable:
            continue
        rows.append((*key, shown.short_term_sd, shown.between_sd, *shown.limits))
    numbers = ("short_term_sd", "between_sd", "limit_lower", "limit_upper")
    schema = {
        **dict.fromkeys(("meter", "standard", "unit"), pl.String),
        **dict.fromkeys(numbers, pl.Float64),
    }
    return pl.DataFrame(rows, schema=schema, orient="row")


_PAIR = ("first_meter", "second_meter")
_NUMBERS = tuple(
    f"{name}{bound}"
    for name in ("slope", "intercept", "ratio")
    for bound in ("", "_lower", "_upper")
)


def _pairs(packages: pl.DataFrame) -> pl.DataFrame:
    """Set two meters side by side on the lots that both have read, in logs of ppb."""
    means = (
        packages.filter(is_clean(), pl.col("meter").is_not_null())
        .group_by(*LOT, "meter")
        .agg(mean=pl.col("lower_ppb").log().sort().mean(), packages=pl.len())
        .filter(pl.col("packages") >= LEAST_PACKAGES)
        .sort(*LOT, "meter")
    )
    both = means.join(means, on=LOT, suffix="_second").filter(
        pl.col("meter") < pl.col("meter_second")
    )
    rows = []
    for key, part in both.group_by("meter", "meter_second", maintain_order=True):
        first, second = part["mean"].to_numpy(), part["mean_second"].to_numpy()
        numbers: list[float | None] = [None] * (len(_NUMBERS) + 2)
        reason = None
        try:
            line, apart = deming(first, second), limits_of_agreement(first, second)
        except NotEstimable as error:
            reason = str(error)
        else:
            ratio, limits = apart.bias, (apart.lower, apart.upper)
            numbers = [
                *(line.slope.value, line.slope.lower, line.slope.upper),
                *(line.intercept.value, line.intercept.lower, line.intercept.upper),
                *np.exp([ratio.value, ratio.lower, ratio.upper, *limits]).tolist(),
            ]
        rows.append((*key, part.height, *numbers, reason))
    schema = {
        **dict.fromkeys(_PAIR, pl.String),
        "lots": pl.Int32,
        **dict.fromkeys((*_NUMBERS, "agreement_lower", "agreement_upper"), pl.Float64),
        "reason": pl.String,
    }
    return pl.DataFrame(rows, schema=schema, orient="row").sort(_PAIR)
