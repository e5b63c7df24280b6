"""One writer at a time, and one schedule.

What locks is the operating system's lock on a file, which ends with its process: a killed command
never leaves a brewery locked out. Who holds it stands in a text beside it, because on Windows
nobody can read a file that another process has locked.
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from datetime import datetime
from time import monotonic
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

AN_HOUR = 3600.0
_LOOK_AGAIN_SECONDS = 1.0


@contextmanager
def writers_lock(database: Path, purpose: str, *, wait_seconds: float = AN_HOUR) -> Iterator[None]:
    """Hold the lock beside the database while one process writes; wait for another to end.

    Who is waited for is said on standard error, again whenever that changes. The process that
    holds it may take it once more: a command takes it before Prefect starts, its flow again.

    Args:
        database: The store.
        purpose: The work, as whoever waits shall read it: `load`.
        wait_seconds: How long to wait.

    Raises:
        StoreError: Others held it all that time, or the folder cannot be written.
    """
    place = database.with_name(f"{database.name}.lock")
    deadline = monotonic() + wait_seconds
    told = None
    while True:
        pause = max(0.0, min(_LOOK_AGAIN_SECONDS, deadline - monotonic()))
        lock = acquired(place, f"stalecurve {purpose}", pause if told else pause / 10)
        if lock is not None:
            break
        holder = holder_of(place)
        if monotonic() >= deadline:
            message = f"{holder} is still at work on {database.name}: try again when it has ended"
            raise StoreError(message)
        if holder != told:
            sys.stderr.write(f"waiting for {holder}\n")
            sys.stderr.flush()
            told = holder
    try:
        yield
    finally:
        lock.release()


def acquired(place: Path, holder: str, wait_seconds: float = 0.0) -> FileLock | None:
    """Take the lock of a file and leave word of it; None when another process holds it.

    It is let go by `release`, or with the process.

    Raises:
        StoreError: The folder cannot be written.
    """
    # One object a path: what counts is the process, in whichever thread or function it asks.
    lock = FileLock(place, thread_local=False, is_singleton=True)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=wait_seconds)
        if lock.lock_counter == 1:
            leave_word(place, holder)
    except Timeout:
        return None
    except OSError as error:
        lock.release(force=True)
        message = f"{place.parent} cannot be written: {error.strerror}"
        raise StoreError(message) from error
    return lock


def leave_word(place: Path, holder: str) -> None:
    """Write who holds the lock of a file, for those who wait."""
    since = datetime.now().astimezone()
    text = f"{holder} (process {os.getpid()}), since {since:%H:%M}\n"
    _beside(place).write_text(text, encoding="utf-8")


def holder_of(place: Path) -> str:
    """Say who holds the lock of a file: `stalecurve run (process 123), since 04:00`."""
    try:
        return _beside(place).read_text(encoding="utf-8").strip() or "another process"
    except OSError:
        return "another process"


def _beside(place: Path) -> Path:
    return place.with_name(f"{place.name}.txt")
