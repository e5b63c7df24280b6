"""One CSV a table of the rows that stand aside now, for a person to mend and drop into the inbox.

A file that a person has changed, and not yet dropped in, is theirs: what stands aside now is then
written beside it under another name.
"""

from __future__ import annotations

from hashlib import sha256
from itertools import count
from typing import TYPE_CHECKING

import polars as pl

from pipelines.flows.inbox import digest_of
from pipelines.flows.mending import guarded, listed
from pipelines.flows.progress import from_here
from pipelines.flows.waiting import cells_of, full_headings
from pipelines.readers.contract import TABLES
from pipelines.store.set_aside import outstanding
from pipelines.store.written import ours, record_written

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    import duckdb

    from pipelines.config import Config
    from pipelines.readers.site import Site

_MARK = b"\xef\xbb\xbf"  # tells a spreadsheet that the text is UTF-8


def write_set_aside(
    connection: duckdb.DuckDBPyConnection, config: Config, say: Callable[[str], None]
) -> None:
    """Write what stands aside now, and take away what does no longer.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration; its folder of rows set aside is made when there are any.
        say: Takes each line; a folder that cannot be written is said, and no failure.
    """
    rows = outstanding(connection)
    folder = config.paths.set_aside
    written = []
    for table in TABLES:
        of_table = rows.filter(table_name=table)
        text = _csv(of_table, table, config.site) if of_table.height else None
        try:
            path = _write(connection, folder, table, text, say)
        except OSError as error:
            file = f"{folder.name}/{table}.csv"
            say(f"{file} cannot be written ({error.strerror}): close it, or make room for it there")
            continue
        if path:
            written.append(path.name)
    if written:
        say(f"to mend them: {from_here(folder)} ({', '.join(written)})")


def _csv(rows: pl.DataFrame, table: str, site: Site) -> bytes:
    """The rows in the table's own columns, their place and the reason, as a spreadsheet's CSV."""
    cells = cells_of(rows["cells"], table, site)
    contract = [
        name
        for name in TABLES[table].headings
        if name in cells.columns or name in full_headings(table)
    ]
    own = [name for name in cells.columns if name not in contract]
    absent = [name for name in contract if name not in cells.columns]
    frame = (
        cells.with_columns(pl.lit(None, dtype=pl.String).alias(name) for name in absent)
        .select(*contract, *own)
        .rename(listed(own))
        .with_columns(rows["file"], rows["sheet"], rows["row_number"].alias("row"), rows["reason"])
        .with_columns(guarded(pl.col(pl.String)))
    )
    return _MARK + frame.write_csv().encode()


def _write(
    connection: duckdb.DuckDBPyConnection,
    folder: Path,
    table: str,
    text: bytes | None,
    say: Callable[[str], None],
) -> Path | None:
    """Write a table's file under the first name that is not a person's, and drop older ones."""
    known = ours(connection)
    chosen = None
    for path in _names(folder, table):
        there = path.exists()
        if there and digest_of(path) not in known:
            say(f"{folder.name}/{path.name} was changed and is not in the inbox: left as it is")
            continue
        if chosen is None and text is not None:
            chosen = path
            if not there or path.read_bytes() != text:
                # Noted first: killed in between, the next load still knows its own work.
                record_written(connection, path.name, sha256(text).hexdigest())
                _replace(path, text)
        elif there:
            path.unlink()
        else:
            break
    return chosen


def _names(folder: Path, table: str) -> Iterator[Path]:
    yield folder / f"{table}.csv"
    yield folder / f"{table} (newer).csv"
    for number in count(2):
        yield folder / f"{table} (newer {number}).csv"


def _replace(path: Path, text: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(f".{path.name}.part")
    half.write_bytes(text)
    half.replace(path)
