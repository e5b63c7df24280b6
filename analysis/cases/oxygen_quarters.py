r"""Package oxygen of a line and format in one quarter against the one before: change, or noise.

With x the log of a lot's total package oxygen, over the n lots of the quarter and the m before it,

    log ratio = mean(x, quarter) − mean(x, before)
    its bounds  ± t(f) · s · √(1/n + 1/m)

where s is the SD of lots within their quarters, pooled over all quarters of that line and format,
and f its degrees of freedom. The lot is the unit: its packages share a tank, a start-up and a
seaming. All lines and formats together hold nine times in ten: each bound is widened for their
number (Bonferroni), so that ten quiet lines do not make one alarm a quarter.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import polars as pl
from scipy import stats

if TYPE_CHECKING:
    from analysis.cases.quarter import Quarter

TOGETHER = 0.90
FEWEST_FREE = 3
"""Degrees of freedom of the lots' SD from which on a change can be told from noise."""

_PLACE = ("line", "format")
_SCHEMA = {
    "line": pl.String,
    "format": pl.String,
    "lots": pl.Int64,
    "lots_before": pl.Int64,
    "bound_lots": pl.Int64,
    "ppb": pl.Float64,
    "ppb_before": pl.Float64,
    "ratio": pl.Float64,
    "ratio_lower": pl.Float64,
    "ratio_upper": pl.Float64,
    "finding": pl.String,
}


def oxygen_by_quarter(lots: pl.DataFrame, quarter: Quarter) -> pl.DataFrame:
    """Set each line and format that was filled in a quarter beside the quarter before.

    Args:
        lots: lot, line (null: not recorded), format, packaged_on, total_oxygen_ppb (at filling;
            null: not known, or known as a bound alone), at_least_ppb (such a bound, else null).
        quarter: the quarter.

    Returns:
        line, format, lots and lots_before (with a level), bound_lots (of the quarter, of which
        only a bound is known), ppb and ppb_before (geometric means), ratio with its bounds, and
        finding: `more`, `less`, `noise` or `too few`; by line and format.
    """
    told = lots.filter(pl.col("total_oxygen_ppb") > 0.0).with_columns(
        x=pl.col("total_oxygen_ppb").log(),
        quarter=pl.col("packaged_on").dt.truncate("1q"),
    )
    within = (quarter.first, quarter.last)
    filled = lots.filter(pl.col("packaged_on").is_between(*within))
    places = filled.select(_PLACE).unique().sort(_PLACE, nulls_last=True).rows()
    # None of them was told before it is known how many comparisons there are.
    parts = [(place, _of(told, place), _of(filled, place)) for place in places]
    asked = sum(
        _in(own, quarter).height > 0 and _in(own, quarter.before).height > 0 for _, own, _ in parts
    )
    tail = (1.0 - TOGETHER) / 2.0 / max(asked, 1)
    rows = []
    for (line, format_), own, all_filled in parts:
        now, before = _in(own, quarter)["x"], _in(own, quarter.before)["x"]
        bounds = all_filled.filter(
            pl.col("total_oxygen_ppb").is_null() & pl.col("at_least_ppb").is_not_null()
        )
        rows.append(
            {
                "line": line,
                "format": format_,
                "lots": now.len(),
                "lots_before": before.len(),
                "bound_lots": bounds.height,
                "ppb": _level(now),
                "ppb_before": _level(before),
                **_compared(own, now, before, tail),
            }
        )
    return pl.DataFrame(rows, schema=_SCHEMA)


def _of(lots: pl.DataFrame, place: tuple[str | None, str]) -> pl.DataFrame:
    return lots.filter(
        pl.col(name).eq_missing(value) for name, value in zip(_PLACE, place, strict=True)
    ).sort("packaged_on", "lot")


def _in(lots: pl.DataFrame, quarter: Quarter) -> pl.DataFrame:
    return lots.filter(pl.col("packaged_on").is_between(quarter.first, quarter.last))


def _level(logs: pl.Series) -> float | None:
    return math.exp(logs.mean()) if logs.len() else None  # type: ignore[arg-type]


def _compared(
    own: pl.DataFrame, now: pl.Series, before: pl.Series, tail: float
) -> dict[str, float | str | None]:
    spread = own.group_by("quarter").agg(
        squares=pl.col("x").var().fill_null(0.0) * (pl.len() - 1), free=pl.len() - 1
    )
    squares, free = spread.select(pl.col("squares", "free").sort_by("quarter").sum()).row(0)
    none: dict[str, float | str | None] = {
        "ratio": None,
        "ratio_lower": None,
        "ratio_upper": None,
        "finding": "too few",
    }
    if not now.len() or not before.len() or free < FEWEST_FREE:
        return none
    log_ratio = float(now.mean() - before.mean())  # type: ignore[operator, arg-type]
    error = math.sqrt(squares / free * (1.0 / now.len() + 1.0 / before.len()))
    reach = float(stats.t.isf(tail, free)) * error
    lower, upper = math.exp(log_ratio - reach), math.exp(log_ratio + reach)
    finding = "more" if lower > 1.0 else "less" if upper < 1.0 else "noise"
    return {
        "ratio": math.exp(log_ratio),
        "ratio_lower": lower,
        "ratio_upper": upper,
        "finding": finding,
    }
