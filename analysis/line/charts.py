r"""Control charts of package oxygen, one a line and format, on log ppb.

A point is a lot: the mean of log ppb over its packages, bounds taken as bounds. Packages of one lot
share its tank, its start-up and its seaming, so they are no independent points: limits from their
moving ranges would show how far neighbours within a lot differ, and nearly every lot would be
beyond them. A lot of which only bounds are known is drawn at its bound and never averaged as clean.

Lots stand in the order of filling. Limits come from a stated period and stay: usually the first 20
lots of the line and format (8 at least), so that what the line does later cannot move them. The
centre is the period's mean with its bounds taken as bounds; the spread is that of clean neighbours.
The rules and the running mean are those of `control`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.control.charts import LEAST_POINTS, Limits, ewma, individuals_limits
from analysis.control.rules import USUAL
from analysis.errors import NotEstimable
from analysis.line.chart_signals import SIGNALS, signals_of
from analysis.line.chart_summary import (
    against_target,
    beer_and_closing,
    counted_packages,
    recent_packages,
    usual_now,
)
from analysis.line.lot_points import CHART, lot_points
from analysis.oxygen.censored import censored_means

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

FIRST_LOTS = 20
_KEYS = {"line": pl.String, "format": pl.String}
_POINTS = {
    **_KEYS,
    "position": pl.Int32,
    "lot": pl.String,
    "packaged_on": pl.Date,
    "packages": pl.Int32,
    "late": pl.Int32,
    "ppb": pl.Float64,
    "at_least_ppb": pl.Float64,
    "at_most_ppb": pl.Float64,
    "beer_ppb": pl.Float64,
    "in_period": pl.Boolean,
    "running_ppb": pl.Float64,
    "running_lower_ppb": pl.Float64,
    "running_upper_ppb": pl.Float64,
}
_CHARTS = {
    **_KEYS,
    "kind": pl.String,
    "lots": pl.Int32,
    "bound_lots": pl.Int32,
    **dict.fromkeys(("packages", "below_floor", "late", "part", "unusable"), pl.Int32),
    "rules": pl.String,
    "limits_basis": pl.String,
    "limits_first_on": pl.Date,
    "limits_last_on": pl.Date,
    "limits_lots": pl.Int32,
    "centre_ppb": pl.Float64,
    "limit_lower_ppb": pl.Float64,
    "limit_upper_ppb": pl.Float64,
    "sd_log": pl.Float64,
    "step_limit": pl.Float64,
    "reason": pl.String,
    "now_lots": pl.Int32,
    **dict.fromkeys(("now_ppb", "now_lower_ppb", "now_upper_ppb"), pl.Float64),
    "target_ppb": pl.Float64,
    "target_assumed": pl.Boolean,
    **dict.fromkeys(("recent_lots", "told", "above_target"), pl.Int32),
    **dict.fromkeys(("cpk", "cpk_lower", "cpk_upper"), pl.Float64),
    "split_lots": pl.Int32,
    **dict.fromkeys(
        (
            "split_total_ppb",
            "split_beer_ppb",
            "split_closing_ppb",
            "split_closing_lower_ppb",
            "split_closing_upper_ppb",
        ),
        pl.Float64,
    ),
}


@dataclass(frozen=True)
class Period:
    """From which lots limits come: filled from `first` to `last`, each a day or open.

    Without `last` it is the first 20 lots from `first` on.
    """

    first: date | None = None
    last: date | None = None


@dataclass(frozen=True)
class ChartPlan:
    """How charts are drawn.

    Attributes:
        period: of every chart without one of its own.
        lines: of the charts of a line.
        formats: of the charts of a format; counts before its line's.
        rules: names of the rules in use.
    """

    period: Period = field(default_factory=Period)
    lines: Mapping[str, Period] = field(default_factory=dict)
    formats: Mapping[str, Period] = field(default_factory=dict)
    rules: tuple[str, ...] = USUAL

    def period_of(self, line: str | None, format_: str) -> Period:
        """Return the period of a chart."""
        return self.formats.get(format_) or self.lines.get(line or "") or self.period


def oxygen_charts(
    packages: pl.DataFrame, lots: pl.DataFrame, targets: pl.DataFrame, plan: ChartPlan
) -> dict[str, pl.DataFrame]:
    """Chart every line and format with a package of which anything is known.

    Args:
        packages: as `package_oxygen` returns them.
        lots: lot, format, line, started_at.
        targets: format, kind, target_ppb (null without one), target_assumed.
        plan: periods and rules.

    Returns:
        The result tables `oxygen_charts` (one row a line and format), `chart_points` (a lot) and
        `oxygen_signals` (a signal), each sorted by line and format.
    """
    points = lot_points(packages, lots)
    counts = counted_packages(packages)
    recent = recent_packages(packages, points).partition_by(CHART, as_dict=True)
    target_of = {row["format"]: row for row in targets.iter_rows(named=True)}
    charts: list[dict[str, Any]] = []
    drawn = [pl.DataFrame(schema=_POINTS)]
    found = [pl.DataFrame(schema={**_KEYS, **SIGNALS})]
    for (line, format_), chart in points.partition_by(
        CHART, as_dict=True, maintain_order=True
    ).items():
        target = target_of[format_]
        in_period, limits, about = _limits(chart, plan.period_of(line, format_))
        signalled = pl.DataFrame(schema=SIGNALS)
        if limits is not None:
            signalled = signals_of(chart, limits, plan.rules)
        key = (pl.lit(line, pl.String).alias("line"), pl.lit(format_).alias("format"))
        found.append(signalled.select(*key, pl.all()))
        drawn.append(_drawn(chart, in_period, limits))
        charts.append(
            {
                "line": line,
                "format": format_,
                "kind": target["kind"],
                "lots": chart.height,
                "bound_lots": chart.filter(pl.col("low") != pl.col("high")).height,
                "rules": "; ".join(plan.rules),
                "target_ppb": target["target_ppb"],
                "target_assumed": target["target_assumed"],
                **about,
                **usual_now(chart, limits),
                **against_target(recent[line, format_], target["target_ppb"]),
                **beer_and_closing(chart),
            }
        )
    summary = pl.DataFrame(charts, schema={k: t for k, t in _CHARTS.items() if k not in COUNTED})
    return {
        "oxygen_charts": summary.join(counts, on=CHART, nulls_equal=True, how="left").select(
            pl.col(name).cast(kind) for name, kind in _CHARTS.items()
        ),
        "chart_points": pl.concat(drawn),
        "oxygen_signals": pl.concat(found),
    }


COUNTED = ("packages", "below_floor", "late", "part", "unusable")


def _limits(
    chart: pl.DataFrame, period: Period
) -> tuple[np.ndarray[Any, np.dtype[np.bool_]], Limits | None, dict[str, Any]]:
    """Return which lots limits come from, the limits, and what is to be said of them."""
    day = pl.col("packaged_on")
    clean = pl.col("low") == pl.col("high")
    within = day >= period.first if period.first else pl.lit(value=True)
    if period.last:
        within &= day <= period.last
    else:
        # Lots before the twenty-first that has a value.
        within &= (clean & within).cum_sum().shift(1, fill_value=0) < FIRST_LOTS
    chosen = chart.select(within=within)["within"].to_numpy()
    used = chart.filter(pl.Series(chosen))
    known = used.filter(clean)
    basis = "first lots" if known.height >= FIRST_LOTS else "lots so far"
    about: dict[str, Any] = {
        "limits_basis": "stated" if period.last else basis,
        "limits_first_on": known["packaged_on"].min(),
        "limits_last_on": known["packaged_on"].max(),
        "limits_lots": known.height,
    }
    if known.height < LEAST_POINTS:
        reason = f"they take {LEAST_POINTS} lots with a value, and the period has {known.height}"
        return chosen, None, about | {"reason": reason}
    try:
        limits = individuals_limits(known["low"].to_numpy())
    except NotEstimable as error:
        return chosen, None, about | {"reason": str(error)}
    limits = replace(limits, centre=_centre(used, limits.sd))
    return (
        chosen,
        limits,
        about
        | {
            "centre_ppb": np.exp(limits.centre),
            "limit_lower_ppb": np.exp(limits.lower),
            "limit_upper_ppb": np.exp(limits.upper),
            "sd_log": limits.sd,
            "step_limit": np.exp(limits.moving_range),
        },
    )


def _centre(used: pl.DataFrame, sd: float) -> float:
    told = used.filter(pl.col("low").is_finite() | pl.col("high").is_finite())
    low, high = told["low"].to_numpy(), told["high"].to_numpy()
    return float(censored_means(low, high, np.zeros(len(low)), 1, sd).mean[0])


def _drawn(
    chart: pl.DataFrame,
    in_period: np.ndarray[Any, np.dtype[np.bool_]],
    limits: Limits | None,
) -> pl.DataFrame:
    """Return the points of a chart as they are drawn, ppb."""
    low, high = pl.col("low"), pl.col("high")
    running: dict[str, Any] = {}
    if limits is not None:
        values = chart.select(pl.when(low == high).then(low))["low"].to_numpy()
        mean, half = ewma(values, limits)
        running = {
            "running_ppb": np.exp(mean),
            "running_lower_ppb": np.exp(limits.centre - half),
            "running_upper_ppb": np.exp(limits.centre + half),
        }
    return chart.with_columns(
        position=pl.int_range(1, pl.len() + 1),
        ppb=pl.when(low == high).then(low.exp()),
        at_least_ppb=pl.when(low != high, low.is_finite()).then(low.exp()),
        at_most_ppb=pl.when(low != high, high.is_finite()).then(high.exp()),
        in_period=pl.Series(in_period),
        **{name: pl.lit(None) for name in _POINTS if name.startswith("running") and not running},
        **{name: pl.Series(values) for name, values in running.items()},
    ).select(pl.col(name).cast(kind) for name, kind in _POINTS.items())
