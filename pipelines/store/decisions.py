"""Decisions about dates: recorded once, never changed, read again as they were recorded."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from pipelines.store.insert import append

if TYPE_CHECKING:
    import duckdb
    import polars as pl

_INPUTS = """
    SELECT f.sha256 FROM intake.files AS f
    WHERE f.outcome = 'loaded' AND f.load_id <= $load_id
      AND NOT EXISTS (
          FROM intake.forgotten AS g
          WHERE g.file = f.file AND g.said_in = f.load_id AND g.load_id <= $load_id
      )
    ORDER BY f.sha256
"""


def inputs_of(connection: duckdb.DuckDBPyConnection, load_id: int | None) -> tuple[int, str]:
    """Give how many files stand behind a load, and a checksum over all of them.

    It is the SHA-256 of their own SHA-256, in hexadecimal, sorted, a line each: what `sha256sum` of
    the inbox's files, cut to the sums and sorted, gives when summed again. Files that were taken
    back by then are left out.
    """
    found = connection.sql(_INPUTS, params={"load_id": load_id or 0}).fetchall()
    lines = "".join(f"{digest}\n" for (digest,) in found)
    return len(found), sha256(lines.encode()).hexdigest()


def record_decision(connection: duckdb.DuckDBPyConnection, decision: pl.DataFrame) -> None:
    """Keep one decision.

    Args:
        connection: A migrated store opened for writing.
        decision: One row with the columns of `records.decisions` in any order.

    Raises:
        StoreError: It lacks a column or has one too many. Nothing is written then.
    """
    append(connection, "records", "decisions", decision)


def all_decisions(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every decision, the newest first, as it is published."""
    rows: pl.DataFrame = connection.sql("FROM published.decisions").pl()
    return rows
