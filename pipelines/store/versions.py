"""One row, many versions: what a load adds to the history of a table.

A row is known by `row_key`, a version by what it says. What stands is what was said last
and not taken back. A file that says of a row what it said last time says nothing new: it adds no
version and undoes no correction that came from elsewhere since. Everything else is added, also
where another file said the same before, so that each stands when the other is taken back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import StoreError
from pipelines.store.catalog import check_columns, columns_of
from pipelines.store.changes import NO_CHANGES, changed_rows, examples
from pipelines.store.values import digest, values_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb

_BATCH = 122_880  # rows, as the database cuts its tables


@dataclass(frozen=True)
class Added:
    """What became of the rows of one table.

    Attributes:
        counts: `file`, `sheet`, `table_name` and the number of rows of the file that are new,
            corrected, withdrawn or unchanged; a row that holds several readings counts once.
        changed: `file`, `table_name`, `rows_changed`, `rows_stored`: stored rows that a file read
            now corrects or withdraws, beside all that stood in the table before.
        examples: `file`, `table_name`, `row_key`, `before`, `after`: the first of them.
    """

    counts: pl.DataFrame
    changed: pl.DataFrame
    examples: pl.DataFrame


def add_versions(
    connection: duckdb.DuckDBPyConnection, load_id: int, table: str, frame: pl.DataFrame
) -> Added:
    """Add to the history of a table what a load says that is new.

    A row that had to wait is as old as the load that read it (`said_in`): where something was
    said later under its key, that stands. Either way the place where it was set aside is settled.

    Args:
        connection: A migrated store within a transaction.
        load_id: The load.
        table: Name of the input table.
        frame: All columns of `history.<table>` but `load_id`; an empty `said_in` is this load.

    Returns:
        The number of rows that are new, corrected, withdrawn or unchanged, and the stored rows
        that were changed.

    Raises:
        StoreError: There is no such table, the columns are others, or a key stands there twice.
    """
    columns = columns_of(connection, "history", table)
    check_columns(table, frame, columns.keys() - {"load_id"})
    names = ", ".join(name for name in columns if name != "load_id")
    # In parts that the database can read side by side, and as views of the texts, not copies.
    parts = pl.concat([frame.clear(), *frame.iter_slices(_BATCH)], rechunk=False)
    connection.register("typed_rows", parts.to_arrow(compat_level=pl.CompatLevel.newest()))
    if _all_new(connection, table, frame):
        connection.execute(
            f"""
            INSERT INTO history.{table} ({names}, load_id)
            SELECT {names}, $load_id FROM ({_said(columns)})
            """,
            {"load_id": load_id},
        )
        connection.unregister("typed_rows")
        return _added_whole(table, frame)
    connection.execute(
        f"""
        CREATE TEMP TABLE said AS
        SELECT *, {digest(columns)} AS digest FROM ({_said(columns)})
        """,
        {"load_id": load_id},
    )
    connection.unregister("typed_rows")
    connection.execute(_judged(table, digest(columns)))
    _refuse_twins(connection, table)
    _settle_places(connection, load_id, table)
    changed = changed_rows(connection, table)
    added = Added(
        connection.sql(_COUNTS, params={"table": table}).pl(),
        changed,
        examples(connection, table, values_of(columns)) if changed.height else changed.clear(),
    )
    connection.execute(
        f"""
        INSERT INTO history.{table} ({names}, load_id) SELECT {names}, $load_id FROM judged
        WHERE NOT no_news
        """,
        {"load_id": load_id},
    )
    connection.execute("DROP TABLE judged; DROP TABLE said")
    return added


def _all_new(connection: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> bool:
    """Whether nothing was ever said under any key of the frame, so that there is nothing to judge.

    Most of what a file brings is so, and it is stored in half the time.
    """
    if frame["void"].any() or frame["said_in"].count():
        return False
    if frame["row_key"].hash().n_unique() < frame.height:  # quicker than to compare the texts
        return False
    known = connection.sql(
        f"SELECT 1 FROM history.{table} SEMI JOIN typed_rows USING (row_key) LIMIT 1"
    )
    return not known.fetchall()


def _added_whole(table: str, frame: pl.DataFrame) -> Added:
    counts = (
        frame.lazy()
        .group_by("file", "sheet")
        .agg(table_name=pl.lit(table), rows_new=pl.col("row_number").n_unique().cast(pl.Int64))
        .collect(engine="streaming")  # which does not write the name of one file out for each row
    )
    none = pl.lit(0, dtype=pl.Int64)
    others = {f"rows_{word}": none for word in ("corrected", "unchanged", "withdrawn")}
    return Added(counts.with_columns(**others), NO_CHANGES, NO_CHANGES)


def _said(columns: Mapping[str, str]) -> str:
    """Write the query that takes the frame in, typed."""
    typed = ", ".join(
        f"CAST({name} AS {kind}) AS {name}"
        for name, kind in columns.items()
        if name not in {"load_id", "said_in"}
    )
    return f"""
        SELECT {typed}, coalesce(CAST(said_in AS BIGINT), $load_id) AS said_in,
               said_in IS NOT NULL AS waited
        FROM typed_rows
    """


def _judged(table: str, digest_of_values: str) -> str:
    """Write the query that holds each row against what was said under its key before."""
    return f"""
        CREATE TEMP TABLE judged AS
        WITH kept AS (
            SELECT row_key, file, sheet, said_in, load_id, void, {digest_of_values} AS digest
            FROM history.{table}
            WHERE row_key IN (SELECT row_key FROM said)
              AND (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
        ),
        newest AS (
            SELECT row_key, said_in, digest, void FROM kept
            QUALIFY row_number() OVER (PARTITION BY row_key ORDER BY said_in DESC, load_id DESC) = 1
        ),
        own AS (
            SELECT row_key, file, sheet, digest, void FROM kept
            WHERE file IN (SELECT file FROM said)
            QUALIFY row_number() OVER (
                PARTITION BY row_key, file, sheet ORDER BY said_in DESC, load_id DESC
            ) = 1
        ),
        held AS (
            SELECT said.*, newest.said_in AS newest_said_in, newest.digest AS newest_digest,
                   newest.void AS newest_void,
                   own.row_key IS NOT NULL AND own.void = said.void
                   AND (said.void OR own.digest = said.digest) AS no_news
            FROM said
            LEFT JOIN newest ON newest.row_key = said.row_key
            LEFT JOIN own ON own.row_key = said.row_key
                AND own.file = said.file AND own.sheet = said.sheet
        ),
        later AS (
            SELECT row_key, max(said_in) AS said_in FROM held
            WHERE NOT no_news AND row_key IN (SELECT row_key FROM said WHERE waited)
            GROUP BY row_key
        )
        SELECT held.*, CASE
            WHEN newest_said_in > held.said_in OR later.said_in > held.said_in THEN 'overtaken'
            WHEN no_news OR held.void AND newest_void THEN 'unchanged'
            WHEN held.void THEN 'withdrawn'
            WHEN newest_void IS NULL OR newest_void THEN 'new'
            WHEN newest_digest = held.digest THEN 'unchanged'
            ELSE 'corrected'
        END AS outcome
        FROM held LEFT JOIN later ON later.row_key = held.row_key
    """


def _refuse_twins(connection: duckdb.DuckDBPyConnection, table: str) -> None:
    twins = connection.sql(
        """
        SELECT row_key FROM judged
        GROUP BY row_key, said_in HAVING count(*) > 1 ORDER BY row_key LIMIT 1
        """
    ).fetchall()
    if twins:
        message = f"One load holds the row {twins[0][0]} of {table} twice."
        raise StoreError(message)


def _settle_places(connection: duckdb.DuckDBPyConnection, load_id: int, table: str) -> None:
    for how, overtaken in (("came in by itself", False), ("overtaken by a later row", True)):
        connection.execute(
            """
            UPDATE intake.set_aside SET settled_in = $load_id, settled_how = $how
            WHERE settled_in IS NULL AND table_name = $table
              AND (file, sheet, row_number) IN (
                  SELECT file, sheet, row_number FROM judged
                  WHERE waited AND (outcome = 'overtaken') = $overtaken
                    AND (file, sheet, row_number) NOT IN (
                        SELECT mended_file, mended_sheet, mended_row FROM mends
                        WHERE how = 'waited' AND table_name = $table
                    )
              )
            """,
            {"load_id": load_id, "how": how, "table": table, "overtaken": overtaken},
        )


_COUNTS = """
    SELECT file, sheet, $table AS table_name,
           count(*) FILTER (WHERE became = 'new') AS rows_new,
           count(*) FILTER (WHERE became = 'corrected') AS rows_corrected,
           count(*) FILTER (WHERE became = 'unchanged') AS rows_unchanged,
           count(*) FILTER (WHERE became = 'withdrawn') AS rows_withdrawn
    FROM (
        SELECT file, sheet, CASE
            WHEN bool_or(outcome = 'corrected') THEN 'corrected'
            WHEN bool_or(outcome = 'new') THEN 'new'
            WHEN bool_or(outcome = 'withdrawn') THEN 'withdrawn'
            ELSE 'unchanged'
        END AS became
        FROM judged GROUP BY file, sheet, row_number
    )
    GROUP BY file, sheet
"""
