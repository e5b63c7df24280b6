"""Take new files of the inbox in.

A file is known by its content: what was loaded once is not read again, wherever it lies. Rows that
were set aside come up again with every load, for the lot that they wait for, or the site's own
word that explains them, may have come. A file that would change much waits for a person's word.
A load that would change nothing is not recorded.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import polars as pl

from pipelines.flows.changes import before_and_after, reasons
from pipelines.flows.faults import SHOWN, fault_lines, place
from pipelines.flows.inbox import ALL, Inbox, look_through, named_files
from pipelines.flows.mending import in_place, take_mends
from pipelines.flows.set_aside import write_set_aside
from pipelines.flows.version import code_version
from pipelines.flows.waiting import PLACE, but_for, rows_that_wait
from pipelines.readers.check import Checked, Known, check_tables
from pipelines.readers.files import Mention, inbox_files
from pipelines.store.changes import UnconfirmedError
from pipelines.store.connect import open_store
from pipelines.store.intake import (
    Load,
    LoadSummary,
    known_days,
    known_identifiers,
    record_load,
)
from pipelines.store.migrate import migrate
from pipelines.store.set_aside import outstanding

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import duckdb

    from pipelines.config import Config

# Rows that stand aside, by file.
_OPEN = """
    SELECT file, count(DISTINCT (table_name, sheet, row_number)) AS rows
    FROM intake.set_aside WHERE settled_in IS NULL GROUP BY file
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


@dataclass(frozen=True)
class _Reading:
    """What the inbox says, held against the store."""

    inbox: Inbox
    checked: Checked
    faults: pl.DataFrame
    mends: pl.DataFrame

    @property
    def is_news(self) -> bool:
        return bool(self.inbox.news) or any(t.height for t in self.checked.tables.values())

    @property
    def mentions(self) -> list[Mention]:
        return [*self.inbox.mentions, *self.checked.mentions]


def ingest(
    config: Config, say: Callable[[str], None], confirm: Sequence[str] = ()
) -> IngestSummary:
    """Read every new file of the inbox, check it, and store its good rows in one transaction.

    Args:
        config: The configuration.
        say: Takes each line for the person who waits.
        confirm: Files of the inbox that may change any number of rows, or `all`.

    Returns:
        What became of the rows.

    Raises:
        ReadError: There is no inbox, or no file that `confirm` names.
        StoreError: The store is busy or cannot be written; nothing was stored then.
    """
    started_at = now(config)
    paths = inbox_files(config.paths.inbox)
    named = named_files(confirm, paths, config)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        found = look_through(paths, config, connection, named, say)
        files = [seen.file for seen in found.files]
        confirmed = files if ALL in confirm else named
        waits: dict[str, str] = {}
        while True:
            reading = _read(found.without(waits), config, connection)
            if not reading.is_news:
                summary = None
                break
            try:
                summary = _record(connection, reading, started_at, config, confirmed)
                break
            except UnconfirmedError as error:
                new = reasons(error)
                waits |= new
                for file, reason in new.items():
                    say(f"{file} waits for your word: {reason}")
                    for line in before_and_after(error, file):
                        say(line)
        anew = reading.inbox.taken_in
        if summary is None:
            say(
                "no new file in the inbox: nothing changed"
                if paths
                else f"the inbox {config.paths.inbox} is empty: put CSV, XLSX or Parquet files in"
            )
        else:
            _say_load(summary, reading, outstanding(connection), say)
        _say_older(connection, anew, say)
        write_set_aside(connection, config, say)
    if summary is None:
        return IngestSummary(load_id=None)
    counts = _totals(summary)
    return IngestSummary(
        load_id=summary.load_id,
        files=len(reading.inbox.news),
        **{name: count for name, count in counts.items() if name != "rows_read"},
    )


def now(config: Config) -> datetime:
    """The time at the brewery, without a zone."""
    return datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None)


def _read(inbox: Inbox, config: Config, connection: duckdb.DuckDBPyConnection) -> _Reading:
    mending = take_mends(inbox.tables, connection, config.site)
    aside = but_for(outstanding(connection), inbox.taken_in, mending.mends)
    waiting = rows_that_wait(aside, config, connection)
    known = Known(**known_identifiers(connection), dated=known_days(connection))
    checked = check_tables([*mending.tables, *waiting.tables], known, config.site)
    mends = pl.concat([mending.mends, waiting.mends])
    faults = waiting.as_kept(in_place(checked.set_aside, mending.mends))
    tables = {name: waiting.as_mended(name, rows) for name, rows in checked.tables.items()}
    return _Reading(inbox, replace(checked, tables=tables), faults, mends)


def _record(
    connection: duckdb.DuckDBPyConnection,
    reading: _Reading,
    started_at: datetime,
    config: Config,
    confirmed: Sequence[str],
) -> LoadSummary:
    rows = [{"file": m.file, "sheet": m.sheet, "mention": m.text} for m in reading.mentions]
    return record_load(
        connection,
        Load(
            started_at=started_at,
            finished_at=now(config),
            code_version=code_version(),
            files=reading.inbox.frame(),
            tables=reading.checked.tables,
            set_aside=reading.faults,
            mends=reading.mends,
            mentions=pl.DataFrame(rows, schema=_MENTIONS),
            confirmed=confirmed,
        ),
    )


def _say_load(
    summary: LoadSummary, reading: _Reading, aside: pl.DataFrame, say: Callable[[str], None]
) -> None:
    for row in summary.row_counts.iter_rows(named=True):
        say(f"{place(row['file'], row['sheet'])}: {row['table_name']}, {_counted(row)}")
    say(f"load {summary.load_id}: {_counted(_totals(summary))}")
    for mention in reading.mentions[:SHOWN]:
        say(f"{place(mention.file, mention.sheet)}: {mention.text}")
    if len(reading.mentions) > SHOWN:
        say(f"and {len(reading.mentions) - SHOWN} more remarks: see the data page")
    read_from = pl.coalesce("mended_file", "file")
    faults = reading.faults.filter(read_from.is_in(list(reading.inbox.taken_in)))
    faults = faults.join(aside, on=PLACE, how="semi", maintain_order="left")  # not those mended
    for line in fault_lines(faults, SHOWN):
        say(line)


def _totals(summary: LoadSummary) -> dict[str, int]:
    return summary.row_counts.select(pl.sum("^rows_.*$")).row(0, named=True)


def _counted(row: Mapping[str, int]) -> str:
    words = ("new", "corrected", "unchanged", "withdrawn", "set aside")
    counts = [(row[f"rows_{word.replace(' ', '_')}"], word) for word in words]
    return ", ".join(f"{count} {word}" for count, word in counts if count) or "no rows"


def _say_older(
    connection: duckdb.DuckDBPyConnection, anew: set[str], say: Callable[[str], None]
) -> None:
    older = sum(rows for file, rows in connection.sql(_OPEN).fetchall() if file not in anew)
    if older:
        say(f"rows of earlier files that still stand aside: {older}, see the data page")
