"""Faults of rows that came from several sheets."""

from __future__ import annotations

import polars as pl

from pipelines.readers.faults import faults_where


def test_a_fault_on_the_last_of_several_sheets_is_told() -> None:
    """Rows of several sheets stand in several pieces, and the first may have no fault at all."""
    sheet = pl.DataFrame({"row": [2, 3], "lot": ["026097", "026098"], "format": ["can", "keg"]})
    rows = pl.concat([sheet, sheet.with_columns(row=pl.col("row") + 2)], rechunk=False)
    found = faults_where(
        rows,
        rows["row"] > 4,
        column="format",
        value=pl.col("format"),
        reason=pl.format("lot {} was not filled into {}", "lot", "format"),
        expected="another",
        kind="reference",
    )
    assert found["reason"].to_list() == ["lot 026098 was not filled into keg"]
