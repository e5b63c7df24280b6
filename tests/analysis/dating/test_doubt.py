"""Dates with readings in doubt and without them, side by side."""

from __future__ import annotations

import polars as pl

from analysis.dating.doubt import effect_in_days


def dates(*rows: tuple[str, float | None, int | None]) -> pl.DataFrame:
    """Make dates of cans on a shelf: style, shelf life, best-before days."""
    return pl.DataFrame(
        rows,
        schema={"style": pl.String, "shelf_life_days": pl.Float64, "best_before_days": pl.Int32},
        orient="row",
    ).with_columns(format=pl.lit("can"), route=pl.lit("shelf"))


def test_the_largest_difference_stands_first_and_nothing_is_lost() -> None:
    """By its size either way; a style without an estimate stands last."""
    found = effect_in_days(
        dates(("ale", 100.0, 91), ("lager", 200.0, 168), ("stout", None, None)),
        dates(("ale", 102.0, 91), ("lager", 190.0, 161), ("stout", None, None)),
    )
    assert found["style"].to_list() == ["lager", "ale", "stout"]
    assert found["difference_days"].to_list() == [-10.0, 2.0, None]
    assert found.select("date_with", "date_without").row(0) == (168, 161)
