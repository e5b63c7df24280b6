"""The page of the back-test."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import polars as pl
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    seen = re.sub(r"<script.*?</script>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", seen)))


def test_the_sentence_comes_first(pages: Path) -> None:
    """Rejections expected and seen, then what the printed day alone would have told."""
    said, lots = text(pages / "back-test.html"), pl.read_csv(pages / "data/back-test-lots.csv")
    assert (
        f"Each lot predicted by a fit that had not seen it: {lots['expected'].sum():.0f} "
        f"rejections expected, {lots['rejected'].sum()} seen, of"
    ) in said
    assert (
        "A date that knew only the printed day would have been right less often: what the tasters "
        "answered had a chance of 68 % by the prediction, and of 40 % if every beer kept to its "
        "printed date"
    ) in said


@pytest.mark.parametrize(("score", "how"), [(-0.1, "more often"), (-0.38, "as often")])
def test_a_printed_day_that_tells_more_is_said_to(
    make_pages: Callable[..., Path], brewery: str, score: float, how: str
) -> None:
    """The comparison goes either way."""
    made = make_pages(
        brewery,
        f"UPDATE results.back_test SET baseline_log_score = {score} WHERE printed_verdicts > 0",
    )
    assert f"would have been right {how}" in text(made / "back-test.html")


def test_without_printed_dates_there_is_nothing_to_compare(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """The column that would fill it is named."""
    made = make_pages(brewery, "UPDATE results.back_test SET printed_verdicts = 0")
    assert "The column best_before of the table lots fills this." in text(made / "back-test.html")


def test_bands_and_lots_stand_in_tables(pages: Path) -> None:
    """Expected beside rejected with the counts, and each lot with its chances."""
    said = text(pages / "back-test.html")
    assert "0 to 10 402 6.0 7.0" in said
    assert re.search(r"L0902 pale lager, bottle \d+ of \d+ [\d.]+ 70 68 40", said)
    assert re.search(r"L0880 hazy ale, can \d+ of \d+ [\d.]+ 70 – –", said)


def test_the_chart_says_its_counts_to_those_who_do_not_see_it(pages: Path) -> None:
    """The text alternative holds every band."""
    page = (pages / "back-test.html").read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert 'aria-label="6 % expected, 7 % of 402 rejected; 15 % expected' in page


def test_without_a_fit_the_page_says_what_fills_it(empty_pages: Path) -> None:
    """No number, no chart."""
    page = empty_pages / "back-test.html"
    assert "No back-test yet: it needs an estimate" in text(page)
    assert "vega.js" not in page.read_text(encoding="utf-8")
