"""A folder to write files into, and what is read and checked from it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path  # noqa: TC003 - a dataclass resolves it
from typing import TYPE_CHECKING

import pytest
import xlsxwriter

from pipelines.readers.check import Checked, Known, check_tables
from pipelines.readers.files import FileContent, inbox_files, read_file
from pipelines.readers.site import Attribute, Site

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import polars as pl

SITE = Site(
    columns={"oxygen": {"O2 total": "total"}},
    words={"accept": ("ok", "pass", "yes"), "no": ("nein",)},
    attributes={"stale": Attribute(low=0, high=10, worse="high", cut_off=4)},
)


@dataclass
class Inbox:
    """An inbox that a test fills."""

    path: Path
    site: Site = SITE

    def text(self, name: str, content: str, encoding: str = "utf-8") -> Path:
        """Write a text file."""
        path = self.path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode(encoding))
        return path

    def workbook(self, name: str, sheets: Mapping[str, Sequence[Sequence[object]]]) -> Path:
        """Write a workbook; None is an empty cell."""
        path = self.path / name
        with xlsxwriter.Workbook(path, {"default_date_format": "yyyy-mm-dd"}) as book:
            for title, rows in sheets.items():
                sheet = book.add_worksheet(title)
                for number, row in enumerate(rows):
                    for place, cell in enumerate(row):
                        if cell is not None:
                            sheet.write(number, place, cell)
        return path

    def parquet(self, name: str, frame: pl.DataFrame) -> Path:
        """Write a Parquet file."""
        path = self.path / name
        frame.write_parquet(path)
        return path

    def read(self, name: str) -> FileContent:
        """Read one file."""
        return read_file(self.path / name, self.path, self.site)

    def check(self, known: Known | None = None) -> Checked:
        """Read and check every file."""
        contents = [read_file(path, self.path, self.site) for path in inbox_files(self.path)]
        raw = [table for content in contents for table in content.tables]
        return check_tables(raw, known or Known(), self.site)


@pytest.fixture
def inbox(tmp_path: Path) -> Inbox:
    """Give an empty inbox of a site with a few words of its own."""
    return Inbox(tmp_path)


@pytest.fixture
def known() -> Known:
    """Give a store that knows one beer, three formats, two lots and a sample."""
    return Known(
        beers=frozenset({"Glimmer"}),
        formats=frozenset({"bottle", "can", "keg"}),
        lots=frozenset({("0012", "bottle"), ("0012", "keg"), ("0015", "can")}),
        samples=frozenset({"P1"}),
        routes=frozenset({"ambient"}),
        assessors=frozenset({"AB"}),
        meters=frozenset({"M1"}),
    )
