"""Rows put into tables, column by column name, and the numbers of those that are kept for good."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.catalog import check_columns, columns_of
from pipelines.store.connect import transaction

if TYPE_CHECKING:
    import duckdb
    import polars as pl


def insert(connection: duckdb.DuckDBPyConnection, table: str, rows: pl.DataFrame) -> None:
    """Put rows into a table, named with its schema, within the transaction that is open."""
    connection.register("new_rows", rows)
    connection.execute(f"INSERT INTO {table} BY NAME SELECT * FROM new_rows")
    connection.unregister("new_rows")


def next_number(connection: duckdb.DuckDBPyConnection, table: str, column: str) -> int:
    """Give the number that the next row of a table of records will have, counted from 1."""
    ((newest,),) = connection.sql(f"SELECT max({column}) FROM records.{table}").fetchall()
    return (newest or 0) + 1


def append(
    connection: duckdb.DuckDBPyConnection, schema: str, table: str, rows: pl.DataFrame
) -> None:
    """Add rows to a table that is never written over, in a transaction of their own.

    Raises:
        StoreError: They lack a column or have one too many. Nothing is written then.
    """
    check_columns(table, rows, columns_of(connection, schema, table))
    with transaction(connection):
        insert(connection, f"{schema}.{table}", rows)
