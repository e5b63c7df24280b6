"""What a file would change of the rows that stand, and when that is too much to go unasked.

These read the table `judged`, which lives while a load holds its rows against the history.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Sequence

    import duckdb

MOST_ROWS = 20
MOST_SHARE = 0.05
SHOWN = 10
NO_CHANGES = pl.DataFrame(
    schema={
        "file": pl.String,
        "table_name": pl.String,
        "rows_changed": pl.Int64,
        "rows_stored": pl.Int64,
    }
)

_CHANGES = "NOT waited AND newest_void = false AND outcome IN ('corrected', 'withdrawn')"


class UnconfirmedError(StoreError):
    """Some files of a load would change more than may go unasked; nothing was stored.

    Attributes:
        changed: `file`, `table_name`, `rows_changed`, `rows_stored` of those files.
        examples: `file`, `table_name`, `row_key`, `before`, `after` (JSON objects; a withdrawn
            row has no `after`): the first rows of each file and table.
    """

    def __init__(self, changed: pl.DataFrame, examples: pl.DataFrame) -> None:
        """Keep what would change."""
        files = ", ".join(sorted(set(changed["file"])))
        super().__init__(f"{files} would change many stored rows: confirm it first.")
        self.changed = changed
        self.examples = examples


def changed_rows(connection: duckdb.DuckDBPyConnection, table: str) -> pl.DataFrame:
    """Count the stored rows that each file read now would correct or withdraw.

    Returns:
        `file`, `table_name`, `rows_changed`, `rows_stored`.
    """
    changed: pl.DataFrame = connection.sql(
        f"""
        SELECT file, $table AS table_name, count(*) AS rows_changed
        FROM judged WHERE {_CHANGES} GROUP BY file
        """,
        params={"table": table},
    ).pl()
    stored = 0
    if changed.height:
        ((stored,),) = connection.sql(f"SELECT count(*) FROM core.{table}").fetchall()
    return changed.with_columns(rows_stored=pl.lit(stored, dtype=pl.Int64))


def examples(
    connection: duckdb.DuckDBPyConnection, table: str, values: Sequence[str]
) -> pl.DataFrame:
    """Give the first rows that each file would change, as they stand and as it says them.

    Returns:
        `file`, `table_name`, `row_key`, `before`, `after`: JSON objects of the table's values.
    """
    before, after = (
        "{" + ", ".join(f"'{name}': {of}.{name}" for name in values) + "}"
        for of in ("stands", "first")
    )
    shown: pl.DataFrame = connection.sql(
        f"""
        WITH first AS (
            SELECT * FROM judged WHERE {_CHANGES}
            QUALIFY row_number() OVER (
                PARTITION BY file ORDER BY sheet, row_number, row_key
            ) <= $shown
        )
        SELECT first.file, $table AS table_name, row_key,
               CAST(to_json({before}) AS VARCHAR) AS before,
               CASE WHEN NOT first.void THEN CAST(to_json({after}) AS VARCHAR) END AS after
        FROM first JOIN (
            FROM core.{table} WHERE row_key IN (SELECT row_key FROM first)
        ) AS stands USING (row_key)
        ORDER BY first.file, first.sheet, first.row_number, row_key
        """,
        params={"table": table, "shown": SHOWN},
    ).pl()
    return shown


def unconfirmed(changed: pl.DataFrame, confirmed: Sequence[str]) -> list[str]:
    """Give the files that would change more than may go unasked.

    Args:
        changed: `file`, `table_name`, `rows_changed`, `rows_stored`.
        confirmed: Files that a person has said yes to.
    """
    share = pl.col("rows_changed") > MOST_SHARE * pl.col("rows_stored")
    files: list[str] = (
        changed.filter(~pl.col("file").is_in(list(confirmed)))
        .group_by("file")
        .agg(
            (pl.col("rows_changed").sum() > MOST_ROWS)
            | (share & (pl.col("rows_changed") > 1)).any()
        )
        .filter("rows_changed")["file"]
        .sort()
        .to_list()
    )
    return files
