"""Rows that stand aside: kept with their reasons until something settles them.

A load's faults and mended rows are temporary tables while it is recorded. A row is known by its
place: table, file, sheet and row number. It is as old as the load that read it, for whatever reason
it stands aside since.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    import duckdb
    import polars as pl

# Rows that a mending sheet holds for itself stand at a sheet of this name: the file may lie where
# another lay, whose rows have the same numbers.
OWN_SHEET = "mended"

_PLACE = "table_name, file, sheet, row_number"
_READ_NOW = "SELECT file FROM intake.files WHERE load_id = $load_id AND outcome = 'loaded'"

# A fault that is outstanding and is found again, word for word, stays as it is.
_SAME_FAULT = """
    found.table_name = kept.table_name AND found.file = kept.file
    AND found.sheet = kept.sheet AND found.row_number = kept.row_number
    AND found.column_name IS NOT DISTINCT FROM kept.column_name
    AND found.value IS NOT DISTINCT FROM kept.value
    AND found.reason = kept.reason AND found.expected IS NOT DISTINCT FROM kept.expected
    AND found.cells = kept.cells
"""
# A row that was mended elsewhere, and stands in its own file as it stood: nothing new.
_MENDED_BEFORE = f"""
    mended_file IS NULL
    AND ({_PLACE}, cells) IN (
        SELECT {_PLACE}, stood.cells
        FROM intake.set_aside AS stood JOIN intake.set_aside AS mended USING ({_PLACE})
        WHERE stood.load_id <= mended.load_id
          AND (mended.mended_file IS NOT NULL AND mended.settled_in IS NULL
               OR mended.settled_how IN ('mended', 'withdrawn'))
    )
    AND file IN ({_READ_NOW})
"""


def outstanding(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every row that stands aside, each once.

    Returns:
        `table_name`, `file`, `sheet`, `row_number`, `said_in` (the load that read it), `cells` (a
        JSON object from heading to text), `kind` (`value` where a person must mend it in its file;
        `reference` and `conflict` may come in by themselves), `mended_file`, `mended_sheet` and
        `mended_row` (where the cells are those of a mended row), and `reason`, the faults of the
        row in one text.
    """
    rows: pl.DataFrame = connection.sql(
        f"""
        SELECT {_PLACE}, max(load_id) AS said_in, arg_max(cells, load_id) AS cells,
               CASE WHEN bool_and(kind = 'reference') THEN 'reference'
                    WHEN bool_and(kind = 'conflict') THEN 'conflict'
                    ELSE 'value' END AS kind,
               arg_max(mended_file, load_id) AS mended_file,
               arg_max(mended_sheet, load_id) AS mended_sheet,
               arg_max(mended_row, load_id) AS mended_row,
               string_agg(
                   CASE WHEN column_name <> '' THEN column_name || ': ' ELSE '' END || reason
                   || CASE WHEN expected <> '' THEN ' (expected ' || expected || ')' ELSE '' END,
                   '; ' ORDER BY column_name, reason
               ) AS reason
        FROM intake.set_aside WHERE settled_in IS NULL
        GROUP BY {_PLACE} ORDER BY {_PLACE}
        """
    ).pl()
    return rows


def known_places(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give every row that ever stood aside, as it stood last.

    Returns:
        `table_name`, `file`, `sheet`, `row_number`, `cells`, and `open`, whether it still does.
    """
    rows: pl.DataFrame = connection.sql(
        f"""
        SELECT {_PLACE}, arg_max(cells, load_id) AS cells, bool_or(settled_in IS NULL) AS open
        FROM intake.set_aside GROUP BY {_PLACE}
        """
    ).pl()
    return rows


@contextmanager
def rows_aside(
    connection: duckdb.DuckDBPyConnection, faults: pl.DataFrame, mends: pl.DataFrame
) -> Iterator[None]:
    """Hold the faults and the mended rows of a load for the functions below."""
    connection.register("faults", faults)
    connection.register("mends", mends)
    try:
        yield
    finally:
        connection.unregister("faults")
        connection.unregister("mends")


def settle(connection: duckdb.DuckDBPyConnection, load_id: int) -> None:
    """Settle what mended rows and newer contents of files settle, before rows are added."""
    connection.execute(
        """
        UPDATE intake.set_aside AS kept
        SET settled_in = $load_id, settled_file = mends.mended_file,
            settled_sheet = mends.mended_sheet, settled_row = mends.mended_row,
            settled_how = CASE WHEN mends.how = 'withdrawn' THEN 'withdrawn' ELSE 'mended' END
        FROM mends
        WHERE kept.settled_in IS NULL AND mends.how IN ('mended', 'waited', 'withdrawn')
          AND kept.table_name = mends.table_name AND kept.file = mends.file
          AND kept.sheet = mends.sheet AND kept.row_number = mends.row_number
          AND (mends.table_name, mends.file, mends.sheet, mends.row_number) NOT IN (
              SELECT table_name, file, sheet, row_number FROM faults
              WHERE mended_file IS NOT NULL
          )
        """,
        {"load_id": load_id},
    )
    _keep(connection, load_id, "mended_file IS NOT NULL")
    connection.execute(
        f"""
        UPDATE intake.set_aside AS kept
        SET settled_in = $load_id, settled_how = 'replaced by a newer file'
        WHERE settled_in IS NULL AND file IN ({_READ_NOW})
          AND NOT EXISTS (SELECT 1 FROM faults AS found WHERE {_SAME_FAULT})
          AND ({_PLACE}) NOT IN (SELECT {_PLACE} FROM faults WHERE {_MENDED_BEFORE})
          AND load_id < $load_id
          AND (file NOT IN (SELECT mended_file FROM mends WHERE how <> 'waited')
               OR ends_with(sheet, $own))
        """,
        {"load_id": load_id, "own": OWN_SHEET},
    )


def set_aside(connection: duckdb.DuckDBPyConnection, load_id: int) -> None:
    """Keep the faults of this load, in the place of others found at the same row before."""
    _keep(connection, load_id, "TRUE")


def _keep(connection: duckdb.DuckDBPyConnection, load_id: int, which: str) -> None:
    connection.execute(
        f"""
        CREATE TEMP TABLE kept_faults AS SELECT * FROM faults WHERE {which} AND NOT (
            {_MENDED_BEFORE}
        )
        """,
        {"load_id": load_id},
    )
    connection.execute(
        f"""
        UPDATE intake.set_aside AS kept
        SET settled_in = $load_id, settled_how = 'set aside again for another reason'
        WHERE settled_in IS NULL
          AND NOT EXISTS (SELECT 1 FROM kept_faults AS found WHERE {_SAME_FAULT})
          AND ({_PLACE}) IN (SELECT {_PLACE} FROM kept_faults)
        """,
        {"load_id": load_id},
    )
    connection.execute(
        f"""
        INSERT INTO intake.set_aside BY NAME
        SELECT * EXCLUDE (said_in), coalesce(said_in, $load_id) AS load_id
        FROM kept_faults AS found
        WHERE NOT EXISTS (
            SELECT 1 FROM intake.set_aside AS kept WHERE settled_in IS NULL AND {_SAME_FAULT}
        )
        """,
        {"load_id": load_id},
    )
    connection.execute("DROP TABLE kept_faults")


def counts_aside(connection: duckdb.DuckDBPyConnection, load_id: int) -> pl.DataFrame:
    """Count the rows of the files read now that were not stored, as a person counts them.

    Returns:
        `file`, `sheet`, `table_name`, `rows_set_aside`, `rows_unchanged` (mended before, or left
        as they stood in a mended file) and `rows_withdrawn` (dismissed there).
    """
    rows: pl.DataFrame = connection.sql(
        f"""
        WITH read_now AS (
            SELECT coalesce(mended_file, file) AS file,
                   CASE WHEN mended_file IS NULL THEN sheet ELSE mended_sheet END AS sheet,
                   table_name, coalesce(mended_row, row_number) AS row_number,
                   CASE WHEN {_MENDED_BEFORE} THEN 'unchanged' ELSE 'set aside' END AS became
            FROM faults WHERE said_in IS NULL
            UNION ALL
            SELECT mended_file, mended_sheet, table_name, mended_row, how FROM mends
            WHERE how IN ('unchanged', 'withdrawn')
        )
        SELECT file, sheet, table_name,
               count(DISTINCT row_number) FILTER (WHERE became = 'set aside') AS rows_set_aside,
               count(DISTINCT row_number) FILTER (WHERE became = 'unchanged') AS rows_unchanged,
               count(DISTINCT row_number) FILTER (WHERE became = 'withdrawn') AS rows_withdrawn
        FROM read_now WHERE file IN ({_READ_NOW})
        GROUP BY file, sheet, table_name
        """,
        params={"load_id": load_id},
    ).pl()
    return rows
