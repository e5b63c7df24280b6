"""One row, many versions: what a load adds to the history of a table.

A row is known by `row_key`, a version by the hash of its values. A load adds a version where the
newest one says something else; it changes none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import StoreError
from pipelines.store.catalog import check_columns, columns_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb

_PLACE = ("void", "file", "sheet", "row_number", "row_key")
_ADDED = ("values_hash", "load_id")
_BATCH = 122_880  # rows, as the database cuts its tables
_OBJECTS = ("extra", "scores")  # JSON objects, whose order of keys says nothing


def add_versions(
    connection: duckdb.DuckDBPyConnection, load_id: int, table: str, frame: pl.DataFrame
) -> pl.DataFrame:
    """Add to the history of a table what a load says that is new.

    A row from a place that was set aside in an earlier load is as old as that load: where a later
    load, or another row of this one, has said something under its key, it is not stored. Either
    way its place is settled.

    Args:
        connection: A migrated store within a transaction.
        load_id: The load.
        table: Name of the input table.
        frame: All columns of `history.<table>` but `values_hash` and `load_id`.

    Returns:
        `file`, `sheet`, `table_name` and the number of rows of the file that are new, corrected,
        withdrawn or unchanged; a row that holds several readings counts once.

    Raises:
        StoreError: There is no such table, the columns are others, or a key stands there twice.
    """
    columns = columns_of(connection, "history", table)
    check_columns(table, frame, columns.keys() - set(_ADDED))
    # In parts that the database can read side by side, and as views of the texts, not copies.
    parts = pl.concat([frame.clear(), *frame.iter_slices(_BATCH)], rechunk=False)
    connection.register("typed_rows", parts.to_arrow(compat_level=pl.CompatLevel.newest()))
    connection.execute(_WAITING, {"table": table})
    connection.execute(_SPOKEN_FOR)
    connection.execute(_newest(table))
    ((held,),) = connection.sql(_HELD).fetchall()
    # Where there is nothing to compare with, rows go straight through; else they are kept once.
    kind = "TABLE" if held else "VIEW"
    connection.execute(f"CREATE TEMP {kind} judged AS {_judged(columns)}")
    _refuse_twins(connection, table, frame)
    _settle_places(connection, load_id, table)
    names = ", ".join(name for name in columns if name != "load_id")
    connection.execute(
        f"""
        INSERT INTO history.{table} ({names}, load_id) SELECT {names}, $load_id FROM judged
        WHERE outcome IN ('new', 'corrected', 'withdrawn')
        """,
        {"load_id": load_id},
    )
    counts: pl.DataFrame = connection.sql(_COUNTS, params={"table": table}).pl()
    connection.execute(f"DROP {kind} judged")
    connection.execute("DROP TABLE newest; DROP TABLE spoken_for; DROP TABLE waiting")
    connection.unregister("typed_rows")
    return counts


# The places of rows that were set aside in earlier loads.
_WAITING = """
    CREATE TEMP TABLE waiting AS
    SELECT file, sheet, row_number, max(load_id) AS set_aside_in
    FROM intake.set_aside
    WHERE settled_in IS NULL AND table_name = $table
    GROUP BY file, sheet, row_number
"""
# The keys of such rows that another row of this load speaks for.
_SPOKEN_FOR = """
    CREATE TEMP TABLE spoken_for AS
    SELECT row_key FROM typed_rows ANTI JOIN waiting USING (file, sheet, row_number)
    WHERE row_key IN (
        SELECT row_key FROM typed_rows JOIN waiting USING (file, sheet, row_number)
    )
"""
_HELD = "SELECT EXISTS (FROM waiting) OR EXISTS (FROM newest)"


def _newest(table: str) -> str:
    """Write the query for the newest version under each key that the frame has."""
    return f"""
        CREATE TEMP TABLE newest AS
        SELECT row_key, max(load_id) AS load_id, arg_max(values_hash, load_id) AS values_hash,
               arg_max(void, load_id) AS void
        FROM history.{table}
        WHERE row_key IN (SELECT row_key FROM typed_rows)
        GROUP BY row_key
    """


def _judged(columns: Mapping[str, str]) -> str:
    """Write the query that holds each row against the newest version under its key."""
    typed = ", ".join(
        f"CAST(f.{name} AS {kind}) AS {name}"
        for name, kind in columns.items()
        if name not in _ADDED
    )
    values_hash = _hash(columns)
    return f"""
        WITH said AS (
            SELECT {typed}, set_aside_in
            FROM typed_rows AS f LEFT JOIN waiting USING (file, sheet, row_number)
        )
        SELECT said.*, {values_hash} AS values_hash, CASE
            WHEN set_aside_in < newest.load_id
              OR set_aside_in IS NOT NULL AND row_key IN (SELECT row_key FROM spoken_for)
                THEN 'overtaken'
            WHEN said.void AND newest.void THEN 'unchanged'
            WHEN said.void THEN 'withdrawn'
            WHEN newest.row_key IS NULL OR newest.void THEN 'new'
            WHEN newest.values_hash = {values_hash} THEN 'unchanged'
            ELSE 'corrected'
        END AS outcome
        FROM said LEFT JOIN newest USING (row_key)
    """


def _hash(columns: Mapping[str, str]) -> str:
    """Write the expression for the hash of a row's values."""
    values = sorted(columns.keys() - set(_PLACE) - set(_ADDED))
    # An empty value is left out, so that a column added later changes no hash. Texts are quoted as
    # JSON, so two rows of unlike values never run into the same text.
    hashed = ", ".join(
        f"'{name}=' || {_as_text(f'said.{name}', name, columns[name])}" for name in values
    )
    return f"md5(concat_ws(',', {hashed}))"


def _as_text(value: str, name: str, kind: str) -> str:
    if name in _OBJECTS:
        pairs = f"map_entries(from_json(nullif({value}, '{{}}'), '\"MAP(VARCHAR, JSON)\"'))"
        pair = "CAST(to_json(pair.key) AS VARCHAR) || ':' || CAST(pair.value AS VARCHAR)"
        return f"array_to_string(list_sort(list_transform({pairs}, lambda pair: {pair})), ',')"
    return f"to_json({value})" if kind == "VARCHAR" else f"CAST({value} AS VARCHAR)"


def _refuse_twins(connection: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame) -> None:
    if frame["row_key"].hash().n_unique() == frame.height:
        return
    twins = connection.sql(
        """
        SELECT row_key FROM judged WHERE outcome <> 'overtaken'
        GROUP BY row_key HAVING count(*) > 1 ORDER BY row_key LIMIT 1
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
                  WHERE set_aside_in IS NOT NULL AND (outcome = 'overtaken') = $overtaken
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
