"""A panel's sheet with one column an assessor, on its way into the store."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import xlsxwriter

from pipelines.flows.ingest import ingest
from pipelines.readers.site import Layout
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

PANEL = Layout(
    "Panel*.xlsx",
    table="tastings",
    first_row=2,
    across="assessor",
    value="verdict",
    fill={"session": "T2"},
)
ROWS = [
    ["Panel of February"],
    ["tasted on", "sample", "A1", "A2", "A3"],
    ["2026-02-06", "S1", "accept", "accept", "reject"],
    ["2026-02-06", "S2", "reject", "reject"],
    ["2026-02-06", "S3", "accept", "reject", "reject"],
    ["2026-02-06", "S1", "perhaps", "accept", "reject"],
]


def stored(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask the store."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_rows_of_a_panel_sheet_count_as_a_person_counts_them(brewery: Config) -> None:
    """A row is one row with all its verdicts; set aside, it comes in whole once its sample does."""
    brewery = replace(brewery, site=replace(brewery.site, layouts=[PANEL]))
    with xlsxwriter.Workbook(brewery.paths.inbox / "Panel 6.xlsx") as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(ROWS):
            sheet.write_row(number, 0, row)
    lines: list[str] = []
    ingest(brewery, lines.append)
    assert "Panel 6.xlsx, sheet Sheet1: tastings, 2 new, 2 set aside" in lines
    glasses = (
        "SELECT sample, count(*) FROM core.tastings WHERE session = 'T2' GROUP BY 1 ORDER BY 1"
    )
    assert stored(brewery, glasses) == [("S1", 3), ("S2", 2)]

    samples = brewery.paths.inbox / "samples 2.csv"
    samples.write_text(
        "sample,lot,storage_temp_c,placed_on,pulled_on\nS3,001,20,2026-01-06,2026-02-05\n"
    )
    ingest(brewery, lines.append)
    assert stored(brewery, glasses) == [("S1", 3), ("S2", 2), ("S3", 3)]
    waiting = "SELECT row_number, column_name, value FROM intake.set_aside WHERE settled_in IS NULL"
    assert stored(brewery, waiting) == [(6, "A1", "perhaps")]
