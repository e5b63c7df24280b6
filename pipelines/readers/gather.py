"""The sheets of one table as one frame of text, with rows that have no sound shape told apart."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.across import one_row_a_value
from pipelines.readers.columns import BEYOND, Table, one_of
from pipelines.readers.convert import DAY_FIRST, SCORE, WRITTEN_FOR, WRITTEN_IN
from pipelines.readers.faults import all_faults, faults_where, without
from pipelines.readers.json_text import json_object

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pipelines.readers.files import RawTable
    from pipelines.readers.site import Site

_OF_A_READING = {"quantity", "value"}


def gather(
    table: Table, sheets: Sequence[RawTable], site: Site
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Put the sheets of a table together, one row a value where a sheet is wide.

    Args:
        table: The contract.
        sheets: Its sheets, from any number of files.
        site: The site's attributes and layouts of files.

    Returns:
        Text under every column of the contract and `void`, under "score: " and the name of each
        attribute found, with `row` (counted over all sheets), file, sheet, row_number, said_in and
        extra; and a fault frame of the rows that are not among them.
    """
    scored = [name for name in site.attributes if name not in table.headings]
    attributes = scored if "scores" in table.derived else []
    texts, faults = [], []
    for written, counted in _numbered(sheets):
        sheet, numbers = written, counted
        layout = site.layout_of(*sheet.layout_of)
        if layout.across and layout.table == table.name:
            cells, numbers, empty = one_row_a_value(table, sheet.cells, counted, site, layout)
            sheet = replace(written, cells=cells)
            faults.append(empty)
        misshapen = _misshapen(table, sheet, numbers)
        day_first = site.day_comes_first(*sheet.layout_of)
        text = _aligned(table, sheet, numbers, attributes).with_columns(
            pl.lit(day_first, dtype=pl.Boolean).alias(DAY_FIRST)
        )
        texts.append(without(text, misshapen))
        faults.append(misshapen)
    rows = pl.concat(texts)
    if table.wide:
        rows, empty = _long(table, rows)
        faults.append(empty)
    if table.name == "lot_results":
        rows = _bounds_as_results(rows)
    return rows, all_faults(faults)


def places(sheets: Sequence[RawTable], rows: pl.Series) -> pl.DataFrame:
    """Where rows stand, and all that stands in them, by the `row` that `gather` gave them."""
    found = []
    for sheet, numbers in _numbered(sheets):
        among = numbers.is_in(rows.implode())
        headings = [name for name in sheet.cells.columns if name != "row_number"]
        found.append(
            sheet.cells.filter(among).select(
                numbers.filter(among),
                "row_number",
                table_name=pl.lit(sheet.table),
                file=pl.lit(sheet.file),
                sheet=pl.lit(sheet.sheet),
                cells=json_object({name: pl.col(name) for name in headings}),
                said_in=pl.lit(sheet.said_in, dtype=pl.Int64),
            )
        )
    return pl.concat(found)


def _numbered(sheets: Sequence[RawTable]) -> Iterator[tuple[RawTable, pl.Series]]:
    """Each sheet with the numbers of its rows, counted over all sheets."""
    first = 0
    for sheet in sheets:
        after = first + sheet.cells.height
        yield sheet, pl.int_range(first, after, eager=True).alias("row")
        first = after


def _aligned(
    table: Table, sheet: RawTable, numbers: pl.Series, attributes: Sequence[str]
) -> pl.DataFrame:
    """A sheet's cells under all columns that the table can have, the rest as `extra`."""
    there = set(sheet.cells.columns)
    unknown = there - {*table.headings, *attributes, "row_number", WRITTEN_IN, WRITTEN_FOR}

    def cell(name: str) -> pl.Expr:
        return pl.col(name) if name in there else pl.lit(None, dtype=pl.String)

    return sheet.cells.select(
        numbers,
        pl.col("row_number").cast(pl.Int32),
        *(cell(name).alias(name) for name in (*table.headings, WRITTEN_IN, WRITTEN_FOR)),
        *(cell(name).alias(SCORE + name) for name in attributes),
        file=pl.lit(sheet.file),
        sheet=pl.lit(sheet.sheet),
        said_in=pl.lit(sheet.said_in, dtype=pl.Int64),
        extra=json_object({name: pl.col(name) for name in sheet.cells.columns if name in unknown}),
    )


def _misshapen(table: Table, sheet: RawTable, numbers: pl.Series) -> pl.DataFrame:
    """Rows that cannot be read column by column: one is missing, stands twice, or has slipped."""
    rows = sheet.cells.with_columns(numbers)
    every = pl.repeat(value=True, n=rows.height, eager=True)
    faults = []
    missing = _missing(table, sheet)
    if missing:
        names = " and ".join(missing)
        of_a_reading = table.wide and set(missing) & _OF_A_READING
        wide = f", or one of {one_of(table.wide)}" if of_a_reading else ""
        faults.append(
            faults_where(
                rows,
                every,
                column=missing[0],
                value=pl.lit(""),
                reason=f"the column {names} is missing"
                if len(missing) == 1
                else f"the columns {names} are missing",
                expected=f"the heading {names}{wide}",
                kind="missing",
            )
        )
    faults += [
        faults_where(
            rows,
            every,
            column=name,
            value=pl.col(name) if name in rows.columns else pl.lit(""),
            reason=f"more than one heading means {name}",
            expected=f"one column headed {name}",
            kind="value",
        )
        for name in dict.fromkeys(sheet.doubled)
    ]
    if BEYOND in rows.columns:
        faults.append(
            faults_where(
                rows,
                rows[BEYOND].is_not_null(),
                column=BEYOND,
                value=pl.col(BEYOND),
                reason="more cells than headings",
                expected="as many cells as headings: text that holds the separator in quotes",
                kind="value",
            )
        )
    return all_faults(faults)


def _missing(table: Table, sheet: RawTable) -> list[str]:
    """Required columns that a sheet does not have; wide headings stand for two of them."""
    there = set(sheet.cells.columns)
    given = there | _OF_A_READING if there & set(table.wide) else there
    return [column.name for column in table.columns if column.required and column.name not in given]


def _long(table: Table, rows: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """One row for each value of a wide row, and the faults of rows without any."""
    plain = pl.any_horizontal(pl.col("quantity", "value").is_not_null())
    any_wide = pl.any_horizontal(pl.col(table.wide).is_not_null())
    values = [
        rows.filter(plain),
        *(
            rows.filter(pl.col(name).is_not_null()).with_columns(
                pl.lit(name).alias(WRITTEN_IN),
                pl.lit("value").alias(WRITTEN_FOR),
                quantity=pl.lit(name),
                value=pl.col(name),
            )
            for name in table.wide
        ),
    ]
    empty = faults_where(
        rows,
        ~rows.select(there=plain | any_wide)["there"],
        column="value",
        value=pl.lit(""),
        reason="no reading",
        expected=f"quantity and value, or a number under {one_of(table.wide)}",
        kind="missing",
    )
    return pl.concat(values).drop(table.wide).sort("row", maintain_order=True), empty


def _bounds_as_results(rows: pl.DataFrame) -> pl.DataFrame:
    """Keep a laboratory's `<10` as the result it is: there is no number to calculate with."""
    bound = pl.col("result").is_null() & pl.col("value").str.contains(r"^[<>]")
    return rows.with_columns(
        result=pl.when(bound).then("value").otherwise("result"),
        value=pl.when(~bound).then("value"),
    )
