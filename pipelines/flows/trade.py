"""Answer what is in the trade of a beer whose printed date proved too long; keep the question."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from analysis.dating.trade import in_trade
from dashboards.build import build_page
from dashboards.pages import stock as stock_page
from pipelines.errors import StoreError
from pipelines.flows.lock import writers_lock
from pipelines.flows.trade_words import trade_lines
from pipelines.flows.week import day_of_brewery
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.fetch import fetch
from pipelines.store.lots import known_lots, of_newest_run, record_inquiry
from pipelines.store.migrate import migrate, refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import duckdb

    from analysis.dating.trade import InTrade
    from pipelines.config import Config

_NOT_DATED = dict.fromkeys(
    ("run_id", "route", "temp_c", "printed_days", "supported_days", "binding_cause", "reason")
)
_KEPT = ("run_id", "beer", "format", "route", "temp_c", "printed_days", "supported_days")


def answer_trade(beer: str, format_: str, config: Config, say: Callable[[str], None]) -> Path:
    """Say what is out of a beer in a format, with whom, and what can be done; keep the question.

    Args:
        beer: The beer.
        format_: The format.
        config: The configuration.
        say: Takes each line of the answer.

    Returns:
        The page on which the question stands.

    Raises:
        StoreError: There is no such beer, it was not filled into that format, or there is no store;
            the message gives the nearest.
        DashboardError: The page cannot be written.
    """
    need_store(config.paths.database)
    today = config.as_of or day_of_brewery(config)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        lots = _lots(beer, format_, known_lots(connection))
        dated = _dated(beer, format_, connection)
        shipments = fetch(connection, "shipments").filter(pl.col("format") == format_)
    out = in_trade(lots, shipments, dated["supported_days"], today, dated["by_route"])
    for line in trade_lines(dated, out, today):
        say(line)
    with writers_lock(config.paths.database, "trade"):
        with open_store(config.paths.database) as connection:
            migrate(connection)
            record_inquiry(connection, _inquiry(dated, out, config))
        return build_page(config.paths.database, config.paths.pages, stock_page.page)


def _lots(beer: str, format_: str, every: pl.DataFrame) -> pl.DataFrame:
    of_beer = every.filter(pl.col("beer") == beer)
    if of_beer.is_empty():
        message = f"there is no lot of {beer}{did_you_mean(beer, every['beer'].unique().sort())}"
        raise StoreError(message)
    lots = of_beer.filter(pl.col("format") == format_)
    if lots.is_empty():
        formats = of_beer["format"].unique().sort().to_list()
        message = (
            f"{beer} was not filled into {format_}: there is {', '.join(formats)}"
            f"{did_you_mean(format_, formats)}"
        )
        raise StoreError(message)
    return lots


def _dated(beer: str, format_: str, connection: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """Return what the newest run says of the beer's date on its main route, and on all of them."""
    found = of_newest_run(connection, "beer_dates").filter(
        pl.col("beer") == beer, pl.col("format") == format_
    )
    date = next(found.filter("main_route").iter_rows(named=True), _NOT_DATED)
    stages = fetch(connection, "route_stages").sort("route", "stage_no")
    temps = dict(stages.select("route", "temp_c").iter_rows())  # of each route's last stage
    told = found.filter(pl.col("supported_days").is_not_null() | (pl.col("basis") != "none"))
    return {
        **date,
        "beer": beer,
        "format": format_,
        "temp_c": temps.get(date["route"]),
        "by_route": dict(told.select("route", "supported_days").iter_rows()),
        "temps": temps,
    }


def _inquiry(dated: dict[str, Any], out: InTrade, config: Config) -> pl.DataFrame:
    now = datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None, microsecond=0)
    return pl.DataFrame(
        {
            "asked_at": [now],
            **{name: [dated[name]] for name in _KEPT},
            "lots": [out.lots.height],
            "packages": [out.packages],
            "customers": [out.customers.height],
        }
    )
