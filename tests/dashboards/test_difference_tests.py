"""The page of difference tests."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards.pages import difference_tests
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


def test_the_sentence_counts_what_was_found_and_says_what_was_missed(store: Path) -> None:
    """One of three, and what the other two would have missed on average."""
    page = difference_tests.page(read_results(store))
    assert plain(page.context["lead"]) == (
        "Of 3 difference tests, one test found a difference. That does not mean that there is none "
        "in the others: one that 3 in 10 people notice would have been missed 90 times in 100."
    )


def test_where_every_test_found_one_nothing_was_missed(store: Path) -> None:
    """A single test is said as one; several by their number."""
    results = read_results(store)
    tests = results.difference_tests
    found = tests.filter("found")
    assert difference_tests.page(replace(results, difference_tests=found)).context["lead"] == (
        "One difference test: a difference was found."
    )
    none = tests.filter(pl.col("method") == "duo-trio")
    lead = difference_tests.page(replace(results, difference_tests=none)).context["lead"]
    assert lead.startswith("One difference test: none was found. That does not mean")
    assert "in them" in lead


def test_each_test_stands_in_words_with_its_beers_and_their_storage(pages: Path) -> None:
    """What, against what, each with lot, days and temperature, then the answer."""
    said = plain(text(pages / "difference-tests.html"))
    assert (
        "24 Mar 2026, triangle: Fennimore Pils in bottle, lot L0905, 84 days at 20 °C, against "
        "Fennimore Pils in can, lot L0971, 9 days at 4 °C" in said
    )
    assert "A difference was noticed: 8 of 9 were right." in said
    assert "no difference" not in said.lower().replace("no difference found", "")


def test_older_tests_are_folded(store: Path) -> None:
    """Eight stand open, the others behind a click; all are in the table."""
    results = read_results(store)
    many = pl.concat([results.difference_tests] * 4)
    page = difference_tests.page(replace(results, difference_tests=many))
    assert (len(page.context["newest"]), len(page.context["older"])) == (8, 4)
    assert len(table(page, "difference-tests").rows) == 12
    labels = [row["row"] for row in drawn(page.context["charts"][0], 1)]
    assert len(set(labels)) == 12


def test_the_table_says_who_notices_with_bounds(store: Path) -> None:
    """Of a hundred people, rounded outwards."""
    rows = table(difference_tests.page(read_results(store)), "difference-tests").rows
    assert [tuple(plain(cell) for cell in row.cells[3:]) for row in rows] == [
        ("8 of 9", "found", "83 (35 to 99)"),
        ("3 of 3", "none found", "100 (0 to 100)"),
        ("4 of 8", "none found", "25 (0 to 71)"),
    ]


def test_the_chart_draws_bounds_and_where_it_matters(store: Path) -> None:
    """A row a test, the dashed line at three in ten, the scale from nobody to all."""
    (chart,) = difference_tests.page(read_results(store)).context["charts"]
    assert drawn(chart, 0) == [{"line": 0.3}]
    assert chart.spec["layer"][1]["encoding"]["x"]["scale"]["domain"] == [0, 1]
    assert [row["counts"] for row in drawn(chart, 1)] == ["8 of 9", "3 of 3", "4 of 8"]
    assert "one bar keeps clear of nobody" in plain(chart.caption)


def test_what_a_panel_of_this_size_can_prove_is_said(store: Path) -> None:
    """With eight answers 19 times in 100; it takes 40, and 42 for good."""
    page = difference_tests.page(read_results(store))
    assert "finds a difference that 3 in 10 people notice 19 times in 100" in page.context["proves"]
    rows = {(r.cells[0], r.cells[1]): r.cells[2:] for r in table(page, "difference-sizes").rows}
    assert rows["3 in 10 people", "triangle or tetrad"] == ("19", "40", "42", "39")
    assert len(rows) == 6


def test_tests_of_one_pair_stand_together(store: Path) -> None:
    """With what they would say if they were alike."""
    page = difference_tests.page(read_results(store))
    (said,) = page.context["together"]
    assert plain(said).startswith(
        "Triangle, Fennimore Pils in bottle, 4 to 8 weeks at 20 °C, against Fennimore Pils in can, "
        "0 to 4 weeks at 4 °C: 4 tests together"
    )
    (row,) = table(page, "difference-pairs").rows
    assert plain(" ".join(row.cells[1:])) == "4 21 of 36 found 42 (0 to 87) 15 to 59"


def test_statistics_come_last_and_folded(pages: Path) -> None:
    """Each test's numbers stand after the fold."""
    html = (pages / "difference-tests.html").read_text(encoding="utf-8")
    before, fold, after = html.partition('<details class="statistics">')
    assert fold
    assert "exact binomial p 0.259" in after
    for word in ("binomial", "p-value", "significant", "alpha"):
        assert word not in before


def test_without_tests_the_page_says_what_fills_it(store: Path) -> None:
    """What many answers take stands all the same, without this panel's number."""
    results = read_results(store)
    sizes = results.difference_sizes.with_columns(
        assessments=pl.lit(None, pl.Int32), power=pl.lit(None, pl.Float64)
    )
    page = difference_tests.page(
        replace(
            results,
            difference_tests=results.difference_tests.clear(),
            difference_pairs=results.difference_pairs.clear(),
            difference_sizes=sizes,
        )
    )
    assert "the table difference_tests fills this" in page.context["lead"]
    assert (page.context["charts"], page.context["proves"]) == ((), "")
    assert table(page, "difference-sizes").rows[0].cells[2] == "–"
    assert table(page, "difference-pairs").rows == ()
