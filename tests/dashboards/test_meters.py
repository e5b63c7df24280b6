"""The page of the oxygen meters."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

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
        "Meter M2 failed 2 of 24 checks, the last on 23 Feb 2026, at worst reading 7.0 ppb high at "
        "50.0 ppb; 14 of its 131 readings, on 3 lots, are in doubt."
    )


def test_each_meter_that_failed_is_named_the_one_with_most_in_doubt_first(store: Path) -> None:
    """M1 failed once, nothing was read then, and it has not passed since."""
    results = read_results(store)
    other = results.meter_doubts.with_columns(
        meter=pl.lit("M1"), failed=pl.lit(1, pl.Int32), error=pl.lit(-9.0), until=None
    )
    doubts = pl.concat([other, results.meter_doubts], how="vertical_relaxed")
    said = lead(meters.page(replace(results, meter_doubts=doubts)))
    assert said.startswith("Meter M2 failed 2 of 24 checks")
    assert said.endswith(
        "Meter M1 failed 1 of 24 checks, on 23 Feb 2026, and has not passed since, at worst "
        "reading 9.0 ppb low at 50.0 ppb; none of its readings stands in doubt for it."
    )


def test_what_no_check_speaks_of_is_named(pages: Path) -> None:
    """M3 was never checked, and eight readings name no meter."""
    said = text(pages / "meters.html")
    assert "Meter M3 was never checked, so nothing says whether its 20 readings can be" in said
    assert "Eight readings name no meter." in said


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ('{"meters": {"leave_out_suspect": true}}', "all other results leave them out"),
        ('{"meters": {"leave_out_suspect": false}}', "all other results hold them"),
        ("{}", "all other results hold them"),
    ],
)
def test_the_page_says_which_way_the_switch_stood(store: Path, settings: str, said: str) -> None:
    """As the run was made, those before the switch too."""
    results = read_results(store)
    run = results.run.with_columns(settings=pl.lit(settings))
    assert said in meters.page(replace(results, run=run)).context["switch"]


def test_readings_in_doubt_stand_by_line_and_format(store: Path) -> None:
    """Twelve cans of two lots on the canning line; a lot whose line is not known is said to be."""
    rows = [
        row.cells for row in table(meters.page(read_results(store)), "meters-doubt-by-format").rows
    ]
    assert rows == [("canning", "can", "2", "12"), ("line not given", "keg", "1", "2")]


def test_what_leaving_them_out_does_is_said_with_its_storage_temperature(pages: Path) -> None:
    """How many dates move, the furthest one with its route and temperature, and the switch."""
    said = text(pages / "meters.html")
    assert "Leaving them out moves" in said
    assert "°C" in said.split("Leaving them out moves")[1][:200]
    assert "Shelf lives move by at most" in said
    assert "leave_out_suspect" in said


def test_meters_never_checked_and_those_due_are_among_the_meters(store: Path) -> None:
    """M3 reads and was never checked; M1 is overdue; M2 has a drift that shows."""
    rows = {
        row.cells[0]: row.cells for row in table(meters.page(read_results(store)), "meters").rows
    }
    assert rows["M3"][1:6] == ("never", "never checked", "–", "20", "0")
    assert rows["M2"][3:6] == ("2\N{NO-BREAK SPACE}of\N{NO-BREAK SPACE}24", "131", "14")
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
    names = ("meter_checks", "meter_bias", "meter_readings", "meter_doubts", "readings_in_doubt")
    others = ("doubt_by_format", "meter_pairs", "doubt_effects", "week_meter_checks")
    empty = {name: getattr(results, name).clear() for name in (*names, *others)}
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
    """Equal dates with and without; then by how much the days behind them move, and where."""
    results = read_results(store)
    same = results.doubt_effects.with_columns(date_without=pl.col("date_with"))
    effect = str(meters.page(replace(results, doubt_effects=same)).context["effect"])
    assert effect.replace("\N{NO-BREAK SPACE}", " ") == (
        "Leaving them out moves no best-before date. Shelf lives move by at most 9 days on routes "
        "that end at 21 °C, 9 at 22 °C and 9 at 8 °C."
    )


def test_where_nothing_is_dated_there_is_nothing_to_move(store: Path) -> None:
    """A run without an estimate compares empty dates."""
    results = read_results(store)
    none = results.doubt_effects.with_columns(
        pl.lit(None, pl.Int32).alias(name) for name in ("date_with", "date_without")
    )
    page = meters.page(replace(results, doubt_effects=none))
    assert page.context["effect"].startswith("There is no best-before date")


def test_meters_are_judged_by_the_numbers_that_are_said(store: Path) -> None:
    """An upper bound of 0.998 is said as 1.00, and no difference shows."""
    results = read_results(store)
    pairs = results.meter_pairs.with_columns(ratio=0.92, ratio_lower=0.843, ratio_upper=0.998).head(
        1
    )
    said = str(meters.page(replace(results, meter_pairs=pairs)).context["compared"])
    assert "no difference between them shows" in said
    assert "(0.84 to 1.00)" in said


def test_repeats_give_limits_on_the_chart_and_for_the_statistician(store: Path) -> None:
    """M2's reference is read twice a day: dashed lines on its chart, and its two SDs in words."""
    page = meters.page(read_results(store))
    dashed = [any(key.swatch == "dashed" for key in chart.key) for chart in page.context["charts"]]
    assert dashed == [False, False, True, False]
    (repeated,) = page.context["repeated"]
    assert repeated == (
        "Meter M2, reference, ppb: SD within a day 0.40, of the days' means 0.90, limits "
        "\N{MINUS SIGN}0.40 to 3.20."
    )
    (deming,) = page.context["deming"]
    assert deming == (
        "Log ppb of M2 on M1: slope 1.02 (0.90 to 1.14), intercept 0.02 "
        "(\N{MINUS SIGN}0.40 to 0.50)."
    )
