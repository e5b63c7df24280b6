"""Several commands at once on one brewery."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pipelines.store.connect import open_store

if TYPE_CHECKING:
    import polars as pl

COMMAND = Path(sys.executable).with_name("stalecurve")

READ = """
import sys
from pathlib import Path
from pipelines.store.connect import open_store
with open_store(Path(sys.argv[1]), read_only=True):
    print("reading", flush=True)
    sys.stdin.readline()
"""


def make_brewery(folder: Path) -> Path:
    """Make a folder with a configuration and three beers in the inbox."""
    (folder / "inbox").mkdir(parents=True)
    (folder / "stalecurve.toml").write_text('[brewery]\nname = "Quillmoor"\n', encoding="utf-8")
    beers = "beer,style,abv_pct\nFen Pale,pale ale,5\nFen Dark,stout,6\nFen Light,pale ale,4\n"
    (folder / "inbox" / "beers.csv").write_text(beers, encoding="utf-8")
    return folder


def load(folder: Path) -> subprocess.Popen[str]:
    """Start taking the inbox in."""
    return subprocess.Popen(
        [str(COMMAND), "load"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def end_of(command: subprocess.Popen[str]) -> tuple[str, str, int]:
    """Wait for a command and give what it said, its complaints and its exit code."""
    with command:
        said, complaints = command.communicate()
    return said, complaints, command.returncode


def stored(folder: Path) -> list[pl.DataFrame]:
    """Give what a store holds of its files, without the hours at which they came."""
    with open_store(folder / "stalecurve.duckdb", read_only=True) as connection:
        return [
            connection.sql("SELECT * FROM history.beers ORDER BY ALL").pl(),
            connection.sql("SELECT * FROM intake.files ORDER BY ALL").pl(),
            connection.sql("SELECT * FROM intake.row_counts ORDER BY ALL").pl(),
            connection.sql("SELECT load_id, code_version FROM intake.loads").pl(),
        ]


def test_three_loads_at_once_are_one_load(tmp_path: Path) -> None:
    """All succeed, one after another, and the store is that of a single one."""
    alone, crowded = make_brewery(tmp_path / "alone"), make_brewery(tmp_path / "crowded")
    loads = [load(crowded) for _ in range(3)]
    outcomes = [end_of(each) for each in loads]
    assert [code for _, _, code in outcomes] == [0, 0, 0]
    firsts = sorted(said.splitlines()[0] for said, _, _ in outcomes)
    assert firsts == ["beers.csv: beers, 3 new", *["no new file in the inbox: nothing changed"] * 2]
    assert end_of(load(alone))[2] == 0
    for one, other in zip(stored(alone), stored(crowded), strict=True):
        assert one.equals(other)


def test_a_reader_does_not_end_a_load(tmp_path: Path) -> None:
    """The load waits until whoever looks at the store has looked, and says whom it waits for."""
    brewery = make_brewery(tmp_path / "brewery")
    assert end_of(load(brewery))[2] == 0
    more = brewery / "inbox" / "beers-new.csv"
    more.write_text("beer,style,abv_pct\nFen Red,red ale,5\n", encoding="utf-8")
    command = [sys.executable, "-c", READ, str(brewery / "stalecurve.duckdb")]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as reader:
        assert reader.stdout is not None
        assert reader.stdout.readline() == "reading\n"
        loading = load(brewery)
        assert loading.stderr is not None
        told = next(line for line in loading.stderr if not line.startswith("still "))
        reader.communicate("\n")
    assert told.startswith(f"waiting for process {reader.pid} (")
    said, _, code = end_of(loading)
    assert code == 0
    assert "load 2: 1 new" in said


def test_a_clock_set_back_changes_no_order(tmp_path: Path) -> None:
    """A load is the newest by its number, whatever day the machine took the last one for."""
    brewery = make_brewery(tmp_path / "brewery")
    assert end_of(load(brewery))[2] == 0
    with open_store(brewery / "stalecurve.duckdb") as connection:
        ahead = "SET started_at = started_at + INTERVAL 1 YEAR, finished_at = finished_at + "
        connection.execute(f"UPDATE intake.loads {ahead} INTERVAL 1 YEAR")
    beers = "beer,style,abv_pct\nFen Pale,pale ale,4.8\n"
    (brewery / "inbox" / "beers-new.csv").write_text(beers, encoding="utf-8")
    assert "load 2: 1 corrected" in end_of(load(brewery))[0]
    with open_store(brewery / "stalecurve.duckdb", read_only=True) as connection:
        held = "SELECT abv_pct FROM core.beers WHERE beer = 'Fen Pale'"
        assert connection.sql(held).fetchall() == [(4.8,)]
