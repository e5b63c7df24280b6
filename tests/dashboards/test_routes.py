"""The page On the way: what takes most of a life, what loggers read, cupboards that are off."""

from __future__ import annotations

import csv
import html
import re
from typing import TYPE_CHECKING

import pytest

from dashboards import words
from dashboards.pages import routes
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    read = re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", page.read_text("utf-8"))))
    return read.replace(words.NBSP, " ")


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page."""
    return text(pages / "routes.html")


def test_what_costs_most_comes_first(said: str) -> None:
    """The stage that takes most a day, then the logged week that cost most, with temperatures."""
    assert (
        "No day costs more than one on 'ambient', shelf at 21 °C: it takes 2.7 % of the life of "
        "hazy ale in can, and the stage in all 75 (73 to 77) % of it." in said
    )
    assert (
        "The hottest week that a logger saw, on 'export' from 29 Jan 2026: 33.1 °C where 28.0 °C "
        "was planned; it cost pale lager in can 5.2 (4.4 to 6.1) days of life." in said
    )


def test_each_route_has_its_stages_and_an_assumed_summer(said: str) -> None:
    """Shares by stage, the energy and what it rests on, and dates with their temperature."""
    assert "ambient, ends at 21 °C: what each stage takes of the life" in said
    assert "lorry at 20 °C, %" in said
    assert "hazy ale, can" in said
    assert "71 kJ/mol, partly assumed 28 21 at 25 °C" in said
    assert "In a summer (assumed), days" in said
    assert "No date rests on it" in said


def test_a_cold_route_has_no_summer(said: str) -> None:
    """A dash stands where none is assumed."""
    cold = said.partition("cold chain, ends at 8 °C")[2].partition("Temperature on")[0]
    assert "71 kJ/mol, own tastings 182 –" in cold


def test_a_trip_says_where_it_is_taken_to_lie(said: str) -> None:
    """By its lot, or by the stage of its length, which is assumed."""
    assert "TL7, 20 Jan 2026 export, from day 30 of its lot 35.0 30.4 28.0 pale lager, can" in said
    assert "5.2 (4.4 to 6.1) −16.1 (−19.0 to −13.2) 77 (91) at 22 °C" in said
    assert "TL2, 14 Mar 2026 ambient, from 'lorry' on (assumed) 2.0 22.6 20.0" in said


def test_a_cupboard_that_is_off_is_named_with_what_it_does(said: str) -> None:
    """Two degrees too warm make lives come out too short; half a degree is not worth a word."""
    assert (
        "warm cupboard was at 32.1 °C where 64 samples say 30 °C: 100 days there were worth 122 "
        "days. The dates count them as 100; beer there aged more than was counted, so that lives "
        "come out too short." in said
    )
    assert "shelf 20 was at" not in said
    assert "warm cupboard 30 32.1 (off)" in said
    assert "yard – 4.8" in said


def test_a_cupboard_that_is_too_cold_goes_the_other_way(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """What ages less than was counted makes lives come out too long."""
    colder = "UPDATE results.place_temperatures SET worth_days = 80 WHERE off"
    (sentence,) = routes.page(read_results(make_store(brewery, colder))).context["off"]
    assert "aged less than was counted, so that lives come out too long" in sentence


def test_every_style_of_a_trip_downloads(pages: Path) -> None:
    """The page shows the one that lost most, the file all."""
    with (pages / "data" / "routes-logged.csv").open(encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    assert [(row["style"], row["logger"]) for row in rows].count(("hazy ale", "TL7")) == 1
    assert len(rows) == 3


def test_before_the_first_run_the_page_says_what_to_bring(empty_pages: Path) -> None:
    """Each empty place names the table that fills it."""
    said = text(empty_pages / "routes.html")
    assert "Nothing to say of the way yet" in said
    assert "No logger has been on a route: the table temperature_log" in said
    assert "No logger has stood in a cupboard" in said


def test_without_a_logger_the_stages_are_told_alone(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """No trip, no hottest week; the sentence says which table would bring one."""
    none = "DELETE FROM results.route_lives WHERE variant = 'logged'"
    stage, loggers = routes.page(read_results(make_store(brewery, none))).context["lead"]
    assert stage.startswith("No day costs more than one on 'ambient', shelf")
    assert loggers == "No logger has been on a route yet: the table temperature_log fills this."
