"""Workbooks to text, sheet by sheet: every cell as it is stored, none empty that shows something.

An error and a formula without a stored value come as a text of their own, which no column takes
for a value, so that the row is set aside and says why. A number has up to nine decimals.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.readers.package import PACKAGES, Formula, uncalculated

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    import fastexcel

    from pipelines.readers.site import Limits

UNCALCULATED = "formula ="  # what the text of a formula without a stored value begins with
# The errors of a workbook, as it shows them in English and in German.
ERRORS = (
    *("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!"),
    *("#GETTING_DATA", "#NV", "#BEZUG!", "#WERT!", "#ZAHL!", "#####"),
)
_SHOWN = {
    "Div0": "#DIV/0!",
    "NA": "#N/A",
    "Name": "#NAME?",
    "Null": "#NULL!",
    "Num": "#NUM!",
    "Ref": "#REF!",
    "Value": "#VALUE!",
    "GettingData": "#GETTING_DATA",
}
_ERROR = re.compile(r"'Error\((\w+)\)'")
_HASHES = "#####"  # what a workbook shows for a day that there is not
_LEAP_OF_EXCEL = r"^1899-12-3[01] "  # the day that a bare time of day is given
_BARE_DAY = r"^(\d{4}-\d{2}-\d{2}) 00:00:00$"  # a day comes with a midnight that nobody wrote
_COMPOUND = b"\xd0\xcf\x11\xe0"  # how an old .xls begins, and what a password is wrapped into
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


def read_workbook(path: Path, file: str, limits: Limits) -> list[tuple[str, pl.DataFrame]]:
    """Read every sheet of a workbook.

    Args:
        path: The workbook.
        file: Its name in messages.
        limits: How large it may be.

    Returns:
        The name of each sheet, and its cells: text columns `column 1`, `column 2` … as a person
        counts them, and `row_number` Int32.

    Raises:
        ReadError: It is broken, locked by a password, too large, or no workbook.
    """
    import fastexcel

    _refuse_what_is_none(path, file)
    formulas = uncalculated(path, file, limits) if path.suffix.lower() in PACKAGES else {}
    try:
        workbook = fastexcel.read_excel(path)
        # skip_rows=0 keeps leading empty rows, without which every row number would be wrong.
        return [
            _sheet(
                workbook.load_sheet(index, header_row=None, skip_rows=0, dtypes="string"), formulas
            )
            for index in range(len(workbook.sheet_names))
        ]
    except fastexcel.FastExcelError as error:
        what = "is protected by a password" if "password" in str(error).lower() else ""
        message = (
            f"{file} {what}: save it without one and put it back"
            if what
            else f"{file} cannot be read as a workbook: it is broken, or something else under that "
            "name; open it, save it again as .xlsx and put it back"
        )
        raise ReadError(message) from error


def _refuse_what_is_none(path: Path, file: str) -> None:
    content = path.read_bytes()
    if content.startswith(_COMPOUND) and _ENCRYPTED in content:
        message = f"{file} is protected by a password: save it without one and put it back"
        raise ReadError(message)
    suffix = path.suffix.lower()
    if suffix in PACKAGES and not content.startswith(b"PK"):
        message = (
            f"{file} cannot be read as a workbook: it is only named {suffix}; open it, save it as "
            ".xlsx and put it back"
        )
        raise ReadError(message)


def _sheet(
    sheet: fastexcel.ExcelSheet, formulas: Mapping[str, Iterable[Formula]]
) -> tuple[str, pl.DataFrame]:
    batch, errors = sheet.to_arrow_with_errors()
    numbers = [column.absolute_index for column in sheet.available_columns()]
    text = pl.all().cast(pl.String).str.replace(_LEAP_OF_EXCEL, "").str.replace(_BARE_DAY, "$1")
    columns = dict(zip(numbers, pl.DataFrame(batch).select(text), strict=True))
    shown: dict[int, dict[int, str]] = {}
    for error in errors.errors if errors else ():
        row, position = error.position
        shown.setdefault(numbers[position], {})[row] = _shown(error.detail)
    for formula in formulas.get(sheet.name, ()):
        shown.setdefault(formula.column, {})[formula.row] = UNCALCULATED + formula.text
    height = max([batch.num_rows, *(row + 1 for texts in shown.values() for row in texts)])
    for number, texts in shown.items():
        there: list[str | None] = columns[number].to_list() if number in columns else []
        there += [None] * (height - len(there))
        for row, what in texts.items():
            there[row] = what
        columns[number] = pl.Series(there, dtype=pl.String)
    cells = pl.DataFrame(
        columns[number].extend_constant(None, height - len(columns[number])).alias(name)
        for number, name in ((number, f"column {number + 1}") for number in sorted(columns))
    )
    return sheet.name, cells.with_columns(row_number=pl.int_range(1, height + 1, dtype=pl.Int32))


def _shown(detail: str) -> str:
    error = _ERROR.search(detail)
    return _SHOWN.get(error[1], "#VALUE!") if error else _HASHES
