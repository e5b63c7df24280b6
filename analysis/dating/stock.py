"""How much life is left in each lot, in house and in the trade, the way it really travelled.

What is in house has been kept at the temperature of the first stage of its route since packaging;
shipping ends that stage, and the rest of the route follows. On days on which a logger names the
lot, or the route while the lot is on it, its mean kinetic temperature of the day takes the place of
the stage's. The life that is left is the one-sided lower bound over all draws, for a single lot of
that dose; other limits count, and nothing is left after the printed date: this ranks stock, it
extends nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.shelf_life import limits_of
from analysis.kinetics.history import Stages, mean_kinetic_temperature

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from analysis.dating.dose_lives import DoseLives, Place
    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route

_LOT = ("lot", "format")
Cells = dict[str, Any]

_STOCK = {
    **dict.fromkeys(("lot", "format", "beer", "place", "route", "customers"), pl.String),
    "temp_c": pl.Float64,
    "packages": pl.Int64,
    "packaged_on": pl.Date,
    "shipped_on": pl.Date,
    "printed_on": pl.Date,
    "printed": pl.Boolean,
    "printed_days": pl.Int32,
    "middle_days": pl.Int32,
    "flavour_days": pl.Int32,
    "days_left": pl.Int32,
    "logged_days": pl.Int32,
}


@dataclass(frozen=True)
class Minimum:
    """What a customer asks to be left of the printed life: days, or a share of it; one of them."""

    days: int | None = None
    share: float | None = None

    def last_day(self, packaged_on: date, printed_on: date) -> date:
        """Return the last day on which a lot with that printed date still has so much left."""
        return printed_on - timedelta(days=self.of((printed_on - packaged_on).days))

    def of(self, whole: int) -> int:
        """Return the days that are to be left of a printed life of so many."""
        if self.days is not None:
            return self.days
        return math.ceil(round(whole * (self.share or 0.0), 9))


@dataclass(frozen=True)
class Kept:
    """How beer is kept and how long it lives.

    Attributes:
        routes: the brewery's routes.
        lives: by style, format and share; empty without an estimate.
        limits: beer, style, format, cause, days.
        log: read_at, temp_c, route, lot: what loggers say of a lot or a route.
        policy: the brewery's rule.
    """

    routes: Sequence[Route]
    lives: Mapping[Place, DoseLives]
    limits: pl.DataFrame
    log: pl.DataFrame
    policy: Policy

    def main(self, kind: str) -> Route | None:
        """Return the route that takes most of the volume of a kind of package."""
        carried = [route for route in self.routes if route.carries(kind)]
        return min(carried, key=lambda r: (-r.volume_share, r.name), default=None)

    def named(self, name: str | None, kind: str) -> Route | None:
        """Return a route by its name; where none is named, the main one of the kind."""
        if name is None:
            return self.main(kind)
        return next((route for route in self.routes if route.name == name), None)


def stock(
    lots: pl.DataFrame, shipments: pl.DataFrame, kept: Kept, today: date
) -> tuple[pl.DataFrame, int]:
    """Tell how much life is left in every lot that is not past its printed date.

    Args:
        lots: lot, format, beer, style, kind, abv_pct, packaged_on, best_before, packages, dose_ppb
            (null where not known).
        shipments: lot, format, shipped_on, packages, route, customer.
        kept: how beer is kept and how long it lives.
        today: the day that it is.

    Returns:
        One row for what is in house of each lot and format, and for what was shipped of it on each
        day by each route: place (in house, shipped), customers, route and the temperature it ends
        at (null where none is known), packages (in house: packed less shipped, null where not
        known), printed_on (where none is printed, printed is false and the longest date of the
        style stands there), printed_days to it, middle_days and flavour_days (median and lower
        bound of what is left, no more than printed_days; null without an estimate or without a
        safety validation where one is needed), days_left (flavour_days, else printed_days),
        logged_days (by loggers); the least left first. And how many lots are past
        their date with packages that no shipment accounts for.
    """
    shipped = shipments.filter(pl.col("shipped_on") <= today)
    gone = shipped.group_by(_LOT).agg(gone=pl.col("packages").sum())
    packaged = lots.filter(pl.col("packaged_on") <= today)
    caps = [
        kept.policy.of(style, beer=beer, format_=format_).cap_days
        for style, beer, format_ in packaged.select("style", "beer", "format").iter_rows()
    ]
    longest = pl.col("packaged_on") + pl.duration(days="cap_days")
    dated = (
        packaged.with_columns(cap_days=pl.Series(caps, dtype=pl.Int64))
        .join(gone, on=_LOT, how="left")
        .with_columns(
            printed=pl.col("best_before").is_not_null(),
            printed_on=pl.coalesce("best_before", longest),
            left=pl.col("packages").cast(pl.Int64) - pl.col("gone").fill_null(0),
        )
    )
    past = dated.filter(pl.col("printed_on") < today, pl.col("left") > 0).height
    current = dated.filter(pl.col("printed_on") >= today)
    house = current.filter(pl.col("left").ne_missing(0)).with_columns(
        place=pl.lit("in house"),
        packages=pl.col("left"),
        route=pl.lit(None, pl.String),
        customers=pl.lit(None, pl.String),
        shipped_on=pl.lit(None, pl.Date),
    )
    customer = pl.col("customer").fill_null("customer not given").unique().sort()
    trade = (
        shipped.group_by(*_LOT, "route", "shipped_on")
        .agg(pl.col("packages").sum().cast(pl.Int64), customers=customer.str.join(", "))
        .join(current.drop("packages"), on=_LOT)
        .with_columns(place=pl.lit("shipped"))
    )
    rows = [
        _row(row, kept, today)
        for part in (house, trade)
        for row in part.sort(*_LOT, "route", "shipped_on").iter_rows(named=True)
    ]
    ranked = pl.DataFrame(rows, schema=_STOCK, orient="row").sort(
        "days_left", *_LOT, "place", "route", "shipped_on"
    )
    return ranked, past


def last_days(ranked: pl.DataFrame, minimums: Mapping[str, Minimum], today: date) -> pl.DataFrame:
    """Tell until when what is in house can be shipped to customers who ask for a minimum.

    Args:
        ranked: as `stock` returns it.
        minimums: by customer.
        today: the day that it is.

    Returns:
        lot, format, beer, packages, customer, last_on, days (from today; negative: too late), of
        lots with a printed date; sorted by last_on.
    """
    house = ranked.filter(
        pl.col("place") == "in house", "printed", pl.col("packages").fill_null(1) > 0
    )
    rows = [
        (
            *(lot[name] for name in ("lot", "format", "beer", "packages")),
            customer,
            last := minimum.last_day(lot["packaged_on"], lot["printed_on"]),
            (last - today).days,
        )
        for lot in house.iter_rows(named=True)
        for customer, minimum in minimums.items()
    ]
    schema = {
        **dict.fromkeys(("lot", "format", "beer"), pl.String),
        "packages": pl.Int64,
        "customer": pl.String,
        "last_on": pl.Date,
        "days": pl.Int32,
    }
    return pl.DataFrame(rows, schema=schema, orient="row").sort("last_on", *_LOT, "customer")


def travelled(
    route: Route, age: int, shipped_at: int | None, logged: Mapping[int, float]
) -> Stages:
    """Return how a lot was kept so far and will be kept on its route.

    Args:
        route: the route.
        age: days since packaging.
        shipped_at: days from packaging to shipping; None in house.
        logged: °C of single days, counted from 0 at packaging.
    """
    days, temps = list(route.stages.days), list(route.stages.temp_c)
    if len(days) > 1:
        days[0] = max(days[0], age) if shipped_at is None else shipped_at
    if not logged:
        return Stages(tuple(days), tuple(temps))
    past = [
        logged.get(day, planned)
        for day, planned in zip(range(age), _daily(days, temps), strict=False)
    ]
    spells = [(float(len(list(same))), temp) for temp, same in groupby(past)]
    left, begun = [], 0.0
    for length, temp in zip(days, temps, strict=True):
        rest = begun + length - max(begun, age)
        if rest > 0.0:
            left.append((rest, temp))
        begun += length
    lengths, kept = zip(*spells, *left, strict=True)
    return Stages(lengths, kept)


def _daily(days: Sequence[float], temps: Sequence[float]) -> Iterator[float]:
    """Yield the stage's temperature of each day, without end."""
    ends = np.cumsum(days)
    day = 0
    while True:
        yield temps[int(np.searchsorted(ends, day, side="right"))]
        day += 1


def _row(row: Cells, kept: Kept, today: date) -> Cells:
    route = kept.named(row["route"], row["kind"])
    rule = kept.policy.of(
        row["style"],
        beer=row["beer"],
        format_=row["format"],
        market=route.market if route else None,
    )
    lives = kept.lives.get((row["style"], row["format"], rule.share_rejected))
    age = (today - row["packaged_on"]).days
    printed_days = (row["printed_on"] - today).days
    middle, flavour, logged = None, None, 0
    unsafe = kept.policy.needs_validation(row["beer"], row["abv_pct"])
    if route is not None and lives is not None and row["dose_ppb"] is not None and not unsafe:
        shipped_at = (row["shipped_on"] - row["packaged_on"]).days if row["shipped_on"] else None
        by_log = _logged(row, route, kept.log, today, float(np.median(lives.energy)))
        stages = travelled(route, age, shipped_at and max(shipped_at, 0), by_log)
        ends = limits_of(
            kept.limits, style=row["style"], format_=row["format"], beer=row["beer"]
        ).values()
        shortest = min([*ends, age + printed_days])
        life = lives.life(stages, row["dose_ppb"], rule.confidence)
        middle, flavour = (math.floor(min(days, shortest)) - age for days in life)
        logged = len(by_log)
    return {
        **{name: row[name] for name in ("lot", "format", "beer", "place", "customers")},
        "route": route.name if route else row["route"],
        "temp_c": route.last_temp_c if route else None,
        **{name: row[name] for name in ("packages", "packaged_on", "shipped_on")},
        "printed_on": row["printed_on"],
        "printed": row["printed"],
        "printed_days": printed_days,
        "middle_days": middle,
        "flavour_days": flavour,
        "days_left": printed_days if flavour is None else flavour,
        "logged_days": logged,
    }


def _logged(
    row: Cells, route: Route, log: pl.DataFrame, today: date, energy: float
) -> dict[int, float]:
    """Return the mean kinetic temperature of the days that a logger tells of, by age."""
    on_route = pl.lit(value=False)
    if row["shipped_on"] is not None:
        on_route = (pl.col("route") == route.name) & (pl.col("read_on") >= row["shipped_on"])
    of_lot = (pl.col("lot") == row["lot"]).fill_null(value=False)
    found = log.with_columns(read_on=pl.col("read_at").dt.date()).filter(
        of_lot | on_route.fill_null(value=False),
        pl.col("read_on") >= row["packaged_on"],
        pl.col("read_on") < today,
    )
    own = found.filter(of_lot)
    days = pl.concat([own, found.join(own, on="read_on", how="anti")])
    return {
        (day - row["packaged_on"]).days: mean_kinetic_temperature(
            part["temp_c"].sort(), np.ones(part.height), energy
        )
        for (day,), part in days.sort("read_on").group_by("read_on", maintain_order=True)
        if isinstance(day, date)
    }
