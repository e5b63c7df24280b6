"""What each stage of a route takes of a beer's life, and what loggers on it say instead.

    share of stage k = (days in stage k) · exp(−(Ea / R)(1/T_k − 1/293.15 K)) / age,   draw by draw
    cost of a week   = days as planned − days with that week as logged

`age` is the equivalent age at 20 °C at which the policy's share is rejected, so that the shares of
all stages add up to 1 in every draw, and so do their means. Mean kinetic temperatures take the
middle activation energy of the style.

A logger that names a lot begins on the day that the lot was that old. Else it is set against the
stage before the last, or all of them, that lasts most nearly as long as its trip (assumed).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.routes import summer_of
from analysis.dating.shelf_life import date_of, limits_for, oldest_tasted
from analysis.kinetics.arrhenius import acceleration
from analysis.kinetics.history import (
    Stages,
    day_at,
    equivalent_age,
    mean_kinetic_temperature,
    overlaid,
    spells,
)
from analysis.kinetics.logged import Trip, hottest_week, trips

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from analysis.dating.policy import Policy, Rule
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.evidence import Evidence

    Array = NDArray[np.float64]

Row = dict[str, Any]
_Schema = dict[str, pl.DataType | type[pl.DataType]]

NEWEST_TRIPS = 12
"""Of a route, that are held against its plan; older ones are left out."""

_POINTS = 160  # of a trip, drawn
_PLACE = dict.fromkeys(("style", "format", "route", "variant"), pl.String)
_BOUNDS = ("", "_lower", "_upper")
_STAGES: _Schema = {
    **_PLACE,
    "stage_no": pl.Int32,
    "temp_c": pl.Float64,
    "days": pl.Float64,
    "equivalent_days": pl.Float64,
    **{f"life_share{bound}": pl.Float64 for bound in _BOUNDS},
    "share_per_day": pl.Float64,
    "most_in_all": pl.Boolean,
    "most_per_day": pl.Boolean,
}
_LIVES: _Schema = {
    **_PLACE,
    "logger": pl.String,
    "begins_at": pl.Datetime("us"),
    "placed_by": pl.String,
    "from_day": pl.Float64,
    "logged_days": pl.Float64,
    "last_temp_c": pl.Float64,
    "energy_kj_mol": pl.Float64,
    "energy_source": pl.String,
    "mean_kinetic_c": pl.Float64,
    "planned_kinetic_c": pl.Float64,
    "equivalent_days": pl.Float64,
    "planned_equivalent_days": pl.Float64,
    **{f"shelf_life_days{bound}": pl.Float64 for bound in _BOUNDS},
    **{f"difference_days{bound}": pl.Float64 for bound in _BOUNDS},
    "best_before_days": pl.Int32,
    "planned_best_before_days": pl.Int32,
    "hottest_from": pl.Datetime("us"),
    "hottest_days": pl.Float64,
    "hottest_c": pl.Float64,
    "hottest_planned_c": pl.Float64,
    **{f"hottest_cost_days{bound}": pl.Float64 for bound in _BOUNDS},
}
_TRIPS: _Schema = {
    "route": pl.String,
    "logger": pl.String,
    "begins_at": pl.Datetime("us"),
    "placed_by": pl.String,
    "day": pl.Float64,
    **dict.fromkeys(("temp_c", "lowest_c", "highest_c"), pl.Float64),
}


@dataclass(frozen=True)
class Placed:
    """A trip set against its route's plan: by its `lot`, or by a stage's `length` (assumed)."""

    trip: Trip
    placed_by: str
    from_day: float


def on_the_way(
    cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
    placed: Mapping[str, Sequence[Placed]],
    summer_warmer_c: float,
) -> dict[str, pl.DataFrame]:
    """Tell what the routes do to the dates: as planned, in an assumed summer, as logged.

    Args:
        cells: every style and format; those without an estimate are left out.
        routes: the routes.
        evidence: for the oldest beer tasted.
        policy: the brewery's rule.
        limits: beer, style, format, cause, days.
        placed: the trips of each route, as `placed_trips` returns them.
        summer_warmer_c: by how much the last stage of a warm route is warmer in summer, °C.

    Returns:
        `route_use`: style, format, route, variant (planned, summer), each stage with its days and
        equivalent days at 20 °C until life ends (means over the draws), the share of the life that
        it takes with one-sided bounds, that share per day, and whether it takes most in all, and
        most per day.
        `route_lives`: style, format, route, variant (planned, summer, logged): shelf life and date,
        difference_days to the plan, mean kinetic temperature (to the end of the life; of the trip
        where logged) beside the plan's of the same days, and the hottest week of a trip with what
        it cost.
    """
    used, lived = [], []
    for cell in cells:
        if cell.drawn is None or cell.energy is None:
            continue
        ends = limits_for(limits, cell, evidence)
        for route in routes:
            if not route.carries(cell.kind):
                continue
            rule = policy.of(cell.style, format_=cell.format, market=route.market)
            on_route = _OnRoute(cell, route, rule, evidence, ends)
            variants = {"planned": route, "summer": summer_of(route, routes, summer_warmer_c)}
            for variant, way in variants.items():
                if way is not None:
                    used += on_route.use(variant, way.stages)
                    lived.append(on_route.life(variant, way.stages))
            lived += [on_route.logged(one) for one in placed.get(route.name, ())]
    return {
        "route_use": pl.DataFrame(used, schema=_STAGES, orient="row"),
        "route_lives": pl.DataFrame(lived, schema=_LIVES, orient="row"),
    }


@dataclass(frozen=True)
class _OnRoute:
    """A cell on a route under a rule."""

    cell: Cell
    route: Route
    rule: Rule
    evidence: Evidence
    ends: Mapping[str, float]

    @property
    def ages(self) -> Array:
        return np.asarray(self.cell.ages[self.rule.share_rejected])

    @property
    def energies(self) -> Array:
        if self.cell.drawn is None:
            raise AssertionError
        return self.cell.drawn.activation_energy

    def days(self, stages: Stages) -> Array:
        return day_at(stages, self.ages, self.energies)

    def bounded(self, name: str, drawn: Array) -> Row:
        """Return the median of draws with its bounds."""
        asked = (0.5, 1.0 - self.rule.confidence, self.rule.confidence)
        values = np.quantile(drawn, asked, method="inverted_cdf")
        return {f"{name}{bound}": float(v) for bound, v in zip(_BOUNDS, values, strict=True)}

    def best_before(self, stages: Stages) -> int | None:
        """Return the date, capped by the oldest beer tasted where the plan ends, as it is now."""
        way = replace(self.route, stages=stages)
        oldest = oldest_tasted(self.evidence, self.cell.style, self.route.last_temp_c)
        return date_of(self.cell, way, self.rule, oldest, self.ends).days

    def named(self, variant: str) -> Row:
        cell = self.cell
        return {
            "style": cell.style,
            "format": cell.format,
            "route": self.route.name,
            "variant": variant,
        }

    def use(self, variant: str, stages: Stages) -> list[Row]:
        """Return what each stage takes of the life."""
        ages, energies = self.ages, self.energies
        ends = self.days(stages)
        rows, begins = [], 0.0
        for number, (days, temp_c) in enumerate(
            zip(stages.days, stages.temp_c, strict=True), start=1
        ):
            spent = np.clip(ends - begins, 0.0, days)
            worth = spent * acceleration(temp_c, energies)
            shares = worth / ages
            lasting = float(spent.mean())
            rows.append(
                {
                    **self.named(variant),
                    "stage_no": number,
                    "temp_c": temp_c,
                    "days": lasting,
                    "equivalent_days": float(worth.mean()),
                    **self.bounded("life_share", shares),
                    "life_share": float(shares.mean()),
                    "share_per_day": float(shares.mean()) / lasting if lasting else None,
                }
            )
            begins += days
        for mark, value in (("most_in_all", "life_share"), ("most_per_day", "share_per_day")):
            most = max(row[value] or 0.0 for row in rows)
            for row in rows:
                row[mark] = row[value] == most
        return rows

    def life(self, variant: str, stages: Stages) -> Row:
        """Return the life and date as planned, or with the last stage warmer."""
        energy = float(np.median(self.energies))
        planned, days = self.days(self.route.stages), self.days(stages)
        whole = float(np.median(days))
        return {
            **self._life(variant, stages, days, days - planned, energy),
            "mean_kinetic_c": _kinetic(stages, 0.0, whole, energy),
            "planned_kinetic_c": _kinetic(self.route.stages, 0.0, whole, energy),
            "equivalent_days": float(equivalent_age(stages, whole, energy)),
            "planned_equivalent_days": float(equivalent_age(self.route.stages, whole, energy)),
        }

    def logged(self, placed: Placed) -> Row:
        """Return the life and date with a trip in the place of the planned days."""
        energy, plan, trip = float(np.median(self.energies)), self.route.stages, placed.trip
        begin, end = placed.from_day, placed.from_day + trip.length
        kept = trip.daily(energy)
        planned = self.days(plan)
        stages = overlaid(plan, begin, kept)
        days = self.days(stages)
        offset, week = hottest_week(kept, energy)
        lasting = math.fsum(week.days)
        cost = planned - self.days(overlaid(plan, begin + offset, week))
        by_plan = math.fsum(
            length * float(acceleration(temp, energy)) for length, temp in spells(plan, begin, end)
        )
        return {
            **self._life("logged", stages, days, days - planned, energy),
            "logger": trip.logger,
            "begins_at": trip.begins_at,
            "placed_by": placed.placed_by,
            "from_day": begin,
            "logged_days": trip.length,
            "mean_kinetic_c": trip.mean_kinetic(energy),
            "planned_kinetic_c": _kinetic(plan, begin, end, energy),
            "equivalent_days": float(trip.days @ acceleration(trip.temp_c, energy)),
            "planned_equivalent_days": by_plan,
            "hottest_from": trip.begins_at + timedelta(days=offset),
            "hottest_days": lasting,
            "hottest_c": mean_kinetic_temperature(week.temp_c, week.days, energy),
            "hottest_planned_c": _kinetic(plan, begin + offset, begin + offset + lasting, energy),
            **self.bounded("hottest_cost_days", cost),
        }

    def _life(self, variant: str, stages: Stages, days: Array, apart: Array, energy: float) -> Row:
        return {
            **self.named(variant),
            "last_temp_c": stages.temp_c[-1],
            "energy_kj_mol": energy,
            "energy_source": "fitted" if self.cell.energy_known else "prior",
            **self.bounded("shelf_life_days", days),
            **self.bounded("difference_days", apart),
            "best_before_days": self.best_before(stages),
            "planned_best_before_days": self.best_before(self.route.stages),
        }


def _kinetic(stages: Stages, begin: float, end: float, energy: float) -> float:
    days, temps = zip(*spells(stages, begin, end), strict=True)
    return mean_kinetic_temperature(temps, days, energy)


def placed_trips(
    log: pl.DataFrame, lots: pl.DataFrame, routes: Sequence[Route]
) -> dict[str, tuple[Placed, ...]]:
    """Set the trips of loggers against the plan of their route.

    Args:
        log: logger, read_at, temp_c, route, lot.
        lots: lot, packaged_on.
        routes: the routes.

    Returns:
        The newest trips of each route that has any, by the time they began.
    """
    packaged = dict(lots.group_by("lot").agg(pl.col("packaged_on").min()).iter_rows())
    plans = {route.name: route.stages for route in routes}
    found: dict[str, list[Placed]] = {}
    on_routes = log.filter(pl.col("route").is_in(list(plans)))
    for (route, lot), part in on_routes.sort("route", "lot").group_by(
        ["route", "lot"], maintain_order=True
    ):
        for trip in trips(part):
            day = packaged.get(lot)
            age = None if day is None else (trip.begins_at.date() - day).days
            found.setdefault(str(route), []).append(_placed(plans[str(route)], trip, age))
    return {
        route: tuple(sorted(every, key=lambda p: (p.trip.begins_at, p.trip.logger))[-NEWEST_TRIPS:])
        for route, every in sorted(found.items())
    }


def _placed(plan: Stages, trip: Trip, age: int | None) -> Placed:
    if age is not None and age >= 0:
        return Placed(trip, "lot", float(age))
    begins, candidates = 0.0, []
    for days in plan.days[:-1]:
        candidates.append((begins, days))
        begins += days
    candidates.append((0.0, begins))
    lasting = [(begin, days) for begin, days in candidates if days > 0.0]
    if not lasting:
        return Placed(trip, "length", 0.0)
    begin, _ = min(lasting, key=lambda stretch: abs(math.log(stretch[1] / trip.length)))
    return Placed(trip, "length", begin)


def trip_points(placed: Mapping[str, Sequence[Placed]]) -> pl.DataFrame:
    """Thin each trip to what a chart can show.

    Returns:
        route, logger, begins_at, placed_by, day (from packaging), temp_c (mean), lowest_c and
        highest_c of at most 160 stretches of equally many readings.
    """
    rows = [
        (route, one.trip.logger, one.trip.begins_at, one.placed_by, *point)
        for route, every in placed.items()
        for one in every
        for point in _thinned(one)
    ]
    return pl.DataFrame(rows, schema=_TRIPS, orient="row")


def _thinned(placed: Placed) -> Iterator[tuple[float, float, float, float]]:
    days, temps = placed.trip.days, placed.trip.temp_c
    begins = placed.from_day + np.cumsum(days) - days
    for part in np.array_split(np.arange(len(days)), min(_POINTS, len(days))):
        mean = float(np.average(temps[part], weights=days[part]))
        yield float(begins[part[0]]), mean, float(temps[part].min()), float(temps[part].max())
