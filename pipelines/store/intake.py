"""Take in what the files said: all of a load in one transaction, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.store.catalog import check_columns
from pipelines.store.changes import UnconfirmedError, unconfirmed
from pipelines.store.connect import transaction
from pipelines.store.set_aside import counts_aside, rows_aside, set_aside, settle
from pipelines.store.versions import add_versions

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    import duckdb

    from pipelines.store.versions import Added

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
    "said_in",
    "mended_file",
    "mended_sheet",
    "mended_row",
)
_MENDS = (
    "table_name",
    "file",
    "sheet",
    "row_number",
    "how",
    "mended_file",
    "mended_sheet",
    "mended_row",
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


@dataclass(frozen=True)
class Begun:
    """When a load was made and by which code.

    Attributes:
        started_at: When it began, local time without a zone.
        finished_at: When it ended, likewise.
        code_version: Version of stalecurve.
    """

    started_at: datetime
    finished_at: datetime
    code_version: str


@dataclass(frozen=True)
class Load(Begun):
    """What one reading of the inbox brought.

    Attributes:
        files: `file`, `sha256`, `size_bytes`, `outcome`, `reason`: every file once.
        tables: By name of the input table, its good rows.
        set_aside: `table_name`, `file`, `sheet`, `row_number`, `column_name`, `value`, `reason`,
            `expected`, `kind`, `cells`, `said_in` (the load that read a row which had to wait, else
            empty), and `mended_file`, `mended_sheet`, `mended_row` where the
            row is a mended one that is faulty still: one row for each fault.
        mends: `table_name`, `mended_file`, `mended_sheet`, `mended_row`: each row of the sheets
            that name rows set aside, with the `file`, `sheet` and `row_number` that it names and
            `how`: mended, withdrawn, unchanged, or own where it stands for itself; and each mended
            row that had to wait, with `how` waited.
        mentions: `file`, `sheet`, `mention`.
        confirmed: Files that may change any number of stored rows.
    """

    files: pl.DataFrame
    tables: Mapping[str, pl.DataFrame]
    set_aside: pl.DataFrame
    mends: pl.DataFrame
    mentions: pl.DataFrame
    confirmed: Sequence[str] = ()


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


def record_load(connection: duckdb.DuckDBPyConnection, load: Load) -> LoadSummary:
    """Store a load in one transaction.

    A row whose key is new is added; one with other values is added as a correction; one that says
    what is known already changes nothing; a void one withdraws. A row that was set aside before
    and is good now settles its entry, and so do its mended row and a newer content of its file.

    Args:
        connection: A migrated store opened for writing.
        load: What was read.

    Returns:
        The number of the load and what became of its rows.

    Raises:
        UnconfirmedError: Files that are not confirmed would change more than may go unasked.
        StoreError: A frame has other columns than its table, or a key stands in it twice. Nothing
            is stored then, nor after any other error.
    """
    check_columns("files", load.files, _FILES)
    check_columns("mentions", load.mentions, _MENTIONS)
    check_columns("set_aside", load.set_aside, _FAULTS)
    check_columns("mends", load.mends, _MENDS)
    with rows_aside(connection, load.set_aside, load.mends), transaction(connection):
        load_id = begin_load(connection, load)
        _insert(connection, "files", load_id, load.files)
        settle(connection, load_id)
        added = [
            add_versions(connection, load_id, table, frame) for table, frame in load.tables.items()
        ]
        _ask(added, load.confirmed)
        set_aside(connection, load_id)
        row_counts = _count([*(one.counts for one in added), counts_aside(connection, load_id)])
        _insert(connection, "row_counts", load_id, row_counts)
        _insert(connection, "mentions", load_id, load.mentions)
    return LoadSummary(load_id, row_counts)


def begin_load(connection: duckdb.DuckDBPyConnection, load: Begun) -> int:
    """Record that there was a load, and give its number; call it inside a transaction."""
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
    return load_id


def _ask(added: Sequence[Added], confirmed: Sequence[str]) -> None:
    if not added:
        return
    changed = pl.concat([one.changed for one in added])
    files = unconfirmed(changed, confirmed)
    if files:
        shown = pl.concat([one.examples for one in added if one.examples.height])
        of_them = pl.col("file").is_in(files)
        raise UnconfirmedError(changed.filter(of_them), shown.filter(of_them))


def _insert(
    connection: duckdb.DuckDBPyConnection, table: str, load_id: int, frame: pl.DataFrame
) -> None:
    connection.register("new_rows", frame)
    connection.execute(
        f"INSERT INTO intake.{table} BY NAME SELECT *, $load_id AS load_id FROM new_rows",
        {"load_id": load_id},
    )
    connection.unregister("new_rows")


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
