"""What each package's readings say of its total oxygen at filling: a value, or bounds.

    total = total, else Z · shaken, else dissolved + headspace     (µg of O2 per litre of beer, ppb)

Z is the multiplier of `partition`. What is only a bound stays one, and is never averaged as if it
were clean. A lower bound: a reading later than two hours after filling (beer has consumed oxygen by
then), one above the meter's range, the beer or the headspace alone. An upper bound: a reading below
the meter's floor, or below 1 ppb.

The SD of the logarithm, from measuring alone, is put together from

    meter                  7 % and 1 ppb                        (assumed; 4 to 11 % are reported)
    headspace, shaken      11 % nominal, 4.4 % weighed          each times (Z − 1)/Z
    temperature, shaken    5 °C where it is not written down    (assumed)

Reference: Vilachá & Uhlig 1985, for the total of a shaken package. The headspace's two shares are
from memory.
"""

from __future__ import annotations

import polars as pl

from analysis.oxygen.partition import COLDEST_C, WARMEST_C, shaken_multiplier
from analysis.units import OXYGEN_PPB

LEAST_PPB = 1.0
"""What a package that reads less is taken to hold at most: its logarithm must exist."""

METER_SHARE, METER_PPB = 0.07, 1.0
NOMINAL_HEADSPACE, WEIGHED_HEADSPACE = 0.11, 0.044
ASSUMED_TEMPERATURE_C = 5.0

LOT = ("lot", "format")
_PACKAGE = (*LOT, "reading", "place")
_QUANTITIES = ("total", "shaken", "dissolved", "headspace")


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
        readings: one row a quantity read on a package: lot, format, reading, measured_at, unit,
            quantity (total, shaken, dissolved, headspace), value, bound (below, above, or empty),
            filled_at, minutes_after_fill, temperature_c, headspace_ml, head, run_position, meter,
            and load_id, file, sheet and row_number, which tell packages apart where `reading` is
            null. Quantities are µg of O2 per litre of beer in `unit`, the headspace's too.
        lots: lot, format, line, packaged_on.
        formats: format, volume_ml, headspace_ml.
        shaken_temperature_c: temperature of a shaken package where its reading has none, °C.
        late_after_minutes: minutes after filling up to which a reading counts. Where neither the
            minutes nor the time of filling is known, they run from the end of the packaging day.

    Returns:
        One row a package of the lots in `lots`, sorted by its columns: lot, format, line,
        packaged_on, measured_at, reading, head, run_position, meter, basis (total, shaken, sum,
        partial: the beer or the headspace alone, none), lower_ppb and upper_ppb (what its total at
        filling is at least and at most: equal where clean, upper null without a bound, both null
        where nothing is known), sd_log (of log ppb, null where nothing is known) and sd_shared (the
        part of it that packages of a lot have in common), beer_ppb (of the beer unshaken, null
        without), late, below (under the meter's floor), shaken (the total comes
        from a shaken reading), no_temperature and no_headspace (what makes up the total does not
        say).
    """
    rows = (
        readings.join(lots.select(*LOT, "line", "packaged_on"), on=LOT)
        .join(
            formats.select("format", "volume_ml", format_headspace_ml="headspace_ml"),
            on="format",
            how="left",
        )
        .with_columns(
            place=pl.when(pl.col("reading").is_null()).then(
                pl.struct("load_id", "file", "sheet", "row_number")
            ),
            late=_late(late_after_minutes),
            temp_c=pl.col("temperature_c").fill_null(shaken_temperature_c).cast(pl.Float64),
            gas_ml=pl.coalesce("headspace_ml", "format_headspace_ml").cast(pl.Float64),
        )
        .pipe(_with_multiplier)
        .pipe(_with_bounds)
        .with_columns(sd_shared=_sd_shared())
        .with_columns(sd_log=_sd_log())
        .pipe(_with_basis)
    )
    counts = _counts(pl.col("basis"))
    late = pl.col("late").any()
    return (
        rows.group_by(_PACKAGE)
        .agg(
            pl.col("line", "packaged_on", "basis").first(),
            pl.col("measured_at").min(),
            pl.col("head", "run_position", "meter").drop_nulls().sort().first(),
            lower_ppb=_sum_of("lower_ppb", counts),
            upper_ppb=pl.when(~late, pl.col("basis").first() != "partial").then(
                _sum_of("upper_ppb", counts)
            ),
            sd_log=pl.col("sd_log").filter(counts).max(),
            sd_shared=pl.col("sd_shared").filter(counts).max(),
            beer_ppb=pl.col("lower_ppb")
            .filter((pl.col("quantity") == "dissolved") & is_clean())
            .first(),
            late=late,
            below=((pl.col("lower_ppb") == 0.0) & counts).any(),
            shaken=pl.col("basis").first() == "shaken",
            no_temperature=pl.col("temperature_c").is_null().filter(counts).any(),
            no_headspace=pl.col("headspace_ml").is_null().filter(counts).any(),
        )
        .pipe(_without_what_says_nothing)
        .select(
            *LOT,
            "line",
            "packaged_on",
            "measured_at",
            "reading",
            "head",
            "run_position",
            "meter",
            "basis",
            "lower_ppb",
            "upper_ppb",
            "sd_log",
            "sd_shared",
            "beer_ppb",
            "late",
            "below",
            "shaken",
            "no_temperature",
            "no_headspace",
        )
        .sort(pl.all())  # a mean's last digit depends on the order
    )


def is_clean() -> pl.Expr:
    """Tell which packages' totals are known as a value."""
    return (pl.col("lower_ppb") == pl.col("upper_ppb")).fill_null(value=False)


def log_bounds(packages: pl.DataFrame) -> pl.DataFrame:
    """Return packages of which anything is known, with log_lower and log_upper of their log ppb.

    They are equal where the total is a value, and ∓∞ for no bound.
    """
    return packages.filter(pl.col("basis") != "none").with_columns(
        log_lower=pl.col("lower_ppb").log(),
        log_upper=pl.col("upper_ppb").log().fill_null(float("inf")),
    )


def _late(late_after_minutes: float) -> pl.Expr:
    since_fill = (pl.col("measured_at") - pl.col("filled_at")).dt.total_seconds() / 60.0
    end_of_day = pl.col("packaged_on").cast(pl.Datetime("us")) + pl.duration(days=1)
    since_end_of_day = (pl.col("measured_at") - end_of_day).dt.total_seconds() / 60.0
    minutes = pl.coalesce("minutes_after_fill", since_fill, since_end_of_day)
    return (minutes > late_after_minutes).fill_null(value=False)


def _with_multiplier(rows: pl.DataFrame) -> pl.DataFrame:
    """Add `multiplier`, Z, and `multiplier_warmer`, Z at what an assumed temperature may be off.

    Both are null where the temperature or the headspace does not give them.
    """
    known = rows.select(
        pl.when(pl.col("temp_c").is_between(COLDEST_C, WARMEST_C)).then("temp_c").alias("temp_c"),
        pl.when(pl.col("gas_ml") >= 0.0).then("gas_ml").alias("gas_ml"),
        pl.when(pl.col("volume_ml") > 0.0).then("volume_ml").alias("volume_ml"),
    ).cast(pl.Float64)
    warmer = (known["temp_c"] + ASSUMED_TEMPERATURE_C).clip(COLDEST_C, WARMEST_C)
    gas, beer = known["gas_ml"].to_numpy(), known["volume_ml"].to_numpy()
    return rows.with_columns(
        pl.Series(name, shaken_multiplier(temp.to_numpy(), gas, beer)).fill_nan(None)
        for name, temp in (("multiplier", known["temp_c"]), ("multiplier_warmer", warmer))
    )


def _with_bounds(rows: pl.DataFrame) -> pl.DataFrame:
    """Add what each row's quantity is at least and at most, ppb of the total where it is shaken."""
    factor = pl.col("unit").replace_strict(OXYGEN_PPB, return_dtype=pl.Float64)
    read = pl.col("value") * factor
    by = pl.when(pl.col("quantity") == "shaken").then("multiplier").otherwise(1.0)
    below = (pl.col("bound") == "below").fill_null(value=False) | (read < LEAST_PPB)
    above = (pl.col("bound") == "above").fill_null(value=False)
    floor = read.clip(lower_bound=LEAST_PPB)
    return rows.with_columns(
        read_ppb=floor,
        lower_ppb=pl.when(below).then(0.0 * by).otherwise(floor * by),
        upper_ppb=pl.when(~above).then(floor * by),
    )


def _sd_shared() -> pl.Expr:
    """Return the SD of log ppb that comes from a temperature or headspace assumed for all alike."""
    gas = 1.0 - 1.0 / pl.col("multiplier")
    nominal = pl.when(pl.col("headspace_ml").is_null()).then(NOMINAL_HEADSPACE).otherwise(0.0)
    warmer = (pl.col("multiplier_warmer") / pl.col("multiplier")).log()
    temperature = pl.when(pl.col("temperature_c").is_null()).then(warmer).otherwise(0.0)
    assumed = ((nominal * gas) ** 2 + temperature**2).sqrt()
    return pl.when(pl.col("quantity") == "shaken").then(assumed).otherwise(0.0)


def _sd_log() -> pl.Expr:
    """Return the SD of log ppb from measuring alone."""
    gas = 1.0 - 1.0 / pl.col("multiplier")
    weighed = (pl.col("quantity") == "shaken") & pl.col("headspace_ml").is_not_null()
    own = pl.when(weighed).then(WEIGHED_HEADSPACE * gas).otherwise(0.0)
    meter = METER_SHARE**2 + (METER_PPB / pl.col("read_ppb")) ** 2
    return (meter + own**2 + pl.col("sd_shared") ** 2).sqrt()


def _with_basis(rows: pl.DataFrame) -> pl.DataFrame:
    """Add what a package's total is made of; what has an upper bound goes before what has none."""
    kinds = [(name, end) for end in ("upper_ppb", "lower_ppb") for name in _QUANTITIES]
    bit = {kind: 1 << place for place, kind in enumerate(kinds)}
    # One pass over the packages for all of them: a bit for each kind that a package has.
    found = pl.sum_horizontal(
        pl.when(pl.col(end).is_not_null() & (pl.col("quantity") == name)).then(bit[name, end])
        for name, end in kinds
    )
    has_bits = found.bitwise_or().over(_PACKAGE)

    def has(name: str, end: str = "upper_ppb") -> pl.Expr:
        return (pl.col("has") & bit[name, end]) != 0

    chosen = (
        pl.when(has("total"))
        .then(pl.lit("total"))
        .when(has("shaken"))
        .then(pl.lit("shaken"))
        .when(has("dissolved") & has("headspace"))
        .then(pl.lit("sum"))
        .when(has("total", "lower_ppb"))
        .then(pl.lit("total"))
        .when(has("shaken", "lower_ppb"))
        .then(pl.lit("shaken"))
        .when(has("dissolved", "lower_ppb") | has("headspace", "lower_ppb"))
        .then(pl.lit("partial"))
        .otherwise(pl.lit("none"))
    )
    return rows.with_columns(has=has_bits).with_columns(basis=chosen)


def _counts(basis: pl.Expr) -> pl.Expr:
    """Say which rows of a package its total is made of."""
    quantity = pl.col("quantity")
    return (quantity == basis) | (
        basis.is_in(["sum", "partial"]) & quantity.is_in(["dissolved", "headspace"])
    )


def _sum_of(bound: str, counts: pl.Expr) -> pl.Expr:
    """Add up what counts; nothing where a part of it has no such bound."""
    parts = pl.col(bound).filter(counts)
    return pl.when(counts.any() & parts.is_not_null().all()).then(parts.sum())


def _without_what_says_nothing(packages: pl.DataFrame) -> pl.DataFrame:
    """Take the bounds off what is known to hold something between nothing and anything."""
    known = (pl.col("lower_ppb") > 0.0) | pl.col("upper_ppb").is_not_null()
    return packages.with_columns(
        *(
            pl.when(known).then(name).alias(name)
            for name in ("lower_ppb", "upper_ppb", "sd_log", "sd_shared")
        ),
        basis=pl.when(known).then("basis").otherwise(pl.lit("none")),
        below=pl.col("below") & known,
        shaken=pl.col("shaken") & known,
    )
