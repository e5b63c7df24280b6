"""The page of this week."""

from __future__ import annotations

import html
import re
import shutil
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards import words
from dashboards.pages import this_week
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from selenium.webdriver import Chrome

    from dashboards.page import Page


def page_of(store: Path) -> Page:
    """Return the page of a store, not yet written."""
    return this_week.page(read_results(store))


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    seen = re.sub(r"<p id=\"stale\".*?</p>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    joined = re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", seen)))
    return joined.replace(" .", ".")


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page in a week with something on every list."""
    return text(pages / "this-week.html")


def test_the_sentence_comes_first_with_every_count(said: str) -> None:
    """What is due and overdue, what may go and what did not come, small numbers in letters."""
    assert (
        "This week Two pulls are due this week, one is overdue; two samples wait to be tasted, one "
        "of them overdue; one meter check is overdue; one meter was never checked; three retained "
        "samples may go; two expected files did not come; five dates changed."
    ) in said


def test_the_page_says_which_day_it_takes_for_today(said: str) -> None:
    """A page that was written by the night has that day, and says how to tell that it is old."""
    assert (
        "As of 6 Apr 2026, for the seven days from then. This page was written on that day; if "
        "that is not this week, the night did not run."
    ) in said


def test_a_pretended_day_is_said(make_store: Callable[..., Path], brewery: str) -> None:
    """Who reads lists of a day that the configuration made up is told so."""
    store = make_store(brewery, "UPDATE this_week.summary SET today = DATE '2026-02-02'")
    assert page_of(store).context["seen_from"].replace(words.NBSP, " ") == (
        "As of 2 Feb 2026, which the configuration takes for today (as_of); this page was written "
        "on 6 Apr 2026."
    )


def test_pulls_have_place_temperature_and_days(said: str) -> None:
    """The overdue one stands first; a sample that is written down has its number."""
    first = said.index("L0905, can 1 Apr 2026 5 84 room 20, 20 °C Fennimore Pils")
    second = said.index("L0905, can, sample S0812 9 Apr 2026 – 42 warm cupboard, 30 °C")
    third = said.index("L0880, can 12 Apr 2026 – 90 4 °C Loft Window")
    assert first < second < third
    assert (
        "Four planned pulls were missed: a later one has been made, or it has been overdue for "
        "more than 60 days."
    ) in said


def test_tastings_have_place_temperature_and_days(said: str) -> None:
    """Also those that may wait a little; what was never tasted is one line."""
    assert "S0799 20 Mar 2026 3 Apr 2026 3 L0902, bottle; Fennimore Pils room 20, 20 °C" in said
    assert "S0805 2 Apr 2026 16 Apr 2026 – L0971, can; Fennimore Pils cold room, 4 °C, 9 da" in said
    assert (
        "One sample was pulled and never tasted, overdue for more than 60 days. Meter checks"
    ) in said


def test_meters_never_checked_stand_first(said: str) -> None:
    """A meter whose readings nobody ever checked is worse than one that is late."""
    assert said.index("M3 never now – 2 Apr 2026") < said.index("M1 27 Mar 2026 3 Apr 2026 3")
    assert "One meter is at rest: no check and no reading for more than 60 days." in said


def test_retained_samples_say_by_how_much_and_which(said: str) -> None:
    """A lot without a printed date says by which date it is judged."""
    assert "L0702, bottle 10 Feb 2026 55 2 cold room, 8 °C S0640, S0641" in said
    assert "Its next pull is written down for 1 May 2026." in said
    assert "1 Mar 2026 (none printed; by the longest date of the style) 36 1 21 °C S0655" in said


def test_files_say_when_the_last_one_came(said: str) -> None:
    """A file that never came stands before one that is late."""
    assert said.index("fridge log* 7 never") < said.index("oxygen 7 23 Mar 2026 7 oxygen-2026-w12")
    assert "3 rows of 2 files stand aside and wait to be mended. Which, and how" in said


def test_changed_dates_have_route_temperature_and_cause(said: str) -> None:
    """Days a week ago and now, lost and new dates with the reason, and which runs are compared."""
    assert (
        "The newest run beside run 5 of 28 Mar 2026, which stood a week ago: days from packaging, "
        "kept as said."
    ) in said
    assert (
        "pale lager, bottle 84 77 −7 export, ends at 22 °C flavour Export, ends at 22 °C; flavour."
    ) in said
    assert "pale lager, keg 154 182 +28 on-trade keg, ends at 8 °C haze, before: flavour" in said
    assert (
        "hazy ale, can 84 – lost export, ends at 22 °C the distribution stages use the life up"
    ) in said
    assert "pale lager, slim can – 91 new ambient, ends at 21 °C flavour" in said


def test_a_date_lost_with_its_route_is_said(make_store: Callable[..., Path], brewery: str) -> None:
    """A route that is no more has no temperature to tell, and breaks nothing."""
    store = make_store(
        brewery, "UPDATE results.dates SET route = 'by barge' WHERE run_id = 5 AND route = 'export'"
    )
    kept = [row.cells[4] for row in page_of(store).context["date_changes"].rows]
    assert kept.count("by barge, ends at temperature not given") == 3


def test_every_table_downloads(pages: Path) -> None:
    """The CSV has the rows of the table with every column."""
    pulls = pl.read_csv(pages / "data/week-pulls.csv", try_parse_dates=True)
    assert pulls["days_late"].to_list() == [5, 0, 0]
    assert pulls["storage_temp_c"].to_list() == [20.0, 30.0, 4.0]
    changes = pl.read_csv(pages / "data/week-dates.csv")
    assert sorted(changes["change"]) == ["longer", "longer", "lost", "new", "shorter"]


def test_files_that_wait_are_named(store: Path) -> None:
    """What a person has to confirm is told here too."""
    results = read_results(store)
    out = pl.DataFrame({"file": ["lots.csv", "rota.csv"], "outcome": ["waiting", "not readable"]})
    page = this_week.page(replace(results, files_out=out))
    assert page.context["waiting"].replace(words.NBSP, " ") == (
        "One file waits to be confirmed: lots.csv."
    )


@pytest.mark.parametrize(
    ("known", "says"),
    [
        (
            "(DATE '2026-04-06', DATE '2026-04-06', 0, 0, 0, 0, 0, 0, 0, 14, 7, 30, 60)",
            (
                "Nothing is due this week.",
                "No sample was placed yet: the table samples fills this.",
                "No sample was pulled yet: the tables samples and tastings fill this.",
                "No meter is known yet: the tables meter_checks and oxygen, column meter, fill",
                "None: no lot in storage is past its date by more than 30 days.",
                "No file is expected: the configuration can name those that come regularly, under",
                "No run yet.",
            ),
        ),
        (
            "(DATE '2026-04-06', DATE '2026-04-06', 9, 0, 2, 3, 0, 0, 0, 14, 7, 30, 60)",
            (
                "No pull is written down for this week. The configuration can say when to pull",
                "No sample that was pulled waits to be tasted.",
                "No meter check is due: each was made within 7 days.",
                "Every file that was expected came.",
            ),
        ),
        (
            "(DATE '2026-04-06', DATE '2026-04-06', 9, 8, 2, 3, 0, 0, 0, 14, 7, 30, 60)",
            ("No pull is due this week, and none is overdue.",),
        ),
    ],
)
def test_empty_lists_say_what_would_fill_them(
    make_store: Callable[..., Path], known: str, says: tuple[str, ...]
) -> None:
    """Which table or key is missing, or that there is nothing to do."""
    page = page_of(make_store(f"INSERT INTO this_week.summary VALUES {known}"))
    told = [page.context["lead"], *(table.empty for table in page.tables)]
    seen = " ".join(told).replace(words.NBSP, " ")
    for sentence in says:
        assert sentence in seen


def test_before_the_first_publishing_the_lists_are_said_to_be_missing(empty_pages: Path) -> None:
    """Pages made of a store that nobody published say what to run."""
    assert "These lists are made together with the pages: run stalecurve publish" in text(
        empty_pages / "this-week.html"
    )


@pytest.mark.parametrize(
    ("finished", "says"),
    [
        ("2026-03-31", "No run a week ago yet: there is nothing to compare with."),
        ("2026-03-30", "No run in the last week: the dates of run 1 of 30 Mar 2026 stand."),
    ],
)
def test_without_an_older_run_no_change_is_told(
    make_store: Callable[..., Path], brewery: str, finished: str, says: str
) -> None:
    """A first run is no change; a run that is a week old stands."""
    store = make_store(
        brewery,
        "DELETE FROM results.runs WHERE run_id <> 1",
        f"UPDATE results.runs SET finished_at = '{finished}'",
    )
    table = page_of(store).context["date_changes"]
    assert (table.rows, table.empty.replace(words.NBSP, " ")) == ((), says)


def test_an_old_page_says_so_to_its_reader(browser: Chrome, pages: Path, tmp_path: Path) -> None:
    """From three days on: the reader's clock is all that can know that no night has run."""
    written = (pages / "this-week.html").read_text(encoding="utf-8")
    shutil.copy(pages / "written.js", tmp_path)
    for age, shown in ((0, False), (2, False), (3, True)):
        day = date.today() - timedelta(days=age)  # noqa: DTZ011 - the reader's day
        aged = written.replace('data-written="2026-04-06"', f'data-written="{day}"')
        (tmp_path / "page.html").write_text(aged, encoding="utf-8")
        browser.get((tmp_path / "page.html").as_uri())
        notice = browser.find_element("id", "stale")
        assert notice.is_displayed() == shown
        assert notice.text.startswith(f"This page is {age} days old, so these lists") == shown
