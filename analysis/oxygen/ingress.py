"""What closures let in, and when that overtakes what was filled in.

    overtakes = TPO / g days,    in week ⌊overtakes / 7⌋ + 1

TPO is the total package oxygen of the format's typical lot at filling (ppb), g what its closure
lets in (ppb a day), both at 20 °C: how g depends on temperature is not known. A format names one g;
a lot with another closure is counted, and takes its format's g all the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.oxygen.typical import typical
from analysis.units import ingress_ppb_per_day

if TYPE_CHECKING:
    from collections.abc import Sequence

_ROW = {
    **dict.fromkeys(["format", "kind", "closure"], pl.String),
    "ingress_ppb_per_day": pl.Float64,
    "ingress_ml_o2_per_day": pl.Float64,
    "ingress_given": pl.Boolean,
    **dict.fromkeys(["lots", "lots_bounds", "lots_other_closure"], pl.Int32),
    **dict.fromkeys(
        [
            f"{name}{end}"
            for name in ("total_oxygen_ppb", "overtakes_days")
            for end in ("", "_lower", "_upper")
        ],
        pl.Float64,
    ),
    **dict.fromkeys([f"overtakes_week{end}" for end in ("", "_lower", "_upper")], pl.Int32),
}


def lot_bounds(oxygen: pl.DataFrame) -> pl.DataFrame:
    """Return lots of whose total anything is known, with log_lower and log_upper of it.

    Args:
        oxygen: total_oxygen_ppb, and at_least_ppb where only that is known of the lot.
    """
    total, at_least = pl.col("total_oxygen_ppb"), pl.col("at_least_ppb")
    return oxygen.filter(total.is_not_null() | at_least.is_not_null()).with_columns(
        log_lower=pl.coalesce(total, at_least).log(),
        log_upper=total.log().fill_null(float("inf")),
    )


def ingress_table(oxygen: pl.DataFrame, lots: pl.DataFrame, formats: pl.DataFrame) -> pl.DataFrame:
    """Tell what the closure of each format with a lot lets in, and when it overtakes the filling.

    Args:
        oxygen: one row a lot and format, as `lot_oxygen` returns them.
        lots: lot, format, closure.
        formats: format, kind, volume_ml, closure, ingress_ppb_per_day, ingress_ml_o2_per_day.

    Returns:
        One row a format, sorted: format, kind, closure (the format's), ingress_ppb_per_day and
        ingress_ml_o2_per_day (of O2 at 20 °C and 1 atm), ingress_given (false: taken as nothing),
        lots (of whose total anything is known), lots_bounds (of these, known as bounds only),
        lots_other_closure (where both name one), total_oxygen_ppb of the typical lot with its 90 %
        interval, overtakes_days likewise (null where nothing comes in, or no lot was measured) and
        overtakes_week likewise (counted from 1).
    """
    rows = [
        _row(format_, oxygen, lots)
        for format_ in formats.join(oxygen, on="format", how="semi").sort("format").rows(named=True)
    ]
    return pl.DataFrame(rows, schema=_ROW, orient="row")


def _row(format_: dict[str, Any], oxygen: pl.DataFrame, lots: pl.DataFrame) -> Sequence[object]:
    of_format = pl.col("format") == format_["format"]
    read = lot_bounds(oxygen.filter(of_format)).sort("lot")
    filled = typical(read["log_lower"].to_numpy(), read["log_upper"].to_numpy())
    totals = (filled.value, filled.lower, filled.upper)
    per_day = float(oxygen.filter(of_format)["ingress_ppb_per_day"][0])
    of_one_ml = float(ingress_ppb_per_day(1.0, format_["volume_ml"]))
    days = [total / per_day if total is not None and per_day > 0.0 else None for total in totals]
    other = (
        lots.join(oxygen, on=["lot", "format"], how="semi")
        .filter(of_format, pl.col("closure") != pl.lit(format_["closure"], pl.String))
        .height
    )
    given = (format_["ingress_ppb_per_day"], format_["ingress_ml_o2_per_day"]) != (None, None)
    return (
        format_["format"],
        format_["kind"],
        format_["closure"],
        per_day,
        per_day / of_one_ml,
        given,
        filled.number,
        filled.bounds,
        other,
        *totals,
        *days,
        *(None if day is None else int(day // 7) + 1 for day in days),
    )
