"""The committed files of the demo are what the program writes, and hold the faults they name."""

from __future__ import annotations

import io
import tomllib
import zipfile
from pathlib import Path

import fastexcel
import polars as pl
import pytest

from data_demo import make_demo
from data_demo import make_demo_faults as faults
from pipelines.config import load_config
from pipelines.readers.check import Known, check_tables
from pipelines.readers.files import inbox_files, read_file

DEMO = Path(make_demo.__file__).parent


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    """Give every file as the program makes it now."""
    return make_demo.demo_files()


def test_the_committed_files_are_what_the_program_writes(files: dict[str, bytes]) -> None:
    """Nobody edited a generated file, and nobody changed the program without running it.

    Workbooks are compared part by part, because another zlib packs the same parts otherwise.
    """
    committed = {
        path.relative_to(DEMO).as_posix(): path.read_bytes()
        for folder in ("inbox", "faulty")
        for path in (DEMO / folder).iterdir()
    }
    assert committed.keys() == files.keys()
    for name, content in files.items():
        assert _parts(committed[name]) == _parts(content), name


def _parts(content: bytes) -> dict[str, bytes]:
    if not zipfile.is_zipfile(io.BytesIO(content)):
        return {"": content}
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return {name: package.read(name) for name in package.namelist()}


def test_writing_replaces_what_stands_there(tmp_path: Path, files: dict[str, bytes]) -> None:
    """Written twice, the folders hold the same files."""
    make_demo.write(tmp_path)
    make_demo.write(tmp_path)
    written = {p.relative_to(tmp_path).as_posix() for p in tmp_path.glob("*/*")}
    assert written == files.keys()


def test_the_inbox_is_small(files: dict[str, bytes]) -> None:
    """A checkout does not suffer from the demo."""
    assert sum(len(content) for content in files.values()) < 1_500_000


def test_one_file_came_twice(files: dict[str, bytes]) -> None:
    """The first quarter's oxygen lies there under two names with the same bytes."""
    assert files["inbox/oxygen-2026-q1.csv"] == files["inbox/oxygen-2026-q1-copy.csv"]


def test_the_readers_find_exactly_the_planted_faults() -> None:
    """Read together, the inbox gives every fault that was planted, at its place, and no other."""
    site, inbox = load_config(DEMO / "stalecurve.toml").site, DEMO / "inbox"
    copy = inbox / "oxygen-2026-q1-copy.csv"
    raw = [
        table
        for path in inbox_files(inbox)
        if path != copy
        for table in read_file(path, inbox, site).tables
    ]
    found = check_tables(raw, Known(), site).set_aside
    broken = found.filter(pl.col("file") == Path(faults.BROKEN).name)
    columns = ("sheet", "row_number", "column_name", "kind")
    assert sorted(broken.select(columns).rows()) == sorted(faults.PLANTED)
    file, *fault = faults.UNKNOWN_LOT
    others = found.filter(pl.col("file") != Path(faults.BROKEN).name)
    assert others.select("file", "column_name", "kind").rows() == [(Path(file).name, *fault)]


@pytest.mark.parametrize(("sheet", "row"), sorted({(s, r) for s, r, _, _ in faults.PLANTED}))
def test_planted_faults_are_on_rows_that_exist(
    sheet: str, row: int, files: dict[str, bytes]
) -> None:
    """Every row that is said to be faulty is in the broken workbook, and not empty."""
    book = fastexcel.read_excel(files[faults.BROKEN])
    cells = book.load_sheet(sheet, header_row=None, skip_rows=0, dtypes="string").to_polars()
    assert any(cell is not None for cell in cells.row(row - 1))


def test_the_broken_workbook_has_good_rows_too(files: dict[str, bytes]) -> None:
    """At least five rows of the broken workbook are sound."""
    book = fastexcel.read_excel(files[faults.BROKEN])
    rows = sum(
        book.load_sheet(name, header_row=None, skip_rows=0).height - 1
        for name in ("lots", "oxygen", "samples", "tastings", "changes")
    )
    assert rows - len({(s, r) for s, r, _, _ in faults.PLANTED}) >= 5


def test_the_configuration_is_sound_and_whole() -> None:
    """The demo's configuration has no fault, and every key of every section stands in it."""
    path = DEMO / "stalecurve.toml"
    config = load_config(path)
    written = tomllib.loads(path.read_text(encoding="utf-8"))
    sections = (
        *("brewery", "paths", "panel", "policy", "storage", "oxygen", "safety"),
        *("pulls", "meters", "retained"),
    )
    for section in sections:
        assert vars(getattr(config, section)).keys() <= written[section].keys(), section
    assert written["as_of"]
    assert written["expected"]
    assert written["attributes"]["stale"].keys() == vars(config.site.attributes["stale"]).keys()


def test_every_key_of_the_configuration_has_a_comment() -> None:
    """A reader learns from the file itself what each key does."""
    told = False
    for line in (DEMO / "stalecurve.toml").read_text(encoding="utf-8").splitlines():
        if line.startswith(("[columns", "[words")):
            break
        assert told or "=" not in line or "#" in line, line
        told = line.startswith("#")
