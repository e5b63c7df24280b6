"""What a workbook holds beside plain values: formulas, errors, codes that it made numbers of."""

from __future__ import annotations

import re
import zipfile
from datetime import datetime
from typing import TYPE_CHECKING

import pytest
import xlsxwriter

if TYPE_CHECKING:
    from pathlib import Path

    from conftest import Inbox

    from pipelines.readers.check import Known

BEERS = ["beer", "style", "abv_pct"]
SAMPLES = ["sample", "lot", "storage_temp_c", "placed_on", "pulled_on"]
IN, OUT = datetime(2026, 2, 1), datetime(2026, 3, 1)  # noqa: DTZ001 - a workbook has no zone


def formulas(inbox: Inbox, cells: list[tuple[str, object]]) -> None:
    """Write a table of beers whose strengths are formulas, each with the value stored for it."""
    with xlsxwriter.Workbook(inbox.path / "beers.xlsx") as book:
        sheet = book.add_worksheet("beers")
        sheet.write_row("B3", BEERS)
        for row, (formula, value) in enumerate(cells, start=3):
            sheet.write_row(row, 1, [f"Beer {row}", "ale"])
            sheet.write_formula(row, 3, formula, None, value)


def edited(path: Path, part: str, pattern: bytes, by: bytes) -> None:
    """Change a part of a package."""
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    parts[part] = re.sub(pattern, by, parts[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            package.writestr(name, content)


def told(inbox: Inbox, known: Known | None = None) -> list[tuple[object, ...]]:
    """Give what was set aside in short."""
    faults = inbox.check(known).set_aside
    return faults.select("row_number", "column_name", "value", "reason", "kind").rows()


UNDONE = ("abv_pct", "formula =2*3", "a formula without a stored value", "value")


def test_formulas_with_their_values(inbox: Inbox) -> None:
    """The stored value of a formula is read like any other, an empty text being an empty cell."""
    formulas(inbox, [("=2*3", 6)])
    assert inbox.check().tables["beers"]["abv_pct"].to_list() == [6.0]
    with xlsxwriter.Workbook(inbox.path / "beers.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, [*BEERS, "owner"])
        sheet.write_row(1, 0, ["Dusk", "stout", 6])
        sheet.write_formula(1, 3, '=""', None, "x")
    edited(inbox.path / "beers.xlsx", "xl/worksheets/sheet1.xml", rb"<v>x</v>", b"<v></v>")
    assert inbox.check().tables["beers"]["owner"].to_list() == [None]


def test_formulas_that_were_never_calculated(inbox: Inbox) -> None:
    """Where a program wrote 0 in place of the value, or nothing, the row says what to do."""
    formulas(inbox, [("=2*3", 0), ("=2*3", "")])
    assert told(inbox) == [(4, *UNDONE), (5, *UNDONE)]
    assert "let it calculate" in inbox.check().set_aside["expected"][0]


def test_a_calculated_zero(inbox: Inbox) -> None:
    """A workbook that was calculated holds 0 where a formula gives 0."""
    formulas(inbox, [("=2-2", 0)])
    edited(inbox.path / "beers.xlsx", "xl/workbook.xml", rb' fullCalcOnLoad="1"', b"")
    assert inbox.check().tables["beers"]["abv_pct"].to_list() == [0.0]


def test_a_sheet_of_nothing_but_formulas(inbox: Inbox) -> None:
    """A table that another sheet's formulas fill is not taken for an empty one."""
    inbox.workbook("beers.xlsx", {"beers": [BEERS, ["=Other!A1", "=Other!B1", "=Other!C1"]]})
    assert [fault[1:3] for fault in told(inbox)] == [
        ("abv_pct", "formula =Other!C1"),
        ("beer", "formula =Other!A1"),
        ("style", "formula =Other!B1"),
    ]


@pytest.mark.parametrize("error", ["#DIV/0!", "#N/A", "#REF!"])
def test_errors_of_formulas(inbox: Inbox, error: str) -> None:
    """An error is a fault of its cell, not an empty cell."""
    formulas(inbox, [("=1/0", error), ("=2*3", 6)])
    assert told(inbox) == [(4, "abv_pct", error, "an error of the workbook", "value")]


def test_errors_in_text(inbox: Inbox, known: Known) -> None:
    """An error that begins a row makes no comment of it, in no column a name and in no language."""
    inbox.text(
        "samples.csv",
        "lot,sample,storage_temp_c,placed_on,pulled_on,place\n"
        "#NV,P2,20,2026-02-01,2026-03-01,#REF!\n",
    )
    assert told(inbox, known) == [
        (2, "lot", "#NV", "an error of the workbook", "value"),
        (2, "place", "#REF!", "an error of the workbook", "value"),
    ]


def test_a_day_that_there_is_not(inbox: Inbox, known: Known) -> None:
    """A number far beyond the calendar, shown as a day, stands as the hashes that are seen."""
    with xlsxwriter.Workbook(inbox.path / "samples.xlsx") as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, SAMPLES)
        sheet.write_row(1, 0, ["P2", "0015", 20, "2026-02-01"])
        sheet.write_number(1, 4, 3e9, book.add_format({"num_format": "yyyy-mm-dd"}))
    assert told(inbox, known) == [(2, "pulled_on", "#####", "an error of the workbook", "value")]


@pytest.mark.parametrize(
    ("lot", "value", "expected"),
    [
        (15, "15", "did you mean 0015?"),
        (15.0, "15", "did you mean 0015?"),
        ("15.0", "15.0", "did you mean 0015?"),
        (datetime(2026, 4, 7), "2026-04-07", "Excel may have made a date of it"),  # noqa: DTZ001
        ("07. Apr", "07. Apr", "Excel may have made a date of it"),
    ],
)
def test_lots_that_a_workbook_rewrote(
    inbox: Inbox, known: Known, lot: object, value: str, expected: str
) -> None:
    """A lot without its zeros, or as a day, waits for its lot and says what it may have been."""
    inbox.workbook("samples.xlsx", {"x": [SAMPLES, ["P2", lot, 20, IN, OUT]]})
    checked = inbox.check(known)
    assert told(inbox, known) == [(2, "lot", value, "unknown lot", "reference")]
    assert expected in checked.set_aside["expected"][0]


@pytest.mark.parametrize("lot", ["2.61E+04", "2,61E+04", "1.2E5", "3e+12"])
def test_lots_in_scientific_notation(inbox: Inbox, known: Known, lot: str) -> None:
    """A number in scientific notation is no code, also where a code is first told."""
    inbox.text("lots.csv", f'lot,format,beer,packaged_on\n"{lot}",can,Glimmer,2026-04-07\n')
    reason = "a number in scientific notation, which Excel made of a code"
    assert told(inbox, known) == [(2, "lot", lot, reason, "value")]


def test_columns_are_counted_as_the_workbook_does(inbox: Inbox) -> None:
    """A table that begins in another column than A names its columns from A on."""
    inbox.workbook("beers.xlsx", {"x": [[None, None, *BEERS], [None, None, "A", "x", 1, "?"]]})
    assert [said.text for said in inbox.read("beers.xlsx").mentions] == [
        "column 6 has no heading (cells kept aside)"
    ]
