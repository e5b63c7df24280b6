"""Workbooks for a person: all tables, or the glasses that wait for the panel."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from pipelines.config import default_config
from pipelines.errors import ReadError
from pipelines.flows.check import check_files
from pipelines.flows.ingest import ingest
from pipelines.flows.template import column_notes, make_session, make_template
from pipelines.readers.contract import TABLES
from pipelines.readers.files import read_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

TODAY = datetime.now(UTC).date()
ASSESSORS = f"""assessor,shelf_life_panel,left_on
A1,yes,
A2,yes,{TODAY + timedelta(days=30)}
A3,yes,2026-01-31
A4,no,
A5,,
"""
SAMPLES = f"""sample,lot,storage_temp_c,placed_on,pulled_on
0003,001,30,2026-01-06,2026-02-07
0002,001,20,2026-01-06,2026-02-06
0009,001,20,2026-01-06,{TODAY + timedelta(days=30)}
"""


def silent(line: str) -> None:
    """Take a line and keep it from nobody."""


@pytest.fixture
def panel(brewery: Config) -> Config:
    """The brewery with a panel of which two are there, and three samples that nobody tasted."""
    (brewery.paths.inbox / "assessors.csv").write_text(ASSESSORS, encoding="utf-8")
    (brewery.paths.inbox / "samples more.csv").write_text(SAMPLES, encoding="utf-8")
    ingest(brewery, silent)
    return brewery


def test_every_column_has_a_note() -> None:
    """None of the contract is without a sentence."""
    expected = {(table.name, c.name) for table in TABLES.values() for c in table.columns}
    assert expected <= column_notes().keys()


def test_the_template_in_the_inbox_is_no_news(panel: Config) -> None:
    """Saved there before anything is filled in, it adds no row and faults none."""
    said: list[str] = []
    to = panel.paths.inbox / "stalecurve template.xlsx"
    make_template(panel, to, said.append)
    assert said == [f"{to}: 17 tables to fill in; save it in {panel.paths.inbox} then"]
    summary = ingest(panel, silent)
    assert (summary.rows_new, summary.rows_corrected, summary.rows_set_aside) == (0, 0, 0)


def test_a_session_has_the_glasses_that_wait(panel: Config, tmp_path: Path) -> None:
    """Who is on the panel and there, by what was pulled and nobody tasted; the day stands there."""
    to = tmp_path / "session.xlsx"
    said: list[str] = []
    make_session(panel, to, said.append)
    assert said[0].startswith(f"{to}: 4 glasses to taste")
    content = read_file(to, tmp_path, panel.site)
    (tastings,) = content.tables
    assert content.mentions == ()
    assert tastings.cells.select("assessor", "sample").rows() == [
        ("A1", "0002"),
        ("A1", "0003"),
        ("A2", "0002"),
        ("A2", "0003"),
    ]
    day = datetime.fromisoformat(tastings.cells["tasted_on"][0]).date()
    assert abs((day - TODAY).days) <= 1  # the brewery's clock may be past midnight already
    assert tastings.cells["session"].to_list() == [f"{day}"] * 4


def test_a_session_without_a_store_is_empty(tmp_path: Path) -> None:
    """The sheet is there to be filled in, and says nothing by itself."""
    said: list[str] = []
    config = default_config(tmp_path)
    make_session(config, tmp_path / "session.xlsx", said.append)
    assert said[0].endswith("no glass is known to wait for a taster, so its rows are empty")
    assert check_files([tmp_path / "session.xlsx"], config, said.append)
    assert said[-1] == "0 rows read, none with faults; nothing was stored"
    assert not config.paths.database.exists()


@pytest.mark.parametrize("make", [make_template, make_session])
def test_a_file_that_is_there_is_never_overwritten(
    tmp_path: Path, make: Callable[..., None]
) -> None:
    """It may be filled in already."""
    to = tmp_path / "mine.xlsx"
    to.write_text("filled in", encoding="utf-8")
    with pytest.raises(ReadError, match=r"mine\.xlsx is there already and was left as it is"):
        make(default_config(tmp_path), to, silent)
    assert to.read_text("utf-8") == "filled in"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("mine.csv", "is no name of a workbook: let it end in"),
        ("nowhere/mine.xlsx", "cannot be written: No such file or directory"),
    ],
)
def test_a_file_that_cannot_be_a_workbook_is_refused(
    tmp_path: Path, name: str, reason: str
) -> None:
    """In a sentence that says what to do."""
    with pytest.raises(ReadError, match=reason):
        make_template(default_config(tmp_path), tmp_path / name, silent)
