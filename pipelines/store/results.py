"""What runs worked out: written once, by name, whole or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.errors import StoreError
from pipelines.store.assessors import give_codes
from pipelines.store.catalog import check_columns, columns_of
from pipelines.store.connect import transaction

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb
    import polars as pl

NEWEST_ALONE = (
    "dose_lives",
    "style_lives",
    "risk_draws",
    "risk_doses",
    "moves",
    "route_trips",
)
"""Tables of many rows that nobody asks of an older run: they hold those of the newest."""


def newest_run(connection: duckdb.DuckDBPyConnection) -> int | None:
    """Give the number of the newest run, None before the first."""
    ((run_id,),) = connection.sql("SELECT max(run_id) FROM results.runs").fetchall()
    return None if run_id is None else int(run_id)


def next_run_id(connection: duckdb.DuckDBPyConnection) -> int:
    """Give the number that the next run will have, counted from 1."""
    return (newest_run(connection) or 0) + 1


def record_run(connection: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame]) -> int:
    """Write one run in one transaction, and give every assessor in it a code.

    Args:
        connection: A migrated store opened for writing.
        frames: By name of the results table, its rows with all columns but `run_id`, in any
            order. `runs` has one row and is required; another table left out stays without rows.

    Returns:
        The number of the run.

    Raises:
        StoreError: A frame is not a results table, lacks a column or has one too many, or `runs`
            is not one row. Nothing is written then.
    """
    if "runs" not in frames or frames["runs"].height != 1:
        message = "A run is recorded with one row of runs."
        raise StoreError(message)
    for name, frame in frames.items():
        check_columns(name, frame, columns_of(connection, "results", name).keys() - {"run_id"})
    with transaction(connection):
        run_id = next_run_id(connection)
        for name in NEWEST_ALONE:
            connection.execute(f"DELETE FROM results.{name}")
        for name, frame in frames.items():
            connection.register("run_rows", frame)
            connection.execute(
                f"INSERT INTO results.{name} BY NAME SELECT *, $run_id AS run_id FROM run_rows",
                {"run_id": run_id},
            )
            connection.unregister("run_rows")
        named = {
            name
            for frame in frames.values()
            if "assessor" in frame.columns
            for name in frame["assessor"].drop_nulls()
        }
        give_codes(connection, named, shuffle=str(frames["runs"]["started_at"][0]))
    return run_id
