"""Checking files without storing them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.flows.check import check_files
from pipelines.flows.ingest import ingest

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

SAMPLES = "sample,lot,storage_temp_c,placed_on,pulled_on\nS1,001,20,2026-01-06,2026-02-05\n"


def written(folder: Path, name: str, text: str) -> Path:
    """Write a file somewhere."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_sound_files_are_sound_and_nothing_is_stored(brewery: Config) -> None:
    """A whole inbox can be checked before anything is set up."""
    lines: list[str] = []
    assert check_files(sorted(brewery.paths.inbox.iterdir()), brewery, lines.append)
    assert lines[-1] == "10 rows read, none with faults; nothing was stored"
    assert not brewery.paths.database.exists()


def test_without_a_store_absent_tables_are_taken_at_their_word(
    brewery: Config, tmp_path: Path
) -> None:
    """A lot of which nothing can be known is no fault, and it is said that nobody looked."""
    lines: list[str] = []
    file = written(tmp_path, "samples.csv", SAMPLES)
    assert check_files([file], brewery, lines.append)
    assert lines[0] == "there is no store yet, so names of lots could not be looked up"


def test_without_a_store_the_files_answer_for_each_other(brewery: Config, tmp_path: Path) -> None:
    """A sample of a lot that is not in the lots beside it is a fault."""
    lines: list[str] = []
    files = [
        written(tmp_path, "samples.csv", SAMPLES),
        written(tmp_path, "lots.csv", "lot,format,beer,packaged_on\n002,can,Fen,2026-01-05\n"),
    ]
    assert not check_files(files, brewery, lines.append)
    assert any("samples.csv, row 2, lot: '001', unknown lot" in line for line in lines)


@pytest.mark.parametrize(("lot", "sound"), [("001", True), ("009", False)])
def test_with_a_store_names_are_looked_up_in_it(
    brewery: Config, tmp_path: Path, lot: str, *, sound: bool
) -> None:
    """What was loaded is known."""
    ingest(brewery, [].append)
    file = written(tmp_path, "samples.csv", SAMPLES.replace("001", lot))
    assert check_files([file], brewery, [].append) is sound


def test_every_fault_is_said(brewery: Config, tmp_path: Path) -> None:
    """Nothing is cut short where faults are all that was asked for."""
    lines: list[str] = []
    rows = "".join(f"Fen No. {n},stout,strong\n" for n in range(25))
    file = written(tmp_path, "beers.csv", f"beer,style,abv_pct\n{rows}")
    assert not check_files([file], brewery, lines.append)
    assert sum("not a number" in line for line in lines) == 25
    assert lines[-1] == "25 rows read, 25 with faults; nothing was stored"


@pytest.mark.parametrize("name", ["oxygen.xlsx", "holidays.csv", "absent.csv"])
def test_a_file_that_cannot_be_taken_in_is_a_fault(
    brewery: Config, tmp_path: Path, name: str
) -> None:
    """Broken, unknown or not there: it is named."""
    lines: list[str] = []
    if name != "absent.csv":
        written(tmp_path, name, "who,when\nA1,July\n")
    assert not check_files([tmp_path / name], brewery, lines.append)
    assert name in lines[0]


@pytest.mark.parametrize(("placed", "sound"), [("2026-01-05", True), ("2026-01-04", False)])
def test_with_a_store_days_are_held_against_it(
    brewery: Config, tmp_path: Path, placed: str, *, sound: bool
) -> None:
    """A sample may not be older than the lot that was loaded before."""
    ingest(brewery, [].append)
    file = written(tmp_path, "samples.csv", SAMPLES.replace("2026-01-06", placed))
    assert check_files([file], brewery, [].append) is sound
