"""Work out at publishing what life is left in each lot, and who may still get it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.dose_lives import dose_lives_of
from analysis.dating.routes import routes_of
from analysis.dating.stock import Kept, Minimum, last_days, stock
from analysis.oxygen.dose import DOSE_DAYS
from pipelines.flows.policy import policy_of
from pipelines.readers.names import did_you_mean
from pipelines.store.fetch import fetch
from pipelines.store.lots import doses_of_newest_run, known_lots, of_newest_run
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    import duckdb

    from pipelines.config import Config


def write_stock(
    connection: duckdb.DuckDBPyConnection,
    config: Config,
    today: date,
    say: Callable[[str], None],
) -> None:
    """Work out the stock and put it in the place of what stood there.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration.
        today: The day that it is.
        say: Takes a line on every customer of the configuration who never got anything.

    Raises:
        StoreError: The store cannot be written.
    """
    shipments = fetch(connection, "shipments").select(
        "lot", "format", "shipped_on", "packages", "route", "customer"
    )
    doses = doses_of_newest_run(connection).select(
        "lot", "format", dose_ppb=pl.col("total_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day")
    )
    kept = Kept(
        routes=routes_of(fetch(connection, "routes"), fetch(connection, "route_stages")),
        lives=dose_lives_of(of_newest_run(connection, "dose_lives")),
        limits=fetch(connection, "limits"),
        log=fetch(connection, "temperature_log").select("read_at", "temp_c", "route", "lot"),
        policy=policy_of(config),
    )
    lots = known_lots(connection).join(doses, on=["lot", "format"], how="left")
    ranked, past = stock(lots, shipments, kept, today)
    minimums = {
        name: Minimum(customer.minimum_days, customer.minimum_share)
        for name, customer in config.customers.items()
    }
    for line in _strangers(config, shipments):
        say(line)
    summary = pl.DataFrame(
        {
            "today": [today],
            "past_lots": [past],
            "shipments": [shipments.height],
            "customers": [len(minimums)],
        }
    )
    replace_week(
        connection,
        {
            "stock_summary": summary,
            "stock": ranked,
            "stock_customers": last_days(ranked, minimums, today),
        },
    )


def _strangers(config: Config, shipments: pl.DataFrame) -> list[str]:
    """Say which customers of the configuration no shipment names: mostly a typing error."""
    known = shipments["customer"].drop_nulls().unique().sort()
    return [
        f"the configuration names {name} under customers, but no shipment has such a customer"
        f"{did_you_mean(name, known)}"
        for name in config.customers
        if shipments.height and name not in known
    ]
