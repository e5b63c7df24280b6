"""What the readers hand over is what the store keeps."""

from __future__ import annotations

import duckdb
import pytest

from pipelines.readers.contract import TABLES
from pipelines.store.catalog import columns_of
from pipelines.store.migrate import migrate

TYPES = {
    "identifier": "VARCHAR",
    "text": "VARCHAR",
    "choice": "VARCHAR",
    "choices": "VARCHAR",
    "number": "DOUBLE",
    "integer": "INTEGER",
    "date": "DATE",
    "time": "TIMESTAMP",
    "yes/no": "BOOLEAN",
}
PROVENANCE = {
    "void": "BOOLEAN",
    "extra": "VARCHAR",
    "file": "VARCHAR",
    "sheet": "VARCHAR",
    "row_number": "INTEGER",
    "row_key": "VARCHAR",
    "load_id": "BIGINT",
    "said_in": "BIGINT",
}


@pytest.fixture(scope="module")
def store() -> duckdb.DuckDBPyConnection:
    """Give an empty migrated store."""
    connection = duckdb.connect()
    migrate(connection)
    return connection


def test_the_same_tables(store: duckdb.DuckDBPyConnection) -> None:
    """Each input table has a history and no history is without one."""
    kept = store.sql("SELECT table_name FROM duckdb_tables() WHERE schema_name = 'history'")
    assert {name for (name,) in kept.fetchall()} == set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_the_same_columns(store: duckdb.DuckDBPyConnection, name: str) -> None:
    """The history of a table has the columns of its contract, each with the type of its kind."""
    table = TABLES[name]
    expected = {column.name: TYPES[column.kind] for column in table.columns}
    derived = dict.fromkeys(table.derived, "VARCHAR")
    assert columns_of(store, "history", name) == expected | derived | PROVENANCE
