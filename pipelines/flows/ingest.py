"""Take new files of the inbox in.

A file is known by its content: what was loaded once is not read again, wherever it lies. Rows that
were set aside come up again with every load, for the lot that they wait for, or the site's own
word that explains them, may have come. A load that would change nothing is not recorded.
"""

from __future__ import annotations

import json
import time
from dataclasses import dataclass, field, replace
from datetime import datetime
from hashlib import file_digest
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl

from pipelines.errors import ReadError
from pipelines.flows.faults import SHOWN, fault_lines, place
from pipelines.flows.version import code_version
from pipelines.readers.check import Known, check_tables
from pipelines.readers.files import FileContent, Mention, RawTable, inbox_files, read_file
from pipelines.readers.grids import unopened
from pipelines.store.connect import open_store
from pipelines.store.intake import (
    Load,
    known_days,
    known_files,
    known_identifiers,
    outstanding,
    record_load,
)
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    import duckdb

    from pipelines.config import Config
    from pipelines.readers.site import Site

_TRIES = 3
_PAUSE_SECONDS = 0.5
_SETTLED_AFTER_SECONDS = 10.0

_FILES = {
    "file": pl.String,
    "sha256": pl.String,
    "size_bytes": pl.Int64,
    "outcome": pl.String,
    "reason": pl.String,
}
# Rows that stand aside, by file.
_OPEN = """
    SELECT file, count(DISTINCT (table_name, sheet, row_number)) AS rows
    FROM intake.set_aside WHERE settled_in IS NULL GROUP BY file
"""
# Rows that a person must mend, with the content of their file when it was last loaded.
_UNREAD = """
    SELECT s.table_name, s.file, s.sheet, s.row_number, arg_max(f.sha256, f.load_id) AS sha256
    FROM intake.set_aside AS s
    JOIN intake.files AS f ON f.file = s.file AND f.outcome = 'loaded'
    WHERE s.settled_in IS NULL
    GROUP BY s.table_name, s.file, s.sheet, s.row_number
    HAVING bool_and(s.kind IN ('value', 'missing'))
    ORDER BY s.file, s.table_name, s.sheet, s.row_number
"""
_MENTIONS = {"file": pl.String, "sheet": pl.String, "mention": pl.String}


@dataclass(frozen=True)
class IngestSummary:
    """What a load did.

    Attributes:
        load_id: Its number; None when there was nothing new and none was recorded.
        files: New files recorded, whatever became of them.
        rows_new: Rows that were not known before.
        rows_corrected: Rows that replace an older version.
        rows_unchanged: Rows that were known with the same values.
        rows_withdrawn: Rows that a void row took back.
        rows_set_aside: Rows with faults in the files of this load.
    """

    load_id: int | None
    files: int = 0
    rows_new: int = 0
    rows_corrected: int = 0
    rows_unchanged: int = 0
    rows_withdrawn: int = 0
    rows_set_aside: int = 0


@dataclass
class _Found:
    """What the inbox held that no load knew."""

    files: list[dict[str, object]] = field(default_factory=list)
    again: list[dict[str, object]] = field(default_factory=list)  # refused before, and still there
    tables: list[RawTable] = field(default_factory=list)
    mentions: list[Mention] = field(default_factory=list)

    def add(
        self,
        file: str,
        digest: str | None,
        size: int | None,
        outcome: str,
        reason: str | None,
        *,
        again: bool = False,
    ) -> None:
        row: dict[str, object] = dict(
            zip(_FILES, (file, digest, size, outcome, reason), strict=True)
        )
        (self.again if again else self.files).append(row)


def ingest(config: Config, say: Callable[[str], None]) -> IngestSummary:
    """Read every new file of the inbox, check it, and store its good rows in one transaction.

    Args:
        config: The configuration.
        say: Takes each line for the person who waits.

    Returns:
        What became of the rows.

    Raises:
        ReadError: There is no inbox.
        StoreError: The store is busy or cannot be written; nothing was stored then.
    """
    started_at = _now(config)
    paths = inbox_files(config.paths.inbox)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        found = _look_through(paths, config, connection, say)
        anew = {str(recorded["file"]) for recorded in found.files}
        waiting = _waiting(config, connection, anew)
        known = Known(**known_identifiers(connection), dated=known_days(connection))
        checked = check_tables([*found.tables, *waiting], known, config.site)
        if not found.files and not any(t.height for t in checked.tables.values()):
            say(
                "no new file in the inbox: nothing changed"
                if paths
                else f"the inbox {config.paths.inbox} is empty: put CSV, XLSX or Parquet files in"
            )
            _say_older(connection, anew, say)
            return IngestSummary(load_id=None)
        mentions = [*found.mentions, *checked.mentions]
        summary = record_load(
            connection,
            Load(
                started_at=started_at,
                finished_at=_now(config),
                code_version=code_version(),
                files=pl.DataFrame([*found.files, *found.again], schema=_FILES),
                tables=checked.tables,
                set_aside=checked.set_aside,
                mentions=_mentions_frame(mentions),
            ),
        )
        counts = summary.row_counts.select(pl.sum("^rows_.*$")).row(0, named=True)
        _say_rows(summary.row_counts, say)
        say(f"load {summary.load_id}: {_counted(counts)}")
        _say_mentions(mentions, say)
        for line in fault_lines(checked.set_aside.filter(pl.col("file").is_in(anew)), SHOWN):
            say(line)
        _say_older(connection, anew, say)
    return IngestSummary(
        load_id=summary.load_id,
        files=len(found.files),
        **{name: count for name, count in counts.items() if name != "rows_read"},
    )


def _now(config: Config) -> datetime:
    return datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None)


def _look_through(
    paths: Sequence[Path],
    config: Config,
    connection: duckdb.DuckDBPyConnection,
    say: Callable[[str], None],
) -> _Found:
    inbox = config.paths.inbox
    loaded = known_files(connection)
    newest = _newest_outcomes(connection)
    found = _Found()
    for path in paths:
        file = path.relative_to(inbox).as_posix()
        before, outcome = newest.get(file, ("", ""))
        try:
            digest, size = _digest(path), path.stat().st_size
        except OSError as error:
            reason = unopened(file, error)
            say(reason)
            again = (before, outcome) == ("", "not readable")
            found.add(file, None, None, "not readable", reason, again=again)
            continue
        if digest == before and outcome in {"loaded", "duplicate"}:
            continue
        if loaded.get(digest, file) != file:
            reason = f"duplicate of {loaded[digest]}"
            say(f"{file}: {reason}, not read again")
            found.add(file, digest, size, "duplicate", reason)
            continue
        content, reason = _read(path, inbox, config.site)
        if content.tables:
            loaded[digest] = file
            found.tables += content.tables
            found.mentions += content.mentions
            found.add(file, digest, size, "loaded", None)
            continue
        became = "not recognised" if content.mentions else "not readable"
        # Said every time, for the file lies there still; no load is recorded for it alone.
        say(f"{file}: {reason}" if content.mentions else reason)
        again = (before, outcome) == (digest, became)
        found.add(file, digest, size, became, reason, again=again)
    return found


def _newest_outcomes(connection: duckdb.DuckDBPyConnection) -> dict[str, tuple[str, str]]:
    rows = connection.sql(
        """
        SELECT file, arg_max(coalesce(sha256, ''), load_id), arg_max(outcome, load_id)
        FROM intake.files GROUP BY file
        """
    ).fetchall()
    return {file: (digest, outcome) for file, digest, outcome in rows}


def _digest(path: Path) -> str:
    with path.open("rb") as handle:
        return file_digest(handle, "sha256").hexdigest()


def _is_still(path: Path, digest: str) -> bool:
    try:
        return path.is_file() and _digest(path) == digest
    except OSError:
        return False


def _read(path: Path, inbox: Path, site: Site) -> tuple[FileContent, str]:
    """Read a file; where it has no tables, the text says why.

    A file that changed while it was read, or that was saved seconds ago and cannot be read, is
    being written: it gets a moment and another try.
    """
    for left in reversed(range(_TRIES)):
        before = path.stat()
        try:
            content = read_file(path, inbox, site)
            reason = "; ".join(mention.text for mention in content.mentions)
            fresh = False
        except ReadError as error:
            content = FileContent(path.relative_to(inbox).as_posix(), (), ())
            reason = str(error)
            fresh = time.time() - before.st_mtime < _SETTLED_AFTER_SECONDS
        after = path.stat()
        changed = (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns)
        if not left or not (fresh or changed):
            break
        time.sleep(_PAUSE_SECONDS)
    return content, reason


def _waiting(
    config: Config, connection: duckdb.DuckDBPyConnection, anew: set[str]
) -> list[RawTable]:
    """Rows set aside earlier, as tables of text; those of a file that came anew wait no more.

    A row that only misses a partner comes from the store. One with a cell that could not be read
    comes from its file, if that is still there as it was: the configuration may have learnt the
    heading or the word since.
    """
    rows = outstanding(connection).filter(~pl.col("file").is_in(anew))
    places = ("table_name", "file", "sheet")
    waiting = [
        _table_again(part, *map(str, key))
        for key, part in rows.group_by(places, maintain_order=True)
    ]
    unread = connection.sql(_UNREAD).pl().filter(~pl.col("file").is_in(anew))
    for (file,), part in unread.group_by("file", maintain_order=True):
        path = config.paths.inbox / str(file)
        if not _is_still(path, part["sha256"][0]):
            continue
        content, _ = _read(path, config.paths.inbox, config.site)
        for table in content.tables:
            at = part.filter(table_name=table.table, sheet=table.sheet)["row_number"]
            cells = table.cells.filter(pl.col("row_number").is_in(at.implode()))
            if cells.height:
                waiting.append(replace(table, cells=cells))
    return waiting


def _table_again(rows: pl.DataFrame, table: str, file: str, sheet: str) -> RawTable:
    cells = [json.loads(row) for row in rows["cells"]]
    headings = dict.fromkeys(heading for row in cells for heading in row)
    frame = pl.DataFrame(cells, schema=dict.fromkeys(headings, pl.String))
    return RawTable(table, file, sheet, frame.with_columns(rows["row_number"].cast(pl.Int32)))


def _mentions_frame(mentions: list[Mention]) -> pl.DataFrame:
    rows = [{"file": m.file, "sheet": m.sheet, "mention": m.text} for m in mentions]
    return pl.DataFrame(rows, schema=_MENTIONS)


def _say_rows(row_counts: pl.DataFrame, say: Callable[[str], None]) -> None:
    for row in row_counts.iter_rows(named=True):
        say(f"{place(row['file'], row['sheet'])}: {row['table_name']}, {_counted(row)}")


def _counted(row: Mapping[str, int]) -> str:
    words = ("new", "corrected", "unchanged", "withdrawn", "set aside")
    counts = [(row[f"rows_{word.replace(' ', '_')}"], word) for word in words]
    return ", ".join(f"{count} {word}" for count, word in counts if count) or "no rows"


def _say_mentions(mentions: list[Mention], say: Callable[[str], None]) -> None:
    for mention in mentions[:SHOWN]:
        say(f"{place(mention.file, mention.sheet)}: {mention.text}")
    if len(mentions) > SHOWN:
        say(f"and {len(mentions) - SHOWN} more remarks: see the data page")


def _say_older(
    connection: duckdb.DuckDBPyConnection, anew: set[str], say: Callable[[str], None]
) -> None:
    older = sum(rows for file, rows in connection.sql(_OPEN).fetchall() if file not in anew)
    if older:
        say(f"rows of earlier files that still stand aside: {older}, see the data page")
