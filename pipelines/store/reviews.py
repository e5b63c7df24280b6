"""Quarterly reviews and the actions agreed on in them: recorded once, never changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pipelines.store.insert import append

if TYPE_CHECKING:
    import duckdb
    import polars as pl


def newest_review(connection: duckdb.DuckDBPyConnection, quarter: str) -> dict[str, Any] | None:
    """Give the newest review of a quarter, as `records.reviews` has it; None before the first."""
    found = connection.sql(
        "FROM published.reviews WHERE quarter = $quarter", params={"quarter": quarter}
    ).pl()
    return next(found.iter_rows(named=True), None)


def record_review(connection: duckdb.DuckDBPyConnection, review: pl.DataFrame) -> None:
    """Keep one review.

    Raises:
        StoreError: It lacks a column of `records.reviews` or has one too many.
    """
    append(connection, "records", "reviews", review)


def record_entry(connection: duckdb.DuckDBPyConnection, entry: pl.DataFrame) -> None:
    """Keep one entry about an action.

    Raises:
        StoreError: It lacks a column of `records.actions` or has one too many.
    """
    append(connection, "records", "actions", entry)


def all_actions(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every action with what was last said of it, as it is published."""
    rows: pl.DataFrame = connection.sql("FROM published.actions").pl()
    return rows
