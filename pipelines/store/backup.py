"""The tables of a store as Parquet files, and a store made anew from them.

Views hold no data: the migrations make them again.
"""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import StoreError
from pipelines.store.connect import open_store
from pipelines.store.migrate import PUBLISHED, migrate, replay

if TYPE_CHECKING:
    from pathlib import Path

    import duckdb

    from pipelines.store.manifest import Manifest

_TABLES = """
    SELECT schema_name || '.' || table_name FROM duckdb_tables()
    WHERE database_name = current_database() AND NOT internal AND NOT temporary
    ORDER BY 1
"""


def copy_store(database: Path, target: Path, timeout_seconds: float) -> None:
    """Copy the file of a store while no process writes it.

    Args:
        database: The store.
        target: The copy, on a quick disk: writers wait until it is made.
        timeout_seconds: How long to wait for a writer.

    Raises:
        StoreError: A writer held the store all that time.
        OSError: The copy cannot be written.
    """
    with open_store(database, read_only=True, timeout_seconds=timeout_seconds):
        # The log of a writer that was killed comes first: closing the database's file, even after
        # reading only, lets go of the lock that keeps writers out.
        log = _log_of(database)
        if log.exists():
            shutil.copyfile(log, _log_of(target))
        shutil.copyfile(database, target)


def export_tables(connection: duckdb.DuckDBPyConnection, folder: Path) -> dict[str, int]:
    """Write every table as `schema.table.parquet`, rows in the order in which they stand.

    Args:
        connection: A store.
        folder: An empty folder.

    Returns:
        Rows by the file's name.

    Raises:
        duckdb.IOException: The folder cannot be written.
    """
    rows = {}
    for table in _tables(connection):
        name = f"{table}.parquet"
        connection.sql(f"FROM {table}").write_parquet(str(folder / name), compression="zstd")
        rows[name] = _count(connection, table)
    return rows


def rebuild(connection: duckdb.DuckDBPyConnection, folder: Path, manifest: Manifest) -> None:
    """Make a store from a backup, and bring it to the shape that this code knows.

    Args:
        connection: An empty store opened for writing.
        folder: The backup.
        manifest: Its manifest, whose files were checked.

    Raises:
        StoreError: A newer stalecurve made the backup, a migration was changed since, or the
            tables are not those that the migrations make.
    """
    replay(connection, manifest.migrations)
    held = {name: file.rows for name, file in manifest.files.items() if file.rows is not None}
    made = {f"{table}.parquet": table for table in _tables(connection)}
    strange = sorted(held.keys() ^ made.keys())
    if strange:
        message = (
            f"The backup {folder} does not fit its own migrations: they and the files disagree "
            f"about {', '.join(strange)}. Take another backup."
        )
        raise StoreError(message)
    for name, table in made.items():
        connection.execute(f"DELETE FROM {table}")  # what a migration itself put there
        connection.register("kept_rows", pl.read_parquet(folder / name, glob=False))
        connection.execute(f"INSERT INTO {table} BY NAME FROM kept_rows")
        connection.unregister("kept_rows")
        restored = _count(connection, table)
        if restored != held[name]:
            message = f"{table} has {restored} rows instead of {held[name]}: nothing was restored."
            raise StoreError(message)
    # Its views are still to be made, whatever the record of the other store says.
    connection.execute(
        "DELETE FROM intake.migrations WHERE starts_with(name, $name)", {"name": PUBLISHED}
    )
    migrate(connection)


def _log_of(database: Path) -> Path:
    return database.with_name(f"{database.name}.wal")


def _tables(connection: duckdb.DuckDBPyConnection) -> list[str]:
    return [table for (table,) in connection.sql(_TABLES).fetchall()]


def _count(connection: duckdb.DuckDBPyConnection, table: str) -> int:
    ((rows,),) = connection.sql(f"SELECT count(*) FROM {table}").fetchall()
    return int(rows)
