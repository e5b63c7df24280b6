"""What a line does now in one format: its usual oxygen, against its target, beer and closing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
from scipy import stats

from analysis.control.capability import capability
from analysis.errors import NotEstimable
from analysis.line.lot_points import CHART
from analysis.oxygen.censored import censored_means, censored_normal
from analysis.oxygen.packages import LOT, log_bounds
from analysis.oxygen.shrinkage import ASSUMED

if TYPE_CHECKING:
    from analysis.control.charts import Limits

NOW_LOTS = 8
RECENT_LOTS = 20
CONFIDENCE = 0.90
_TAIL = 0.5 + CONFIDENCE / 2.0
_Z = float(stats.norm.ppf(_TAIL))

Cells = dict[str, Any]


def counted_packages(packages: pl.DataFrame) -> pl.DataFrame:
    """Count each package of a chart once: as read, late, part, or unusable.

    Returns:
        One row a line and format: packages (read: their total is known, or is below a bound),
        below_floor (of those), late, beer_only (unshaken, or the gas alone, or above the meter's
        range), unusable.
    """
    known = pl.col("basis") != "none"
    read = known & pl.col("upper_ppb").is_not_null()
    return packages.group_by(CHART).agg(
        which.sum().cast(pl.Int32).alias(name)
        for name, which in {
            "packages": read,
            "below_floor": read & pl.col("below"),
            "late": pl.col("late"),
            "part": known & ~read & ~pl.col("late"),
            "unusable": ~known & ~pl.col("late"),
        }.items()
    )


def recent_packages(packages: pl.DataFrame, points: pl.DataFrame) -> pl.DataFrame:
    """Return the packages of the newest 20 lots of each chart, with log_lower and log_upper."""
    recent = points.filter(pl.col("from_end") <= RECENT_LOTS).select(LOT)
    return log_bounds(packages.join(recent, on=LOT, how="semi")).sort(*CHART, *LOT, "log_lower")


def usual_now(points: pl.DataFrame, limits: Limits | None) -> Cells:
    """Return the geometric mean of the newest eight lots, bounds taken as bounds, with 90 %.

    Without limits the spread of lots is not known and there is no interval.
    """
    newest = points.filter(pl.col("from_end") <= NOW_LOTS)
    low, high = newest["low"].to_numpy(), newest["high"].to_numpy()
    told = np.isfinite(low) | np.isfinite(high)
    sd = ASSUMED.lot_sd if limits is None else limits.sd
    place = np.zeros(int(told.sum()), dtype=np.int64)
    found = censored_means(low[told], high[told], place, 1, sd)
    mean, half = float(found.mean[0]), _Z * float(found.standard_error[0])
    known = math.isfinite(mean)
    return {
        "now_lots": newest.height,
        "now_ppb": math.exp(mean) if known else None,
        "now_lower_ppb": math.exp(mean - half) if known and limits else None,
        "now_upper_ppb": math.exp(mean + half) if known and limits else None,
    }


def against_target(packages: pl.DataFrame, target_ppb: float | None) -> Cells:
    """Return how many packages are above the target, and Cpk with 90 %.

    Late ones and parts hold more than they read, so a share that counted those of them that are
    surely above would be too high: all of them are left out. Packages of one lot go together, so
    Cpk's interval counts lots.

    Args:
        packages: of one chart, as `recent_packages` returns them.
        target_ppb: no package should hold more; None without one.
    """
    read = packages.filter(pl.col("basis") != "partial", ~pl.col("late"))
    nothing = {
        "recent_lots": packages["lot"].n_unique(),
        "told": 0,
        "above_target": 0,
        "cpk": None,
        "cpk_lower": None,
        "cpk_upper": None,
    }
    if target_ppb is None:
        return nothing
    low, high = read["log_lower"].to_numpy(), read["log_upper"].to_numpy()
    target = math.log(target_ppb)
    above, below = low > target, high <= target
    counts = {"told": int((above | below).sum()), "above_target": int(above.sum())}
    try:
        made = censored_normal(low, high)
        fits = capability(
            made.mean, made.sd, read["lot"].n_unique(), upper=target, confidence=CONFIDENCE
        )
    except NotEstimable:
        return nothing | counts
    return nothing | counts | {"cpk": fits.cpk, "cpk_lower": fits.lower, "cpk_upper": fits.upper}


def beer_and_closing(points: pl.DataFrame) -> Cells:
    """Split the total into what the beer brought and what closing added, ppb.

    Over the newest 20 lots of which both the total and the unshaken beer side are known; arithmetic
    means, because the parts add up. The closing side has an interval of 90 % by Student's t.
    """
    both = points.filter(pl.col("low") == pl.col("high"), pl.col("beer_ppb").is_not_null())
    both = both.tail(RECENT_LOTS)
    total, beer = both["low"].exp().to_numpy(), both["beer_ppb"].to_numpy()
    n = len(total)
    if n == 0:
        names = ("total_ppb", "beer_ppb", "closing_ppb", "closing_lower_ppb", "closing_upper_ppb")
        return {"split_lots": 0} | {f"split_{name}": None for name in names}
    closing = total - beer
    mean, half = float(closing.mean()), None
    if n > 1:
        half = float(stats.t.ppf(_TAIL, n - 1) * closing.std(ddof=1) / math.sqrt(n))
    return {
        "split_lots": n,
        "split_total_ppb": float(total.mean()),
        "split_beer_ppb": float(beer.mean()),
        "split_closing_ppb": mean,
        "split_closing_lower_ppb": None if half is None else mean - half,
        "split_closing_upper_ppb": None if half is None else mean + half,
    }
