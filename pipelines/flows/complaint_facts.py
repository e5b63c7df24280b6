"""What is known of one lot that a complaint may be about, gathered from the store."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.accounts import is_of_age
from analysis.cases.candidates import fold
from analysis.cases.field import counted
from analysis.dating.routes import main_route, routes_of
from analysis.kinetics.history import Stages
from pipelines.flows.field import packages_drunk, recent_complaints
from pipelines.flows.safety import touches_of
from pipelines.store.complaints import (
    logged_heat,
    lots_with_packages,
    meters_in_doubt,
    named_head,
    run_positions,
    shipped,
    tasted_samples,
    verdict_counts,
)
from pipelines.store.fetch import fetch
from pipelines.store.lots import of_newest_run

if TYPE_CHECKING:
    from datetime import date

    import duckdb

    from analysis.cases.field import Counted
    from analysis.dating.routes import Route
    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked

Cells = dict[str, Any]

HEAT_DAYS = 56
"""Loggers are asked about so many days before the beer was opened."""

START_MINUTES = 10
"""So long after it began a run is at its start (assumed)."""

A_YEAR = 365
_OPENED_WITHIN = 21  # days before it was received, where nothing is told: assumed


@dataclass(frozen=True)
class Store:
    """What is read once, whatever the lot.

    Attributes:
        connection: the store.
        config: the configuration.
        today: the day that it is.
        lots: as `lots_with_packages` gives them.
        shipments: as `shipped` gives them.
        complaints: the table.
        routes: the brewery's.
        stages: names of the stages of each route.
    """

    connection: duckdb.DuckDBPyConnection
    config: Config
    today: date
    lots: pl.DataFrame
    shipments: pl.DataFrame
    complaints: pl.DataFrame
    routes: tuple[Route, ...]
    stages: dict[str, list[str]]

    @classmethod
    def of(cls, connection: duckdb.DuckDBPyConnection, config: Config, today: date) -> Store:
        """Read it."""
        stages = fetch(connection, "route_stages").sort("route", "stage_no")
        return cls(
            connection,
            config,
            today,
            lots_with_packages(connection),
            shipped(connection),
            fetch(connection, "complaints"),
            routes_of(fetch(connection, "routes"), stages),
            {name: list(part["stage"]) for (name,), part in stages.group_by("route")},
        )

    @cached_property
    def drunk(self) -> pl.DataFrame:
        """As `exposure.drunk` gives it, with the taste complaints to be expected of each row.

        They are those at the brewery's own rate: by_age, and background whatever the age.
        """
        out = packages_drunk(self.connection, self.lots, self.shipments, self.routes, self.today)
        recent = recent_complaints(self.complaints, self.config, self.today)
        return _with_expected(out, counted(recent, out, self.lots, self.shipments, self.today))

    @cached_property
    def charts(self) -> pl.DataFrame:
        """The oxygen charts of the newest run."""
        return of_newest_run(self.connection, "oxygen_charts")

    @cached_property
    def verdicts(self) -> Cells:
        """As `verdict_counts` gives them."""
        return verdict_counts(self.connection)


def _with_expected(out: pl.DataFrame, found: Counted) -> pl.DataFrame:
    """Spread the taste complaints over the packages drunk: by their age, and evenly."""
    number = float(found.taste.height)
    part = found.age.part if found.compared.height else 0.0
    rejected = pl.col("packages") * pl.col("share_rejected").fill_null(
        pl.col("share_rejected").mean()
    )
    return out.with_columns(
        by_age=(number * part * rejected / rejected.sum()).fill_nan(0.0).fill_null(0.0),
        background=number * (1.0 - part) * pl.col("packages") / pl.col("packages").sum(),
    )


@dataclass(frozen=True)
class Facts:
    """What is known of a lot.

    Attributes:
        lot: its row of `lots_with_packages`.
        day: age_days, age_sd, told (opened, bought, received), printed_on, printed_days.
        route: the route with the stages as this package went; None where none carries its kind.
        went: how the route is known, shipped_on, packages shipped, and to how many customers.
        oxygen: its row of `judged`.
        found: doubts (meters), head, position (in the run), samples, heat, verdicts (counts).
        others: complaints on the lot and at the outlet, with what is expected.
    """

    lot: Cells
    day: Cells
    route: Route | None
    went: Cells
    oxygen: Cells
    found: Cells
    others: Cells


def facts_of(asked: Asked, lot: Cells, oxygen: Cells, store: Store) -> Facts:
    """Gather what is known of a lot.

    Args:
        asked: The complaint.
        lot: A row of `lots_with_packages`.
        oxygen: Its row of `judged`.
        store: What was read of the store.
    """
    connection = store.connection
    name, format_, line = lot["lot"], lot["format"], lot["line"]
    mine = store.shipments.filter(pl.col("lot") == name, pl.col("format") == format_)
    route, went = _way(asked, lot, mine, store)
    since = max(lot["packaged_on"], asked.drunk_by - timedelta(days=HEAT_DAYS))
    return Facts(
        lot=lot,
        day=_day(asked, lot, mine),
        route=route,
        went=went,
        oxygen=oxygen,
        found={
            "doubts": meters_in_doubt(connection, name, format_),
            "head": named_head(connection, line, lot["packaged_on"]),
            "position": _position(asked, lot, run_positions(connection, line, format_)),
            "samples": tasted_samples(connection, name, format_, store.today),
            "heat": logged_heat(
                connection, name, route.name if route else None, since, asked.drunk_by
            ),
            "chart": _chart(store.charts, line, format_),
            "verdicts": store.verdicts,
        },
        others=_others(asked, lot, store),
    )


def _chart(charts: pl.DataFrame, line: str | None, format_: str) -> Cells | None:
    found = charts.filter(pl.col("line").eq_missing(line), pl.col("format") == format_)
    return next(found.iter_rows(named=True), None)


def _day(asked: Asked, lot: Cells, mine: pl.DataFrame) -> Cells:
    """Return how old it was, how sure that is, and the date printed on it."""
    packaged = lot["packaged_on"]
    to_outlet = _at(asked.outlet, mine)["best_before"].drop_nulls().unique()
    printed = asked.printed_date or (to_outlet[0] if len(to_outlet) == 1 else lot["best_before"])
    if asked.opened_on is not None:
        told, age, sd = "opened", float((asked.opened_on - packaged).days), 0.0
    else:
        told = "received" if asked.bought_on is None else "bought"
        earliest = asked.bought_on or asked.received_on - timedelta(days=_OPENED_WITHIN)
        last = float((asked.received_on - packaged).days)
        first = min(max(float((earliest - packaged).days), 0.0), last)
        age, sd = (first + last) / 2.0, max((last - first) / math.sqrt(12.0), 1.0)
    return {
        "age_days": age,
        "age_sd": sd,
        "told": told,
        "printed_on": printed,
        "printed_days": None if printed is None else (printed - packaged).days,
    }


def _at(outlet: str | None, rows: pl.DataFrame, column: str = "customer") -> pl.DataFrame:
    """Return the rows of an outlet; none where it is not told."""
    if not fold(outlet):
        return rows.head(0)
    alike = [name for name in rows[column].drop_nulls().unique() if fold(name) == fold(outlet)]
    return rows.filter(pl.col(column).is_in(alike))


def _way(asked: Asked, lot: Cells, mine: pl.DataFrame, store: Store) -> tuple[Route | None, Cells]:
    """Return the route that the package took, as far as that is known, and how it is known."""
    carried = [route for route in store.routes if route.carries(lot["kind"])]
    by_name = {route.name: route for route in carried}
    there = _at(asked.outlet, mine).filter(pl.col("shipped_on") <= asked.drunk_by)
    market = [route for route in carried if route.market == asked.market]
    route, known = None, "no route carries this kind of package"
    for rows, said in ((there, "as it was shipped to this outlet"), (mine, "as it was shipped")):
        ways = rows.filter(pl.col("route").is_in(list(by_name)))
        if route is None and ways.height:
            most = ways.group_by("route").agg(pl.col("packages").sum())
            route = by_name[most.sort("packages", "route", descending=[True, False])["route"][0]]
            known = said if most.height == 1 else f"{said}, most of it"
    if route is None and carried:
        known = "the main route of its market" if market else "the main route: assumed"
        route = main_route(market or carried)
    shipped_on = there["shipped_on"].max()
    waited = None if shipped_on is None else max((shipped_on - lot["packaged_on"]).days, 0)
    if waited is not None and route is not None:
        route = _shipped(route, waited)
    return route, {
        "known": known,
        "stages": store.stages[route.name] if route else [],
        "shipped_on": shipped_on,
        "shipped": int(mine["packages"].sum()),
        "customers": mine["customer"].n_unique(),
        "trade_from_days": None if waited is None else float(waited),
        "shipments": [
            (float(max((row["shipped_on"] - lot["packaged_on"]).days, 0)), float(row["packages"]))
            for row in mine.iter_rows(named=True)
        ],
    }


def _shipped(route: Route, after_days: int) -> Route:
    """Return a route as a package took it that waited so many days: shipping ends its first stage.

    A route of one stage stays as it is.
    """
    if len(route.stages.days) == 1:
        return route
    days = (float(after_days), *route.stages.days[1:])
    return replace(route, stages=Stages(days, route.stages.temp_c))


def _position(asked: Asked, lot: Cells, positions: list[Cells]) -> Cells | None:
    """Return where in the run its printed time lies, with what such packages read; None: unknown.

    Only the start is told apart: nothing says when a run was stopped and restarted.
    """
    begun, text = lot["started_at"], asked.code_time or ""
    digits = [int(part) for part in text.replace(".", ":").split(":") if part.strip().isdigit()]
    if begun is None or len(digits) < 2 or digits[0] > 23 or digits[1] > 59:  # noqa: PLR2004
        return None
    minutes = (60 * (digits[0] - begun.hour) + digits[1] - begun.minute) % (24 * 60)
    start = next((row for row in positions if row["run_position"] == "start"), None)
    return {"minutes": minutes, "start": minutes <= START_MINUTES, "reads": start}


def _others(asked: Asked, lot: Cells, store: Store) -> Cells:
    """Return other complaints on the lot and at the outlet, and how many were to be expected."""
    rows = store.complaints.filter(
        pl.col("complaint").ne_missing(asked.complaint), pl.col("received_on") <= store.today
    )
    mine = (pl.col("lot") == lot["lot"]) & (
        pl.col("format").is_null() | (pl.col("format") == lot["format"])
    )
    year = asked.received_on - timedelta(days=A_YEAR)
    near = pl.col("received_on") > year
    there = _at(asked.outlet, rows, "outlet").filter(~mine.fill_null(value=False), near)
    out = _at(asked.outlet, store.drunk, "customer").filter(~mine, pl.col("on") > year)
    return {
        "on_lot": [_told(row, store.config) for row in rows.filter(mine).iter_rows(named=True)],
        "expected_on_lot": _expected(store.drunk.filter(mine)),
        "at_outlet": [_told(row, store.config) for row in there.iter_rows(named=True)],
        "expected_at_outlet": _expected(out),
    }


def _expected(drunk: pl.DataFrame) -> tuple[float, float] | None:
    """Return taste complaints expected of these packages by their age, and whatever their age."""
    by_age, background = (float(drunk[name].sum()) for name in ("by_age", "background"))
    return (by_age, background) if by_age > 0.0 else None


def _told(row: Cells, config: Config) -> Cells:
    """Return what a list may say of another complaint: never its note."""
    touched = bool(touches_of(row, config))
    names = ("complaint", "received_on", "category", "lot", "format", "outlet")
    return {
        **{name: row[name] for name in names},
        "safety": touched,
        "taste": _about_taste(row) and not touched,
    }


def _about_taste(row: Cells) -> bool:
    return is_of_age(tuple(str(row["category"]).split(";")))
