"""The store's database: opened for a while, never kept, and changed in whole transactions.

DuckDB lets one process write, and nobody read beside it. A connection therefore lives inside a
`with`, and a store that another process holds is waited for, patiently: a person who looks at it
must not end the night.
"""

from __future__ import annotations

import re
import sys
import time
from contextlib import contextmanager, suppress
from pathlib import PureWindowsPath
from typing import TYPE_CHECKING

import duckdb

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

# As DuckDB puts it on Linux and on Windows.
_HOLDER = re.compile(r"(?:held|already open) in\s+(?P<program>.+?) \(PID (?P<process>\d+)\)")
_PAUSE_SECONDS = 0.1
_SAY_AFTER_SECONDS = 2.0


@contextmanager
def open_store(
    path: Path, *, read_only: bool = False, timeout_seconds: float = 600.0
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store and close it at the end of the block.

    Args:
        path: The database file; it is made when it is missing, its folder too.
        read_only: Change nothing; the file must exist.
        timeout_seconds: How long to wait for another process that holds the store; who that is
            is said on standard error after two seconds.

    Yields:
        A connection for this block only.

    Raises:
        StoreError: Another process held the store all the time (the message names it), there is
            no store to read, or the file is not one.
    """
    connection = _connect(path, read_only, timeout_seconds)
    try:
        yield connection
    finally:
        connection.close()


def need_store(path: Path) -> None:
    """Say what makes a store, where there is none.

    Raises:
        StoreError: There is no such file.
    """
    if not path.exists():
        message = f"there is no {path.name} yet: run stalecurve load first"
        raise StoreError(message)


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Keep all that the block does, or nothing of it.

    Raises:
        StoreError: The disk refused the writing, for want of room for instance.
    """
    connection.begin()
    try:
        yield
        connection.commit()
    except BaseException as error:
        with suppress(duckdb.Error):  # a commit that failed has ended the transaction already
            connection.rollback()
        if isinstance(error, duckdb.IOException) or "Failed to commit" in str(error):
            message = (
                f"The store could not be written, so nothing was changed: {_first_line(error)}"
            )
            raise StoreError(message) from error
        raise


def _connect(path: Path, read_only: bool, timeout_seconds: float) -> duckdb.DuckDBPyConnection:  # noqa: FBT001
    if read_only and not path.exists():
        message = f"There is no store at {path} yet. Load the inbox first."
        raise StoreError(message)
    path.parent.mkdir(parents=True, exist_ok=True)
    began, told = time.monotonic(), ""
    while True:
        try:
            return duckdb.connect(path, read_only=read_only)
        except duckdb.IOException as error:
            holder = holder_in(str(error))
            if holder is None:
                message = f"{path} cannot be opened as a store: {_first_line(error)}"
                raise StoreError(message) from error
            waited = time.monotonic() - began
            if waited >= timeout_seconds:
                message = (
                    f"{path.name} is in use by {holder}. Wait for it to end, or end it, "
                    "and try again."
                )
                raise StoreError(message) from error
            if waited >= _SAY_AFTER_SECONDS and holder != told:
                sys.stderr.write(f"waiting for {holder}, which has {path.name} open\n")
                sys.stderr.flush()
                told = holder
        time.sleep(_PAUSE_SECONDS)


def holder_in(message: str) -> str | None:
    """Say which process has the store open, where DuckDB's message is about that."""
    found = _HOLDER.search(message)
    # Windows' rules for paths know both kinds of slash.
    return found and f"process {found['process']} ({PureWindowsPath(found['program']).name})"


def _first_line(error: BaseException) -> str:
    return str(error).partition("\n")[0]
