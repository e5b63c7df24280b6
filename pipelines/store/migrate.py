"""Bring a store to the shape that this code knows.

The shape is written in `schema/NNNN_name.sql`, applied once each in the order of their numbers and
never changed afterwards, and in `schema/published*.sql`, which hold no data and are run again
whenever one of them or anything below them changed. `intake.migrations` records them all with
their checksums.
"""

from __future__ import annotations

import hashlib
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pipelines.errors import StoreError
from pipelines.store.connect import transaction

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb

SCHEMA = Path(__file__).parent / "schema"
PUBLISHED = "published"  # how the files of the views begin

# What a view shows is what its table holds: a column takes the comment of the column of that name
# in the tables that the view's text names.
_BORROWED_COMMENTS = r"""
    SELECT shown.schema_name, shown.table_name, shown.column_name, min(source.comment)
    FROM duckdb_views() AS v
    JOIN duckdb_columns() AS shown
      ON shown.schema_name = v.schema_name AND shown.table_name = v.view_name
    JOIN duckdb_columns() AS source
      ON source.column_name = shown.column_name AND source.comment IS NOT NULL
    WHERE NOT v.internal AND shown.comment IS NULL
      AND regexp_matches(v.sql, '\b' || source.schema_name || '\.' || source.table_name || '\b')
    GROUP BY shown.schema_name, shown.table_name, shown.column_name
"""


def migrate(connection: duckdb.DuckDBPyConnection, schema: Path = SCHEMA) -> None:
    """Apply what is new, each file in one transaction together with its record.

    Args:
        connection: A store opened for writing; an empty one gets the whole schema.
        schema: Folder of the numbered files and of `published*.sql`.

    Raises:
        StoreError: The store was made by newer code, or a file was changed after it was applied.
    """
    texts = _texts(schema)
    recorded = recorded_migrations(connection)
    _refuse_strangers("store", recorded, texts)
    new = [name for name in texts if name not in recorded]
    _apply(connection, {name: texts[name] for name in new})
    views = _texts(schema, f"{PUBLISHED}*.sql")
    if new or any(recorded.get(name) != _checksum(text) for name, text in views.items()):
        with transaction(connection):
            for text in views.values():
                connection.execute(text)
            _borrow_comments(connection)
            for name, text in views.items():
                _record(connection, name, text)


def refuse_other_shapes(connection: duckdb.DuckDBPyConnection, schema: Path = SCHEMA) -> None:
    """Let only a store be read that has the shape this code knows; nothing is changed.

    Raises:
        StoreError: The store was made by older or by newer code; the message says what to do.
    """
    texts = _texts(schema)
    recorded = recorded_migrations(connection)
    _refuse_strangers("store", recorded, texts)
    if texts.keys() - recorded.keys():
        message = "The store was made by an older stalecurve: run stalecurve load first."
        raise StoreError(message)


def replay(
    connection: duckdb.DuckDBPyConnection, recorded: Mapping[str, str], schema: Path = SCHEMA
) -> None:
    """Give an empty store the shape that another one had, so that its rows fit.

    Args:
        connection: An empty store opened for writing.
        recorded: The schema files of the other store, to their checksums.
        schema: Folder of the numbered files.

    Raises:
        StoreError: The other store was made by newer code, or a file was changed since.
    """
    texts = _texts(schema)
    _refuse_strangers("backup", recorded, texts)
    _apply(connection, {name: text for name, text in texts.items() if name in recorded})


def recorded_migrations(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """Give the schema files that a store was made with, to their checksums."""
    made = connection.sql(
        """
        SELECT table_name FROM information_schema.tables
        WHERE table_schema = 'intake' AND table_name = 'migrations'
        """
    ).fetchall()
    if not made:  # the first migration makes the table
        return {}
    return dict(connection.sql("SELECT name, checksum FROM intake.migrations").fetchall())


def _texts(schema: Path, names: str = "[0-9]*.sql") -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in sorted(schema.glob(names))}


def _apply(connection: duckdb.DuckDBPyConnection, texts: Mapping[str, str]) -> None:
    for name, text in texts.items():
        with transaction(connection):
            connection.execute(text)
            _record(connection, name, text)


def _refuse_strangers(what: str, recorded: Mapping[str, str], texts: Mapping[str, str]) -> None:
    newer = sorted(
        name for name in recorded.keys() - texts.keys() if not name.startswith(PUBLISHED)
    )
    if newer:
        message = (
            f"The {what} was made by a newer stalecurve: this one does not know {newer[-1]}. "
            "Install the newer version."
        )
        raise StoreError(message)
    changed = [name for name in texts if recorded.get(name, "") not in {"", _checksum(texts[name])}]
    if changed:
        message = (
            f"{changed[0]} was changed after it was applied to this {what}. "
            "Restore it and put the change into a new migration."
        )
        raise StoreError(message)


def _record(connection: duckdb.DuckDBPyConnection, name: str, text: str) -> None:
    connection.execute(
        """
        INSERT INTO intake.migrations (name, checksum, applied_at) VALUES ($name, $checksum, $now)
        ON CONFLICT (name) DO UPDATE SET checksum = excluded.checksum,
                                         applied_at = excluded.applied_at
        """,
        {"name": name, "checksum": _checksum(text), "now": datetime.now()},  # noqa: DTZ005
    )


def _checksum(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _borrow_comments(connection: duckdb.DuckDBPyConnection) -> None:
    while borrowed := connection.sql(_BORROWED_COMMENTS).fetchall():  # views upon views
        for schema, table, column, comment in borrowed:
            quoted = comment.replace("'", "''")  # a comment takes a literal, no parameter
            connection.execute(f"COMMENT ON COLUMN {schema}.{table}.{column} IS '{quoted}'")
