"""Faults of rows as lines a person can act on."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl

SHOWN = 200  # a broken column of a long file must not hide all that was said before it


def fault_lines(set_aside: pl.DataFrame, limit: int | None = None) -> list[str]:
    """One line a fault: file, sheet, row, column, what stands there, why not, what was expected.

    Args:
        set_aside: Rows as the readers set them aside, one a fault.
        limit: How many to write out; None for all. The rest is counted in a last line.
    """
    ordered = set_aside.sort("file", "sheet", "row_number", "column_name", nulls_last=True)
    lines = [_line(row) for row in ordered.head(limit or ordered.height).iter_rows(named=True)]
    rest = ordered.height - len(lines)
    if rest:
        lines.append(f"and {rest} more: see the data page and its set_aside.csv")
    return lines


def place(file: str, sheet: str | None) -> str:
    """A file, and the sheet where there is one."""
    return f"{file}, sheet {sheet}" if sheet else file


def _line(row: dict[str, object]) -> str:
    where = f"{place(str(row['file']), str(row['sheet'] or ''))}, row {row['row_number']}"
    column = f", {row['column_name']}" if row["column_name"] else ""
    value = f"'{row['value']}', " if row["value"] not in {None, ""} else ""
    expected = f" (expected {row['expected']})" if row["expected"] else ""
    return f"{where}{column}: {value}{row['reason']}{expected}"
