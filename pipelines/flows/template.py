"""Workbooks for a person to fill in: all tables, or one tasting session."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import duckdb

from pipelines.errors import ReadError
from pipelines.readers.contract import TABLES
from pipelines.readers.template import Form, write_forms, write_template
from pipelines.store.catalog import comments_of
from pipelines.store.connect import open_store
from pipelines.store.migrate import migrate
from pipelines.store.waiting import waiting_glasses

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

_REMARK = "fill in verdicts; delete the rows of glasses that nobody tasted"


def make_template(config: Config, to: Path, say: Callable[[str], None]) -> None:
    """Write a workbook with a sheet for each table.

    Raises:
        ReadError: There is such a file already, or it cannot be written.
    """
    book = BytesIO()
    write_template(book, config.site, column_notes())
    put(book, to)
    say(f"{to}: {len(TABLES)} tables to fill in; save it in {config.paths.inbox} then")


def make_session(config: Config, to: Path, say: Callable[[str], None]) -> None:
    """Write a workbook for one tasting session, a row for each glass that waits where it is known.

    Raises:
        ReadError: There is such a file already, or it cannot be written.
        StoreError: The store cannot be read.
    """
    today = datetime.now(ZoneInfo(config.brewery.timezone)).date()
    glasses = []
    if config.paths.database.exists():
        with open_store(config.paths.database, read_only=True) as connection:
            glasses = waiting_glasses(connection, today)
    rows = [
        {"session": f"{today}", "tasted_on": today, "assessor": assessor, "sample": sample}
        for assessor, sample in glasses
    ]
    book = BytesIO()
    form = Form(TABLES["tastings"], {"session": _REMARK}, rows)
    write_forms(book, [form], config.site, column_notes())
    put(book, to)
    if rows:
        say(f"{to}: {len(rows)} glasses to taste; save it in {config.paths.inbox} then")
    else:
        say(f"{to}: no glass is known to wait for a taster, so its rows are empty")


def column_notes() -> dict[tuple[str, str], str]:
    """Give what each column holds, as the store says of its own, by table and column."""
    with duckdb.connect() as connection:
        migrate(connection)
        return comments_of(connection, "history")


def put(book: BytesIO, to: Path) -> None:
    """Write a workbook where nothing is yet.

    Raises:
        ReadError: There is such a file already, or it cannot be written.
    """
    if to.suffix.lower() != ".xlsx":
        message = f"{to} is no name of a workbook: let it end in .xlsx"
        raise ReadError(message)
    try:
        with to.open("xb") as file:
            file.write(book.getvalue())
    except FileExistsError:
        message = f"{to} is there already and was left as it is: name another file with --to"
        raise ReadError(message) from None
    except OSError as error:
        message = f"{to} cannot be written: {error.strerror}"
        raise ReadError(message) from error
