"""Faults of rows that came from several sheets."""

from __future__ import annotations

import polars as pl

from pipelines.readers.faults import faults_where


def test_a_fault_on_the_last_of_several_sheets_is_told() -> None:
    """Rows of several sheets stand in several pieces, and the first may have no fault at all."""
    sheet = pl.DataFrame({"lot": ["026097", "026098"]})
    rows = pl.concat([sheet] * 3, rechunk=False).with_columns(
        row=pl.Series([2, 3, 4, 5, 6, 7]), format=pl.Series(["can", "keg"] * 3)
    )
    found = faults_where(
        rows,
        rows["row"] > 5,
        column="format",
        value=pl.col("format"),
        reason=pl.format("lot {} was not filled into {}", "lot", "format"),
        expected="another",
        kind="reference",
    )
    assert found["reason"].to_list() == [
        "lot 026097 was not filled into can",
        "lot 026098 was not filled into keg",
    ]
