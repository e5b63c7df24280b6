"""The page of the panel's performance."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

import polars as pl

from dashboards.pages import panel
from dashboards.results import read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.page import Page, Table
    from dashboards.results import Results

NAMES = ("Tarn", "Ferris", "Brack")
SCATTER = "panel-scatter"
OF_PANEL = (
    "panel_attributes",
    "panel_resolution",
    "panel_anova",
    "assessor_scores",
    "panel_sessions",
    "waited_samples",
    "order_effects",
)


def said(page: Page, name: str) -> str:
    """Return a sentence of a page with common spaces."""
    return str(page.context[name]).replace("\N{NO-BREAK SPACE}", " ")


def table(page: Page, name: str) -> Table:
    """Return one table of a page."""
    return next(t for t in page.tables if t.name == name)


def without(results: Results) -> Results:
    """Return the results of a brewery that scores nothing."""
    return replace(results, **{name: getattr(results, name).clear() for name in OF_PANEL})


def test_the_first_sentence_says_what_is_told_apart_and_by_how_many(store: Path) -> None:
    """Points rounded up, the scale, the tasters; and which attribute has too few scores."""
    assert said(panel.page(read_results(store)), "lead") == (
        "Two beers must lie 1.7 points of “honey” apart, on the scale from 0 to 10, before seven "
        "tasters with a glass of each tell them apart four times in five. For “stale”, on the "
        "scale from 0 to 10, it takes 1.6 points before eight do. For “cardboard” there are too "
        "few scores to say (n = 4)."
    )


def test_scatter_is_said_in_common_words_and_adds_up(store: Path) -> None:
    """0.6² + 0.9² + 0.8² = 1.35²: a fifth, nearly half, a third; without repeats, two parts."""
    page = panel.page(read_results(store))
    honey, stale = page.context["scattered"]
    assert "“stale” usually lie 1.3 points from their middle" in stale
    assert stale.count("about") == 3
    assert "disagreement and repeats together" in honey
    shares = [row.cells[3].replace("\N{NO-BREAK SPACE}", " ") for row in table(page, SCATTER).rows]
    assert shares == ["15 %", "85 %", "20 %", "45 %", "35 %"]


def test_tasters_stand_by_code_in_the_order_of_codes(store: Path) -> None:
    """Codes, never names; too few glasses say how many."""
    page = panel.page(read_results(store))
    rows = table(page, "panel-tasters-1").rows
    assert [row.cells[0] for row in rows] == ["T31", "T32", "T33"]
    assert rows[0].cells[2].replace("\N{NO-BREAK SPACE}", " ") == "too few to say (n = 3)"
    assert rows[1].cells[2].replace("\N{NO-BREAK SPACE}", " ") == "0.20 (0.07 to 0.32)"
    assert "assessor" not in table(page, "panel-tasters-1").frame.columns


def test_practice_is_suggested_by_code_and_nobody_is_ranked(store: Path) -> None:
    """T32 would gain from practice; T33 only uses more of the scale, for honey."""
    page = panel.page(read_results(store))
    honey, stale = (words for _, words, _, _ in page.context["tasters"])
    assert stale == (
        "A few sessions of blind fresh and aged beer side by side would help T32 to score with the "
        "others."
    )
    assert honey == (
        "Nobody's scores stand far apart from the others'. T33 uses more of the scale than the "
        "others."
    )


def test_no_name_is_on_a_page_or_in_a_file(pages: Path) -> None:
    """Whatever is written holds codes alone."""
    written = [p for p in pages.rglob("*") if p.suffix in {".html", ".csv"}]
    assert any("T32" in p.read_text(encoding="utf-8") for p in written)
    for path in written:
        assert not any(name in path.read_text(encoding="utf-8") for name in NAMES), path.name


def test_no_view_has_a_column_of_names(store: Path) -> None:
    """No frame that the pages may read has a column `assessor`."""
    results = read_results(store)
    for field in fields(results):
        assert "assessor" not in getattr(results, field.name).columns, field.name


def test_what_would_change_it_is_reckoned(store: Path) -> None:
    """More tasters, a second glass, and where nobody has one, to pour one."""
    change = said(panel.page(read_results(store)), "change")
    assert "“stale”: twelve tasters would tell 1.2 points apart, the usual eight with two" in change
    assert "Pour one beer of each session twice" in change


def test_beers_that_are_not_told_apart_are_said_not_to_be(store: Path) -> None:
    """A chance above 1 in 20: no difference is promised."""
    results = read_results(store)
    unsure = results.panel_attributes.with_columns(p=pl.when("repeated").then(0.0).otherwise(0.3))
    lead = said(panel.page(replace(results, panel_attributes=unsure)), "lead")
    assert "The scores for “honey” do not tell the beers apart yet." in lead
    assert lead.startswith("Two beers must lie 1.6 points of “stale” apart")


def test_sessions_and_the_order_of_glasses_have_their_part(pages: Path) -> None:
    """They stand before what would change it, and their tables download with the page's."""
    said = text(pages / "panel.html")
    assert said.index("The tasters, by code") < said.index("The order of the glasses")
    assert said.index("The order of the glasses") < said.index("What would change this")


def test_statistics_come_last_and_in_full(pages: Path) -> None:
    """F, degrees of freedom, variances and the analysis of variance stand after the fold."""
    before, after = text(pages / "panel.html").split("For the statistician")
    for word in ("p-value", "significan", "regression", "model", "variance"):
        assert word not in before.lower()
    assert "stale: samples F 17.083 on 163 and 980.4 df" in after
    assert "samples × assessors" in after


def test_a_brewery_that_scores_nothing_learns_which_file_would_fill_it(store: Path) -> None:
    """One sentence, no chart, and tables that say why they are empty."""
    page = panel.page(without(read_results(store)))
    assert "column in the table tastings fills this" in said(page, "lead")
    assert page.context["charts"] == page.context["tasters"] == ()
    assert page.context["scatter_chart"] is None
    assert all(not t.rows and t.empty for t in page.tables)


def test_before_the_first_load_the_page_is_there(empty_pages: Path) -> None:
    """It says what is missing."""
    assert "No attribute is scored yet" in text(empty_pages / "panel.html")
