"""A file to the tables in it: which tables they are, and which column each heading names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.readers.contract import TABLES
from pipelines.readers.grids import Grid, read_grids
from pipelines.readers.names import did_you_mean, fold, table_named

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from pipelines.readers.columns import Table
    from pipelines.readers.site import Site

BEYOND = "cells beyond the headings"
PLACE = ("file", "sheet", "row")  # headings that name the row set aside which a row mends
REASON = "reason"  # beside them, for the eye alone


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
    """

    table: str
    file: str
    sheet: str
    cells: pl.DataFrame
    doubled: tuple[str, ...] = ()
    said_in: int | None = None


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
        site: The site's own headings and attributes.

    Returns:
        The tables and what there is to mention, such as unknown headings.

    Raises:
        ReadError: The file cannot be read at all; the text names it and says what to do.
    """
    file = path.relative_to(inbox).as_posix() if path.is_relative_to(inbox) else path.name
    if path.is_dir():
        message = f"{file} is a folder: name the files in it"
        raise ReadError(message)
    grids = read_grids(path, file)
    if grids is None:
        text = "no CSV, workbook or Parquet file, so it was not read"
        return FileContent(file, (), (Mention(file, "", text),))
    chosen, mentions = _choose(grids, path.stem, file)
    tables: list[RawTable] = []
    for table, grid in chosen:
        raw, said = _under_headings(TABLES[table], file, grid, site)
        tables.append(raw)
        mentions += [Mention(file, grid.sheet, text) for text in said]
    return FileContent(file, tables=tuple(tables), mentions=tuple(mentions))


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
    if grid.cells.is_empty():
        empty = pl.DataFrame(schema={"row_number": pl.Int32})
        return RawTable(table.name, file, grid.sheet, empty), ["there is nothing in it"]
    known = known_headings(table, site)
    first, data = grid.cells.drop("row_number").row(0), grid.cells.slice(1)
    last = max(i for i, heading in enumerate(first) if heading is not None)
    names: dict[str, str] = {}
    taken, doubled, beyond = {"row_number"}, [], []
    mentions = [] if data.height else ["there are headings and no rows"]
    beside = _places_named(first, known)
    for position, (column, heading) in enumerate(zip(grid.cells.columns, first, strict=False)):
        if heading is None and grid.ragged and position > last:
            beyond.append(column)
            continue
        if heading is None and not data[column].count():
            continue
        target = known.get(fold(heading)) if heading else None
        if target and target not in taken:
            names[column] = target
        else:
            written = heading or column
            names[column] = f"{written} ({column})" if written in taken else written
            if target:
                doubled.append(target)
            elif heading and fold(heading) not in beside:
                hint = did_you_mean(heading, known.values())
                mentions.append(f"the heading {heading} is not known{hint} (cells kept aside)")
            elif not heading:
                mentions.append(f"{column} has no heading (cells kept aside)")
        taken.add(names[column])
    cells = data.select(
        "row_number", *(pl.col(column).alias(name) for column, name in names.items())
    )
    if beyond:
        joined = pl.concat_str(beyond, separator=" | ", ignore_nulls=True).replace("", None)
        cells = cells.with_columns(data.select(joined.alias(BEYOND)))
    return RawTable(table.name, file, grid.sheet, cells, tuple(doubled)), mentions


def _places_named(headings: Iterable[str | None], known: Mapping[str, str]) -> set[str]:
    """The headings that are no news: those of mended rows, where they name the rows set aside."""
    unknown = {fold(heading) for heading in headings if heading} - known.keys()
    return {*PLACE, REASON} if unknown.issuperset(PLACE) else set()


def known_headings(table: Table, site: Site) -> dict[str, str]:
    """Every folded heading that a table's file may have, with the name it stands for."""
    attributes = site.attributes if "scores" in table.derived else ()
    own = site.columns.get(table.name, {})
    plain = {fold(name): name for name in (*attributes, *table.headings)}
    return plain | {fold(heading): name for heading, name in own.items()}
