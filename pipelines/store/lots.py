"""What lots are judged by, and what was said of them, kept for the pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.catalog import check_columns, columns_of
from pipelines.store.connect import transaction
from pipelines.store.insert import append, insert

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    import duckdb
    import polars as pl

ANSWERS = ("lots", "lot_packages")
"""Tables of the schema `this_week` that hold what was said of a lot."""

_LOTS = """
    SELECT l.lot, l.format, l.beer, b.style, f.kind, b.abv_pct, l.line, l.packaged_on,
           l.best_before, l.packages
    FROM core.lots AS l
    JOIN core.beers AS b ON b.beer = l.beer
    JOIN core.formats AS f ON f.format = l.format
    ORDER BY l.lot, l.format
"""
_STORED = """
    SELECT lot, format, sample, pulled_on FROM core.samples
    WHERE pulled_on >= $today AND coalesce(role, 'aged') IN ('aged', 'reference')
    ORDER BY sample
"""
_DOSES = """
    SELECT o.lot, o.format,
           coalesce(o.line_oxygen_ppb, d.total_oxygen_ppb) AS total_ppb, o.ingress_ppb_per_day
    FROM results.lot_oxygen AS o
    LEFT JOIN (
        SELECT run_id, style, format, any_value(total_oxygen_ppb) AS total_oxygen_ppb
        FROM results.dates GROUP BY ALL
    ) AS d ON d.run_id = o.run_id AND d.style = o.style AND d.format = o.format
    WHERE o.run_id = (SELECT max(run_id) FROM results.runs)
    ORDER BY o.lot, o.format
"""
_OF_NEWEST_RUN = "WHERE run_id = (SELECT max(run_id) FROM results.runs)"


def known_lots(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every lot whose beer and format are known.

    Returns:
        lot, format, beer, style, kind, abv_pct, line, packaged_on, best_before, packages.
    """
    rows: pl.DataFrame = connection.sql(_LOTS).pl()
    return rows


def market_dates(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the newest run's date of each beer in a format for each market, as it is published."""
    rows: pl.DataFrame = connection.sql("FROM published.market_dates").pl()
    return rows


def samples_in_storage(connection: duckdb.DuckDBPyConnection, today: date) -> pl.DataFrame:
    """Give the samples whose pull lies ahead: lot, format, sample, pulled_on."""
    rows: pl.DataFrame = connection.sql(_STORED, params={"today": today}).pl()
    return rows


def of_newest_run(connection: duckdb.DuckDBPyConnection, table: str) -> pl.DataFrame:
    """Give the rows of a results table that the newest run wrote; none before the first.

    Raises:
        StoreError: There is no such table.
    """
    columns_of(connection, "results", table)
    rows: pl.DataFrame = connection.sql(f"FROM results.{table} {_OF_NEWEST_RUN}").pl()
    return rows


def doses_of_newest_run(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give what the newest run's dates took each lot to hold.

    Returns:
        lot, format, total_ppb (drawn to its line's, else of the middle lot of its style and format;
        null where neither is known), ingress_ppb_per_day.
    """
    rows: pl.DataFrame = connection.sql(_DOSES).pl()
    return rows


def asked_lots(connection: duckdb.DuckDBPyConnection, since: date) -> pl.DataFrame:
    """Give the lots that somebody has asked about since a day: lot, asked_on."""
    rows: pl.DataFrame = connection.sql(
        """
        SELECT lot, max(asked_on) AS asked_on FROM this_week.lots
        WHERE asked_on >= $since GROUP BY lot ORDER BY lot
        """,
        params={"since": since},
    ).pl()
    return rows


def replace_lot(
    connection: duckdb.DuckDBPyConnection, lot: str, frames: Mapping[str, pl.DataFrame]
) -> None:
    """Put what is said of one lot in the place of what was said of it.

    Args:
        connection: A migrated store opened for writing.
        lot: The lot.
        frames: By name of a table of `ANSWERS`, its rows with all columns in any order.

    Raises:
        StoreError: A frame lacks a column or has one too many. Nothing is changed then.
    """
    for name, frame in frames.items():
        check_columns(name, frame, columns_of(connection, "this_week", name))
    with transaction(connection):
        for name, frame in frames.items():
            connection.execute(f"DELETE FROM this_week.{name} WHERE lot = $lot", {"lot": lot})
            insert(connection, f"this_week.{name}", frame)


def record_inquiry(connection: duckdb.DuckDBPyConnection, inquiry: pl.DataFrame) -> None:
    """Keep one question about what is in the trade.

    Args:
        connection: A migrated store opened for writing.
        inquiry: One row with the columns of `results.trade_inquiries` in any order.

    Raises:
        StoreError: It lacks a column or has one too many. Nothing is written then.
    """
    append(connection, "results", "trade_inquiries", inquiry)
