"""A file to the tables in it: which tables they are, and which column each heading names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.readers.columns import BEYOND
from pipelines.readers.contract import TABLES
from pipelines.readers.grids import Grid, read_grids
from pipelines.readers.headings import read_headings
from pipelines.readers.names import did_you_mean, table_named

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.readers.columns import Table
    from pipelines.readers.site import Layout, Site


@dataclass(frozen=True)
class Mention:
    """Something worth telling that is no fault of a row."""

    file: str
    sheet: str
    text: str


@dataclass(frozen=True)
class RawTable:
    """One table of one file as text.

    Attributes:
        table: The contract's name of the table.
        file: The path relative to the inbox, with forward slashes.
        sheet: The sheet's name, "" for text and Parquet files.
        cells: One row a data row: text columns under the contract's names where the heading is
            known and under the original heading elsewhere, null where empty, and `row_number`
            Int32 as a person counts.
        doubled: Columns that more than one heading names, so that no row says what it means.
        said_in: The load that read the rows, where they had to wait; None for rows read now.
        laid_out_as: The file and sheet that the rows are laid out as, where not their own.
    """

    table: str
    file: str
    sheet: str
    cells: pl.DataFrame
    doubled: tuple[str, ...] = ()
    said_in: int | None = None
    laid_out_as: tuple[str, str] | None = None

    @property
    def layout_of(self) -> tuple[str, str]:
        """The file and sheet whose layout the configuration may speak of."""
        return self.laid_out_as or (self.file, self.sheet)


@dataclass(frozen=True)
class FileContent:
    """What a file holds; no tables where its name, or no sheet's name, says which."""

    file: str
    tables: tuple[RawTable, ...]
    mentions: tuple[Mention, ...]


def inbox_files(inbox: Path) -> tuple[Path, ...]:
    """Every file of the inbox in a fixed order; hidden files and office lock files are none.

    Args:
        inbox: The folder; its own folders are looked through too.

    Returns:
        The files, sorted by path.

    Raises:
        ReadError: There is no such folder, or it may not be looked into.
    """
    if not inbox.is_dir():
        message = f"there is no inbox {inbox}: make the folder, or set [paths] inbox"
        raise ReadError(message)
    try:
        next(inbox.iterdir(), None)  # rglob passes over a folder that it may not look into
    except OSError as error:
        message = f"the inbox {inbox} cannot be read: {error.strerror}"
        raise ReadError(message) from error
    return tuple(
        path
        for path in sorted(inbox.rglob("*"))
        if path.is_file()
        and not any(part.startswith((".", "~$")) for part in path.relative_to(inbox).parts)
    )


def read_file(path: Path, inbox: Path, site: Site) -> FileContent:
    """Read a file as text tables.

    Args:
        path: A CSV, workbook or Parquet file; its name, or its sheets' names, say the tables.
        inbox: The folder that the file's name is taken relative to, where it lies in it.
        site: The site's own headings, attributes and layouts of files.

    Returns:
        The tables and what there is to mention, such as unknown headings.

    Raises:
        ReadError: The file cannot be read at all; the text names it and says what to do.
    """
    file = path.relative_to(inbox).as_posix() if path.is_relative_to(inbox) else path.name
    if path.is_dir():
        message = f"{file} is a folder: name the files in it"
        raise ReadError(message)
    grids = read_grids(path, file, site)
    if grids is None:
        text = "no CSV, workbook or Parquet file, so it was not read"
        return FileContent(file, (), (Mention(file, "", text),))
    declared = [
        (layout.table, grid)
        for grid in grids
        if (layout := site.layout_of(file, grid.sheet)).table
        and (grid.cells.height or len(grids) == 1)
    ]
    rest = tuple(grid for grid in grids if not site.layout_of(file, grid.sheet).table)
    chosen, mentions = _choose(rest, "" if declared else path.stem, file) if rest else ([], [])
    tables: list[RawTable] = []
    for table, grid in (*declared, *chosen):
        raw, said = _under_headings(TABLES[table], file, grid, site)
        tables.append(raw)
        mentions += [Mention(file, grid.sheet, text) for text in said]
    if tables and _is_open(path):
        text = "open in a program: read as it was last saved, what is saved later comes in then"
        mentions.append(Mention(file, "", text))
    return FileContent(file, tables=tuple(tables), mentions=tuple(mentions))


def _is_open(path: Path) -> bool:
    """Whether an office program holds a file open, which it shows by another file beside it."""
    locks = {f"~${path.name}", f".~lock.{path.name}#"}
    return any(beside.name in locks for beside in path.parent.iterdir())


def _choose(
    grids: tuple[Grid, ...], stem: str, file: str
) -> tuple[list[tuple[str, Grid]], list[Mention]]:
    """Which grids are which table, and what to say of those that are none."""
    own_name = table_named(stem, TABLES)
    named = [(table_named(grid.sheet, TABLES), grid) for grid in grids]
    filled = [grid for grid in grids if grid.cells.height]
    if own_name and not any(table for table, _ in named) and len(filled or grids) == 1:
        return [(own_name, (filled or list(grids))[0])], []
    mentions = [
        Mention(file, grid.sheet, _unread("sheet" if grid.sheet else "file", grid.sheet or stem))
        for table, grid in named
        if table is None and grid in filled
    ]
    if not any(grid.sheet for grid in grids) and not filled:
        mentions.append(Mention(file, "", _unread("file", stem)))
    return [(table, grid) for table, grid in named if table], mentions


def _unread(what: str, name: str) -> str:
    hint = did_you_mean(name.rstrip("0123456789-_. "), TABLES)
    return f"the {what}'s name, {name}, names no table and the {what} was not read{hint}"


def _under_headings(table: Table, file: str, grid: Grid, site: Site) -> tuple[RawTable, list[str]]:
    """Put a grid's cells under the contract's names, and say what is odd about its headings."""
    layout = site.layout_of(file, grid.sheet)
    rows = grid.cells.filter(pl.col("row_number") >= layout.first_row)
    if rows.is_empty():
        empty = pl.DataFrame(schema={"row_number": pl.Int32})
        return RawTable(table.name, file, grid.sheet, empty), ["there is nothing in it"]
    written, data = rows.drop("row_number").row(0, named=True), rows.slice(1)
    columns = list(written)
    last = max(i for i, heading in enumerate(written.values()) if heading is not None)
    beyond = columns[last + 1 :] if grid.ragged else []
    read = read_headings(
        {
            column: heading
            for column, heading in written.items()
            if column not in beyond and (heading is not None or data[column].count())
        },
        table,
        site,
        layout,
    )
    cells = data.select(
        "row_number",
        *(pl.col(column).alias(name) for column, name in read.names.items()),
        *([_joined(beyond)] if beyond else []),
    ).with_columns(
        (pl.col(name).fill_null(text) if name in read.names.values() else pl.lit(text)).alias(name)
        for name, text in layout.fill.items()
    )
    mentions = [*_about_rows(rows, layout, remarks=grid.remarks), *read.mentions]
    return RawTable(table.name, file, grid.sheet, cells, tuple(read.doubled)), mentions


def _joined(columns: list[str]) -> pl.Expr:
    joined = pl.concat_str(columns, separator=" | ", ignore_nulls=True)
    return joined.replace("", None).alias(BEYOND)


def _about_rows(rows: pl.DataFrame, layout: Layout, *, remarks: bool) -> list[str]:
    """What is odd about where the rows begin and whether there are any."""
    first = rows["row_number"][0]
    said = [] if rows.height > 1 or remarks else ["there are headings and no rows"]
    if first > layout.first_row > 1:
        said.append(f"row {layout.first_row} has no headings: they are taken from row {first}")
    return said
