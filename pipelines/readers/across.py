"""Sheets that spread one column over their headings, as a panel's sheet does over its assessors.

A row of such a sheet is several rows of its table, one for each filled cell. It stays one row as a
person counts: all that it says is stored, or it is set aside whole.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.columns import BEYOND
from pipelines.readers.convert import SCORE, WRITTEN_FOR, WRITTEN_IN
from pipelines.readers.faults import faults_where
from pipelines.readers.names import fold, listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pipelines.readers.columns import Table
    from pipelines.readers.site import Layout, Site

_ROW = " row"  # no heading begins with a space
_UNNAMED = re.compile(r"column \d+")


def headings_across(
    columns: Iterable[str], table: Table, site: Site, layout: Layout
) -> tuple[str, ...]:
    """Give the headings that are values of the column which is spread over them.

    Args:
        columns: Columns of a sheet, under the contract's names where they are known.
        table: The contract.
        site: The site's attributes.
        layout: How the sheet is laid out.

    Returns:
        Every heading that names no column and is not declared to be kept aside.
    """
    aside = {fold(heading) for heading in layout.aside}
    known = {*table.headings, *site.attributes, "row_number", BEYOND}
    return tuple(
        name
        for name in columns
        if name not in known and fold(name) not in aside and not _UNNAMED.fullmatch(name)
    )


def one_row_a_value(
    table: Table, cells: pl.DataFrame, numbers: pl.Series, site: Site, layout: Layout
) -> tuple[pl.DataFrame, pl.Series, pl.DataFrame]:
    """Make one row of each filled cell under the headings that are values.

    Args:
        table: The contract.
        cells: A sheet's cells, one row a row of the sheet.
        numbers: The numbers of its rows.
        site: The site's attributes.
        layout: How the sheet is laid out.

    Returns:
        The cells with the column in place of the headings, where each value was written, and what
        for; the numbers of these rows; and a fault frame of the rows with nothing there.
    """
    spread = (layout.across, layout.value)
    names = headings_across(cells.columns, table, site, layout)
    filled = (
        cells.drop(spread, strict=False)
        .with_columns(numbers.alias(_ROW))
        .unpivot(
            on=names,
            index=[_ROW, *(name for name in cells.columns if name not in {*names, *spread})],
            variable_name=WRITTEN_IN,
            value_name=layout.value,
        )
        .filter(pl.col(layout.value).is_not_null())
        .sort(_ROW, maintain_order=True)
    )
    written_for = SCORE + layout.value if layout.value in site.attributes else layout.value
    long = filled.with_columns(
        pl.col(WRITTEN_IN).alias(layout.across), pl.lit(written_for).alias(WRITTEN_FOR)
    )
    empty = faults_where(
        cells.select(numbers.alias("row")),
        ~numbers.is_in(long[_ROW].implode()),
        column=layout.value,
        value=pl.lit(""),
        reason=f"nothing under any {layout.across}",
        expected=f"a cell under {listed(names)}"
        if names
        else f"a heading for each {layout.across}",
        kind="missing",
    )
    return long.drop(_ROW), long[_ROW].alias(numbers.name), empty
