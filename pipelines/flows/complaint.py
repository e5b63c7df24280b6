"""Answer a complaint: newest files first, what is known of its lot, a page, a PDF, and a record."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from dashboards import complaint_words
from dashboards.complaint_sheet import html_of
from dashboards.record_sheet import load_pdf
from pipelines.errors import StoreError
from pipelines.flows.complaint_files import write_answer
from pipelines.flows.ingest import ingest
from pipelines.flows.lock import writers_lock
from pipelines.readers.names import did_you_mean
from pipelines.store.answers import allow_notes, record_answer
from pipelines.store.connect import open_store
from pipelines.store.fetch import fetch
from pipelines.store.insert import next_number
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import duckdb

    from pipelines.config import Config
    from pipelines.flows.complaint_asked import Asked
    from pipelines.flows.complaint_work import Work

Cells = dict[str, Any]

PATIENCE_SECONDS = 20.0
"""How long somebody with a customer on the telephone waits for a night at work."""


def answer_complaint(
    asked: Asked | str,
    config: Config,
    work: Work,
    say: Callable[[str], None],
    remark: Callable[[str], None],
) -> tuple[Path, ...]:
    """Take the newest files in and answer a complaint.

    The answer is recorded: a newer one to the same complaint takes its place and overwrites
    nothing. While another command is at work on the store, its work is waited for a moment only:
    the answer then rests on what was taken in before, and is neither recorded nor written.

    Args:
        asked: The complaint as it was typed in, or its name in the table complaints.
        config: The configuration.
        work: Works it out: `complaint_work.beside` or `at_hand`.
        say: Takes each line of the answer.
        remark: Takes what happened on the way.

    Returns:
        The page, then the files beside the database: JSON, HTML, and PDF where it can be made.

    Raises:
        StoreError: There is no such complaint, lot format or beer, or files cannot be written.
        ReadError: There is no inbox.
    """
    database = config.paths.database
    try:
        with writers_lock(database, "complaint", wait_seconds=PATIENCE_SECONDS):
            ingest(config, remark)
    except StoreError as error:
        if not database.exists():
            raise
        remark(
            f"{error}. The inbox is not read: this rests on what was taken in before, and is "
            "not recorded. Ask again later."
        )
        _say(_gathered(asked, config, work)[0], say)
        return ()
    with writers_lock(database, "complaint"):
        record, at = _gathered(asked, config, work)
        _say(record, say)
        sheet = html_of(record)
        with open_store(database) as connection:
            record_answer(connection, _row(record, sheet, at))
            allow_notes(connection, shown=config.complaints.show_notes)
    return write_answer(record, sheet, config, say)


def _gathered(asked: Asked | str, config: Config, work: Work) -> tuple[Cells, datetime]:
    """Return the record of an answer, and when it is given."""
    at = datetime.now(ZoneInfo(config.brewery.timezone)).replace(tzinfo=None, microsecond=0)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        number = next_number(connection, "answers", "answer_id")
        if not isinstance(asked, str):
            _check_names(asked, connection)
    wait = work(asked, number, at, config)
    load_pdf()
    return wait(), at


def _say(record: Cells, say: Callable[[str], None]) -> None:
    for line in complaint_words.answer(record):
        say(line.replace("\N{NO-BREAK SPACE}", " "))


def _check_names(asked: Asked, connection: duckdb.DuckDBPyConnection) -> None:
    """Refuse a beer or format that there is not; a lot need not be ours.

    Raises:
        StoreError: The message gives the nearest.
    """
    for table, name in (("beer", asked.beer), ("format", asked.format)):
        known = fetch(connection, f"{table}s")[table].to_list()
        if name is not None and name not in known:
            message = f"there is no {table} {name}{did_you_mean(name, known)}"
            raise StoreError(message)


def _row(record: Cells, sheet: str, at: datetime) -> pl.DataFrame:
    """Return a record as a row of `records.answers`."""
    asked, known = record["asked"], record.get("known")
    row = {
        "answer_id": record["answer"],
        "answered_at": at,
        "name": record["name"],
        "complaint": asked["complaint"],
        "received_on": datetime.fromisoformat(asked["received_on"]).date(),
        "category": ";".join(asked["categories"]),
        "lot": asked["lot"],
        "format": asked["format"] or (known["lot"]["format"] if known and asked["lot"] else None),
        "safety": record["safety"],
        "decided": record.get("decided"),
        "answer": complaint_words.first_sentence(record),
        "shows_note": asked["note"] is not None,
        "run_id": record["run"],
        "load_id": record["newest_load"],
        "code_version": record["code_version"],
        "record": json.dumps(record, ensure_ascii=False, indent=2) + "\n",
        "sheet": sheet,
    }
    return pl.DataFrame([row], infer_schema_length=None)
