"""Files to grids of text: every cell as it was written, every row with the number a person sees.

A grid is a frame of text columns and `row_number`; its first filled row holds the headings.
Nothing is typed here, because a wrong cell is only found by comparing text with value.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.readers.encoding import decoded
from pipelines.readers.package import MEGABYTE
from pipelines.readers.workbook import ERRORS, read_workbook

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.readers.site import Limits, Site

_IN_NO_TEXT = "\x1f"
_SELDOM = f"\r\ufeff{_IN_NO_TEXT}"  # a text with one of these is read with care
_AT_ONCE = 50_000  # rows, so that few of them stand in memory as lists
_QUOTED = r'"[^"]*"'
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n|$)")
DELIMITERS = "\t;,"  # of two that are as frequent, the one that a heading rather has not in it


@dataclass(frozen=True)
class Grid:
    """The text of one sheet, or of a file without sheets.

    Attributes:
        sheet: The sheet's name, "" where there are none.
        cells: Text columns of any name, null where empty, and `row_number` Int32.
        ragged: Whether a row can be longer than its headings by a slip, as in text files.
        remarks: Whether comments stand where rows are expected, as in a form not yet filled in.
    """

    sheet: str
    cells: pl.DataFrame
    ragged: bool = False
    remarks: bool = False


def read_grids(path: Path, file: str, site: Site) -> tuple[Grid, ...] | None:
    """Read a file of any kind that a table arrives in.

    Args:
        path: The file.
        file: Its path in the inbox, by which messages name it and the site declares it.
        site: How its files are laid out, and how large they may be.

    Returns:
        A grid for each sheet, or one for the file; None if its kind holds no tables.

    Raises:
        ReadError: The file cannot be read at all; the text says what to do.
    """
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        return None
    try:
        _refuse_size(path, file, site.limits)
        grids = reader(path, file, site)
    except OSError as error:
        raise ReadError(unopened(file, error)) from error
    return tuple(_stripped(grid) for grid in grids)


def _refuse_size(path: Path, file: str, limits: Limits) -> None:
    size = path.stat().st_size / MEGABYTE
    if not size and _READERS[path.suffix.lower()] is not _text:
        message = f"{file} is empty (0 bytes): save it again and put it back"
        raise ReadError(message)
    if size > limits.largest_file_mb:
        message = (
            f"{file} has {size:.0f} MB, more than the {limits.largest_file_mb:g} MB that a file "
            "may have: put the table alone into it, or raise largest_file_mb under [intake] in the "
            "configuration"
        )
        raise ReadError(message)


def _refuse_many(file: str, rows: int, columns: int, limits: Limits) -> None:
    if rows * columns > limits.most_cells:
        message = (
            f"{file} has {rows} rows of {columns} cells, more than the {limits.most_cells} cells "
            "that a table may have: split it, or raise most_cells under [intake] in the "
            "configuration"
        )
        raise ReadError(message)


def unopened(file: str, error: OSError) -> str:
    """Say why a file could not be opened, and what to do."""
    if isinstance(error, FileNotFoundError):
        return f"there is no file {file}"
    return f"{file} cannot be opened ({error.strerror}): close it elsewhere and try again"


def _stripped(grid: Grid) -> Grid:
    """Cells without outer spaces; empty ones null; rows with nothing in them, or comments, gone."""
    text = pl.col(pl.String).str.strip_chars().replace("", None)
    names = [name for name in grid.cells.columns if name != "row_number"]
    if not names:
        return grid
    first = pl.col(names[0])
    remark = first.str.starts_with("#").fill_null(value=False) & ~first.is_in(ERRORS)
    there = pl.any_horizontal(pl.col(names).is_not_null())
    filled = grid.cells.lazy().with_columns(text).filter(there).collect()
    cells, remarks = filled.filter(~remark), filled.filter(remark)
    headings = pl.lit(cells["row_number"].first(), dtype=pl.Int32)
    below = remarks.filter(pl.col("row_number") > headings)
    return replace(grid, cells=cells, remarks=not below.is_empty())


def _text(path: Path, file: str, site: Site) -> list[Grid]:
    text = decoded(path.read_bytes(), file)
    delimiter = _delimiter(text, site.layout_of(file, "").first_row)
    cells = _lines(text, delimiter)
    if cells is None:
        cells = _records(text, delimiter, file)
    _refuse_many(file, cells.height, max(cells.width - 1, 0), site.limits)
    numbers = cells["row_number"] if cells.width else pl.Series([])
    return [Grid("", _numbered(cells.drop("row_number", strict=False), numbers), ragged=True)]


def _lines(text: str, delimiter: str) -> pl.DataFrame | None:
    """The cells of a text whose rows are its lines; None where `_records` must say what they are.

    It must where a quotation mark stands anywhere but around a whole cell of one line, or a row is
    longer than the first. A file of a year is read so in a tenth of the time.
    """
    if "\r" in text:
        text = text.replace("\r\n", "\n")
    if any(mark in text for mark in _SELDOM):
        return None
    content = text.encode()
    cell = rf'(?:"(?:[^"]|"")*"|[^"{delimiter}]*)'
    try:
        lines = _cut(content, _IN_NO_TEXT, quote=None).to_series()
        if '"' in text and not lines.str.contains(rf"^{cell}(?:{delimiter}{cell})*$").all():
            return None
        if (lines.str.len_bytes() > csv.field_size_limit()).any():
            return None
        cells = _cut(content, delimiter, quote='"')
        bare = lines.str.replace_all(_QUOTED, "") if '"' in text else lines
        # An empty cell too many at the end of the text is passed over without a word.
        if bare.str.count_matches(delimiter, literal=True).max() != cells.width - 1:
            return None
    except (pl.exceptions.PolarsError, OSError):  # a longer row, no row at all, or packed bytes
        return None
    return cells.with_row_index("row_number", offset=1)


def _cut(content: bytes, separator: str, *, quote: str | None) -> pl.DataFrame:
    return pl.read_csv(
        content, has_header=False, infer_schema=False, quote_char=quote, separator=separator
    )


def _records(text: str, delimiter: str, file: str) -> pl.DataFrame:
    """The cells of any text; a row is where its line begins, for a quoted cell can hold lines."""
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
    return cells.with_columns(row_number=pl.Series(numbers)) if cells.width else pl.DataFrame()


def _part(rows: list[list[str]]) -> pl.DataFrame:
    width = max((len(row) for row in rows), default=0)
    for row in rows:
        row.extend([""] * (width - len(row)))
    schema = {f"column {i}": pl.String for i in range(1, width + 1)}
    return pl.DataFrame(rows, schema=schema, orient="row") if width else pl.DataFrame()


def _delimiter(text: str, first_row: int) -> str:
    """What separates the cells of the heading line; quoted stretches do not count."""
    lines = (line.group().strip(" ") for line in islice(_LINE.finditer(text), first_row - 1, None))
    heading = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    bare = re.sub(_QUOTED, "", heading)
    return max(DELIMITERS, key=bare.count)


def _workbook(path: Path, file: str, site: Site) -> list[Grid]:
    return [Grid(sheet, cells) for sheet, cells in read_workbook(path, file, site.limits)]


def _parquet(path: Path, file: str, site: Site) -> list[Grid]:
    from pyarrow import ArrowException, parquet

    try:
        # Of the two readers at hand, this is the one that a damaged file does not bring down; but
        # whether its texts are texts it looks at only when it is asked to.
        with parquet.ParquetFile(path) as opened:
            size = opened.metadata
            _refuse_many(file, size.num_rows, size.num_columns, site.limits)
            table = opened.read()
        table.validate(full=True)
        headings = table.column_names
        frame = pl.DataFrame(
            {f"column {i}": pl.from_arrow(part) for i, part in enumerate(table.columns, start=1)}
        )
    except (ArrowException, OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno:
            raise
        message = f"{file} cannot be read as a Parquet file: write it again and put it back"
        raise ReadError(message) from error
    if all(not name.strip() for name in headings) or headings[0].strip().startswith("#"):
        message = f"{file} has no headings: name its columns and put it back"
        raise ReadError(message)
    named = pl.DataFrame([headings], schema=dict.fromkeys(frame.columns, pl.String), orient="row")
    texts = (
        _as_text(pl.col(column), heading, frame[column].dtype)
        for column, heading in zip(frame.columns, headings, strict=True)
    )
    cells = pl.concat([named, frame.select(texts)])
    return [Grid("", _numbered(cells, pl.Series(range(1, cells.height + 1))))]


def _as_text(column: pl.Expr, heading: str, dtype: pl.DataType) -> pl.Expr:
    if dtype.is_nested():
        return (
            pl.struct(column.alias(heading)).struct.json_encode().alias(column.meta.output_name())
        )
    text = column.cast(pl.String, strict=False)
    # A lot number held as a number with a fraction is still the lot number.
    return text.str.replace(r"\.0$", "") if dtype.is_float() else text


def _numbered(cells: pl.DataFrame, numbers: pl.Series) -> pl.DataFrame:
    renamed = cells.rename({name: f"column {i}" for i, name in enumerate(cells.columns, start=1)})
    return renamed.with_columns(numbers.cast(pl.Int32).alias("row_number"))


_READERS: dict[str, Callable[[Path, str, Site], list[Grid]]] = {
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
