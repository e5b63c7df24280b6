"""Rows as they stand now, for the analysis."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.catalog import columns_of

if TYPE_CHECKING:
    import duckdb
    import polars as pl


def fetch(connection: duckdb.DuckDBPyConnection, table: str) -> pl.DataFrame:
    """Give the current rows of an input table, in the order in which they came in.

    Args:
        connection: A migrated store.
        table: Name of an input table, `lots` for instance.

    Returns:
        The columns of the table, then `extra`, `file`, `sheet`, `row_number`, `row_key` and
        `load_id`, which say where each row came from.

    Raises:
        StoreError: There is no such table.
    """
    columns_of(connection, "core", table)
    rows: pl.DataFrame = connection.sql(
        f"SELECT * FROM core.{table} ORDER BY load_id, file, sheet, row_number, row_key"
    ).pl()
    return rows
