"""Answers to complaints: recorded once, never changed, read again as they were recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.store.insert import append
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    import duckdb


def record_answer(connection: duckdb.DuckDBPyConnection, answer: pl.DataFrame) -> None:
    """Keep one answer.

    Args:
        connection: A migrated store opened for writing.
        answer: One row with the columns of `records.answers` in any order.

    Raises:
        StoreError: It lacks a column or has one too many. Nothing is written then.
    """
    append(connection, "records", "answers", answer)


def allow_notes(connection: duckdb.DuckDBPyConnection, *, shown: bool) -> None:
    """Say whether pages may show the notes of complaints from now on."""
    replace_week(connection, {"notes": pl.DataFrame({"shown": [shown]})})
