"""Say every fault of some files, and store nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.errors import ReadError
from pipelines.flows.faults import fault_lines, place
from pipelines.readers.check import Known, check_tables
from pipelines.readers.contract import TABLES
from pipelines.readers.files import read_file
from pipelines.store.connect import open_store
from pipelines.store.intake import known_days, known_identifiers

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from pipelines.config import Config
    from pipelines.readers.files import RawTable


def check_files(files: Sequence[Path], config: Config, say: Callable[[str], None]) -> bool:
    """Read and check files wherever they lie.

    What a row refers to is looked for in the files themselves and in the store. Where there is no
    store, a table that is not among the files cannot be looked into and is taken at the word of
    those that name it: a folder of one's own can be checked before anything is set up.

    Args:
        files: CSV files, workbooks or Parquet files.
        config: The configuration.
        say: Takes each line.

    Returns:
        Whether every file was read and no row has a fault.

    Raises:
        StoreError: The store is there and cannot be opened.
    """
    tables: list[RawTable] = []
    sound = True
    for path in files:
        try:
            content = read_file(path, path.parent, config.site)
        except ReadError as error:
            say(str(error))
            sound = False
            continue
        for mention in content.mentions:
            say(f"{place(mention.file, mention.sheet)}: {mention.text}")
        sound = sound and bool(content.tables)
        tables += content.tables
    checked = check_tables(tables, _known(tables, config, say), config.site)
    for mention in checked.mentions:
        say(f"{place(mention.file, mention.sheet)}: {mention.text}")
    for line in fault_lines(checked.set_aside):
        say(line)
    rows = sum(table.cells.height for table in tables)
    faulty = checked.set_aside.unique(["file", "sheet", "row_number"]).height
    say(f"{rows} rows read, {faulty or 'none'} with faults; nothing was stored")
    return sound and not faulty


def _known(tables: Sequence[RawTable], config: Config, say: Callable[[str], None]) -> Known:
    if config.paths.database.exists():
        with open_store(config.paths.database, read_only=True) as connection:
            return Known(**known_identifiers(connection), dated=known_days(connection))
    given = {table.table for table in tables} | {"meters"}
    named = _named(tables)
    missing = sorted(named.keys() - given)
    if missing:
        say(f"there is no store yet, so names of {', '.join(missing)} could not be looked up")
    assumed: dict[str, Any] = {name: frozenset(named[name]) for name in missing}
    return Known(**assumed)


def _named(tables: Sequence[RawTable]) -> dict[str, set[Any]]:
    """What the rows name, by the table they name it of; lots with their format, "" if not said."""
    named: dict[str, set[Any]] = {}
    for raw in tables:
        texts = raw.cells.columns
        for column in TABLES[raw.table].columns:
            if not column.refers or column.name not in texts:
                continue
            cells = raw.cells.filter(pl.col(column.name).is_not_null())
            if column.refers == "lots":
                filled = pl.col("format") if "format" in texts else pl.lit("")
                found = cells.select(pl.col(column.name), filled=filled.fill_null("")).rows()
            else:
                found = cells[column.name].to_list()
            named.setdefault(column.refers, set()).update(found)
    if "lots" in named:
        said = {lot for lot, filled in named["lots"] if filled}
        named["lots"] = {(lot, f) for lot, f in named["lots"] if f or lot not in said}
    return named
