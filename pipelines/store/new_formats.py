"""Questions about formats that were never filled, and the formats that they are held against."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.insert import append

if TYPE_CHECKING:
    import duckdb
    import polars as pl

# A format that was filled since has dates of its own.
_OPEN = """
    SELECT q.* FROM results.new_format_questions AS q
    WHERE q.format NOT IN (SELECT format FROM core.formats)
    QUALIFY row_number() OVER (PARTITION BY q.format ORDER BY q.asked_at DESC) = 1
    ORDER BY q.format
"""
_KNOWN = """
    SELECT i.format, i.kind, f.volume_ml, i.closure, i.ingress_ppb_per_day, i.ingress_given,
           i.total_oxygen_ppb
    FROM results.ingress AS i JOIN core.formats AS f ON f.format = i.format
    WHERE i.run_id = (SELECT max(run_id) FROM results.runs)
    ORDER BY i.format
"""


def record_question(connection: duckdb.DuckDBPyConnection, question: pl.DataFrame) -> None:
    """Keep one question about a format that was never filled.

    Args:
        connection: A migrated store opened for writing.
        question: One row with the columns of `results.new_format_questions` in any order.

    Raises:
        StoreError: It lacks a column or has one too many. Nothing is written then.
    """
    append(connection, "results", "new_format_questions", question)


def open_questions(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the newest question about each format that is still not filled."""
    rows: pl.DataFrame = connection.sql(_OPEN).pl()
    return rows


def formats_of_newest_run(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the formats with lots that the newest run knew, and what it took of their oxygen.

    Returns:
        format, kind, volume_ml, closure, ingress_ppb_per_day, ingress_given, total_oxygen_ppb (of
        the typical lot; null where none was measured).
    """
    rows: pl.DataFrame = connection.sql(_KNOWN).pl()
    return rows
