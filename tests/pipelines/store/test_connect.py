"""A store is opened for a while, waited for, and changed whole or not at all."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import duckdb
import pytest

from pipelines.errors import StoreError
from pipelines.store.connect import holder_in, open_store, transaction

if TYPE_CHECKING:
    from pathlib import Path

HOLD = """
import sys, time
from pathlib import Path
from pipelines.store.connect import open_store
with open_store(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(float(sys.argv[2]))
"""


def hold(path: Path, seconds: float) -> subprocess.Popen[str]:
    """Start a process that holds the store, and return once it does."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path), str(seconds)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    return holder


@pytest.mark.parametrize("read_only", [False, True])
def test_a_held_store_is_given_up_after_the_timeout(path: Path, *, read_only: bool) -> None:
    """Who waits in vain is told which process holds the store."""
    with hold(path, 60) as holder:
        expected = f"store.duckdb is in use by process {holder.pid} "
        with (
            pytest.raises(StoreError, match=expected),
            open_store(path, read_only=read_only, timeout_seconds=0.3),
        ):
            pytest.fail("the store was opened twice")
        holder.kill()


def test_a_held_store_is_waited_for(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A store that is let go in time is opened; after two seconds it is said who has it."""
    with hold(path, 2.5) as holder, open_store(path) as connection:
        assert connection.sql("SELECT count(*) FROM intake.loads").fetchall() == [(0,)]
    said = capsys.readouterr().err
    assert said.startswith(f"waiting for process {holder.pid} (")
    assert said.endswith("), which has store.duckdb open\n")


def test_the_holder_is_told_from_what_windows_says() -> None:
    """There the message is in the language of the system, but for one line of DuckDB's."""
    message = (
        'IO Error: Cannot open file "c:\\brewery\\store.duckdb": Der Prozess kann nicht auf die '
        "Datei zugreifen.\r\n\nFile is already open in \nC:\\Program Files\\python.exe (PID 3528)"
    )
    assert holder_in(message) == "process 3528 (python.exe)"
    assert holder_in("IO Error: no space left on device") is None


def test_a_missing_store_is_not_read(tmp_path: Path) -> None:
    """Reading makes no store, and says what to do first."""
    with (
        pytest.raises(StoreError, match=r"There is no store .* Load the inbox first"),
        open_store(tmp_path / "none.duckdb", read_only=True),
    ):
        pytest.fail("there was nothing to open")
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_is_made(tmp_path: Path) -> None:
    """A store may lie in a folder that does not exist yet."""
    with open_store(tmp_path / "new" / "store.duckdb"):
        pass
    assert (tmp_path / "new" / "store.duckdb").exists()


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    """A file that is no database is left alone."""
    path = tmp_path / "notes.txt"
    path.write_text("not a database, but long enough to be looked at" * 100)
    with pytest.raises(StoreError, match="cannot be opened as a store"), open_store(path):
        pytest.fail("a text was opened as a store")
    assert path.read_text().startswith("not a database")


def test_reading_changes_nothing(path: Path) -> None:
    """A store opened to be read refuses a write."""
    with (
        open_store(path, read_only=True) as connection,
        pytest.raises(duckdb.InvalidInputException, match="read-only"),
    ):
        connection.execute("DELETE FROM intake.loads")


def test_a_transaction_that_fails_leaves_nothing(store: duckdb.DuckDBPyConnection) -> None:
    """Neither tables nor rows of a failed block stay."""
    statement = "CREATE TABLE intake.made AS SELECT 1 AS one; SELECT error('on purpose')"
    with pytest.raises(duckdb.InvalidInputException, match="on purpose"), transaction(store):
        store.execute(statement)
    assert store.sql("FROM duckdb_tables() WHERE table_name = 'made'").fetchall() == []
