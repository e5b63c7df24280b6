"""One writer at a time."""

from __future__ import annotations

import fcntl
import os
from contextlib import contextmanager
from typing import TYPE_CHECKING

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def writers_lock(database: Path, purpose: str) -> Iterator[None]:
    """Hold the lock file beside the database while one command writes.

    The file says who holds it: process id and purpose. What locks is the operating system's lock
    on it, which ends with its process, so a killed command never leaves a brewery locked out.

    Raises:
        StoreError: Another command holds the lock, or the folder cannot be written.
    """
    place = database.with_name(f"{database.name}.lock")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle = place.open("a+", encoding="utf-8")
    except OSError as error:
        message = f"{place.parent} cannot be written: {error.strerror}"
        raise StoreError(message) from error
    with handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            handle.seek(0)
            holder = handle.read().strip() or "another command"
            message = f"{holder} is at work on {database.name}: try again when it has ended"
            raise StoreError(message) from None
        handle.truncate(0)
        handle.write(f"stalecurve {purpose} (process {os.getpid()})\n")
        handle.flush()
        yield
        handle.truncate(0)
