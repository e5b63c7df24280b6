"""The page of the oxygen meters."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from dashboards.pages import meters
from dashboards.results import read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.page import Page, Table


def lead(page: Page) -> str:
    """Return the first sentence of a page with common spaces."""
    return str(page.context["lead"]).replace("\N{NO-BREAK SPACE}", " ")


def table(page: Page, name: str) -> Table:
    """Return one table of a page."""
    return next(t for t in page.tables if t.name == name)


def test_the_sentence_names_the_meter_the_days_and_what_is_in_doubt(store: Path) -> None:
    """Which meter failed when and by how much, then how many readings of how many lots."""
    said = lead(meters.page(read_results(store)))
    assert said == (
        "Meter M2 failed its check 2 times from 16 Feb 2026 to 23 Feb 2026, at worst reading "
        "7.0 ppb high at 50.0 ppb. Since 5 Jan 2026 14 readings of 3 lots are in doubt."
    )


def test_what_leaving_them_out_does_is_said_with_its_storage_temperature(pages: Path) -> None:
    """How many dates move, the furthest one with its route and temperature, and the switch."""
    said = text(pages / "meters.html")
    assert "Leaving them out moves" in said
    assert "°C" in said.split("Leaving them out moves")[1][:200]
    assert "leave_out_suspect" in said


def test_meters_never_checked_and_those_due_are_among_the_meters(store: Path) -> None:
    """M3 reads and was never checked; M1 is overdue; M2 has a drift that shows."""
    rows = {
        row.cells[0]: row.cells for row in table(meters.page(read_results(store)), "meters").rows
    }
    assert rows["M3"][1:4] == ("never", "never checked", "0")
    assert "overdue" in rows["M1"][2]
    assert "no drift shows" in rows["M1"][-1]
    assert "too few checks to say (4)" in rows["M1"][-1]
    assert "moving by 1.1 (0.5 to 1.6) in 30 days" in rows["M2"][-1]


def test_meters_are_compared_in_words_or_said_to_be_too_few(pages: Path) -> None:
    """M2 beside M1 with its interval; M3 with two lots is too few."""
    said = text(pages / "meters.html")
    assert "M2 reads higher; M2 reads 1.09 times what M1 does (1.03 to 1.15)." in said
    assert "too few lots read by both to compare (2)" in said


def test_each_meter_and_standard_has_its_chart(store: Path) -> None:
    """Four charts, whose words count the checks that failed."""
    charts = meters.page(read_results(store)).context["charts"]
    assert [chart.title for chart in charts] == [
        f"Meter {meter}, {standard}: read less expected, ppb"
        for meter in ("M1", "M2")
        for standard in ("reference", "zero")
    ]
    assert charts[2].summary.startswith("12\N{NO-BREAK SPACE}checks, two beyond the tolerance")


def test_without_checks_the_page_says_which_file_would_fill_it(store: Path) -> None:
    """No check and nobody due: one sentence, no chart, and empty tables that say why."""
    results = read_results(store)
    names = ("meter_checks", "meter_bias", "meter_doubts", "readings_in_doubt", "meter_pairs")
    empty = {
        name: getattr(results, name).clear()
        for name in (*names, "doubt_effects", "week_meter_checks")
    }
    page = meters.page(replace(results, **empty))
    assert "the table meter_checks fills this" in lead(page)
    assert page.context["charts"] == ()
    assert all(not table.rows and table.empty for table in page.tables)


def test_where_every_check_passed_nothing_is_in_doubt(store: Path) -> None:
    """It says since when, and names no meter."""
    results = read_results(store)
    checks = results.meter_checks.filter("passed")
    page = meters.page(
        replace(results, meter_checks=checks, meter_doubts=results.meter_doubts.clear())
    )
    assert lead(page) == (
        "Every meter passed every check since 5 Jan 2026: no reading is in doubt."
    )


def test_dates_that_do_not_move_are_said_not_to(store: Path) -> None:
    """Equal dates with and without: one plain sentence."""
    results = read_results(store)
    same = results.doubt_effects.with_columns(date_without=pl.col("date_with"))
    page = meters.page(replace(results, doubt_effects=same))
    assert page.context["effect"] == "Leaving them out moves no best-before date."
