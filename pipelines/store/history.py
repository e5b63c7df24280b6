"""Every version of a row, as it was said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.store.catalog import columns_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import duckdb
    import polars as pl


def values_under(
    connection: duckdb.DuckDBPyConnection, table: str, given: Mapping[str, str], column: str
) -> list[str]:
    """Give the distinct values of a column as text, in rows that hold what is given."""
    where, parameters = _holding(connection, table, given)
    rows = connection.sql(
        f"""
        SELECT DISTINCT CAST({column} AS VARCHAR) FROM history.{table}
        WHERE {where} AND {column} IS NOT NULL ORDER BY 1
        """,
        params=parameters,
    ).fetchall()
    return [value for (value,) in rows]


def versions_of(
    connection: duckdb.DuckDBPyConnection, table: str, given: Mapping[str, str]
) -> pl.DataFrame:
    """Give every version of the rows whose columns once held what is given.

    Args:
        connection: A migrated store.
        table: Name of the input table.
        given: Values by column as a person types them: capitals do not matter, and a time may
            be cut short.

    Returns:
        All columns of `history.<table>`, and `loaded_at` (local time of `load_id`), `forgotten_in`
        (the load that took it back, else null) and `mends` (the place that it mends, else null);
        row by row, oldest saying first.

    Raises:
        StoreError: There is no such table.
    """
    where, parameters = _holding(connection, table, given)
    rows: pl.DataFrame = connection.sql(
        f"""
        SELECT version.*, loads.finished_at AS loaded_at, forgotten.load_id AS forgotten_in,
               mended.place AS mends
        FROM history.{table} AS version
        JOIN intake.loads AS loads ON loads.load_id = version.load_id
        LEFT JOIN intake.forgotten AS forgotten
          ON forgotten.file = version.file AND forgotten.said_in = version.said_in
        LEFT JOIN (
            SELECT settled_file, settled_sheet, settled_row, settled_in,
                   min(concat_ws(', ', file, nullif('sheet ' || sheet, 'sheet '),
                                 'row ' || row_number)) AS place
            FROM intake.set_aside WHERE settled_how = 'mended' AND table_name = $table
            GROUP BY settled_file, settled_sheet, settled_row, settled_in
        ) AS mended
          ON mended.settled_file = version.file AND mended.settled_sheet = version.sheet
         AND mended.settled_row = version.row_number AND mended.settled_in = version.load_id
        WHERE row_key IN (SELECT row_key FROM history.{table} WHERE {where})
        ORDER BY row_key, version.said_in, version.load_id
        """,
        params=parameters | {"table": table},
    ).pl()
    return rows


def _holding(
    connection: duckdb.DuckDBPyConnection, table: str, given: Mapping[str, str]
) -> tuple[str, dict[str, str]]:
    kinds = columns_of(connection, "history", table)
    conditions = [
        f"starts_with(CAST({name} AS VARCHAR), replace(${name}, 'T', ' '))"
        if kinds[name] == "TIMESTAMP"
        else f"lower(CAST({name} AS VARCHAR)) = lower(${name})"
        for name in given
    ]
    return " AND ".join(["TRUE", *conditions]), dict(given)
