"""Rows set aside earlier, as tables that are checked once more with every load.

The lot that a row waits for may have come, its rival may be gone, or the configuration may have
learnt the heading or the word since.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.flows.inbox import digest_of
from pipelines.readers.contract import TABLES
from pipelines.readers.files import RawTable, known_headings, read_file
from pipelines.readers.names import fold

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    import duckdb

    from pipelines.config import Config
    from pipelines.readers.site import Site

PLACE = ("table_name", "file", "sheet", "row_number")
MENDED = ("mended_file", "mended_sheet", "mended_row")
_CONTENTS = """
    SELECT file, arg_max(sha256, load_id) FROM intake.files WHERE outcome = 'loaded' GROUP BY file
"""


@dataclass(frozen=True)
class Waiting:
    """Rows that had to wait.

    Attributes:
        tables: The rows as text, each table with the load that read them.
        kept: Those that come from the store, by place, with `cells` as the store has them.
        mends: Those among them that are mended rows, as `Load.mends` has it.
    """

    tables: list[RawTable]
    kept: pl.DataFrame
    mends: pl.DataFrame

    def as_kept(self, faults: pl.DataFrame) -> pl.DataFrame:
        """Faults with their cells as the store has them, so that the same fault stays the same."""
        held = self.kept.select(*PLACE, held="cells")
        return (
            faults.join(held, on=PLACE, how="left", maintain_order="left")
            .with_columns(cells=pl.coalesce("held", "cells"))
            .drop("held")
        )


def rows_that_wait(
    rows: pl.DataFrame, config: Config, connection: duckdb.DuckDBPyConnection
) -> Waiting:
    """Give rows that stand aside as they are to be checked again.

    A row that only misses a partner or has a rival comes from the store, and so does a mended one.
    Any other comes from its file, if that is still there as it was read, for its headings may be
    understood now.

    Args:
        rows: Rows as `outstanding` gives them, without those that a file or a person says anew.
        config: The configuration.
        connection: A migrated store.
    """
    mended = rows.filter(pl.col("mended_file").is_not_null())
    alone = rows.filter(pl.col("mended_file").is_null() & (pl.col("kind") != "value"))
    tables = [
        *_from_store(alone, PLACE[1:], config.site),
        *_from_store(mended, MENDED, config.site),
    ]
    kept = pl.concat([alone, mended])
    unread = rows.join(kept, on=PLACE, how="anti", maintain_order="left")
    contents = dict(connection.sql(_CONTENTS).fetchall())
    for (file,), part in unread.group_by("file", maintain_order=True):
        tables += _from_file(str(file), contents.get(str(file), ""), part, config)
    mends = mended.select(*PLACE, pl.lit("mended").alias("how"), *MENDED)
    return Waiting(tables, kept.select(*PLACE, "cells"), mends)


def _from_store(rows: pl.DataFrame, place: Sequence[str], site: Site) -> list[RawTable]:
    """Rows from their cells, at the place that they are to be known by."""
    file, sheet, row_number = place
    return [
        RawTable(
            str(table),
            str(of_file),
            str(of_sheet),
            _cells_again(part, str(table), site).with_columns(
                part[row_number].cast(pl.Int32).alias("row_number")
            ),
            said_in=said_in,
        )
        for (table, of_file, of_sheet, said_in), part in rows.group_by(
            "table_name", file, sheet, "said_in", maintain_order=True
        )
    ]


def cells_of(texts: pl.Series, table: str, site: Site) -> pl.DataFrame:
    """Cells kept as JSON objects, as text columns under the contract's names where known.

    A heading that the site has taught since stands for its column now; where that is filled too,
    what stood under the heading is kept beside it.
    """
    rows = [json.loads(text) for text in texts]
    headings = dict.fromkeys(heading for row in rows for heading in row)
    frame = pl.DataFrame(rows, schema=dict.fromkeys(headings, pl.String))
    known = known_headings(TABLES[table], site)
    for heading in headings:
        name = known.get(fold(heading), heading)
        if name == heading:
            continue
        if name not in frame.columns:
            frame = frame.rename({heading: name})
            continue
        beside = pl.when(pl.col(name).is_not_null()).then(pl.col(heading))
        frame = frame.with_columns(
            pl.coalesce(name, heading).alias(name), beside.alias(f"{heading} (as well)")
        ).drop(heading)
    return frame


def _cells_again(rows: pl.DataFrame, table: str, site: Site) -> pl.DataFrame:
    frame = cells_of(rows["cells"], table, site)
    if rows["mended_file"][0] is not None:
        # A mended sheet has every column: one without a cell is empty there, not missing.
        absent = [name for name in full_headings(table) if name not in frame.columns]
        frame = frame.with_columns(pl.lit(None, dtype=pl.String).alias(name) for name in absent)
    return frame


def full_headings(table: str) -> list[str]:
    """The headings of every sheet of rows to mend; those of wide values only where they are."""
    return [name for name in TABLES[table].headings if name not in TABLES[table].wide]


def _from_file(file: str, sha256: str, rows: pl.DataFrame, config: Config) -> list[RawTable]:
    path = config.paths.inbox / file
    try:
        if not path.is_file() or digest_of(path) != sha256:
            return []
        content = read_file(path, config.paths.inbox, config.site)
    except (OSError, ReadError):
        return []
    found = []
    for table in content.tables:
        mine = rows.filter(table_name=table.table, sheet=table.sheet)
        for (said_in,), part in mine.group_by("said_in", maintain_order=True):
            cells = table.cells.filter(pl.col("row_number").is_in(part["row_number"].implode()))
            found.append(replace(table, cells=cells, said_in=said_in))
    return found


def but_for(rows: pl.DataFrame, files: Collection[str], mends: pl.DataFrame) -> pl.DataFrame:
    """Rows that stand aside, without those of some files and those that are mended now."""
    mended = mends.filter(pl.col("how").is_in(["mended", "withdrawn"])).select(PLACE)
    return rows.filter(~pl.col("file").is_in(list(files))).join(
        mended, on=PLACE, how="anti", maintain_order="left"
    )
