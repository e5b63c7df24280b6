"""What the lists of the week rest on, read in few columns, and the lists kept for the pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.catalog import check_columns, columns_of
from pipelines.store.connect import transaction
from pipelines.store.insert import insert

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb
    import polars as pl

_KNOWN = {
    "lots": """
        SELECT l.lot, l.format, l.beer, b.style, l.packaged_on, l.best_before
        FROM core.lots AS l JOIN core.beers AS b ON b.beer = l.beer
        ORDER BY l.lot, l.format
    """,
    "samples": """
        SELECT sample, lot, format, storage_temp_c, placed_on, pulled_on, place, role
        FROM core.samples ORDER BY sample
    """,
    "tasted": "SELECT DISTINCT sample FROM core.tastings ORDER BY sample",
    "meters": """
        SELECT meter, max(checked_on) AS checked_on, max(read_on) AS read_on
        FROM (
            SELECT meter, CAST(checked_at AS DATE) AS checked_on, NULL AS read_on
            FROM core.meter_checks
            UNION ALL
            SELECT meter, NULL AS checked_on, CAST(measured_at AS DATE) AS read_on
            FROM core.oxygen WHERE meter IS NOT NULL
        )
        GROUP BY meter ORDER BY meter
    """,
    "came": """
        SELECT f.file, r.table_name, CAST(max(l.finished_at) AS DATE) AS came_on
        FROM intake.files AS f
        JOIN intake.loads AS l ON l.load_id = f.load_id
        LEFT JOIN intake.row_counts AS r ON r.load_id = f.load_id AND r.file = f.file
        WHERE f.outcome = 'loaded'
        GROUP BY f.file, r.table_name ORDER BY f.file, r.table_name
    """,
}


def known_for_week(connection: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """Give what is known of samples, meters and files.

    Returns:
        `lots` with lot, format, beer, style, packaged_on, best_before; `samples` with sample, lot,
        format, storage_temp_c, placed_on, pulled_on, place, role; `tasted` with the samples of
        which a glass was tasted; `meters` with meter, checked_on, read_on; `came` with file,
        table_name, came_on.
    """
    return {name: connection.sql(query).pl() for name, query in _KNOWN.items()}


def replace_week(connection: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame]) -> None:
    """Put the lists of this week in the place of those that stood there, in one transaction.

    Args:
        connection: A migrated store opened for writing.
        frames: By name of a table of the schema `this_week`, its rows with all columns in any
            order.

    Raises:
        StoreError: A frame is none of those tables, or lacks a column or has one too many.
            Nothing is changed then.
    """
    for name, frame in frames.items():
        check_columns(name, frame, columns_of(connection, "this_week", name))
    with transaction(connection):
        for name, frame in frames.items():
            connection.execute(f"DELETE FROM this_week.{name}")
            insert(connection, f"this_week.{name}", frame)
