"""A workbook for a person to fill in, with all tables."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import duckdb

from pipelines.errors import ReadError
from pipelines.readers.contract import TABLES
from pipelines.readers.template import write_template
from pipelines.store.catalog import comments_of
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from pipelines.config import Config


def make_template(config: Config, to: Path, say: Callable[[str], None]) -> None:
    """Write a workbook with a sheet for each table.

    Raises:
        ReadError: There is such a file already, or it cannot be written.
    """
    if to.suffix.lower() != ".xlsx":
        message = f"{to} is no name of a workbook: let it end in .xlsx"
        raise ReadError(message)
    book = BytesIO()
    write_template(book, config.site, column_notes())
    put_new({to: book.getvalue()})
    say(f"{to}: {len(TABLES)} tables to fill in; save it in {config.paths.inbox} then")


def column_notes() -> dict[tuple[str, str], str]:
    """Give what each column holds, as the store says of its own, by table and column."""
    with duckdb.connect() as connection:
        migrate(connection)
        return comments_of(connection, "history")


def put_new(files: Mapping[Path, bytes]) -> None:
    """Write files that are not there yet: all of them, or none where one is.

    Raises:
        ReadError: One is there already, or cannot be written.
    """
    for to in files:
        if to.exists():
            message = f"{to} is there already and was left as it is: name another with --to"
            raise ReadError(message)
    for to, content in files.items():
        try:
            with to.open("xb") as file:
                file.write(content)
        except OSError as error:
            message = f"{to} cannot be written: {error.strerror}"
            raise ReadError(message) from error
