"""Every page in a real browser, opened from a disk."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.wait import WebDriverWait

if TYPE_CHECKING:
    from pathlib import Path

    from selenium.webdriver import Chrome

STYLES = ("style-pale-lager", "style-hazy-ale", "style-wheat")
LOT = "lot-l0971-c6b5160d"
PAGES = (
    *("index", "this-week", "stock", "oxygen", *STYLES, "formats", "back-test", "data", "method"),
    *("routes", "moves"),
    LOT,
)
CHARTS = {
    "oxygen": 5,
    "style-pale-lager": 4,
    "style-hazy-ale": 4,
    "formats": 1,
    "routes": 4,
    "moves": 1,
    "back-test": 1,
    LOT: 1,
}
ALL_DRAWN = """
    const figures = [...document.querySelectorAll("figure[data-chart]")];
    return figures.every((f) => f.querySelector("svg .mark-symbol, svg .mark-rect"));
"""


def show(browser: Chrome, page: Path, width: int = 1200, scheme: str = "light") -> None:
    """Open a page at a width and in a scheme, and wait until its charts are drawn."""
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
    media = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
    browser.get_log("browser")
    browser.get_log("performance")
    browser.get(page.as_uri())
    WebDriverWait(browser, 20).until(lambda b: b.execute_script(ALL_DRAWN))


def requests(browser: Chrome) -> list[str]:
    """Return the addresses asked for since the page was opened."""
    sent: list[dict[str, Any]] = [
        json.loads(entry["message"])["message"] for entry in browser.get_log("performance")
    ]
    return [
        entry["params"]["request"]["url"]
        for entry in sent
        if entry["method"] == "Network.requestWillBeSent"
    ]


@pytest.mark.parametrize("width", [1200, 390])
@pytest.mark.parametrize("name", PAGES)
def test_a_page_opens_from_a_disk(browser: Chrome, pages: Path, name: str, width: int) -> None:
    """The console is silent, nothing outside is asked for, nothing scrolls sideways."""
    show(browser, pages / f"{name}.html", width)
    assert browser.get_log("browser") == []
    asked = requests(browser)
    assert asked
    assert [u for u in asked if not u.startswith((pages.as_uri() + "/", "data:"))] == []
    widths = browser.execute_script(
        "return [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert widths[0] <= widths[1]


@pytest.mark.parametrize("name", CHARTS)
def test_each_chart_is_drawn_as_wide_as_its_place(browser: Chrome, pages: Path, name: str) -> None:
    """Every figure holds an SVG that fits a phone, and words for those who do not see it."""
    show(browser, pages / f"{name}.html", width=390)
    figures = browser.find_elements(By.CSS_SELECTOR, "figure[data-chart]")
    assert len(figures) == CHARTS[name]
    for figure in figures:
        assert 250 < figure.find_element(By.TAG_NAME, "svg").rect["width"] <= 390
        words = figure.find_element(By.CSS_SELECTOR, "[role=img], [role=group]").get_attribute(
            "aria-label"
        )
        assert words
        assert words.endswith(".")


def test_a_point_tells_its_counts(browser: Chrome, pages: Path) -> None:
    """The pointer on a pull shows how many of how many rejected it."""
    show(browser, pages / "style-hazy-ale.html")
    path = "figure[data-chart=curve] .role-mark.mark-symbol path"
    point = browser.find_elements(By.CSS_SELECTOR, path)[-1]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", point)
    box = browser.execute_script("return arguments[0].getBoundingClientRect().toJSON()", point)
    place = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
    browser.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": "mouseMoved", **place})
    tooltip = "#vg-tooltip-element.visible"
    WebDriverWait(browser, 5).until(lambda b: b.find_elements(By.CSS_SELECTOR, tooltip))
    assert " of 9" in browser.find_element(By.CSS_SELECTOR, tooltip).text


def test_charts_follow_the_readers_scheme(browser: Chrome, pages: Path) -> None:
    """Text of a chart is light on dark where the reader asks for it, and dark on light else."""
    text = "figure[data-chart=curve] svg .role-axis-label text"
    colours = []
    for scheme in ("light", "dark"):
        show(browser, pages / "style-pale-lager.html", scheme=scheme)
        label = browser.find_element(By.CSS_SELECTOR, text)
        colours.append(label.value_of_css_property("fill"))
    assert colours == ["rgb(28, 27, 25)", "rgb(236, 233, 226)"]


def test_a_page_works_by_keyboard(browser: Chrome, pages: Path) -> None:
    """The first stop skips to the content, focus is seen, and tables can be scrolled."""
    show(browser, pages / "index.html", width=390)
    browser.find_element(By.TAG_NAME, "body").send_keys(Keys.TAB)
    skip = browser.switch_to.active_element
    assert skip.text == "Skip to the content"
    assert skip.value_of_css_property("outline-style") == "solid"
    skip.send_keys(Keys.ENTER)
    assert browser.switch_to.active_element.get_attribute("id") == "content"
    table = browser.find_element(By.CSS_SELECTOR, ".table")
    assert table.get_attribute("tabindex") == "0"
    assert table.get_attribute("role") == "region"
    assert table.get_attribute("aria-label") == "The newest lot of each beer and format"


@pytest.mark.parametrize("name", [*PAGES[:-1], "lot-img-src-x-onerror-alert-1-63b586b4"])
def test_hostile_names_are_text(browser: Chrome, hostile_pages: Path, name: str) -> None:
    """A name that is markup makes no element, runs nothing, and is not asked for."""
    show(browser, hostile_pages / f"{name}.html")
    assert browser.find_elements(By.CSS_SELECTOR, "img") == []
    assert browser.get_log("browser") == []
    assert not [url for url in requests(browser) if url.endswith("/x")]
    assert "<img src=x onerror=alert(1)>" in browser.find_element(By.TAG_NAME, "body").text


def test_run_and_day_stand_on_each_sheet(browser: Chrome, pages: Path) -> None:
    """Printing gives more than one sheet, and the rule that marks each one names run and day."""
    show(browser, pages / "style-pale-lager.html")
    assert browser.execute_cdp_cmd("Page.printToPDF", {})["data"]
    rules = browser.execute_script(
        "return document.querySelector('head style').textContent + document.title"
    )
    assert rules.count("run 7 of 6 Apr 2026") == 2
