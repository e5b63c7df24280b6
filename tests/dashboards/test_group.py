"""The page that compares the breweries of a group."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.build import build
from dashboards.build_group import Store, build_group
from dashboards.results import read_results
from tests.dashboards.conftest import HOSTILE
from tests.dashboards.test_browser import requests, show

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from selenium.webdriver import Chrome


@pytest.fixture(scope="module")
def group_pages(
    make_store: Callable[..., Path], brewery: str, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Two breweries with a run, one of hostile names, and one whose store is missing."""
    folder = tmp_path_factory.mktemp("group")
    shorter = (
        "UPDATE results.beer_dates SET printed_days = 90, difference_days = supported_days - 90"
    )
    stores = [
        Store("Zeal", make_store(brewery, f"{shorter} WHERE style = 'pale lager'"), None),
        Store("Alder", make_store(brewery, HOSTILE), None, "the lots table broke its contract"),
        Store("Mill", folder / "nowhere.duckdb", folder / "nowhere"),
    ]
    build_group("Fenland", stores, folder / "pages")
    return folder / "pages"


def test_breweries_stand_by_name_with_what_they_keep(group_pages: Path) -> None:
    """Counts follow from the newest lots on their main ways; order is the alphabet's."""
    compared = pl.read_csv(group_pages / "data" / "breweries.csv")
    assert compared["brewery"].to_list() == ["Alder", "Mill", "Zeal"]
    # Of five printed dates bottle 98 < 180, keg 182 >= 180, can 119 >= 112, hazy 28 < 90; wheat has
    # no answer. With 90 days printed on every lager all four of its formats are supported.
    counts = compared.filter(brewery="Alder").row(0, named=True)
    assert [counts[n] for n in ("printed", "kept", "too_long", "cannot_be_told")] == [5, 2, 2, 1]
    counts = compared.filter(brewery="Zeal").row(0, named=True)
    assert [counts[n] for n in ("printed", "kept", "too_long", "cannot_be_told")] == [6, 4, 1, 1]
    assert compared.filter(brewery="Mill")["rows_aside"].item() is None
    assert compared.filter(brewery="Zeal")["rows_aside"].item() == 3


def test_the_same_style_stands_together_with_its_temperature(group_pages: Path) -> None:
    """Rows go by style, format and brewery, and each names how the beer is kept."""
    dates = pl.read_csv(group_pages / "data" / "group-dates.csv")
    order = dates.select("style", "format", "brewery")
    assert order.equals(order.sort("style", "format", "brewery"))
    page = (group_pages / "index.html").read_text(encoding="utf-8")
    assert "In more than one brewery: hazy ale, pale lager and wheat." in page
    assert page.count("ambient, ends at 21") >= dates.filter(route="ambient").height


def test_what_went_wrong_is_said(group_pages: Path) -> None:
    """Both the brewery that was not brought up to date and the one without a store."""
    page = (group_pages / "index.html").read_text(encoding="utf-8")
    assert (
        "Alder could not be brought up to date, and what stands here is older: "
        "the lots table broke its contract." in page
    )
    assert "Mill could not be brought up to date, and nothing of it is known: there is no" in page
    row = page.partition('<tr><th scope="row">Mill</th>')[2].partition("</tr>")[0]
    assert row.count("\N{EN DASH}") == 4, "nothing known is no count of nothing"


def test_the_newest_day_stands_on_the_page_and_on_each_sheet(group_pages: Path) -> None:
    """A printed page says of when it is, as the pages of one brewery do."""
    page = (group_pages / "index.html").read_text(encoding="utf-8")
    said = page.replace("\N{NO-BREAK SPACE}", " ")
    assert said.count("3 breweries side by side, newest run of 6 Apr 2026") == 4


def test_oxygen_is_that_of_the_lots_of_each_format(store: Path) -> None:
    """Median and quartiles equal those that polars takes of the lots; no lot, no row."""
    results = read_results(store)
    expected = (
        results.lot_oxygen.drop_nulls("total_oxygen_ppb")
        .group_by("format")
        .agg(
            pl.col("total_oxygen_ppb").quantile(share, "linear").alias(name)
            for share, name in (
                (0.25, "lower_quartile_ppb"),
                (0.5, "median_ppb"),
                (0.75, "upper_quartile_ppb"),
            )
        )
        .sort("format")
    )
    found = results.format_oxygen
    assert found["format"].to_list() == ["bottle", "can", "keg"]
    for name in expected.columns[1:]:
        assert found[name].to_list() == pytest.approx(expected[name].to_list())


def test_before_any_run_the_page_says_what_fills_it(
    make_store: Callable[..., Path], tmp_path: Path
) -> None:
    """Empty stores make a page without a chart, and one of no store at all is no error either."""
    for number, stores in enumerate(([Store("Zeal", make_store(), None)], [])):
        build_group("Fenland", stores, tmp_path / str(number))
        page = (tmp_path / str(number) / "index.html").read_text(encoding="utf-8")
        assert "no printed date to compare yet" in page
        assert "stalecurve group takes files in" in page
        assert "<figure" not in page


def test_a_brewery_is_linked_where_it_has_pages(
    make_store: Callable[..., Path], brewery: str, tmp_path: Path
) -> None:
    """The link leads out of the group's folder to the brewery's own first page."""
    store = make_store(brewery)
    build(store, tmp_path / "zeal" / "pages")
    build_group(
        "Fenland", [Store("Zeal", store, tmp_path / "zeal" / "pages")], tmp_path / "group_pages"
    )
    page = (tmp_path / "group_pages" / "index.html").read_text(encoding="utf-8")
    assert '<a href="../zeal/pages/index.html">Zeal</a>' in page


@pytest.mark.parametrize("width", [1200, 390])
def test_the_page_opens_from_a_disk(browser: Chrome, group_pages: Path, width: int) -> None:
    """The console is silent, nothing outside is asked for, nothing scrolls sideways or runs."""
    show(browser, group_pages / "index.html", width)
    assert browser.get_log("browser") == []
    asked = requests(browser)
    assert asked
    assert [u for u in asked if not u.startswith((group_pages.as_uri() + "/", "data:"))] == []
    widths = browser.execute_script(
        "return [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert widths[0] <= widths[1]
    assert browser.execute_script("return document.querySelectorAll('img').length") == 0
