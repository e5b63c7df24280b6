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
from pipelines.readers.files import RawTable, read_file
from pipelines.readers.headings import known_headings, place_headings
from pipelines.readers.names import fold

if TYPE_CHECKING:
    from collections.abc import Collection

    import duckdb

    from pipelines.config import Config
    from pipelines.readers.site import Site

PLACE = ("table_name", "file", "sheet", "row_number")
MENDED = ("mended_file", "mended_sheet", "mended_row")
_CONTENTS = """
    SELECT file, arg_max(sha256, load_id) FROM intake.files
    WHERE outcome = 'loaded' AND (file, load_id) NOT IN (SELECT file, said_in FROM intake.forgotten)
    GROUP BY file
"""


@dataclass(frozen=True)
class Waiting:
    """Rows that had to wait.

    Attributes:
        tables: The rows as text at the places where they stand aside, each table with the load
            that read them.
        kept: Those that come from the store: their place, `said_in`, `cells` as the store has
            them, and `mended_file`, `mended_sheet`, `mended_row` where they are mended rows.
    """

    tables: list[RawTable]
    kept: pl.DataFrame

    @property
    def mends(self) -> pl.DataFrame:
        """The mended rows among them, as `Load.mends` has it."""
        mended = self.kept.filter(pl.col("mended_file").is_not_null())
        return mended.select(*PLACE, pl.lit("waited").alias("how"), *MENDED)

    def as_kept(self, faults: pl.DataFrame) -> pl.DataFrame:
        """Faults with their cells as the store has them, so that the same fault stays the same."""
        held = self.kept.rename({name: f"kept_{name}" for name in ("cells", *MENDED)})
        return faults.join(held, on=[*PLACE, "said_in"], how="left", maintain_order="left").select(
            pl.coalesce(f"kept_{name}", name).alias(name)
            if name in {"cells", *MENDED}
            else pl.col(name)
            for name in faults.columns
        )

    def as_mended(self, table: str, rows: pl.DataFrame) -> pl.DataFrame:
        """Good rows of a table, the mended ones at the places that they were read from."""
        mended = self.kept.filter(pl.col("mended_file").is_not_null(), table_name=table)
        if mended.is_empty():
            return rows
        at = [*PLACE[1:], "said_in"]
        return (
            rows.join(mended.select(*at, *MENDED), on=at, how="left", maintain_order="left")
            .with_columns(
                pl.coalesce(name, own).alias(own)
                for name, own in zip(MENDED, PLACE[1:], strict=True)
            )
            .select(rows.columns)
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
    kept = rows.filter((pl.col("kind") != "value") | pl.col("mended_file").is_not_null())
    parts = kept.with_columns(mended=pl.col("mended_file").is_not_null()).partition_by(
        *PLACE[:3], "said_in", "mended"
    )
    tables = [
        RawTable(
            part["table_name"][0],
            part["file"][0],
            part["sheet"][0],
            _cells_again(part, part["table_name"][0], config.site),
            said_in=part["said_in"][0],
        )
        for part in parts
    ]
    unread = rows.join(kept, on=PLACE, how="anti", maintain_order="left")
    contents = dict(connection.sql(_CONTENTS).fetchall())
    for (file,), part in unread.group_by("file", maintain_order=True):
        tables += _from_file(str(file), contents.get(str(file), ""), part, config)
    return Waiting(tables, kept.select(*PLACE, "said_in", "cells", *MENDED))


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
    return frame.with_columns(rows["row_number"].cast(pl.Int32))


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
        if place_headings(table.cells.columns):
            continue  # rows to mend, put where the file lay: they have other numbers
        mine = rows.filter(table_name=table.table, sheet=table.sheet)
        for (said_in,), part in mine.group_by("said_in", maintain_order=True):
            cells = table.cells.filter(pl.col("row_number").is_in(part["row_number"].implode()))
            found.append(replace(table, cells=cells, said_in=said_in))
    return found


def but_for(rows: pl.DataFrame, files: Collection[str], mends: pl.DataFrame) -> pl.DataFrame:
    """Rows that stand aside, without those of some files and those that are mended now."""
    mended = mends.filter(pl.col("how").is_in(["mended", "withdrawn"])).select(PLACE)
    anew = pl.col("file").is_in(list(files)) & pl.col("mended_file").is_null()
    return rows.filter(~anew).join(mended, on=PLACE, how="anti", maintain_order="left")
