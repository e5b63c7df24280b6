"""One writer at a time."""

from __future__ import annotations

import subprocess
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

from pipelines.errors import StoreError
from pipelines.flows.lock import acquired, holder_of, writers_lock

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

HOLD = """
import sys
from pathlib import Path
from pipelines.flows.lock import writers_lock
with writers_lock(Path(sys.argv[1]), "run"):
    print("held", flush=True)
    sys.stdin.readline()
"""


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """Where a store would be, in a folder that is not there yet."""
    return tmp_path / "kept" / "stalecurve.duckdb"


@contextmanager
def held(database: Path) -> Iterator[subprocess.Popen[str]]:
    """Have another process hold the lock; a line on its standard input ends it."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(database)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        yield holder
        holder.kill()


def test_a_second_writer_waits_and_says_for_whom(
    database: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is said at once, once, and the work goes on when the first has ended."""
    with held(database) as holder:
        # After two seconds of waiting: the second line would be there if there were one.
        waker = subprocess.Popen(
            [sys.executable, "-c", "import time; time.sleep(2); print()"], stdout=holder.stdin
        )
        with writers_lock(database, "load"):
            assert waker.wait() == 0
    said = capsys.readouterr().err
    assert said.startswith(f"waiting for stalecurve run (process {holder.pid}), since ")
    assert said.count("\n") == 1


def test_a_writer_who_waited_in_vain_is_told_who_is_at_work(database: Path) -> None:
    """After the time it was given; the store is named too."""
    with held(database) as holder:
        said = rf"stalecurve run \(process {holder.pid}\), since .* at work on stalecurve.duckdb"
        with (
            pytest.raises(StoreError, match=said),
            writers_lock(database, "load", wait_seconds=0.3),
        ):
            pytest.fail("there were two writers")


def test_the_lock_can_be_taken_again_by_its_own_process(database: Path) -> None:
    """A command holds it before its flow does, and it is free when the command ends, not before."""
    place = database.with_name("stalecurve.duckdb.lock")
    with writers_lock(database, "run"):
        with writers_lock(database, "nightly run"):
            assert holder_of(place).startswith("stalecurve run (process ")
        probe = "import sys; from pathlib import Path; from pipelines.flows.lock import acquired\n"
        probe += "print(acquired(Path(sys.argv[1]), 'probe'))"
        command = [sys.executable, "-c", probe, str(place)]
        other = subprocess.run(command, capture_output=True, text=True, check=True)
        assert other.stdout == "None\n"
    free = acquired(place, "stalecurve load")
    assert free is not None
    free.release()


def test_a_killed_writer_locks_nobody_out(
    database: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The lock ends with its process, whatever the text beside it still says."""
    with held(database) as holder:
        holder.kill()
        holder.wait()
        with writers_lock(database, "load"):
            pass
    assert capsys.readouterr().err == ""


def test_the_lock_is_free_after_a_failure(database: Path) -> None:
    """An error inside the block frees it too."""
    with pytest.raises(ZeroDivisionError), writers_lock(database, "fit"):
        raise ZeroDivisionError
    with writers_lock(database, "fit"):
        pass
