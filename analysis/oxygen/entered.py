r"""Lots whose totals read as if shaken readings had been entered as totals.

A shaken package reads its total over Z, about half. With d the difference of log means between a
lot's stated totals and what stands beside them, and s its SD,

    odds = prior · N(d; −log Z, s) / N(d; 0, s),        prior 1 : 19 (assumed)

Beside them stand the lot's own shaken packages, converted, where there are three or more: they
differ by the spread of packages alone, s² = ω²(1/n + 1/n'). Else the line's other lots in that
format, five or more: s² = ω²/n + τ²(1 + 1/L). A lot is named at odds of ten to one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.oxygen.packages import LOT, is_clean, log_bounds
from analysis.oxygen.partition import shaken_multiplier
from analysis.oxygen.shrinkage import spreads

if TYPE_CHECKING:
    from analysis.oxygen.shrinkage import Spreads

PRIOR_ODDS = 1.0 / 19.0
LEAST_ODDS = 10.0
LEAST_PACKAGES = 3
LEAST_LOTS = 5


def entered_as_total(
    packages: pl.DataFrame,
    lots: pl.DataFrame,
    formats: pl.DataFrame,
    *,
    shaken_temperature_c: float,
) -> pl.DataFrame:
    """Name the lots whose totals are likely shaken readings, with the evidence.

    Args:
        packages: as `package_oxygen` returns them.
        lots: lot, format, line.
        formats: format, volume_ml, headspace_ml.
        shaken_temperature_c: temperature at which Z is taken, °C.

    Returns:
        lot, format, packages (entered as totals), entered_ppb (their geometric mean), usual_ppb (of
        what stands beside them), multiplier (Z), odds, beside (`shaken` or `line`); sorted by lot
        and format.
    """
    clean = packages.filter(is_clean()).with_columns(log_ppb=pl.col("lower_ppb").log())
    spread = spreads(log_bounds(packages), lots)
    totals = _means(clean.filter(pl.col("basis") == "total"), "stated")
    shaken = _means(clean.filter(pl.col("basis") == "shaken"), "shaken")
    return (
        totals.filter(pl.col("stated_packages") >= LEAST_PACKAGES)
        .join(_multipliers(formats, shaken_temperature_c), on="format")
        .join(lots.select(*LOT, "line"), on=LOT)
        .join(shaken.filter(pl.col("shaken_packages") >= LEAST_PACKAGES), on=LOT, how="left")
        .join(_other_lots(clean, lots), on=LOT, how="left")
        .with_columns(_beside(spread))
        .with_columns(
            usual=pl.when(pl.col("beside") == "shaken").then("shaken").otherwise("others"),
        )
        .with_columns(
            odds=PRIOR_ODDS
            * (
                -(2.0 * (pl.col("stated") - pl.col("usual")) + pl.col("multiplier").log())
                * pl.col("multiplier").log()
                / (2.0 * pl.col("variance"))
            ).exp()
        )
        .filter(pl.col("odds") >= LEAST_ODDS)
        .select(
            *LOT,
            pl.col("stated_packages").cast(pl.Int32).alias("packages"),
            pl.col("stated").exp().alias("entered_ppb"),
            pl.col("usual").exp().alias("usual_ppb"),
            "multiplier",
            pl.col("odds").clip(upper_bound=1e6),
            "beside",
        )
        .sort(LOT)
    )


def _means(clean: pl.DataFrame, name: str) -> pl.DataFrame:
    return clean.group_by(LOT).agg(
        pl.col("log_ppb").sort().mean().alias(name), pl.len().alias(f"{name}_packages")
    )


def _multipliers(formats: pl.DataFrame, temp_c: float) -> pl.DataFrame:
    known = formats.filter(pl.col("headspace_ml") > 0.0, pl.col("volume_ml") > 0.0)
    multiplier = shaken_multiplier(
        np.full(len(known), temp_c), known["headspace_ml"].to_numpy(), known["volume_ml"].to_numpy()
    )
    return known.select("format", multiplier=pl.Series(multiplier, dtype=pl.Float64))


def _other_lots(clean: pl.DataFrame, lots: pl.DataFrame) -> pl.DataFrame:
    """Return for each lot the mean of the other lots' means on its line, and how many they are."""
    group = ("format", "line")
    means = _means(clean, "own").join(lots.select(*LOT, "line"), on=LOT).sort(LOT)
    number = pl.len().over(group) - 1
    rest = (pl.col("own").sum().over(group) - pl.col("own")) / number
    return means.select(*LOT, other_lots=number, others=rest)


def _beside(spread: Spreads) -> list[pl.Expr]:
    """Say what a lot's totals are set beside, and the variance of the difference."""
    of_package, of_lot = spread.package_sd**2, spread.lot_sd**2
    own = pl.col("shaken").is_not_null()
    line = (pl.col("other_lots") >= LEAST_LOTS).fill_null(value=False)
    noise = of_package / pl.col("stated_packages")
    return [
        pl.when(own).then(pl.lit("shaken")).when(line).then(pl.lit("line")).alias("beside"),
        pl.when(own)
        .then(noise + of_package / pl.col("shaken_packages"))
        .when(line)
        .then(noise + of_lot * (1.0 + 1.0 / pl.col("other_lots")))
        .alias("variance"),
    ]
