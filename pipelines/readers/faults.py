"""Faults: one row each in one frame, in words that a brewer understands.

A fault frame has `row` (the place of the data row among all of its table), `column_name`, `value`
(the text as written), `reason`, `expected` and `kind`: `value` and `missing` are mended in the
file, `conflict` by deciding between two rows, and a `reference` comes in by itself as soon as what
it names does, or is mended.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Iterable

FaultKind = Literal["value", "missing", "reference", "conflict"]

FAULT_SCHEMA = {
    "row": pl.Int64,
    "column_name": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "expected": pl.String,
    "kind": pl.String,
}

SET_ASIDE_SCHEMA = {
    "table_name": pl.String,
    "file": pl.String,
    "sheet": pl.String,
    "row_number": pl.Int32,
    "column_name": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "expected": pl.String,
    "kind": pl.String,
    "cells": pl.String,
    "said_in": pl.Int64,
}


def faults_where(
    rows: pl.DataFrame,
    where: pl.Series,
    *,
    column: str | pl.Expr,
    value: pl.Expr,
    reason: str | pl.Expr,
    expected: str | pl.Expr,
    kind: FaultKind,
) -> pl.DataFrame:
    """A fault for every row where a condition holds; a null condition does not hold.

    Args:
        rows: Rows with `row` and whatever the expressions read.
        where: The condition, as long as `rows`.
        column: The column's name.
        value: The text as written; null becomes "".
        reason: What is wrong.
        expected: What should stand there instead.
        kind: How the fault is mended.

    Returns:
        A fault frame.
    """
    texts = {"column_name": column, "value": value, "reason": reason, "expected": expected}
    # In one piece: polars 2.1 stops at formatting texts whose first piece a filter has emptied.
    return (
        rows.filter(where.fill_null(value=False))
        .rechunk()
        .select(
            pl.col("row").cast(pl.Int64),
            *(
                (
                    pl.lit(text) if isinstance(text, str) else text.cast(pl.String).fill_null("")
                ).alias(name)
                for name, text in texts.items()
            ),
            kind=pl.lit(kind),
        )
    )


def all_faults(frames: Iterable[pl.DataFrame]) -> pl.DataFrame:
    """Fault frames as one."""
    return pl.concat([pl.DataFrame(schema=FAULT_SCHEMA), *frames])


def without(rows: pl.DataFrame, faults: pl.DataFrame) -> pl.DataFrame:
    """The rows that have no fault, in their order."""
    if faults.is_empty():
        return rows
    return rows.join(faults, on="row", how="anti", maintain_order="left")
