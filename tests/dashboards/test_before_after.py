"""The page of before and after."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards.pages import before_after
from dashboards.results import read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.page import Chart, Page, Table


def plain(words: str) -> str:
    """Return a text with common spaces."""
    return words.replace("\N{NO-BREAK SPACE}", " ")


def drawn(chart: Chart, layer: int) -> list[dict[str, Any]]:
    """Return the data of one layer of a chart."""
    name = chart.spec["layer"][layer]["data"]["name"]
    return list(chart.spec["datasets"][name])


def table(page: Page, name: str) -> Table:
    """Return one table of a page."""
    return next(t for t in page.tables if t.name == name)


def test_the_sentence_counts_pairs_and_names_what_was_found(store: Path) -> None:
    """One of three pairs, and that what was not found may be there."""
    page = before_after.page(read_results(store))
    assert plain(page.context["lead"]) == (
        "Of 3 pairs that can be compared, one shows a difference; for the others the bounds say "
        "how large a one may be there all the same."
    )
    assert page.context["found"] == ("Pale lager, second has something beside first.",)
    assert "There are 3 questions on this page" in plain(page.context["luck"])


def test_where_nothing_was_found_it_never_says_there_is_no_difference(store: Path) -> None:
    """No difference found, and how large a one may be there."""
    results = read_results(store)
    none = results.comparisons.with_columns(found=pl.lit(value=False))
    lead = before_after.page(replace(results, comparisons=none)).context["lead"]
    assert plain(lead).startswith("No difference found in any of 3 pairs that can be compared;")


def test_each_kind_has_its_table_with_what_was_compared(store: Path) -> None:
    """Scores with decimals, shares of a hundred glasses, bounds, and the storage once a pair."""
    page = before_after.page(read_results(store))
    scores, share = table(page, "before-after-formats").rows
    assert tuple(plain(cell) for cell in scores.cells[2:]) == (
        "cardboard",
        "3.1",
        "2.2",
        "−0.90 (−1.41 to −0.39)",
        "found",
    )
    assert tuple(plain(cell) for cell in share.cells[2:]) == (
        "glasses rejected, of 100",
        "31",
        "22",
        "−9 (−20 to 2)",
        "none found",
    )
    assert scores.note == "96 and 104 glasses, kept at 20 °C for 28 to 120 days."
    assert share.note == ""
    (change,) = table(page, "before-after-changes").rows
    assert plain(change.cells[0]) == "new end supplier (canning), 10 Feb 2026"
    (trial,) = table(page, "before-after-trials").rows
    assert trial.cells[1] == "its neighbours, lot L0940"


def test_each_thing_scored_has_its_chart_the_rejected_last(store: Path) -> None:
    """A row a pair, with a dashed line where both sides are alike."""
    charts = before_after.page(read_results(store)).context["charts"]
    assert [chart.title for chart in charts] == [
        "Second less first: cardboard",
        "Second less first: share of glasses rejected",
    ]
    assert drawn(charts[0], 0) == [{"line": 0.0}]
    assert sorted(row["value"] for row in drawn(charts[0], 1)) == [-0.9, 0.1]
    assert "one bar keeps clear of the dashed line" in plain(charts[0].caption)


def test_what_is_too_few_is_named_with_how_many(pages: Path) -> None:
    """Folded, with the reason."""
    said = text(pages / "before-after.html")
    assert "bottle and keg, cardboard: too few to say (n = 2 and 1 lot)." in said


def test_no_statistics_before_the_fold(pages: Path) -> None:
    """Their words stand behind it."""
    html = (pages / "before-after.html").read_text(encoding="utf-8")
    before, fold, after = html.partition('<details class="statistics">')
    assert fold
    assert "Bonferroni" in after
    for word in ("Bonferroni", "p-value", "significant", "jackknife"):
        assert word not in before


def test_without_comparisons_the_page_says_what_fills_it(store: Path) -> None:
    """One sentence, empty tables that say why, no chart."""
    results = read_results(store)
    page = before_after.page(replace(results, comparisons=results.comparisons.clear()))
    assert page.context["lead"].startswith("Nothing can be compared yet")
    assert (page.context["charts"], page.context["luck"], page.context["found"]) == ((), "", ())
    assert all(not table.rows and table.empty for table in page.tables)
