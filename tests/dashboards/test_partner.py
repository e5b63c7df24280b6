"""What a partner may see: what is listed, of the partner's beers, and nothing else."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.partner import NOT_SHOWN, SHOWN, restricted
from dashboards.results import Results, read_results

if TYPE_CHECKING:
    from pathlib import Path

BEER = "Fennimore Pils"


@pytest.fixture(scope="module")
def results(store: Path) -> Results:
    """All results of one good run."""
    return read_results(store)


def test_what_is_listed_exists(results: Results) -> None:
    """A view or column that was renamed is noticed, not silently left out."""
    for name, columns in SHOWN.items():
        assert set(columns) <= set(getattr(results, name).columns), name


def test_what_is_not_listed_is_left_out(results: Results) -> None:
    """Whole views, and single columns; all keep their shape, so that a page can be made."""
    shown = restricted(results, [BEER])
    ours = {("run", "verdicts"), ("run", "lots"), ("stock", "customers")}
    for f in fields(Results):
        before, after = getattr(results, f.name), getattr(shown, f.name)
        assert before.columns == after.columns
        if f.name not in SHOWN:
            assert after.is_empty(), f.name
        for column in set(after.columns) - set(SHOWN.get(f.name, ())):
            if (f.name, column) not in ours:
                assert after[column].null_count() == after.height, (f.name, column)
    assert set(shown.stock["customers"]) == {NOT_SHOWN}


def test_rows_are_of_the_beers_and_counts_too(results: Results) -> None:
    """Another beer of the same style adds neither a row nor a count."""
    shown = restricted(results, [BEER])
    for name, columns in SHOWN.items():
        if "beer" in columns:
            assert set(getattr(shown, name)["beer"]) <= {BEER}, name
    assert shown.beer_dates.height > 0
    pulls = results.pulls.filter(pl.col("beer") == BEER)
    assert shown.run["verdicts"].to_list() == [pulls["tasted"].sum()]
    assert results.run["verdicts"][0] != pulls["tasted"].sum()


def test_no_beer_shows_nothing_of_anybody(results: Results) -> None:
    """All that is left is the run's day and its question."""
    shown = restricted(results, [])
    full = {f.name for f in fields(Results) if getattr(shown, f.name).height}
    assert full <= {"run", "loads", "this_week", "stock_summary"}
