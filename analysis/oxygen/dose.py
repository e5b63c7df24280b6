"""The oxygen dose of each lot, from its packages' readings.

    total of a package = total, else Z · shaken, else dissolved + headspace           (ppb)
    total of a lot     = geometric mean over its packages
    dose               = total + 90 days · g

Z is the multiplier of `partition`; g is what the closure lets in at 20 °C, ppb a day. One dose a
lot, the same in every storage. What is only a lower bound is counted and never averaged: a reading
later than two hours after filling (beer has consumed oxygen by then), one above the meter's range,
the beer or the headspace alone. A reading below the meter's floor is taken at the floor. Each
package is counted once: as used, as late, or as unusable.

Reference: Vilachá & Uhlig 1985, for the total of a shaken package.
"""

from __future__ import annotations

import polars as pl

from analysis.oxygen.partition import COLDEST_C, WARMEST_C, shaken_multiplier
from analysis.units import OXYGEN_PPB, ingress_ppb_per_day

DOSE_DAYS = 90.0
"""Days of ingress that count towards the dose."""

LEAST_PPB = 1.0
"""What a package that reads nothing at all is taken to hold: its logarithm must exist."""

_LOT = ("lot", "format")
_PACKAGE = (*_LOT, "reading", "place")


def lot_oxygen(
    readings: pl.DataFrame,
    lots: pl.DataFrame,
    formats: pl.DataFrame,
    *,
    shaken_temperature_c: float,
    late_after_minutes: float,
) -> pl.DataFrame:
    """Return the oxygen of every lot in every format it was filled into.

    Args:
        readings: one row a quantity read on a package: lot, format, reading, measured_at, unit,
            quantity (total, shaken, dissolved, headspace), value, bound (below, above, or empty),
            filled_at, minutes_after_fill, temperature_c, headspace_ml, and load_id, file, sheet
            and row_number, which tell packages apart where `reading` is null. Quantities are µg
            of O2 per litre of beer in `unit`, the headspace's too.
        lots: lot, format, packaged_on.
        formats: format, volume_ml, headspace_ml, ingress_ppb_per_day, ingress_ml_o2_per_day.
        shaken_temperature_c: temperature of a shaken package where its reading has none, °C.
        late_after_minutes: minutes after filling up to which a reading counts. Where neither the
            minutes nor the time of filling is known, they run from the end of the packaging day.

    Returns:
        One row for each lot and format in `lots`, sorted by them: packages (used),
        total_oxygen_ppb and dose_ppb (null without a usable package), ingress_ppb_per_day,
        from_shaken and below_floor (of those used), late, unusable, and assumed (text; null where
        nothing was).
    """
    packages = package_oxygen(
        readings,
        lots,
        formats,
        shaken_temperature_c=shaken_temperature_c,
        late_after_minutes=late_after_minutes,
    )
    return (
        lots.select(*_LOT)
        .join(_lot_means(packages, shaken_temperature_c), on=_LOT, how="left")
        .join(_ingress(formats), on="format", how="left")
        .select(
            *_LOT,
            pl.col("packages").fill_null(0),
            "total_oxygen_ppb",
            "ingress_ppb_per_day",
            dose_ppb=pl.col("total_oxygen_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day"),
            **{
                count: pl.col(count).fill_null(0)
                for count in ("from_shaken", "late", "below_floor", "unusable")
            },
            assumed=pl.col("assumed"),
        )
        .sort(_LOT)
    )


def package_oxygen(
    readings: pl.DataFrame,
    lots: pl.DataFrame,
    formats: pl.DataFrame,
    *,
    shaken_temperature_c: float,
    late_after_minutes: float,
) -> pl.DataFrame:
    """Return the total oxygen of every package that was read.

    Args:
        readings: as `lot_oxygen` takes them.
        lots: lot, format, packaged_on.
        formats: format, volume_ml, headspace_ml.
        shaken_temperature_c: as `lot_oxygen` takes it, °C.
        late_after_minutes: as `lot_oxygen` takes it.

    Returns:
        One row a package of the lots in `lots`, sorted by its columns: lot, format, ppb (1 or more;
        null where its readings give no total), reading (its name, null without one), used (it has
        a total and is not late), late, below (taken at the meter's floor or at 1 ppb), shaken (the
        total comes from a shaken reading), no_temperature and no_headspace (what makes up the total
        does not say).
    """
    return (
        readings.join(lots.select(*_LOT, "packaged_on"), on=_LOT)
        .join(
            formats.select("format", "volume_ml", format_headspace_ml="headspace_ml"),
            on="format",
            how="left",
        )
        .with_columns(
            place=pl.when(pl.col("reading").is_null()).then(
                pl.struct("load_id", "file", "sheet", "row_number")
            ),
            bound=pl.col("bound").fill_null(""),
            late=_late(late_after_minutes),
            temp_c=pl.col("temperature_c").fill_null(shaken_temperature_c),
            gas_ml=pl.coalesce("headspace_ml", "format_headspace_ml"),
        )
        .pipe(_with_multiplier)
        .with_columns(
            ppb=pl.when(pl.col("bound") != "above").then(
                pl.col("value")
                * pl.col("unit").replace_strict(OXYGEN_PPB, return_dtype=pl.Float64)
                * pl.when(pl.col("quantity") == "shaken").then("multiplier").otherwise(1.0)
            )
        )
        .with_columns(counts=_counts_towards_total())
        .group_by(_PACKAGE)
        .agg(
            pl.col("late").any(),
            measured=pl.col("counts").any(),
            ppb=pl.col("ppb").filter("counts").sum(),
            below=(pl.col("bound") == "below").filter("counts").any(),
            shaken=(pl.col("quantity") == "shaken").filter("counts").any(),
            no_temperature=pl.col("temperature_c").is_null().filter("counts").any(),
            no_headspace=pl.col("headspace_ml").is_null().filter("counts").any(),
        )
        .select(
            *_LOT,
            pl.when("measured").then(pl.col("ppb").clip(lower_bound=LEAST_PPB)),
            "reading",
            pl.col("measured").and_(~pl.col("late")).alias("used"),
            "late",
            pl.col("measured").and_(pl.col("below") | (pl.col("ppb") < LEAST_PPB)).alias("below"),
            "shaken",
            "no_temperature",
            "no_headspace",
        )
        .sort(pl.all())  # a mean's last digit depends on the order
    )


def _late(late_after_minutes: float) -> pl.Expr:
    since_fill = (pl.col("measured_at") - pl.col("filled_at")).dt.total_seconds() / 60.0
    end_of_day = pl.col("packaged_on").cast(pl.Datetime("us")) + pl.duration(days=1)
    since_end_of_day = (pl.col("measured_at") - end_of_day).dt.total_seconds() / 60.0
    minutes = pl.coalesce("minutes_after_fill", since_fill, since_end_of_day)
    return (minutes > late_after_minutes).fill_null(value=False)


def _with_multiplier(rows: pl.DataFrame) -> pl.DataFrame:
    """Add `multiplier`, null where the temperature or the headspace does not give one."""
    known = rows.select(
        pl.when(pl.col("temp_c").is_between(COLDEST_C, WARMEST_C)).then("temp_c").alias("temp_c"),
        pl.when(pl.col("gas_ml") >= 0.0).then("gas_ml").alias("gas_ml"),
        pl.when(pl.col("volume_ml") > 0.0).then("volume_ml").alias("volume_ml"),
    ).cast(pl.Float64)
    multiplier = shaken_multiplier(*(column.to_numpy() for column in known))
    return rows.with_columns(multiplier=pl.Series(multiplier, dtype=pl.Float64).fill_nan(None))


def _counts_towards_total() -> pl.Expr:
    """Say which rows of a package its total is made of."""
    quantity = pl.col("quantity")
    usable = pl.col("ppb").is_not_null()

    def has(name: str) -> pl.Expr:
        return (usable & (quantity == name)).any().over(_PACKAGE)

    return (
        pl.when(has("total"))
        .then(quantity == "total")
        .when(has("shaken"))
        .then(quantity == "shaken")
        .when(has("dissolved") & has("headspace"))
        .then(quantity.is_in(["dissolved", "headspace"]))
        .otherwise(statement=False)
    ) & usable


def _lot_means(packages: pl.DataFrame, shaken_temperature_c: float) -> pl.DataFrame:
    used = pl.col("used")
    shaken = used & pl.col("shaken")

    def count(which: pl.Expr) -> pl.Expr:
        return which.sum().cast(pl.Int32)

    def assumed(name: str, words: str) -> pl.Expr:
        return pl.when(pl.col(name) > 0).then(pl.format(words + " for {}", name))

    return (
        packages.group_by(_LOT)
        .agg(
            packages=count(used),
            total_oxygen_ppb=pl.col("ppb").filter(used).log().mean().exp(),
            from_shaken=count(shaken),
            late=count(pl.col("late")),
            below_floor=count(used & pl.col("below")),
            unusable=count(pl.col("ppb").is_null() & ~pl.col("late")),
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
