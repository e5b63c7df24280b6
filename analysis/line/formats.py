"""Format beside format: the oxygen of the same beer filled in the same weeks.

    log r = mean over pairs of (mean log TPO of one format − that of the other)

A pair is what two formats, each on its line, were filled with from one batch; of lots that no batch
pairs, what they were filled with of one beer in the same four weeks. Lots of a pair are averaged,
so that each pair counts once; its interval is by t over pairs. A lot of which only a bound is known
makes the pair's difference a bound.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import polars as pl

from analysis.oxygen.ingress import lot_bounds
from analysis.oxygen.packages import LOT
from analysis.oxygen.typical import typical

WEEKS_DAYS = 28
"""Lots of one beer within one such stretch of days are of the same weeks."""

_SIDE = ("format", "line")
_RATIO = {
    **dict.fromkeys(["format", "line", "other_format", "other_line"], pl.String),
    **dict.fromkeys(["pairs", "pairs_by_batch", "pairs_bounds", "lots", "other_lots"], pl.Int32),
    **dict.fromkeys(["ratio", "ratio_lower", "ratio_upper"], pl.Float64),
}


def format_ratios(oxygen: pl.DataFrame, lots: pl.DataFrame) -> pl.DataFrame:
    """Tell how much more oxygen one format holds at filling than another, by their lines.

    Args:
        oxygen: one row a lot and format, as `lot_oxygen` returns them.
        lots: lot, format, beer, packaged_on, batch, line.

    Returns:
        One row for two formats, each on a line, that share a pair: format, line, other_format,
        other_line, pairs, pairs_by_batch, pairs_bounds (pairs known as bounds only), lots and
        other_lots in them, ratio (of the first format's total to the other's, at least 1 where it
        is known) with its 90 % interval. Sorted by these columns.
    """
    known = (
        lot_bounds(oxygen.select(*LOT, "total_oxygen_ppb", "at_least_ppb"))
        .join(lots.select(*LOT, "beer", "packaged_on", "batch", "line"), on=LOT)
        .with_columns(weeks=pl.col("packaged_on").dt.epoch("d") // WEEKS_DAYS)
        .sort("lot", "format")
    )
    sides = known.select(_SIDE).unique().sort(_SIDE, nulls_last=True).rows()
    rows = [
        _ratio(first, second, pairs)
        for first, second in combinations(sides, 2)
        if first[0] != second[0] and (pairs := _pairs(_of(known, first), _of(known, second))).height
    ]
    return pl.DataFrame(rows, schema=_RATIO, orient="row").sort(list(_RATIO)[:4], nulls_last=True)


def _of(known: pl.DataFrame, side: tuple[Any, ...]) -> pl.DataFrame:
    format_, line = side
    return known.filter(pl.col("format") == format_, pl.col("line").eq_missing(pl.lit(line)))


def _pairs(first: pl.DataFrame, second: pl.DataFrame) -> pl.DataFrame:
    """Return the pairs, by batch and then by weeks: low and high of their log ratio, lots."""
    batch = ["beer", "batch"]
    by_batch = _together(first.drop_nulls("batch"), second.drop_nulls("batch"), batch)
    by_weeks = _together(
        first.join(by_batch, on=batch, how="anti"),
        second.join(by_batch, on=batch, how="anti"),
        ["beer", "weeks"],
    )
    columns = ("low", "high", "lots", "other_lots")
    return pl.concat(
        [
            by_batch.select(*columns, by_batch=pl.lit(value=True)),
            by_weeks.select(*columns, by_batch=pl.lit(value=False)),
        ]
    ).filter(pl.col("low").is_finite() | pl.col("high").is_finite())


def _together(first: pl.DataFrame, second: pl.DataFrame, on: list[str]) -> pl.DataFrame:
    """Average the lots of each side by what they share, and take the difference."""
    one, other = (
        frame.sort(*on, *LOT)
        .group_by(on, maintain_order=True)
        .agg(pl.col("log_lower", "log_upper").mean(), lots=pl.len().cast(pl.Int32))
        for frame in (first, second)
    )
    return (
        one.join(other, on=on, suffix="_other")
        .sort(on)
        .select(
            *on,
            "lots",
            other_lots="lots_other",
            low=pl.col("log_lower") - pl.col("log_upper_other"),
            high=pl.col("log_upper") - pl.col("log_lower_other"),
        )
    )


def _ratio(first: tuple[Any, ...], second: tuple[Any, ...], pairs: pl.DataFrame) -> tuple[Any, ...]:
    low, high = pairs["low"].to_numpy(), pairs["high"].to_numpy()
    counts = [pairs["lots"].sum(), pairs["other_lots"].sum()]
    found = typical(low, high)
    if found.value is not None and found.value < 1.0:  # the one with more stands first
        first, second, counts = second, first, counts[::-1]
        found = typical(-high, -low)
    return (
        *first,
        *second,
        found.number,
        int(pairs["by_batch"].sum()),
        found.bounds,
        *counts,
        found.value,
        found.lower,
        found.upper,
    )
