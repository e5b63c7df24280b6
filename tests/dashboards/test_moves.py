"""The page What moves the date: one change at a time, and sliders that stop at grid points."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import polars as pl
import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.support.wait import WebDriverWait

from dashboards import words
from dashboards.pages import moves
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from selenium.webdriver import Chrome

SET = """
    const row = [...document.querySelectorAll(".vega-bind")]
        .find((r) => r.querySelector(".vega-bind-name").textContent.startsWith(arguments[0]));
    const input = row.querySelector("input, select");
    input.value = arguments[1];
    input.dispatchEvent(new Event(input.tagName === "SELECT" ? "change" : "input"));
"""


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    read = re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", page.read_text("utf-8"))))
    return read.replace(words.NBSP, " ")


def drawn(browser: Chrome) -> str:
    """Return the words in the chart."""
    said: str = browser.execute_script(
        "return [...document.querySelectorAll('figure svg text')].map((text) => "
        "text.children.length ? [...text.children].map((line) => line.textContent).join(' ')"
        " : text.textContent).join(' ')"
    )
    return said.replace(words.NBSP, " ")


@pytest.fixture
def opened(browser: Chrome, pages: Path) -> Chrome:
    """The page with its chart drawn."""
    browser.get((pages / "moves.html").as_uri())
    WebDriverWait(browser, 20).until(lambda b: b.find_elements(By.CSS_SELECTOR, ".vega-bind"))
    return browser


def test_the_change_that_brings_most_comes_first(pages: Path) -> None:
    """With both dates, and the temperature of each."""
    said = text(pages / "moves.html")
    assert (
        "Most is gained for pale lager in keg on 'on-trade keg': with 3 °C colder its date would "
        "be 322 days where the route ends at 5 °C, and is 280 days as it is, at 8 °C." in said
    )


def test_the_table_holds_each_single_change(pages: Path) -> None:
    """Oxygen in ppb, temperatures beside what is colder, a dash where there is no such closure."""
    said = text(pages / "moves.html")
    assert (
        "pale lager, bottle, ambient, ends at 21 °C 76 98 105 91 112 112 at 18 °C 84 at 24 °C 70 "
        "91" in said
    )
    assert "pale lager, can, ambient, ends at 21 °C 62 119 126 112 – 133 at 18 °C" in said
    assert "Scavenging liner (assumed)" in said


def test_with_nothing_moved_both_are_the_date_of_the_run(opened: Chrome) -> None:
    """As it is and as set, with temperature, oxygen and what the closure lets in."""
    as_said = "98 days, ends at 21 °C 76 ppb at filling; closure lets in 1.5 ppb a day"
    assert drawn(opened).count(as_said) == 2
    assert opened.get_log("browser") == []


def test_a_slider_shows_the_published_point(opened: Chrome, store: Path) -> None:
    """Oxygen, closure, warmth, share and confidence: the row of the grid, to the day."""
    for name, value in (
        ("Oxygen", "-20"),
        ("Closure", "1"),
        ("Last stage", "-6"),
        ("Life ends", "2"),
        ("How sure", "0"),
    ):
        opened.execute_script(SET, name, value)
    point = read_results(store).moves.filter(
        pl.col("format") == "bottle",
        pl.col("oxygen_change_ppb") == -20,
        pl.col("closure") == "scavenging liner",
        pl.col("warmer_c") == -6,
        pl.col("share_rejected") == 0.5,
        pl.col("confidence") == 0.8,
    )
    days = point["best_before_days"].item()
    expected = (
        f"{days} days, ends at 15 °C 56 ppb at filling; closure lets in 0.2 ppb a day (assumed)"
    )
    WebDriverWait(opened, 10).until(lambda b: expected in drawn(b))
    assert "98 days, ends at 21 °C" in drawn(opened)


def test_where_the_grid_has_no_point_it_says_why(opened: Chrome) -> None:
    """A can's seam has no liner; a keg's cellar is not kept below freezing."""
    opened.execute_script(SET, "Beer", "1")
    opened.execute_script(SET, "Closure", "1")
    WebDriverWait(opened, 10).until(lambda b: "nothing comes in through this" in drawn(b))
    opened.execute_script(SET, "Beer", "2")
    opened.execute_script(SET, "Closure", "0")
    opened.execute_script(SET, "Last stage", "-9")
    WebDriverWait(opened, 10).until(lambda b: "no beer is kept below freezing" in drawn(b))


def test_where_nothing_gains_the_page_says_so(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Every date held by a cap stands still, and no gain is made up."""
    held = "UPDATE results.moves SET best_before_days = 98"
    lead = moves.page(read_results(make_store(brewery, held))).context["lead"]
    assert lead.startswith("No single change here moves a date")


def test_before_the_first_run_the_page_says_what_to_bring(empty_pages: Path) -> None:
    """No chart, no table, a sentence."""
    said = text(empty_pages / "moves.html")
    assert "Nothing to move yet: that takes an estimate and a route" in said
    assert "data-chart" not in (empty_pages / "moves.html").read_text("utf-8")
