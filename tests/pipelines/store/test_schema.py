"""The store explains itself.

DuckDB takes no comments on schemas; those stand in the files, above each schema. Columns of views
can carry comments, so they have to.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from pipelines.store.migrate import SCHEMA

if TYPE_CHECKING:
    import duckdb

SCHEMAS = {"intake", "history", "core", "records", "results", "this_week", "published"}


@pytest.mark.parametrize(
    ("catalog", "name"),
    [
        ("duckdb_tables()", "table_name"),
        ("duckdb_views()", "view_name"),
        ("duckdb_columns()", "table_name || '.' || column_name"),
    ],
)
def test_everything_has_a_comment(
    store: duckdb.DuckDBPyConnection, catalog: str, name: str
) -> None:
    """Every table, view and column, of views too, says in a sentence what it holds."""
    rows = store.sql(
        f"SELECT schema_name, {name}, coalesce(comment, '') FROM {catalog} WHERE NOT internal"
    ).fetchall()
    assert {schema for schema, _, _ in rows} <= SCHEMAS
    assert [row for row in rows if not row[2].endswith(".")] == []


def test_every_schema_is_explained_above_it() -> None:
    """A line above CREATE SCHEMA says what is in it."""
    texts = "\n".join(path.read_text("utf-8") for path in SCHEMA.glob("*.sql"))
    explained = re.findall(r"^-- .+\nCREATE SCHEMA (\w+);", texts, flags=re.MULTILINE)
    assert set(explained) == SCHEMAS


def test_core_shows_every_history(store: duckdb.DuckDBPyConnection) -> None:
    """Each input table has its current view, with the same columns but the marks of a version."""
    columns = store.sql(
        """
        SELECT schema_name, table_name, list(column_name) FROM duckdb_columns()
        WHERE schema_name IN ('history', 'core') GROUP BY ALL
        """
    ).fetchall()
    shown = {table: set(names) for schema, table, names in columns if schema == "core"}
    kept = {table: set(names) for schema, table, names in columns if schema == "history"}
    assert shown == {table: names - {"void", "said_in"} for table, names in kept.items()}


def test_published_views_can_be_read(store: duckdb.DuckDBPyConnection) -> None:
    """Each published view of an empty store gives its columns and no rows."""
    views = store.sql("SELECT view_name FROM duckdb_views() WHERE schema_name = 'published'")
    names = [name for (name,) in views.fetchall()]
    assert len(names) > 20
    assert all(store.sql(f"FROM published.{name}").fetchall() == [] for name in names)
