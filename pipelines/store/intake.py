"""Take in what the files said: all of a load in one transaction, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.store.catalog import check_columns
from pipelines.store.connect import transaction
from pipelines.store.versions import add_versions

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    import duckdb

_FILES = ("file", "sha256", "size_bytes", "outcome", "reason")
_MENTIONS = ("file", "sheet", "mention")
_FAULTS = (
    "table_name",
    "file",
    "sheet",
    "row_number",
    "column_name",
    "value",
    "reason",
    "expected",
    "kind",
    "cells",
)
_COUNTED = (
    "rows_new",
    "rows_corrected",
    "rows_unchanged",
    "rows_withdrawn",
    "rows_set_aside",
)

_IDENTIFIERS = {
    "beers": "SELECT beer FROM core.beers",
    "formats": "SELECT format FROM core.formats",
    "lots": "SELECT lot, format FROM core.lots",
    "samples": "SELECT sample FROM core.samples",
    "routes": "SELECT route FROM core.routes",
    "assessors": "SELECT assessor FROM core.assessors",
    "meters": "SELECT DISTINCT meter FROM core.meter_checks",
}

# A fault that is outstanding and is found again, word for word, stays as it is.
_SAME_FAULT = """
    found.table_name = kept.table_name AND found.file = kept.file
    AND found.sheet = kept.sheet AND found.row_number = kept.row_number
    AND found.column_name IS NOT DISTINCT FROM kept.column_name
    AND found.value IS NOT DISTINCT FROM kept.value
    AND found.reason = kept.reason AND found.cells = kept.cells
"""


@dataclass(frozen=True)
class Load:
    """What one reading of the inbox brought.

    Attributes:
        started_at: When reading began, local time without a zone.
        finished_at: When it ended, likewise.
        code_version: Version of stalecurve.
        files: `file`, `sha256`, `size_bytes`, `outcome`, `reason`: every file once.
        tables: By name of the input table, its good rows.
        set_aside: `table_name`, `file`, `sheet`, `row_number`, `column_name`, `value`, `reason`,
            `expected`, `kind`, `cells`: one row for each fault.
        mentions: `file`, `sheet`, `mention`.
    """

    started_at: datetime
    finished_at: datetime
    code_version: str
    files: pl.DataFrame
    tables: Mapping[str, pl.DataFrame]
    set_aside: pl.DataFrame
    mentions: pl.DataFrame


@dataclass(frozen=True)
class LoadSummary:
    """What became of a load.

    Attributes:
        load_id: Its number.
        row_counts: `file`, `sheet`, `table_name`, `rows_read`, `rows_new`, `rows_corrected`,
            `rows_unchanged`, `rows_withdrawn`, `rows_set_aside`, sorted by the first three.
    """

    load_id: int
    row_counts: pl.DataFrame


def known_files(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """Give the contents that need not be loaded again: SHA-256 to file.

    Of each file only its newest content counts: one that was changed and changed back is news.
    """
    return dict(
        connection.sql(
            """
            SELECT sha256, min(file) FROM intake.files
            WHERE (file, load_id) IN (
                SELECT file, max(load_id) FROM intake.files
                WHERE outcome IN ('loaded', 'duplicate') GROUP BY file
            )
            GROUP BY sha256
            """
        ).fetchall()
    )


def known_identifiers(connection: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """Give what later rows may refer to, as it stands now.

    Returns:
        Sets: `beers`, `formats`, `samples`, `routes`, `assessors` and `meters` of texts, `lots` of
        pairs of lot and format.
    """
    return {
        name: frozenset(row if len(row) > 1 else row[0] for row in connection.sql(query).fetchall())
        for name, query in _IDENTIFIERS.items()
    }


def known_days(connection: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """Give the days that later rows may not come before.

    Returns:
        `lots` with lot, format and packaged_on, `samples` with sample and pulled_on.
    """
    return {
        "lots": connection.sql("SELECT lot, format, packaged_on FROM core.lots").pl(),
        "samples": connection.sql("SELECT sample, pulled_on FROM core.samples").pl(),
    }


def outstanding(connection: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Give the rows that only miss a partner, each once, so that they can be checked again.

    Returns:
        `table_name`, `file`, `sheet`, `row_number` and `cells`, a JSON object from heading to text.
    """
    rows: pl.DataFrame = connection.sql(
        """
        SELECT table_name, file, sheet, row_number, min(cells) AS cells FROM intake.set_aside
        WHERE settled_in IS NULL
        GROUP BY table_name, file, sheet, row_number
        HAVING bool_and(kind = 'reference')
        ORDER BY table_name, file, sheet, row_number
        """
    ).pl()
    return rows


def record_load(connection: duckdb.DuckDBPyConnection, load: Load) -> LoadSummary:
    """Store a load in one transaction.

    A row whose key is new is added; one with other values is added as a correction; one that says
    what is known already changes nothing; a void one withdraws. A row that was set aside before
    and is good now settles its entry, and so does a newer content of its file.

    Args:
        connection: A migrated store opened for writing.
        load: What was read.

    Returns:
        The number of the load and what became of its rows.

    Raises:
        StoreError: A frame has other columns than its table, or a key stands in it twice. Nothing
            is stored then, nor after any other error.
    """
    check_columns("files", load.files, _FILES)
    check_columns("mentions", load.mentions, _MENTIONS)
    check_columns("set_aside", load.set_aside, _FAULTS)
    with transaction(connection):
        load_id = _begin(connection, load)
        connection.register("faults", load.set_aside)
        _settle_replaced(connection, load_id)
        added = [
            add_versions(connection, load_id, table, frame) for table, frame in load.tables.items()
        ]
        _set_aside(connection, load_id)
        row_counts = _count([*added, _faulty_rows(connection, load_id)])
        connection.unregister("faults")
        _insert(connection, "row_counts", load_id, row_counts)
        _insert(connection, "mentions", load_id, load.mentions)
    return LoadSummary(load_id, row_counts)


def _begin(connection: duckdb.DuckDBPyConnection, load: Load) -> int:
    ((newest,),) = connection.sql("SELECT max(load_id) FROM intake.loads").fetchall()
    load_id = int(newest or 0) + 1
    connection.execute(
        """
        INSERT INTO intake.loads (load_id, started_at, finished_at, code_version)
        VALUES ($load_id, $started_at, $finished_at, $code_version)
        """,
        {
            "load_id": load_id,
            "started_at": load.started_at,
            "finished_at": load.finished_at,
            "code_version": load.code_version,
        },
    )
    _insert(connection, "files", load_id, load.files)
    return load_id


def _insert(
    connection: duckdb.DuckDBPyConnection, table: str, load_id: int, frame: pl.DataFrame
) -> None:
    connection.register("new_rows", frame)
    connection.execute(
        f"INSERT INTO intake.{table} BY NAME SELECT *, $load_id AS load_id FROM new_rows",
        {"load_id": load_id},
    )
    connection.unregister("new_rows")


def _settle_replaced(connection: duckdb.DuckDBPyConnection, load_id: int) -> None:
    connection.execute(
        f"""
        UPDATE intake.set_aside AS kept
        SET settled_in = $load_id, settled_how = 'replaced by a newer file'
        WHERE settled_in IS NULL
          AND NOT EXISTS (SELECT 1 FROM faults AS found WHERE {_SAME_FAULT})
          AND file IN (
              SELECT file FROM intake.files WHERE load_id = $load_id AND outcome = 'loaded'
          )
        """,
        {"load_id": load_id},
    )


def _set_aside(connection: duckdb.DuckDBPyConnection, load_id: int) -> None:
    """Keep the faults of this load, in the place of others found at the same row before."""
    connection.execute(
        f"""
        UPDATE intake.set_aside AS kept
        SET settled_in = $load_id, settled_how = 'set aside again for another reason'
        WHERE settled_in IS NULL
          AND NOT EXISTS (SELECT 1 FROM faults AS found WHERE {_SAME_FAULT})
          AND (table_name, file, sheet, row_number) IN (
              SELECT table_name, file, sheet, row_number FROM faults
          )
        """,
        {"load_id": load_id},
    )
    connection.execute(
        f"""
        INSERT INTO intake.set_aside BY NAME SELECT *, $load_id AS load_id FROM faults AS found
        WHERE NOT EXISTS (
            SELECT 1 FROM intake.set_aside AS kept WHERE settled_in IS NULL AND {_SAME_FAULT}
        )
        """,
        {"load_id": load_id},
    )


def _faulty_rows(connection: duckdb.DuckDBPyConnection, load_id: int) -> pl.DataFrame:
    """Count the faulty rows of the files read now, not of those that are waiting still."""
    rows: pl.DataFrame = connection.sql(
        """
        SELECT file, sheet, table_name, count(DISTINCT row_number) AS rows_set_aside FROM faults
        WHERE file IN (
            SELECT file FROM intake.files WHERE load_id = $load_id AND outcome = 'loaded'
        )
        GROUP BY file, sheet, table_name
        """,
        params={"load_id": load_id},
    ).pl()
    return rows


def _count(counts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    keys = {"file": pl.String, "sheet": pl.String, "table_name": pl.String}
    nothing = pl.DataFrame(schema=keys | dict.fromkeys(_COUNTED, pl.Int64))
    return (
        pl.concat([nothing, *counts], how="diagonal_relaxed")
        .group_by(*keys)
        .agg(pl.sum(*_COUNTED))
        .select(*keys, pl.sum_horizontal(_COUNTED).alias("rows_read"), *_COUNTED)
        .sort(*keys)
    )
