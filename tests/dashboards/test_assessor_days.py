"""What each assessor does to the dates, as the page of the assessors says it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards import words
from dashboards.pages import assessor_days
from dashboards.results import Results, read_results

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def results(store: Path) -> Results:
    """The results of the fixture's store."""
    return read_results(store)


def test_the_date_that_moves_most_is_named_with_its_temperature(results: Results) -> None:
    """A date never stands without the storage it holds for, nor an assessor by name."""
    said = assessor_days.lead(results)
    assert said.startswith("Farthest goes a date without T33: that of ")
    assert "°C" in said
    assert "Brack" not in said


def test_rows_stand_by_code_and_who_moves_nothing_moves_nothing(results: Results) -> None:
    """No order but that of the codes; without the third assessor there is no fit to date from."""
    table = assessor_days.table(results)
    assert [row.cells[0] for row in table.rows] == ["T31", "T32", "T33"]
    dates = results.assessor_days.filter(pl.col("code") == "T33")["date_with"].count()
    assert table.rows[0].cells[1] == "the others do not settle it"
    assert table.rows[1].cells[1] == fwords.of(0, dates)
    assert table.rows[2].cells[1] == words.of(dates, dates)


def test_a_date_that_comes_or_goes_moves(results: Results) -> None:
    """Without an assessor a date may be none at all, and that counts as a move."""
    days = results.assessor_days.filter(pl.col("code") == "T32").with_columns(
        date_without=pl.when(pl.int_range(pl.len()) > 0).then("date_with")
    )
    table = assessor_days.table(replace(results, assessor_days=days))
    (row,) = table.rows
    assert row.cells[1] == words.of(1, days["date_with"].count())


def test_where_nothing_moves_the_page_says_so(results: Results) -> None:
    """That no date hangs on one person is worth a sentence."""
    days = results.assessor_days.filter(pl.col("code") == "T32")
    said = assessor_days.lead(replace(results, assessor_days=days))
    assert said == "No best-before date would be another without any one of the assessors."


def test_without_dates_the_table_says_what_would_fill_it(results: Results) -> None:
    """An empty run has no sentence, and a table that names the file."""
    none = replace(results, assessor_days=results.assessor_days.clear())
    assert not assessor_days.lead(none)
    assert "tastings" in assessor_days.table(none).empty
