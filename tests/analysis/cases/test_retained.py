"""Retained samples against the printed date of their lot."""

from __future__ import annotations

import polars as pl
import pytest

from analysis.cases.retained import kept_to_date

SCHEMA = {
    "lot": pl.String,
    "format": pl.String,
    "sample": pl.String,
    "storage_temp_c": pl.Float64,
    "age_days": pl.Float64,
    "printed_days": pl.Int64,
    "tasted": pl.Int64,
    "rejected": pl.Int64,
}


def judged(*rows: tuple) -> list[dict]:
    """Judge samples of lot L in cans, with the rest of each row given."""
    frame = pl.DataFrame([("L", "can", *row) for row in rows], schema=SCHEMA, orient="row")
    return kept_to_date(frame, 0.25, 0.10).to_dicts()


@pytest.mark.parametrize(
    ("tasted", "rejected", "finding"),
    [
        (9, 6, "did not keep"),  # its lower bound is 0.34, the limit 0.1 + 0.9 · 0.25 = 0.325
        (9, 5, "too few"),  # 0.25
        (8, 0, "kept"),  # its upper bound is 1 − 0.05^(1/8) = 0.31
        (7, 0, "too few"),  # 0.35
        (1, 1, "too few"),
    ],
)
def test_the_exact_bounds_decide(tasted: int, rejected: int, finding: str) -> None:
    """A finding is told where the whole interval lies on one side of what a date lets through."""
    (found,) = judged(("S", 20.0, 120.0, 120, tasted, rejected))
    assert found["finding"] == finding


def test_only_beer_kept_as_the_trade_does_around_its_date_speaks_of_it() -> None:
    """Neither the warm cupboard, nor beer far from its date, nor a lot without one."""
    assert [
        row["sample"]
        for row in judged(
            ("two weeks early", 20.0, 106.0, 120, 9, 0),
            ("two weeks late", 4.0, 134.0, 120, 9, 9),
            ("earlier", 20.0, 105.0, 120, 9, 0),
            ("later", 20.0, 135.0, 120, 9, 9),
            ("forced", 30.0, 120.0, 120, 9, 9),
            ("no date", 20.0, 120.0, None, 9, 9),
            ("not sure", 20.0, 120.0, 120, 0, 0),
        )
    ] == ["two weeks late", "two weeks early"]
