"""One writer at a time."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from pipelines.errors import StoreError
from pipelines.flows.lock import writers_lock

if TYPE_CHECKING:
    from pathlib import Path

HOLD = """
import sys
from pathlib import Path
from pipelines.flows.lock import writers_lock
with writers_lock(Path(sys.argv[1]), "run"):
    print("held", flush=True)
    sys.stdin.readline()
"""


def test_a_second_writer_is_told_who_is_at_work(tmp_path: Path) -> None:
    """The message names the command and its process, and the lock is free when that has ended."""
    database = tmp_path / "stalecurve.duckdb"
    command = [sys.executable, "-c", HOLD, str(database)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        said = rf"stalecurve run \(process {holder.pid}\) is at work on stalecurve.duckdb"
        with pytest.raises(StoreError, match=said), writers_lock(database, "load"):
            pass
        holder.communicate("\n")
    with writers_lock(database, "load"):
        held = database.with_name("stalecurve.duckdb.lock").read_text(encoding="utf-8")
        assert held == f"stalecurve load (process {os.getpid()})\n"


def test_a_killed_writer_locks_nobody_out(tmp_path: Path) -> None:
    """The lock ends with its process, whatever the lock file still says."""
    database = tmp_path / "stalecurve.duckdb"
    command = [sys.executable, "-c", HOLD, str(database)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        holder.kill()
    with writers_lock(database, "load"):
        pass


def test_the_lock_is_free_after_a_failure(tmp_path: Path) -> None:
    """An error inside the block frees it too."""
    database = tmp_path / "kept" / "stalecurve.duckdb"
    with pytest.raises(ZeroDivisionError), writers_lock(database, "fit"):
        raise ZeroDivisionError
    with writers_lock(database, "fit"):
        pass
