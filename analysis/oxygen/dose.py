"""The oxygen dose of each lot, from its packages.

    total of a lot     = geometric mean over its packages, bounds taken as bounds      (ppb)
    dose               = total + 90 days · g

g is what the closure lets in at 20 °C, ppb a day. One dose a lot, the same in every storage. A
package's total that is only a bound enters the mean by its likelihood (`censored`) and is counted
apart; a lot with lower bounds alone has no mean, only what it holds at least. Each package is
counted once: as read, as late, as a part, or as unusable.
"""

from __future__ import annotations

import polars as pl
from scipy import special

from analysis.oxygen.packages import LOT, log_bounds
from analysis.oxygen.shrinkage import shrink_lot_means
from analysis.units import ingress_ppb_per_day

DOSE_DAYS = 90.0
"""Days of ingress that count towards the dose."""

_Z = float(special.ndtri(0.95))  # of a two-sided interval of 90 %


def lot_oxygen(
    packages: pl.DataFrame,
    lots: pl.DataFrame,
    formats: pl.DataFrame,
    *,
    shaken_temperature_c: float,
) -> pl.DataFrame:
    """Return the oxygen of every lot in every format it was filled into.

    Args:
        packages: as `package_oxygen` returns them.
        lots: lot, format, line.
        formats: format, volume_ml, ingress_ppb_per_day, ingress_ml_o2_per_day.
        shaken_temperature_c: temperature that was assumed of shaken packages, °C; for the words.

    Returns:
        One row for each lot and format in `lots`, sorted by them: packages (whose total is known,
        or is below a bound), total_oxygen_ppb with total_oxygen_lower_ppb and _upper_ppb (of 90 %,
        two-sided) and dose_ppb (null without a package whose total has an upper bound),
        at_least_ppb (the geometric mean of what the packages hold at least, where that is all that
        is known), line_oxygen_ppb (the total drawn towards its line's, null where no lot of its
        line and format has one), ingress_ppb_per_day, from_shaken and below_floor (of those read),
        late, part (the beer or the gas alone, or above the meter's range), unusable, and assumed
        (text; null where nothing was).
    """
    means = shrink_lot_means(log_bounds(packages), lots)
    log_ppb = pl.col("log_ppb")
    error = (pl.col("standard_error") ** 2 + pl.col("sd_shared") ** 2).sqrt()
    return (
        lots.select(*LOT)
        .join(means, on=LOT, how="left")
        .join(_counts(packages, shaken_temperature_c), on=LOT, how="left")
        .join(_ingress(formats), on="format", how="left")
        .with_columns(total_oxygen_ppb=log_ppb.exp())
        .select(
            *LOT,
            pl.col("packages_read").fill_null(0).alias("packages"),
            "total_oxygen_ppb",
            "ingress_ppb_per_day",
            dose_ppb=pl.col("total_oxygen_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day"),
            total_oxygen_lower_ppb=(log_ppb - _Z * error).exp(),
            total_oxygen_upper_ppb=(log_ppb + _Z * error).exp(),
            at_least_ppb=pl.when(log_ppb.is_null()).then("at_least_ppb"),
            line_oxygen_ppb=pl.col("log_ppb_shrunk").exp(),
            **{
                count: pl.col(count).fill_null(0)
                for count in ("from_shaken", "late", "below_floor", "part", "unusable")
            },
            assumed=pl.col("assumed"),
        )
        .sort(LOT)
    )


def _counts(packages: pl.DataFrame, shaken_temperature_c: float) -> pl.DataFrame:
    known = pl.col("basis") != "none"
    read = known & pl.col("upper_ppb").is_not_null()
    shaken = read & pl.col("shaken")

    def count(which: pl.Expr) -> pl.Expr:
        return which.sum().cast(pl.Int32)

    def assumed(name: str, words: str) -> pl.Expr:
        return pl.when(pl.col(name) > 0).then(pl.format(words + " for {}", name))

    return (
        packages.group_by(LOT)
        .agg(
            packages_read=count(read),
            at_least_ppb=pl.col("lower_ppb").filter(pl.col("lower_ppb") > 0.0).log().mean().exp(),
            sd_shared=pl.col("sd_shared").filter(known).mean(),
            from_shaken=count(shaken),
            late=count(pl.col("late")),
            below_floor=count(read & pl.col("below")),
            part=count(known & ~read & ~pl.col("late")),
            unusable=count(~known & ~pl.col("late")),
            no_temperature=count(shaken & pl.col("no_temperature")),
            no_headspace=count(shaken & pl.col("no_headspace")),
        )
        .with_columns(
            assumed=pl.concat_str(
                assumed("no_temperature", f"shaken at {shaken_temperature_c:g} °C"),
                assumed("no_headspace", "headspace of the format"),
                separator="; ",
                ignore_nulls=True,
            ).replace("", None)
        )
    )


def _ingress(formats: pl.DataFrame) -> pl.DataFrame:
    """Return g of each format, ppb a day: as given, else from mL a day, else 0."""
    known = formats.select("ingress_ml_o2_per_day", "volume_ml").cast(pl.Float64)
    from_ml = ingress_ppb_per_day(*(column.to_numpy() for column in known))
    return formats.select(
        "format",
        ingress_ppb_per_day=pl.coalesce(
            pl.col("ingress_ppb_per_day").cast(pl.Float64),
            pl.Series(from_ml, dtype=pl.Float64).fill_nan(None),
            0.0,
        ),
    )
