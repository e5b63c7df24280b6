"""What a route's stages take of a life, and what a logger on it does to the date."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.on_the_way import NEWEST_TRIPS, on_the_way, placed_trips, trip_points
from analysis.dating.policy import Policy
from analysis.dating.routes import Route, summer_of
from analysis.dating.tables import dates_table
from analysis.kinetics.history import Stages

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from analysis.dating.on_the_way import Placed
    from tests.analysis.dating.conftest import Fitted

START = datetime(2026, 7, 14, 6)  # noqa: DTZ001 - clocks are local
LOTS = pl.DataFrame({"lot": ["L1"], "packaged_on": [date(2026, 7, 4)]})
KEY = ["style", "format", "route"]


def log(days: int, temp_c: float, lot: str | None = None, *, after: int = 0) -> pl.DataFrame:
    """Return hourly readings on the ambient route."""
    begin = START + timedelta(days=after)
    return pl.DataFrame(
        {
            "logger": "T1",
            "read_at": [begin + timedelta(hours=hour) for hour in range(24 * days)],
            "temp_c": temp_c,
            "route": "ambient",
            "lot": lot,
        },
        schema_overrides={"lot": pl.String},
    )


def told(
    fitted: Fitted, placed: Mapping[str, Sequence[Placed]], warmer: float = 4.0
) -> dict[str, pl.DataFrame]:
    """Return the tables of a brewery with these trips."""
    dated = (fitted.model.evidence, Policy(), fitted.tables["limits"])
    return on_the_way(fitted.cells, fitted.routes, *dated, placed, warmer)


@pytest.fixture(scope="module")
def logged(fitted: Fitted) -> dict[str, pl.DataFrame]:
    """A fortnight at 26 °C with a lot ten days old."""
    return told(fitted, placed_trips(log(14, 26.0, "L1"), LOTS, fitted.routes))


def test_the_shares_of_all_stages_add_up(logged: dict[str, pl.DataFrame]) -> None:
    """To the whole life, on every route, planned and in summer; one stage takes most."""
    use = (
        logged["route_use"].group_by(*KEY, "variant").agg(pl.col("life_share").sum(), "most_in_all")
    )
    assert use["life_share"].to_list() == pytest.approx([1.0] * use.height)
    assert use["most_in_all"].list.sum().to_list() == [1] * use.height


def test_as_planned_it_is_the_run_s_own_date(
    fitted: Fitted, logged: dict[str, pl.DataFrame]
) -> None:
    """Shelf life and best-before days of a planned route are those of the dates, to the digit."""
    dates = dates_table(
        fitted.cells, fitted.routes, fitted.model.evidence, Policy(), fitted.tables["limits"]
    ).filter(pl.col("shelf_life_days").is_not_null())
    planned = logged["route_lives"].filter(pl.col("variant") == "planned")
    numbers = ["shelf_life_days", "shelf_life_days_lower", "best_before_days"]
    columns = [*KEY, *numbers]
    assert planned.select(columns).sort(KEY).equals(dates.select(columns).sort(KEY))
    assert planned["difference_days"].abs().max() == 0.0
    assert planned.filter(pl.col("mean_kinetic_c") != pl.col("planned_kinetic_c")).is_empty()


def test_a_summer_is_warmer_at_the_end_of_warm_routes_alone(
    logged: dict[str, pl.DataFrame],
) -> None:
    """Named as a variant; 4 °C more on the shelf, and the life no longer than planned."""
    summer = logged["route_lives"].filter(pl.col("variant") == "summer")
    assert dict(summer.select("route", "last_temp_c").unique().iter_rows()) == {
        "ambient": 25.0,
        "export": 26.0,
    }
    assert summer["difference_days_upper"].max() <= 0.0
    assert summer.filter(pl.col("route") == "ambient")["difference_days"].max() < 0.0


def test_what_is_logged_takes_the_place_of_what_was_planned(
    logged: dict[str, pl.DataFrame],
) -> None:
    """Twenty-six degrees where 12 to 21 were planned: from day 10 of the lot, life is shorter."""
    rows = logged["route_lives"].filter(pl.col("variant") == "logged")
    assert set(rows["route"]) == {"ambient"}
    assert rows["placed_by"].unique().to_list() == ["lot"]
    assert rows["from_day"].unique().to_list() == [10.0]
    assert rows["mean_kinetic_c"].to_list() == pytest.approx([26.0] * rows.height)
    assert rows["hottest_days"].to_list() == pytest.approx([7.0] * rows.height)
    assert (rows["equivalent_days"] > rows["planned_equivalent_days"]).all()
    assert (rows["difference_days_upper"] < 0.0).all()
    # The week that costs most against its plan is not longer than the whole trip's cost.
    assert (rows["hottest_cost_days"] <= -rows["difference_days"] + 1e-9).all()
    assert (rows["hottest_cost_days_lower"] > 0.0).all()


def test_a_logger_that_reads_the_plan_moves_no_date(fitted: Fitted) -> None:
    """A fortnight at the wholesaler's own 12 °C."""
    found = told(fitted, placed_trips(log(14, 12.0), LOTS, fitted.routes))["route_lives"]
    rows = found.filter(pl.col("variant") == "logged")
    assert rows["placed_by"].unique().to_list() == ["length"]
    assert rows["from_day"].unique().to_list() == [0.0]
    assert rows["difference_days"].abs().max() < 1e-6
    assert rows["hottest_cost_days"].abs().max() < 1e-6
    assert rows["best_before_days"].equals(
        rows["planned_best_before_days"].alias("best_before_days")
    )


@pytest.mark.parametrize(("days", "begins"), [(2, 14.0), (12, 0.0), (30, 0.0)])
def test_without_a_lot_the_stage_of_most_nearly_its_length_is_assumed(
    fitted: Fitted, days: int, begins: float
) -> None:
    """Two days are the lorry, which comes after a fortnight; a month is the whole way and on."""
    ((one,),) = placed_trips(log(days, 20.0), LOTS, fitted.routes).values()
    assert (one.placed_by, one.from_day) == ("length", begins)


def test_the_newest_trips_alone_are_held_against_the_plan(fitted: Fitted) -> None:
    """A logger that has gone out for years does not make every run longer."""
    every = pl.concat([log(1, 20.0, after=7 * week) for week in range(NEWEST_TRIPS + 3)])
    (kept,) = placed_trips(every, LOTS, fitted.routes).values()
    assert len(kept) == NEWEST_TRIPS
    assert kept[-1].trip.begins_at == START + timedelta(days=7 * (NEWEST_TRIPS + 2))


def test_a_trip_is_thinned_to_its_means_and_extremes(fitted: Fitted) -> None:
    """Sixty days by the hour become 160 points; the hottest hour is not lost."""
    hourly = log(60, 20.0)
    warm = pl.Series(np.where(np.arange(hourly.height) == 700, 31.0, 20.0))
    points = trip_points(placed_trips(hourly.with_columns(temp_c=warm), LOTS, fitted.routes))
    assert points.height == 160
    assert points["highest_c"].max() == 31.0
    assert points["day"].is_sorted()
    assert trip_points({}).is_empty()


@pytest.mark.parametrize(
    ("name", "last", "warmer", "expected"),
    [("shop", 21.0, 4.0, 25.0), ("shop", 8.0, 4.0, None), ("shop", 21.0, 0.0, None)],
)
def test_when_a_summer_is_assumed(
    name: str, last: float, warmer: float, expected: float | None
) -> None:
    """Of routes that end warm, where any is to be assumed."""
    route = Route(name, frozenset(), 1.0, Stages((10.0, np.inf), (12.0, last)))
    found = summer_of(route, (route,), warmer)
    assert (found and found.last_temp_c) == expected


def test_a_summer_of_the_brewery_s_own_takes_its_place() -> None:
    """A route to the same market with summer in its name: nothing is assumed beside it."""
    stages = Stages((np.inf,), (21.0,))
    shop = Route("shop", frozenset(), 1.0, stages, "home")
    own = Route("Shop in Summer", frozenset(), 0.0, stages, "home")
    assert summer_of(shop, (shop, own), 4.0) is None
