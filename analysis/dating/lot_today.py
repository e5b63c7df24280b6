"""One lot's oxygen, and whether the usual date holds for it.

The usual date is the printed one, else the policy's for the style in that format, on the route that
takes most of the volume. It is made for lots as they come: the shelf life averages over their
oxygen. So a lot is held against it in this order, with its total oxygen and the interval of 90 %:

    holds           its dose at the upper end supports the usual days
    shorten         it does not, and the lower end is above the middle lot the date reckons with
    date too long   it does not, and a usual lot does not either: not for its oxygen
    as usual        it does not, but the lot is not surely above the usual ones

Late readings and parts are lower bounds: with them alone a lot can be `shorten`, else it is `only
bounds`, never cleared. Fewer than six packages read are `too few` to shorten or to clear. No lot is
given more than the usual days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl
from scipy import special

from analysis.dating.rounding import best_before
from analysis.dating.routes import main_route
from analysis.dating.shelf_life import limits_of
from analysis.oxygen.dose import DOSE_DAYS
from analysis.oxygen.packages import LOT, is_clean, log_bounds
from analysis.oxygen.shrinkage import spreads

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from analysis.dating.dose_lives import DoseLives, Place
    from analysis.dating.policy import Policy, Rule
    from analysis.dating.routes import Route

ENOUGH = 6
"""Packages read from which a lot can be shortened or cleared."""

_Z = float(special.ndtri(0.95))
Cells = dict[str, Any]

_COUNTS = ("packages", "clean", "late", "shaken", "part", "below_floor", "unusable")
_ANSWERS = {
    **dict.fromkeys(("lot", "format", "beer", "style", "line"), pl.String),
    "packaged_on": pl.Date,
    **dict.fromkeys(_COUNTS, pl.Int32),
    "heads": pl.String,
    **dict.fromkeys(("total_ppb", "lower_ppb", "upper_ppb", "at_least_ppb"), pl.Float64),
    "line_lots": pl.Int32,
    **dict.fromkeys(("line_ppb", "limit_lower_ppb", "limit_upper_ppb"), pl.Float64),
    "above_line": pl.Boolean,
    "reckoned_ppb": pl.Float64,
    "printed_on": pl.Date,
    "usual_days": pl.Int32,
    "route": pl.String,
    "temp_c": pl.Float64,
    "style_days": pl.Int32,
    "supported_days": pl.Int32,
    "verdict": pl.String,
    "shorten_days": pl.Int32,
    "cold_route": pl.String,
    "cold_temp_c": pl.Float64,
    "samples": pl.Int32,
    "sample": pl.String,
    "sample_on": pl.Date,
}


@dataclass(frozen=True)
class Background:
    """What lots are judged against.

    Attributes:
        dates: of the newest run: style, format, route, best_before_days, oldest_tasted_days,
            total_oxygen_ppb.
        lives: by style, format and share; empty without an estimate.
        charts: line, format, limits_lots, centre_ppb, limit_lower_ppb, limit_upper_ppb.
        routes: the brewery's routes.
        limits: beer, style, format, cause, days.
        samples: lot, format, sample, pulled_on, of those still in storage.
        policy: the brewery's rule.
    """

    dates: pl.DataFrame
    lives: Mapping[Place, DoseLives]
    charts: pl.DataFrame
    routes: Sequence[Route]
    limits: pl.DataFrame
    samples: pl.DataFrame
    policy: Policy


def judge_lots(
    wanted: pl.DataFrame, oxygen: pl.DataFrame, packages: pl.DataFrame, behind: Background
) -> pl.DataFrame:
    """Judge lots by their oxygen.

    Args:
        wanted: the lots: lot, format, beer, style, kind, abv_pct, line, packaged_on, best_before.
        oxygen: of all lots, as `lot_oxygen` returns it.
        packages: of all lots, as `package_oxygen` returns them.
        behind: what they are judged against.

    Returns:
        One row a lot and format, sorted by them: what was read (packages, clean, late, shaken,
        part, below_floor, unusable; heads, null where none is written down), the total with its
        interval, ppb (at_least_ppb where only lower bounds are known; upper alone where all are
        below the meter's floor), its line's centre and limits, above_line, reckoned_ppb (the middle
        lot the date reckons with), usual_days (printed, else of the style; null without), the
        route with the temperature it ends at, style_days and supported_days (what a usual lot and
        this one support there, at most), verdict (holds, as usual, shorten, date too long, too few,
        only bounds, no readings, no estimate, no route, no date, no validation), shorten_days (null
        where it fits no date), cold_route (on which the usual days hold, with its temperature),
        samples in storage, the next to be pulled, and when.
    """
    readings = (
        wanted.join(oxygen, on=LOT, how="left")
        .join(_counts(packages), on=LOT, how="left")
        .with_columns(pl.col(*_COUNTS, "known").fill_null(0))
    )
    bound_sd = _package_sd(packages, wanted)
    rows = [_judged(lot, bound_sd, behind) for lot in readings.sort(LOT).iter_rows(named=True)]
    return pl.DataFrame(rows, schema=_ANSWERS, orient="row")


def _counts(packages: pl.DataFrame) -> pl.DataFrame:
    heads = pl.col("head").drop_nulls().unique().sort()
    return packages.group_by(LOT).agg(
        clean=is_clean().sum().cast(pl.Int32),
        shaken=pl.col("shaken").sum().cast(pl.Int32),
        heads=pl.when(heads.len() > 0).then(heads.str.join(", ")),
        known=(pl.col("basis") != "none").sum().cast(pl.Int32),
        at_most_ppb=pl.col("upper_ppb").log().mean().exp(),
    )


def _package_sd(packages: pl.DataFrame, wanted: pl.DataFrame) -> float:
    lots = packages.select(*LOT, "line").unique().sort(LOT)
    return spreads(log_bounds(packages), lots if lots.height else wanted).package_sd


@dataclass(frozen=True)
class _Lot:
    """A lot, its oxygen, and the routes it may go.

    Attributes:
        row: what is known of it.
        low: what it holds at least, ppb; None without a lower bound.
        point: what it holds, or at least where that is all that is known.
        high: what it holds at most; None without an upper bound.
        carried: the routes that carry its kind.
        behind: what it is judged against.
    """

    row: Cells
    low: float | None
    point: float | None
    high: float | None
    carried: tuple[Route, ...]
    behind: Background

    @property
    def main(self) -> Route | None:
        """The route that takes most of the volume; at a tie the one whose name comes first."""
        return main_route(self.carried)

    def rule(self, route: Route | None) -> Rule:
        """Return how its date is made on a route."""
        row = self.row
        return self.behind.policy.of(
            row["style"],
            beer=row["beer"],
            format_=row["format"],
            market=route.market if route else None,
        )

    def lives(self, route: Route | None) -> DoseLives | None:
        """Return how long lots of its style and format live until the share of that route."""
        share = self.rule(route).share_rejected
        return self.behind.lives.get((self.row["style"], self.row["format"], share))

    @property
    def printed_days(self) -> int | None:
        """Days from packaging to the printed date."""
        printed = self.row["best_before"]
        return (printed - self.row["packaged_on"]).days if printed else None

    def dated(self, route: Route | None) -> Cells:
        """Return the date of its style and format on a route, of the newest run."""
        found = self.behind.dates.filter(
            pl.col("style") == self.row["style"],
            pl.col("format") == self.row["format"],
            pl.col("route") == (route.name if route else ""),
        )
        return next(found.iter_rows(named=True), {})

    def supported(self, route: Route | None) -> int:
        """Return the days that its oxygen at the upper end supports on a route, 0 where none.

        With lower bounds alone it is what they leave at most.
        """
        total = self.point if self.high is None else self.high
        lives, rule = self.lives(route), self.rule(route)
        if route is None or lives is None or total is None:
            return 0
        dose = total + DOSE_DAYS * (self.row["ingress_ppb_per_day"] or 0.0)
        oldest = self.dated(route).get("oldest_tasted_days")
        return (
            best_before(
                lives.life(route.stages, dose, rule.confidence)[1],
                rule=rule,
                oldest_tasted_days=oldest,
                limits=limits_of(
                    self.behind.limits,
                    style=self.row["style"],
                    format_=self.row["format"],
                    beer=self.row["beer"],
                ),
                distribution_days=route.stages.distribution_days,
            ).days
            or 0
        )

    def cannot_say(self, usual: int | None) -> str | None:
        """Return why nothing can be said of its days; None where something can."""
        row = self.row
        needs_validation = self.behind.policy.needs_validation(row["beer"], row["abv_pct"])
        few = row["packages"] < ENOUGH and (row["packages"] > 0 or row["known"] < ENOUGH)
        reasons = {
            "no validation": needs_validation,
            "no readings": not row["known"],
            "too few": few,
            "no route": self.main is None,
            "no estimate": self.lives(self.main) is None,
            "no date": usual is None,
        }
        return next((reason for reason, holds in reasons.items() if holds), None)

    def verdict(self, usual: int, style: Cells) -> str:
        """Return whether the usual days hold; `style` is the date that a usual lot gets."""
        fits = self.supported(self.main) >= usual
        reckoned = style.get("total_oxygen_ppb")
        if fits and self.high is not None:
            return "holds"
        above = self.low is not None and reckoned is not None and self.low > reckoned
        if above and not fits:
            return "shorten"
        if self.high is None:
            return "only bounds"
        return "as usual" if (style.get("best_before_days") or 0) >= usual else "date too long"

    def colder(self, usual: int) -> Route | None:
        """Return the least cold route, colder than the main one, on which the usual days hold."""
        if self.main is None or self.high is None:
            return None
        limit = self.main.last_temp_c
        colder = sorted(
            (route for route in self.carried if route.last_temp_c < limit),
            key=lambda route: (-route.last_temp_c, route.name),
        )
        return next((route for route in colder if self.supported(route) >= usual), None)


def _judged(row: Cells, package_sd: float, behind: Background) -> Cells:
    carried = tuple(route for route in behind.routes if route.carries(row["kind"]))
    lot = _Lot(row, *_interval(row, package_sd), carried, behind)
    style = lot.dated(lot.main)
    usual = style.get("best_before_days") if lot.printed_days is None else lot.printed_days
    verdict = lot.cannot_say(usual)
    days, cold = None, None
    if verdict is None and usual is not None:
        verdict = lot.verdict(usual, style)
        days = lot.supported(lot.main)
        cold = lot.colder(usual) if verdict in {"shorten", "date too long"} else None
    return {
        **{name: row[name] for name in ("lot", "format", "beer", "style", "line", "packaged_on")},
        **{name: row[name] for name in _COUNTS},
        "heads": row["heads"],
        "total_ppb": row["total_oxygen_ppb"],
        "lower_ppb": lot.low,
        "upper_ppb": lot.high,
        "at_least_ppb": row["at_least_ppb"],
        **_beside_its_line(lot),
        "reckoned_ppb": style.get("total_oxygen_ppb"),
        "printed_on": row["best_before"],
        "usual_days": usual,
        "route": lot.main.name if lot.main else None,
        "temp_c": lot.main.last_temp_c if lot.main else None,
        "style_days": style.get("best_before_days"),
        "supported_days": None if days is None or usual is None else min(days, usual) or None,
        "verdict": verdict,
        "shorten_days": (days or None) if verdict == "shorten" else None,
        "cold_route": cold.name if cold else None,
        "cold_temp_c": cold.last_temp_c if cold else None,
        **_samples(lot),
    }


def _interval(row: Cells, package_sd: float) -> tuple[float | None, float | None, float | None]:
    """Return what the lot holds at least, what it holds, and what it holds at most, ppb."""
    if row["total_oxygen_ppb"] is not None:
        return (
            row["total_oxygen_lower_ppb"],
            row["total_oxygen_ppb"],
            row["total_oxygen_upper_ppb"],
        )
    if row["at_least_ppb"] is not None:
        noise = _Z * package_sd / math.sqrt(row["known"])
        return row["at_least_ppb"] * math.exp(-noise), row["at_least_ppb"], None
    return None, None, row["at_most_ppb"]


def _beside_its_line(lot: _Lot) -> Cells:
    found = lot.behind.charts.filter(
        pl.col("line").eq_missing(pl.lit(lot.row["line"])), pl.col("format") == lot.row["format"]
    )
    chart = next(found.iter_rows(named=True), {})
    limit = chart.get("limit_upper_ppb")
    return {
        "line_lots": chart.get("limits_lots", 0),
        "line_ppb": chart.get("centre_ppb"),
        "limit_lower_ppb": chart.get("limit_lower_ppb"),
        "limit_upper_ppb": limit,
        "above_line": None if limit is None or lot.point is None else lot.point > limit,
    }


def _samples(lot: _Lot) -> Cells:
    stored = lot.behind.samples.filter(
        pl.col("lot") == lot.row["lot"], pl.col("format") == lot.row["format"]
    ).sort("pulled_on", "sample")
    following = next(stored.iter_rows(named=True), {})
    return {
        "samples": stored.height,
        "sample": following.get("sample"),
        "sample_on": following.get("pulled_on"),
    }
