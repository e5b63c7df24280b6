r"""Package oxygen before and after each change in the plant.

    log ratio = mean of the lots' log ppb after − mean before,    each lot counting once

within a line and format, over up to 20 lots or 120 days on either side, whichever is less, and no
further than the next change that concerns them. Packages of a lot share its tank and its run, so
the lots are what varies: the interval is Student's t on their pooled spread, with lots − 2 degrees
of freedom. What a lot held is the censored mean of its packages; a lot of which only a bound is
known is left out. The difference in ppb is (ratio − 1) times the geometric mean before.

Lots before and after differ in more than the change: beers, season, whatever else was done. It says
what happened then, not why.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
from scipy import stats

from analysis.oxygen.packages import LOT

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

WINDOW_LOTS, WINDOW_DAYS = 20, 120
LEAST_LOTS = 3
"""Lots on either side from which before and after are compared."""

_CHART = ("line", "format")
_BOUNDED = ("", "_lower", "_upper")
_SCHEMA = {
    "changed_on": pl.Date,
    **dict.fromkeys(("what", "beer", *_CHART), pl.String),
    **dict.fromkeys(("lots_before", "lots_after"), pl.Int32),
    **dict.fromkeys(("first_on", "last_on"), pl.Date),
    **dict.fromkeys(("before_ppb", "after_ppb"), pl.Float64),
    **{f"{name}{end}": pl.Float64 for name in ("ratio", "difference_ppb") for end in _BOUNDED},
    "standard_error": pl.Float64,
    "same_day": pl.Boolean,
    "reason": pl.String,
}


def change_report(
    oxygen: pl.DataFrame, lots: pl.DataFrame, changes: pl.DataFrame, confidence: float = 0.90
) -> pl.DataFrame:
    """Compare the lots before and after each change.

    Args:
        oxygen: lot, format, beer, packaged_on, total_oxygen_ppb (null where only a bound is known).
        lots: lot, format, line.
        changes: changed_on, what, line, beer, format (empty: all).
        confidence: of the two-sided intervals.

    Returns:
        A row for each change and each line and format that it concerns with a lot on either side,
        newest change first: changed_on, what, beer (of the change), line, format, lots_before,
        lots_after, first_on and last_on (packaging days of the first and last of these lots),
        before_ppb and after_ppb (geometric means), ratio and difference_ppb with intervals,
        standard_error (of the log ratio), same_day (another change concerns these lots on that
        day), reason (why there is no comparison, else null).
    """
    known = (
        oxygen.drop_nulls("total_oxygen_ppb")
        .join(lots.select(*LOT, "line"), on=LOT)
        .select(*LOT, "line", "beer", "packaged_on", log_ppb=pl.col("total_oxygen_ppb").log())
        .sort("packaged_on", *LOT)
    )
    every = changes.sort("changed_on", "what", *_CHART, "beer", descending=True, nulls_last=True)
    rows = [
        row
        for number, change in enumerate(every.rows(named=True))
        for row in _of_change(
            known, change, every.filter(pl.int_range(pl.len()) != number), confidence
        )
    ]
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row")


def _of_change(
    known: pl.DataFrame, change: Mapping[str, Any], others: pl.DataFrame, confidence: float
) -> list[dict[str, object]]:
    concerned = known.filter(
        *(pl.col(name) == change[name] for name in ("beer", *_CHART) if change[name] is not None)
    )
    rows = []
    for (line, format_), part in concerned.group_by(_CHART, maintain_order=True):
        place = {"line": line, "format": format_, "beer": change["beer"]}
        days = others.filter(_touches(place))["changed_on"].to_list()
        before, after = _windows(part, change["changed_on"], days)
        if before.is_empty() and after.is_empty():
            continue
        rows.append(
            {
                **{name: change[name] for name in ("changed_on", "what", "beer")},
                "line": line,
                "format": format_,
                "same_day": change["changed_on"] in days,
                **_compared(before, after, confidence),
            }
        )
    return sorted(rows, key=lambda row: (row["line"] is None, row["line"], row["format"]))


def _touches(place: Mapping[str, str | None]) -> pl.Expr:
    """Tell which changes concern lots of a line and format, and of a beer where one is meant."""
    return pl.all_horizontal(
        pl.col(name).is_null() | (pl.lit(value, pl.String) == pl.col(name)).fill_null(value=True)
        for name, value in place.items()
    )


def _windows(
    lots: pl.DataFrame, changed_on: date, others: list[date]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return the lots before and after that count."""
    day, span = pl.col("packaged_on"), pl.duration(days=WINDOW_DAYS)
    earlier = max((other for other in others if other < changed_on), default=None)
    later = min((other for other in others if other > changed_on), default=None)
    before = lots.filter(day < changed_on, day >= pl.lit(changed_on) - span)
    after = lots.filter(day >= changed_on, day < pl.lit(changed_on) + span)
    if earlier is not None:
        before = before.filter(day >= earlier)
    if later is not None:
        after = after.filter(day < later)
    return before.tail(WINDOW_LOTS), after.head(WINDOW_LOTS)


def _compared(before: pl.DataFrame, after: pl.DataFrame, confidence: float) -> dict[str, object]:
    both = pl.concat([before, after])
    sides = [part["log_ppb"].to_numpy() for part in (before, after)]
    found: dict[str, object] = {
        "lots_before": before.height,
        "lots_after": after.height,
        "first_on": both["packaged_on"].min(),
        "last_on": both["packaged_on"].max(),
        **{
            f"{name}_ppb": float(np.exp(side.mean())) if len(side) else None
            for name, side in zip(("before", "after"), sides, strict=True)
        },
    }
    for name, side in zip(("before", "after"), sides, strict=True):
        if len(side) < LEAST_LOTS:
            few = f"{len(side) or 'no'} lot{'' if len(side) == 1 else 's'}"
            return {**found, "reason": f"{few} measured {name} it: {LEAST_LOTS} are needed"}
    old, new = sides
    freedom = len(old) + len(new) - 2
    spread = (((old - old.mean()) ** 2).sum() + ((new - new.mean()) ** 2).sum()) / freedom
    error = float(np.sqrt(spread * (1.0 / len(old) + 1.0 / len(new))))
    half = float(stats.t.ppf(0.5 + confidence / 2.0, freedom)) * error
    apart = float(new.mean() - old.mean())
    ratios = np.exp([apart, apart - half, apart + half])
    differences = np.exp(old.mean()) * (ratios - 1.0)
    return {
        **found,
        **{f"ratio{end}": float(v) for end, v in zip(_BOUNDED, ratios, strict=True)},
        **{f"difference_ppb{end}": float(v) for end, v in zip(_BOUNDED, differences, strict=True)},
        "standard_error": error,
    }
