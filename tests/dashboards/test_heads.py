"""The page of where oxygen comes from."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.pages import heads
from dashboards.results import Results, read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.page import Chart, Page, Table

OF_THIS_PAGE = (
    "oxygen_lines",
    "oxygen_sources",
    "run_positions",
    "head_findings",
    "heads",
    "change_oxygen",
    "change_days",
)


@pytest.fixture
def results(store: Path) -> Results:
    """What a good run published."""
    return read_results(store)


def said(page: Page, name: str) -> str:
    """Return what a page says under a name, with common spaces."""
    found = page.context[name]
    whole = found if isinstance(found, str) else " ".join(found)
    return whole.replace("\N{NO-BREAK SPACE}", " ")


def table(page: Page, name: str) -> Table:
    """Return one table of a page."""
    return next(t for t in page.tables if t.name == name)


def kinds(chart: Chart) -> list[str]:
    """Return which points of a chart of heads stand out."""
    drawn = (row for rows in chart.spec["datasets"].values() for row in rows)
    return [row["kind"] for row in drawn if "kind" in row]


def test_the_sentence_names_the_head_its_ratio_and_how_sure_we_are(results: Results) -> None:
    """The surest first; the others each in their own words, and nobody is left out."""
    page = heads.page(results)
    assert said(page, "lead") == (
        "Head 3 of the canning line reads 1.8 times the others (1.7 to 1.9); we are more than 99 % "
        "sure that it is this one head."
    )
    assert said(page, "other_lines") == (
        "Head 10 of the old filler line may read high, 1.5 times the others (1.2 to 1.8), but we "
        "are only 62 % sure that it is this one head: six more packages of each head would tell. "
        "No head stands out on the racking line. Too few packages by head to tell on slim can. "
        "Head not recorded (the bottling line): no head can be named."
    )


def test_where_no_head_stands_out_one_sentence_says_so(results: Results) -> None:
    """All lines sound, or none with heads: no list of lines is needed."""
    for finding, sentence in (
        ("none", "No head stands out."),
        ("not recorded", "Head not recorded: no head can be named."),
    ):
        found = results.head_findings.with_columns(finding=pl.lit(finding))
        page = heads.page(replace(results, head_findings=found))
        assert said(page, "lead") == sentence
        assert page.context["other_lines"] == []


def test_heads_stand_in_their_order_with_odds_that_are_never_nothing(results: Results) -> None:
    """Head 2 before head 10, chances between <1 and >99, too few packages said."""
    rows = table(heads.page(results), "heads").rows
    named = [row.cells[0] for row in rows]
    assert named.index("old filler, head 2") < named.index("old filler, head 10")
    by_name = {row.cells[0]: row for row in rows}
    assert by_name["canning, head 3"].cells[-1] == ">99"
    assert by_name["canning, head 1"].cells[-1] == "<1"
    assert by_name["old filler, head 11"].note == "Too few packages to tell."


def test_each_line_with_a_comparison_has_its_chart(results: Results) -> None:
    """Four; the named head is the one with a square, and the axis says that it is logarithmic."""
    charts = heads.page(results).context["charts"]
    assert [chart.title.split(":")[0] for chart in charts] == [
        "The canning line",
        "The old filler line",
        "Slim can",
        "The racking line",
    ]
    assert kinds(charts[0]) == ["other", "other", "named", "other"]
    assert kinds(charts[3]) == ["other", "other"]
    assert "log scale" in str(charts[0].spec)


def test_the_largest_source_is_said_in_words(results: Results) -> None:
    """Half by the head on canning; where no head is recorded, heads are in the rest."""
    page = heads.page(results)
    assert said(page, "sources_said") == (
        "Bottling, bottle: the largest part of what makes packages differ, about three fifths, "
        "comes from package to package, the heads and the meter. Canning, can: the largest part of "
        "what makes packages differ, about half, comes from head to head."
    )
    assert table(page, "oxygen-sources").rows[2].cells[-1].startswith("49 (24")


def test_run_positions_that_differ_are_said_and_the_others_are_not(results: Results) -> None:
    """The first packages hold twice as much; the last ones do not differ; no lot has a restart."""
    page = heads.page(results)
    assert said(page, "positions_said") == (
        "Canning, can: first packages of a run hold 2.0 times (1.8 to 2.2) as much as packages "
        "from the middle."
    )
    cells = {row.cells[1]: row.cells[-1] for row in table(page, "run-positions").rows}
    assert cells["packages from the middle"] == "1, set beside"
    assert cells["packages after a restart"] == "no lot has both"


def test_before_and_after_a_change_are_told_in_ppb_and_days(results: Results) -> None:
    """With bounds, the route and its temperature; what does not show is said not to."""
    page = heads.page(results)
    assert said(page, "changes_said") == (
        "After “new gas” (1 Mar 2026) canning, can held no more and no less that would show. The "
        "difference is +2 (−8 to +13) ppb. "
        "After “seamer set anew” (1 Mar 2026) canning, can held 18 (5 to 29) ppb less: 62 in place "
        "of 80. That is worth most on pale lager: 14 (4 to 28) days gained, kept as 'ambient' says "
        "(about 21 °C), mostly by what is assumed of oxygen."
    )
    notes = [row.note for row in table(page, "change-oxygen").rows]
    assert notes[0].startswith("Another change concerns these lots on the same day")
    assert notes[2] == "No lots measured before it: 3 are needed."
    days = table(page, "change-days").rows
    assert days[0].cells[2].replace("\N{NO-BREAK SPACE}", " ").startswith("too few to say")
    assert days[2].cells[3].replace("\N{NO-BREAK SPACE}", " ").endswith("(about 21 °C)")


def test_what_would_change_it_counts_on_what_is_sure(results: Results) -> None:
    """Head 3 mended: 1.83 over four heads is 14 %; the head that is only suspected is left out."""
    assert said(heads.page(results), "gains") == (
        "If head 3 read as the others do, packages of the canning line would hold 14 (12 to 16) % "
        "less on the average."
    )


def test_what_is_left_out_is_counted(results: Results) -> None:
    """Bounds of all lines, and packages of late that name no head; nothing where there are none."""
    assert said(heads.page(results), "left_out").startswith("6 packages of which only a bound is")
    assert "73 packages of late name no head" in said(heads.page(results), "left_out")
    none = replace(
        results,
        oxygen_lines=results.oxygen_lines.with_columns(bounds=0),
        head_findings=results.head_findings.with_columns(without_head=0),
    )
    assert said(heads.page(none), "left_out") == ""


def test_without_readings_the_page_says_which_file_would_fill_it(results: Results) -> None:
    """One sentence, no chart, and empty tables that say why."""
    empty = {name: getattr(results, name).clear() for name in OF_THIS_PAGE}
    page = heads.page(replace(results, **empty))
    assert "the table oxygen fills this" in said(page, "lead")
    assert page.context["charts"] == ()
    assert all(not table.rows and table.empty for table in page.tables)


def test_the_page_keeps_statistics_for_the_end(pages: Path) -> None:
    """No word of the trade of statistics before the fold, and the prior behind it."""
    before, _, after = text(pages / "heads.html").partition("For the statistician")
    for word in ("significant", "p-value", "model", "variance", "posterior"):
        assert word not in before
    assert "prior probability ½" in after
