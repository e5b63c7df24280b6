"""The command as a person starts it: exit codes, and what is said where."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pipelines.flows.lock import writers_lock

COMMAND = Path(sys.executable).with_name("stalecurve")

# In front of a command that shall have no more rights than a person: root passes all locks.
MAY_LESS = ["env"]
if os.geteuid() == 0:
    setpriv = shutil.which("setpriv")
    MAY_LESS = [setpriv, "--bounding-set=-dac_override,-dac_read_search"] if setpriv else []

IMPORTS = """
import sys
from pipelines.cli import main
sys.argv = ["stalecurve", *sys.argv[1:]]
try:
    main()
finally:
    sys.stderr.write(f"prefect imported: {'prefect' in sys.modules}")
"""


@pytest.fixture
def brewery(tmp_path: Path) -> Path:
    """A folder with a configuration, and an inbox with one beer."""
    (tmp_path / "stalecurve.toml").write_text('[brewery]\nname = "Quillmoor"\n', encoding="utf-8")
    (tmp_path / "inbox").mkdir()
    beers = "beer,style,abv_pct\nFen Pale,pale ale,5.0\n"
    (tmp_path / "inbox" / "beers.csv").write_text(beers, encoding="utf-8")
    return tmp_path


def stalecurve(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a folder."""
    command = [str(COMMAND), *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def complaint(done: subprocess.CompletedProcess[str]) -> str:
    """Give standard error without the progress of a slow machine."""
    lines = done.stderr.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith("still "))


@pytest.mark.parametrize(
    "arguments", [("load", "--confg", "x"), ("lode",), ("check",), ("load", "x"), ()]
)
def test_wrong_usage_exits_two(brewery: Path, arguments: tuple[str, ...]) -> None:
    """An unknown command or option, or a missing argument, shows how it is used."""
    done = stalecurve(brewery, *arguments)
    assert done.returncode == 2
    assert "Usage: stalecurve" in done.stdout + done.stderr


@pytest.mark.parametrize("command", ["run", "load", "fit", "publish"])
def test_without_a_configuration_a_command_exits_one(tmp_path: Path, command: str) -> None:
    """One plain message on standard error, and nothing else anywhere."""
    done = stalecurve(tmp_path, command)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "stalecurve: there is no configuration file stalecurve.toml: "
        "go to the brewery's folder, or name the file with --config\n"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["fit", "publish"])
def test_before_the_first_load_there_is_nothing_to_work_on(brewery: Path, command: str) -> None:
    """The message says what to do first."""
    done = stalecurve(brewery, command)
    assert done.returncode == 1
    assert complaint(done) == (
        "stalecurve: there is no stalecurve.duckdb yet: run stalecurve load first\n"
    )


def test_rows_set_aside_are_no_failure_of_load(brewery: Path) -> None:
    """They are said on standard output, a broken file too, and the exit code is 0."""
    (brewery / "inbox" / "beers-new.csv").write_text("beer,style\nFen Dark,stout\n", "utf-8")
    (brewery / "inbox" / "oxygen.xlsx").write_bytes(b"no workbook")
    done = stalecurve(brewery.parent, "load", "--config", str(brewery / "stalecurve.toml"))
    assert (done.returncode, complaint(done)) == (0, "")
    assert "beers.csv: beers, 1 new" in done.stdout
    assert "beers-new.csv, row 2, abv_pct: the column abv_pct is missing" in done.stdout
    assert "oxygen.xlsx cannot be read as a workbook" in done.stdout


def test_check_exits_one_on_faults_and_stores_nothing(brewery: Path) -> None:
    """A sound file is 0, a faulty one is 1, and no store is made."""
    faulty = brewery / "beers.csv"
    faulty.write_text("beer,style,abv_pct\nFen Dark,stout,strong\n", encoding="utf-8")
    done = stalecurve(brewery, "check", "beers.csv")
    assert (done.returncode, complaint(done)) == (1, "")
    assert "beers.csv, row 2, abv_pct: 'strong', not a number" in done.stdout
    assert stalecurve(brewery, "check", "inbox/beers.csv").returncode == 0
    assert not (brewery / "stalecurve.duckdb").exists()


def test_check_needs_no_configuration(tmp_path: Path) -> None:
    """Defaults do, unless a file was named that is not there."""
    (tmp_path / "beers.csv").write_text("beer,style,abv_pct\nFen Dark,stout,5\n", encoding="utf-8")
    assert stalecurve(tmp_path, "check", "beers.csv").returncode == 0
    done = stalecurve(tmp_path, "check", "beers.csv", "--config", "mine.toml")
    assert done.returncode == 1
    assert "there is no configuration file mine.toml" in done.stderr


@pytest.mark.skipif(not MAY_LESS, reason="root may read everything, and setpriv is not here")
@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("stalecurve.toml", ("load",)),
        ("inbox", ("load",)),
        ("inbox/beers.csv", ("check", "inbox/beers.csv")),
    ],
)
def test_what_may_not_be_read_is_said(brewery: Path, name: str, arguments: tuple[str, ...]) -> None:
    """It is no wrong usage, and an inbox that may not be looked into is not an empty one."""
    (brewery / name).chmod(0)
    command = [*MAY_LESS, str(COMMAND), *arguments]
    done = subprocess.run(command, cwd=brewery, capture_output=True, text=True, check=False)
    (brewery / name).chmod(0o700)
    assert done.returncode == 1
    assert "Permission denied" in done.stdout + done.stderr
    assert "Traceback" not in done.stderr


def test_a_writer_waits_for_another(brewery: Path) -> None:
    """The second one says at once who is at work, and goes on when that has ended."""
    with writers_lock(brewery / "stalecurve.duckdb", "run"):
        load = subprocess.Popen(
            [str(COMMAND), "load"],
            cwd=brewery,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert load.stderr is not None
        told = load.stderr.readline()
        assert load.poll() is None
    said, complaints = load.communicate()
    assert told.startswith(f"waiting for stalecurve run (process {os.getpid()}), since ")
    assert (load.returncode, "Traceback" in complaints) == (0, False)
    assert "load 1: 1 new" in said


def test_a_brewery_moves_with_a_backup(
    brewery: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Kept here, taken back there; a template is written beside and never twice."""
    kept, new = tmp_path_factory.mktemp("kept"), tmp_path_factory.mktemp("new")
    assert stalecurve(brewery, "load").returncode == 0
    assert stalecurve(brewery, "backup", str(kept), "--with-inbox").returncode == 0
    done = stalecurve(new, "restore", str(kept))
    assert (done.returncode, complaint(done)) == (0, "")
    assert (new / "inbox" / "beers.csv").exists()
    again = stalecurve(new, "restore", str(kept))
    assert again.returncode == 1
    assert "with --replace the backup takes its place" in again.stderr
    assert [stalecurve(new, "template").returncode for _ in range(2)] == [0, 1]


@pytest.mark.parametrize("command", ["load", "fit", "publish"])
def test_the_single_steps_do_without_prefect(brewery: Path, command: str) -> None:
    """Importing it takes seconds, and only the whole job needs it."""
    assert stalecurve(brewery, "load").returncode == 0
    done = subprocess.run(
        [sys.executable, "-c", IMPORTS, command],
        cwd=brewery,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr.endswith("prefect imported: False")
    assert "Traceback" not in done.stderr


def test_the_version_says_which_code(tmp_path: Path) -> None:
    """For a report of a fault."""
    done = stalecurve(tmp_path, "--version")
    assert done.returncode == 0
    assert done.stdout.startswith("stalecurve 0.")
