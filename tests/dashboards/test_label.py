"""The page for the packaging office, and how the date was set on a style's page."""

from __future__ import annotations

import csv
import html
import re
from typing import TYPE_CHECKING

import pytest

from dashboards import words
from dashboards.pages import label
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", page.read_text("utf-8"))))


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page."""
    return text(pages / "label.html").replace(words.NBSP, " ")


def test_the_sentence_that_matters_comes_first(said: str) -> None:
    """How many labels there are to print, and that nothing packed is dated anew."""
    assert (
        "Of 9 labels (a beer in a format for a market), 6 have a date to print on what is packed "
        "on 6 Apr 2026." in said
    )
    assert "Packed beer is never re-dated." in said


def test_each_label_stands_with_its_route_and_temperature(said: str) -> None:
    """The shortest of the ways to a market counts; what is not fit is told; so is the storage."""
    for row in (
        "Fennimore Pils, bottle home Best before 13.07.2026 98 ambient, ends at 21 °C flavour",
        "Fennimore Pils, bottle abroad Best before 22.06.2026 77 export, ends at 22 °C flavour",
        "Fennimore Pils, keg home nothing 182 on-trade keg, ends at 8 °C haze",
        "The package would not say so: write it into routes, storage_text.",
    ):
        assert row in said


def test_what_has_no_date_says_why(said: str) -> None:
    """Not fit for its route, or never tasted."""
    assert "Loft Window, can abroad The distribution stages use the life up." in said
    assert "Straw Hat, bottle home No verdicts on aged samples." in said


def test_the_calendar_has_a_column_for_each_length(said: str) -> None:
    """Packaging day down, days across; a dash where nothing may be printed; each with its rule."""
    assert (
        "Print “Best before” and, to the day (Regulation (EU) No 1169/2011, Annex X): "
        "Packed on 28 days 91 days 98 days 119 days 182 days "
        "6 Apr 2026 04.05.2026 06.07.2026 13.07.2026 03.08.2026 – "
        "7 Apr 2026 05.05.2026"
    ) in said
    assert "Abroad: USA: no federal rule asks beer for a date; check with your local" in said


def test_what_customers_ask_is_taken_from_the_days(said: str) -> None:
    """Where they ask for more than there is, it cannot be met."""
    assert "Mill Loft Window, can 28 60 cannot be met" in said
    assert "Harbour Fennimore Pils, can 119 60 59" in said


def test_every_row_of_a_calendar_downloads(pages: Path) -> None:
    """The file has each beer by itself, with the reason where nothing is printed."""
    with (pages / "data" / "labels-1.csv").open(encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    assert len(rows) == 3 * 5
    kegs = [row for row in rows if row["format"] == "keg"]
    assert all(not row["printed_on"] and row["reason"] for row in kegs)


def test_a_style_says_the_one_label_and_what_each_choice_costs(pages: Path) -> None:
    """Markets side by side, the binding one named with its temperature; days by choice."""
    said = text(pages / "style-pale-lager.html").replace(words.NBSP, " ")
    assert (
        "Fennimore Pils, can: abroad 91 days; home 119 days; one label for all markets: 91 days, "
        "ended by export at 22 °C." in said
    )
    assert "bottle, ambient, ends at 21 °C 98 −28 +35 −7 −28 to +2 −14" in said
    assert "bottle, cold chain at 8 °C: 182 days; on a shelf at 21 °C 84 days." in said
    hazy = text(pages / "style-hazy-ale.html").replace(words.NBSP, " ")
    assert "28 days, ended by ambient at 21 °C; none for export, for which it is not fit." in hazy


def test_dates_printed_otherwise_have_a_column_of_their_own(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Two beers of as many days, one of which may not be printed on some day, do not share one."""
    apart = """
        UPDATE this_week.labels SET days = 98, printed = NULL, reason = 'passes on the way'
        WHERE market = 'home' AND format = 'can' AND beer = 'Fennimore Pils'
    """
    (calendar, *_) = label.page(read_results(make_store(brewery, apart))).context["calendars"]
    headings = [column.heading.replace(words.NBSP, " ") for column in calendar.columns]
    assert headings.count("98 days, ambient") == 2


def test_before_the_first_date_the_page_says_what_is_missing(empty_pages: Path) -> None:
    """Nothing to print is no empty table."""
    said = text(empty_pages / "label.html")
    assert "No date yet: no beer with a lot and a route has come in." in said
    assert "[customers] in the configuration names who does" in said
