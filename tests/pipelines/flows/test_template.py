"""The workbook that a person fills in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.config import default_config
from pipelines.errors import ReadError
from pipelines.flows.template import column_notes, make_template
from pipelines.readers.contract import TABLES

if TYPE_CHECKING:
    from pathlib import Path

    from tests.pipelines.flows.conftest import Desk


def silent(line: str) -> None:
    """Take a line and keep it from nobody."""


def test_every_column_has_a_note() -> None:
    """None of the contract is without a sentence."""
    expected = {(table.name, c.name) for table in TABLES.values() for c in table.columns}
    assert expected <= column_notes().keys()


def test_the_template_in_the_inbox_is_no_news(desk: Desk) -> None:
    """Saved there before anything is filled in, it adds no row and faults none."""
    said: list[str] = []
    to = desk.config.paths.inbox / "stalecurve template.xlsx"
    make_template(desk.config, to, said.append)
    assert said == [f"{to}: 17 tables to fill in; save it in {desk.config.paths.inbox} then"]
    summary = desk.load()
    assert (summary.rows_new, summary.rows_corrected, summary.rows_set_aside) == (0, 0, 0)


def test_a_file_that_is_there_is_never_overwritten(tmp_path: Path) -> None:
    """It may be filled in already."""
    to = tmp_path / "mine.xlsx"
    to.write_text("filled in", encoding="utf-8")
    with pytest.raises(ReadError, match=r"mine\.xlsx is there already and was left as it is"):
        make_template(default_config(tmp_path), to, silent)
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
