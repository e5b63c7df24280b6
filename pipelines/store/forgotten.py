"""Take one load of a file back: nothing is deleted, it no longer counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.store.catalog import columns_of
from pipelines.store.connect import transaction
from pipelines.store.intake import Begun, begin_load
from pipelines.store.values import digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    import duckdb

_LOADS = """
    SELECT file, max(load_id) FROM intake.files
    WHERE outcome = 'loaded' AND (file, load_id) NOT IN (SELECT file, said_in FROM intake.forgotten)
    GROUP BY file
"""
# What the load had settled is as if it had not been: it stands open again, or was settled by what
# has settled since the row that the load put in its place.
_REOPENED = """
    UPDATE intake.set_aside AS kept
    SET settled_in = since.settled_in, settled_how = since.settled_how,
        settled_file = since.settled_file, settled_sheet = since.settled_sheet,
        settled_row = since.settled_row
    FROM (
        SELECT was.rowid AS entry, put.settled_in, put.settled_how, put.settled_file,
               put.settled_sheet, put.settled_row
        FROM intake.set_aside AS was LEFT JOIN (
            SELECT * FROM intake.set_aside
            WHERE load_id = $said_in AND coalesce(mended_file, file) = $file
        ) AS put
          ON put.table_name = was.table_name AND put.file = was.file
         AND put.sheet = was.sheet AND put.row_number = was.row_number
        WHERE was.settled_in = $said_in AND (
            was.settled_file = $file
            OR was.file = $file AND was.settled_how = 'replaced by a newer file'
            OR was.settled_how = 'set aside again for another reason' AND put.load_id IS NOT NULL
        )
        QUALIFY row_number() OVER (
            PARTITION BY was.rowid ORDER BY put.settled_in DESC NULLS FIRST
        ) = 1
    ) AS since
    WHERE kept.rowid = since.entry
"""
_SETTLED = """
    UPDATE intake.set_aside SET settled_in = $load_id, settled_how = 'forgotten'
    WHERE settled_in IS NULL
      AND (coalesce(mended_file, file), load_id) IN (SELECT file, said_in FROM intake.forgotten)
"""


@dataclass(frozen=True)
class Forgotten:
    """What was taken back.

    Attributes:
        load_id: The load that took it back.
        said_in: The load that no longer counts.
        tables: `table_name` and the number of stored rows that are `gone`, say `older` values
            again, are `back` after a withdrawal, or `stand` all the same, for another file said
            so too or later.
    """

    load_id: int
    said_in: int
    tables: pl.DataFrame


def newest_loads(connection: duckdb.DuckDBPyConnection) -> dict[str, int]:
    """Give each file's newest load that was not taken back."""
    return dict(connection.sql(_LOADS).fetchall())


def forgotten_contents(connection: duckdb.DuckDBPyConnection) -> set[str]:
    """Give the newest contents (SHA-256) of the files whose newest load was taken back."""
    rows = connection.sql(
        """
        SELECT arg_max(sha256, load_id) FROM intake.files WHERE outcome = 'loaded'
        GROUP BY file
        HAVING (file, max(load_id)) IN (SELECT file, said_in FROM intake.forgotten)
        """
    ).fetchall()
    return {digest for (digest,) in rows}


def forget_load(
    connection: duckdb.DuckDBPyConnection, file: str, said_in: int, begun: Begun
) -> Forgotten:
    """Take back what one load read of a file, in one transaction.

    Args:
        connection: A migrated store opened for writing.
        file: Path relative to the inbox.
        said_in: The load.
        begun: When, and by which code.

    Returns:
        What becomes of the rows that stand.
    """
    tables = [
        name
        for (name,) in connection.sql(
            """
            SELECT DISTINCT table_name FROM information_schema.tables
            WHERE table_schema = 'history' ORDER BY table_name
            """
        ).fetchall()
    ]
    with transaction(connection):
        load_id = begin_load(connection, begun)
        before = {table: _standing(connection, table, file, said_in) for table in tables}
        connection.execute(
            """
            INSERT INTO intake.forgotten (load_id, file, said_in)
            VALUES ($load_id, $file, $said_in)
            """,
            {"load_id": load_id, "file": file, "said_in": said_in},
        )
        after = {table: _standing(connection, table, file, said_in) for table in tables}
        connection.execute(_REOPENED, {"file": file, "said_in": said_in})
        connection.execute(_SETTLED, {"load_id": load_id})
    became = [
        _became(table, before[table], after[table]) for table in tables if before[table].height
    ]
    return Forgotten(load_id, said_in, _counted(became))


def _standing(
    connection: duckdb.DuckDBPyConnection, table: str, file: str, said_in: int
) -> pl.DataFrame:
    """The rows that a load of a file spoke of, with the version that stands, if one does."""
    rows: pl.DataFrame = connection.sql(
        f"""
        WITH spoken AS (
            SELECT DISTINCT row_key FROM history.{table}
            WHERE file = $file AND said_in = $said_in
        )
        SELECT spoken.row_key, stands.digest
        FROM spoken LEFT JOIN (
            SELECT row_key, {digest(columns_of(connection, "history", table))} AS digest, void
            FROM history.{table}
            WHERE row_key IN (SELECT row_key FROM spoken)
              AND (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
            QUALIFY row_number() OVER (
                PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
            ) = 1
        ) AS stands ON stands.row_key = spoken.row_key AND NOT stands.void
        """,
        params={"file": file, "said_in": said_in},
    ).pl()
    return rows


def _became(table: str, before: pl.DataFrame, after: pl.DataFrame) -> pl.DataFrame:
    was, is_now = pl.col("digest"), pl.col("digest_now")
    both = before.join(after, on="row_key", suffix="_now")
    return both.select(
        table_name=pl.lit(table),
        became=pl.when(was.eq_missing(is_now))
        .then(pl.lit("stand"))
        .when(is_now.is_null())
        .then(pl.lit("gone"))
        .when(was.is_null())
        .then(pl.lit("back"))
        .otherwise(pl.lit("older")),
    )


def _counted(became: Sequence[pl.DataFrame]) -> pl.DataFrame:
    schema = {"table_name": pl.String, "became": pl.String}
    return (
        pl.concat([pl.DataFrame(schema=schema), *became])
        .group_by("table_name")
        .agg(
            (pl.col("became") == word).sum().alias(word)
            for word in ("gone", "older", "back", "stand")
        )
        .sort("table_name")
    )
