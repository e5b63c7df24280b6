"""The columns of a table as the database has them, and frames held against them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Collection

    import duckdb
    import polars as pl


def columns_of(connection: duckdb.DuckDBPyConnection, schema: str, table: str) -> dict[str, str]:
    """Give the columns of a table or view with their types, in their order.

    Raises:
        StoreError: The schema has no such table.
    """
    columns: dict[str, str] = dict(
        connection.sql(
            """
            SELECT column_name, data_type FROM information_schema.columns
            WHERE table_schema = $schema AND table_name = $table
            ORDER BY ordinal_position
            """,
            params={"schema": schema, "table": table},
        ).fetchall()
    )
    if not columns:
        message = f"The store has no table {schema}.{table}."
        raise StoreError(message)
    return columns


def comments_of(connection: duckdb.DuckDBPyConnection, schema: str) -> dict[tuple[str, str], str]:
    """Give what the columns of a schema hold, in a sentence each, by table and column."""
    return {
        (table, column): comment
        for table, column, comment in connection.sql(
            """
            SELECT table_name, column_name, comment FROM duckdb_columns()
            WHERE schema_name = $schema AND comment IS NOT NULL
            """,
            params={"schema": schema},
        ).fetchall()
    }


def check_columns(name: str, frame: pl.DataFrame, expected: Collection[str]) -> None:
    """Refuse a frame that lacks a column or has one too many.

    Raises:
        StoreError: The message names the columns.
    """
    missing = sorted(set(expected) - set(frame.columns))
    unknown = sorted(set(frame.columns) - set(expected))
    faults = [
        f"{word} {', '.join(columns)}"
        for word, columns in (("lacks", missing), ("has the unknown", unknown))
        if columns
    ]
    if faults:
        message = f"The frame {name} {' and '.join(faults)}."
        raise StoreError(message)
