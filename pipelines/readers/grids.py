"""Files to grids of text: every cell as it was written, every row with the number a person sees.

A grid is a frame of text columns and `row_number`; its first filled row holds the headings.
Nothing is typed here, because a wrong cell is only found by comparing text with value.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

DELIMITERS = ",;\t"
_IN_NO_TEXT = "\x1f"
_SELDOM = f"\r\ufeff{_IN_NO_TEXT}"  # a file with one of these is read with care
_AT_ONCE = 50_000  # rows, so that few of them stand in memory as lists
_LEAP_OF_EXCEL = r"^1899-12-3[01] "  # the day that a bare time of day is given
_BARE_DAY = r"^(\d{4}-\d{2}-\d{2}) 00:00:00$"  # a day comes with a midnight that nobody wrote


@dataclass(frozen=True)
class Grid:
    """The text of one sheet, or of a file without sheets.

    Attributes:
        sheet: The sheet's name, "" where there are none.
        cells: Text columns of any name, null where empty, and `row_number` Int32.
        ragged: Whether a row can be longer than its headings by a slip, as in text files.
    """

    sheet: str
    cells: pl.DataFrame
    ragged: bool = False


def read_grids(path: Path, file: str) -> tuple[Grid, ...] | None:
    """Read a file of any kind that a table arrives in.

    Args:
        path: The file.
        file: Its name in messages.

    Returns:
        A grid for each sheet, or one for the file; None if its kind holds no tables.

    Raises:
        ReadError: The file cannot be read at all; the text says what to do.
    """
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        return None
    try:
        return tuple(
            Grid(grid.sheet, _stripped(grid.cells), grid.ragged) for grid in reader(path, file)
        )
    except OSError as error:
        raise ReadError(unopened(file, error)) from error


def unopened(file: str, error: OSError) -> str:
    """Say why a file could not be opened, and what to do."""
    if isinstance(error, FileNotFoundError):
        return f"there is no file {file}"
    return f"{file} cannot be opened ({error.strerror}): close it elsewhere and try again"


def _stripped(cells: pl.DataFrame) -> pl.DataFrame:
    """Cells without outer spaces; empty ones null; rows with nothing in them, or comments, gone."""
    text = pl.col(pl.String).str.strip_chars().replace("", None)
    names = [name for name in cells.columns if name != "row_number"]
    if not names:
        return cells
    remark = pl.col(names[0]).str.starts_with("#").fill_null(value=False)
    return cells.with_columns(text).filter(pl.any_horizontal(pl.col(names).is_not_null()) & ~remark)


def _text(path: Path, file: str) -> list[Grid]:
    text = _decoded(path.read_bytes(), file)
    delimiter = _delimiter(text)
    cells = _line_by_line(text, delimiter)
    if cells is None:
        cells = _cell_by_cell(text, delimiter, file)
    return [Grid("", cells, ragged=True)]


def _line_by_line(text: str, delimiter: str) -> pl.DataFrame | None:
    """The cells of a text that can be cut into rows at its line ends, which is quick.

    None where a quotation mark stands anywhere but around a whole cell of one line, or a row is
    longer than the first: such a text is read cell by cell.
    """
    if "\r" in text:
        text = text.replace("\r\n", "\n")
    if any(mark in text for mark in _SELDOM):
        return None
    content = text.encode()
    cell = rf'(?:"(?:[^"]|"")*"|[^"{delimiter}]*)'
    plain = rf"^{cell}(?:{delimiter}{cell})*$"
    try:
        lines = _cut(content, _IN_NO_TEXT, quote=None).to_series()
        whole = '"' not in text or lines.str.contains(plain).all()
        if not whole or (lines.str.len_bytes() > csv.field_size_limit()).any():
            return None
        cells = _cut(content, delimiter, quote='"')
    except (pl.exceptions.PolarsError, OSError):
        return None
    return _numbered(cells, pl.int_range(1, cells.height + 1, eager=True))


def _cut(content: bytes, separator: str, *, quote: str | None) -> pl.DataFrame:
    return pl.read_csv(
        content, has_header=False, infer_schema=False, separator=separator, quote_char=quote
    )


def _cell_by_cell(text: str, delimiter: str, file: str) -> pl.DataFrame:
    """The cells of any text; a row has the number of the line that it begins on."""
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True, strict=True
    )
    parts: list[pl.DataFrame] = []
    rows: list[list[str]] = []
    numbers: list[int] = []
    line = 1
    try:
        for row in reader:
            rows.append(row)
            numbers.append(line)
            line = reader.line_num + 1
            if len(rows) == _AT_ONCE:
                parts.append(_part(rows))
                rows = []
    except csv.Error as error:
        message = (
            f"{file} cannot be read from row {line} on ({error}): a quotation mark there is "
            "probably not closed; mend it, or save the table as a workbook"
        )
        raise ReadError(message) from error
    cells = pl.concat([*parts, _part(rows)], how="diagonal")
    return _numbered(cells, pl.Series(numbers if cells.width else []))


def _part(rows: list[list[str]]) -> pl.DataFrame:
    width = max((len(row) for row in rows), default=0)
    for row in rows:
        row.extend([""] * (width - len(row)))
    schema = {f"column {i}": pl.String for i in range(1, width + 1)}
    return pl.DataFrame(rows, schema=schema, orient="row") if width else pl.DataFrame()


def _decoded(content: bytes, file: str) -> str:
    wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    message = f"{file} is not text in an encoding that is known: save it as CSV UTF-8"
    raise ReadError(message)


def _delimiter(text: str) -> str:
    """What separates the cells of the heading line; quoted stretches do not count."""
    lines = (line[0].strip(" ") for line in re.finditer(r"[^\n]+", text))
    heading = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    bare = re.sub(r'"[^"]*"', "", heading)
    return max(DELIMITERS, key=bare.count)


def _workbook(path: Path, file: str) -> list[Grid]:
    import fastexcel

    try:
        workbook = fastexcel.read_excel(path)
        # skip_rows=0 keeps leading empty rows, without which every row number would be wrong.
        sheets = [
            workbook.load_sheet(index, header_row=None, skip_rows=0, dtypes="string")
            for index in range(len(workbook.sheet_names))
        ]
    except fastexcel.FastExcelError as error:
        message = (
            f"{file} cannot be read as a workbook: it is broken, protected by a password, or "
            "something else under that name; open it, save it again as .xlsx and put it back"
        )
        raise ReadError(message) from error
    return [Grid(sheet.name, _sheet_cells(sheet.to_polars())) for sheet in sheets]


def _sheet_cells(cells: pl.DataFrame) -> pl.DataFrame:
    text = pl.all().cast(pl.String).str.replace(_LEAP_OF_EXCEL, "").str.replace(_BARE_DAY, "$1")
    return _numbered(cells.with_columns(text), pl.Series(range(1, cells.height + 1)))


def _parquet(path: Path, file: str) -> list[Grid]:
    try:
        frame = pl.read_parquet(path)
    except pl.exceptions.PolarsError as error:
        message = f"{file} cannot be read as a Parquet file: write it again and put it back"
        raise ReadError(message) from error
    headings = pl.DataFrame({name: [name] for name in frame.columns}, orient="row")
    cells = pl.concat(
        [headings, frame.select(_as_text(name, frame[name].dtype) for name in frame.columns)]
    )
    return [Grid("", _numbered(cells, pl.Series(range(1, frame.height + 2))))]


def _as_text(name: str, dtype: pl.DataType) -> pl.Expr:
    column = pl.col(name)
    if dtype.is_nested():
        return pl.struct(column).struct.json_encode().alias(name)
    text = column.cast(pl.String, strict=False)
    # A lot number held as a number with a fraction is still the lot number.
    return text.str.replace(r"\.0$", "") if dtype.is_float() else text


def _numbered(cells: pl.DataFrame, numbers: pl.Series) -> pl.DataFrame:
    renamed = cells.rename({name: f"column {i}" for i, name in enumerate(cells.columns, start=1)})
    return renamed.with_columns(numbers.cast(pl.Int32).alias("row_number"))


_READERS: dict[str, Callable[[Path, str], list[Grid]]] = {
    ".csv": _text,
    ".tsv": _text,
    ".txt": _text,
    ".xlsx": _workbook,
    ".xlsm": _workbook,
    ".xlsb": _workbook,
    ".xls": _workbook,
    ".ods": _workbook,
    ".parquet": _parquet,
}
