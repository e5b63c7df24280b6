"""A fresh store for each test, and loads written down in a line."""

from __future__ import annotations

import json
import re
import shutil
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.store.connect import open_store
from pipelines.store.intake import Load
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    import duckdb

FAULT = {
    "table_name": pl.String,
    "file": pl.String,
    "sheet": pl.String,
    "row_number": pl.Int32,
    "column_name": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "expected": pl.String,
    "kind": pl.String,
    "cells": pl.String,
    "said_in": pl.Int64,
    "mended_file": pl.String,
    "mended_sheet": pl.String,
    "mended_row": pl.Int32,
}
MENDS = {
    "table_name": pl.String,
    "file": pl.String,
    "sheet": pl.String,
    "row_number": pl.Int32,
    "how": pl.String,
    "mended_file": pl.String,
    "mended_sheet": pl.String,
    "mended_row": pl.Int32,
}


@pytest.fixture(scope="session")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store as the production code makes it; copy it, do not write into it."""
    path = tmp_path_factory.mktemp("migrated") / "store.duckdb"
    with open_store(path) as connection:
        migrate(connection)
    return path


@pytest.fixture
def path(migrated: Path, tmp_path: Path) -> Path:
    """Give the path of a migrated store of this test's own."""
    return Path(shutil.copy(migrated, tmp_path / "store.duckdb"))


@pytest.fixture
def store(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Give a connection to a migrated store of this test's own."""
    with open_store(path) as connection:
        yield connection


@pytest.fixture(scope="session")
def beers() -> Callable[..., pl.DataFrame]:
    """Give a maker of typed beer rows from names and strengths."""

    def make(
        strengths: Mapping[str, float],
        *,
        void: Collection[str] = (),
        file: str = "beers.csv",
        first_row: int = 2,
        extra: str = "{}",
        said_in: int | None = None,
    ) -> pl.DataFrame:
        names = pl.Series(strengths.keys(), dtype=pl.String)
        return pl.DataFrame(
            {
                "beer": names,
                "style": pl.repeat("pale ale", len(names), eager=True),
                "abv_pct": pl.Series(strengths.values(), dtype=pl.Float64),
                "owner": pl.repeat(None, len(names), dtype=pl.String, eager=True),
                "pasteurised": pl.repeat(None, len(names), dtype=pl.Boolean, eager=True),
                "live_yeast_or_sugar": pl.repeat(None, len(names), dtype=pl.Boolean, eager=True),
                "void": names.is_in(list(void)),
                "extra": pl.repeat(extra, len(names), eager=True),
                "file": pl.repeat(file, len(names), eager=True),
                "sheet": pl.repeat("", len(names), eager=True),
                "row_number": pl.int_range(
                    first_row, first_row + len(names), dtype=pl.Int32, eager=True
                ),
                "row_key": pl.Series([json.dumps([name]) for name in strengths], dtype=pl.String),
                "said_in": pl.repeat(said_in, len(names), dtype=pl.Int64, eager=True),
            }
        )

    return make


@pytest.fixture(scope="session")
def fault() -> Callable[..., pl.DataFrame]:
    """Give a maker of a row set aside from the table of beers."""

    def make(**changed: object) -> pl.DataFrame:
        row = {
            "table_name": "beers",
            "file": "beers.csv",
            "sheet": "",
            "row_number": 5,
            "column_name": "style",
            "value": "pail ale",
            "reason": "There is no style of this name.",
            "expected": "a style",
            "kind": "reference",
            "cells": '{"beer": "Fifth", "style": "pail ale"}',
            "said_in": None,
            "mended_file": None,
            "mended_sheet": None,
            "mended_row": None,
        }
        return pl.DataFrame([row | changed], schema=FAULT)

    return make


@pytest.fixture(scope="session")
def load() -> Callable[..., Load]:
    """Give a maker of loads; `files` is from file to the content that stands for its hash."""

    def make(
        tables: Mapping[str, pl.DataFrame] | None = None,
        *,
        files: Mapping[str, str] | None = None,
        outcome: str = "loaded",
        set_aside: pl.DataFrame | None = None,
        mentions: Collection[str] = (),
        confirmed: Sequence[str] = ("beers.csv", "later.csv"),
    ) -> Load:
        contents = {} if files is None else files
        return Load(
            started_at=datetime(2026, 4, 7, 6, 0),  # noqa: DTZ001
            finished_at=datetime(2026, 4, 7, 6, 1),  # noqa: DTZ001
            code_version="0.1.0",
            files=pl.DataFrame(
                {
                    "file": list(contents),
                    "sha256": list(contents.values()),
                    "size_bytes": [100] * len(contents),
                    "outcome": [outcome] * len(contents),
                    "reason": [None] * len(contents),
                },
            ),
            tables=tables or {},
            set_aside=pl.DataFrame(schema=FAULT) if set_aside is None else set_aside,
            mends=pl.DataFrame(schema=MENDS),
            confirmed=confirmed,
            mentions=pl.DataFrame(
                {
                    "file": ["beers.csv"] * len(mentions),
                    "sheet": [""] * len(mentions),
                    "mention": list(mentions),
                }
            ),
        )

    return make


_VALUES = {
    "VARCHAR": "'some ' || i",
    "BIGINT": "i",
    "INTEGER": "CAST(i AS INTEGER)",
    "DOUBLE": "i / 3.0",
    "BOOLEAN": "i % 2 = 0",
    "DATE": "DATE '2026-04-07' + CAST(i AS INTEGER)",
    "TIMESTAMP": "TIMESTAMP '2026-04-07 14:30:00.123456' + to_hours(i)",
}


@pytest.fixture(scope="session")
def fill() -> Callable[[duckdb.DuckDBPyConnection], None]:
    """Give what puts three rows into every empty table of a store, whatever its columns."""

    def put(connection: duckdb.DuckDBPyConnection) -> None:
        for table, columns, checks in connection.sql(
            """
            SELECT c.schema_name || '.' || c.table_name,
                   map_from_entries(list((c.column_name, c.data_type) ORDER BY c.column_index)),
                   coalesce(any_value(k.checks), '')
            FROM duckdb_columns() AS c JOIN duckdb_tables() USING (table_oid)
            LEFT JOIN (
                SELECT table_oid, string_agg(expression, ' ') AS checks
                FROM duckdb_constraints() WHERE constraint_type = 'CHECK' GROUP BY table_oid
            ) AS k USING (table_oid)
            GROUP BY 1
            """
        ).fetchall():
            if table == "intake.migrations":
                continue
            values = ", ".join(
                f"'{allowed[1]}'"
                if (allowed := re.search(rf"\b{name}\"? IN \('([^']+)'", checks))
                else _VALUES[kind]
                for name, kind in columns.items()
            )
            connection.execute(f"INSERT INTO {table} SELECT {values} FROM range(1, 4) AS r (i)")

    return put


@pytest.fixture(scope="session")
def held() -> Callable[[duckdb.DuckDBPyConnection], dict[str, list[dict[str, object]]]]:
    """Give what reads every table of a store but the record of its migrations, row by row."""

    def read(connection: duckdb.DuckDBPyConnection) -> dict[str, list[dict[str, object]]]:
        tables = connection.sql("SELECT schema_name || '.' || table_name FROM duckdb_tables()")
        return {
            table: connection.sql(f"FROM {table}").pl().to_dicts()
            for (table,) in tables.fetchall()
            if table != "intake.migrations"
        }

    return read
