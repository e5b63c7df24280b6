"""Work out at publishing what the trade tells: complaints, their rates, and the fit beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.cases.exposure import drunk
from analysis.cases.field import field, first_day
from analysis.dating.routes import routes_of
from analysis.oxygen.dose import DOSE_DAYS
from pipelines.flows.safety import unsafe_complaints
from pipelines.store.complaints import lots_with_packages, shipped
from pipelines.store.fetch import fetch
from pipelines.store.lots import doses_of_newest_run, of_newest_run
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import duckdb

    from analysis.dating.routes import Route
    from pipelines.config import Config

_COMPLAINT = (
    *("complaint", "received_on", "category", "lot", "format", "beer", "printed_date"),
    *("code_time", "packages", "outlet", "closed_on"),
)


def write_field(connection: duckdb.DuckDBPyConnection, config: Config, today: date) -> None:
    """Count the complaints and put what they tell in the place of what stood there.

    Notes and findings stay in the store, for they may hold names.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration.
        today: The day that it is.

    Raises:
        StoreError: The store cannot be written.
    """
    lots, shipments = lots_with_packages(connection), shipped(connection)
    routes = routes_of(fetch(connection, "routes"), fetch(connection, "route_stages"))
    out = packages_drunk(connection, lots, shipments, routes, today)
    recent = recent_complaints(fetch(connection, "complaints"), config, today)
    found = field(recent, out, lots, shipments, today)
    replace_week(
        connection,
        {
            "field_summary": found.summary,
            "field_complaints": found.complaints,
            "field_kinds": found.kinds,
            "field_rates": found.rates,
            "field_looks": found.looks,
            "field_checks": found.checks,
        },
    )


def packages_drunk(
    connection: duckdb.DuckDBPyConnection,
    lots: pl.DataFrame,
    shipments: pl.DataFrame,
    routes: Sequence[Route],
    today: date,
) -> pl.DataFrame:
    """Tell how many packages were drunk by a day, as `exposure.drunk` does.

    Args:
        connection: A migrated store.
        lots: As `lots_with_packages` gives them.
        shipments: As `shipped` gives them.
        routes: The brewery's.
        today: The day that it is.
    """
    doses = doses_of_newest_run(connection).select(
        "lot", "format", dose_ppb=pl.col("total_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day")
    )
    return drunk(
        lots.join(doses, on=["lot", "format"], how="left"),
        shipments,
        routes,
        of_newest_run(connection, "risk_draws"),
        today,
    )


def recent_complaints(complaints: pl.DataFrame, config: Config, today: date) -> pl.DataFrame:
    """Return the complaints of the last twelve months as `field` and `counted` take them.

    Args:
        complaints: The table.
        config: The configuration.
        today: The day that it is.
    """
    recent = complaints.filter(pl.col("received_on") >= first_day(today))
    return recent.select(
        *_COMPLAINT,
        drunk_on=pl.coalesce("opened_on", "bought_on", "received_on"),
        safety=pl.col("complaint").is_in(unsafe_complaints(recent, config)),
    )
