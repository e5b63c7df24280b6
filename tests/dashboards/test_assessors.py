"""The page of the assessors, and that no page says who they are."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.pages import assessors
from dashboards.results import read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NAMES = (
    "Imke",
    "Vos",
    "Anna",
    "Berg",
    "Marsh",
    "Tove",
    "Lund",
    "Zoltan",
    "Ek",
    "Tarn",
    "Ferris",
    "Brack",
)
SET_ASIDE = """
    INSERT INTO intake.set_aside VALUES
    (2, 'tastings', 'tastings-2026-w14.csv', '', 130, 'verdict', 'T1, Imke Vos, S1, 101',
     'the same session, assessor, sample and code with another verdict', 'one of the two',
     'conflict', '{}', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'tastings', 'tastings-2026-w14.csv', '', 131, 'Anna Berg', 'hm', 'not one of the words',
     'accept', 'value', '{}', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'tastings', 'tastings-2026-w14.csv', '', 132, 'note', 'Tove thinks so', 'too long',
     'a text', 'value', '{}', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'assessors', 'brewery.xlsx', 'assessors', 3, 'left_on', 'Zoltan Ek', 'not a date',
     'a day', 'value', '{}', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'assessors', 'brewery.xlsx', 'assessors', 4, 'assessor', 'Jo Marsh Jo Marsh', 'too long',
     'a name', 'value', '{}', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL)
"""


@pytest.fixture(scope="module")
def said(pages: Path) -> str:
    """What stands on the page of the assessors."""
    return text(pages / "assessors.html")


def words_of(path: Path) -> set[str]:
    """Give every word of a file, markup and charts and all."""
    return set(re.findall(r"[^\W_]+", path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("more", ["", SET_ASIDE], ids=["a good run", "rows set aside"])
def test_no_page_and_no_csv_has_the_name_of_an_assessor(
    make_pages: Callable[..., Path], brewery: str, more: str
) -> None:
    """Not in a table, a chart, a file, a row that stands aside, nor in what was mentioned."""
    made = make_pages(brewery, *([more] if more else []))
    files = [*made.glob("*.html"), *(made / "data").glob("*.csv")]
    assert len(files) > 50
    for path in files:
        assert words_of(path).isdisjoint(NAMES), path.name


def test_a_row_of_a_taster_that_stands_aside_is_told_without_the_name(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """Where it is, what is wrong and what to do are said; who it was, the row itself says."""
    data = text(make_pages(brewery, SET_ASIDE) / "data.html")
    assert "tastings-2026-w14.csv 130 verdict see that row the same session" in data
    assert "tastings-2026-w14.csv 131 a taster's hm not one of the words accept" in data
    assert "brewery.xlsx, assessors 4 assessor see that row too long" in data
    assert "taken in: stalecurve assessors names them." in data


def test_the_sentence_counts_glasses_false_alarms_and_misses(said: str) -> None:
    """Over everybody, with where the key to the codes is, and what the page is for."""
    assert (
        "5 assessors tasted 1 289 glasses in all, rejected 31 of 250 glasses of blind fresh beer "
        "and let 10 of 50 of beer known to be aged pass."
    ) in said
    assert "stalecurve assessors prints it, and it is not for the wall" in said


def test_assessors_stand_in_the_order_of_their_codes_with_counts_and_bounds(said: str) -> None:
    """Shares as counts with what they leave open, or that the counts are too few."""
    assert (
        "T07 350 70 of 80 16 of 69 (15 to 33 %) 7 of 15 (24 to 70 %) 350 glasses. "
        "T12 310 61 of 80 5 of 60 (3 to 17 %) 2 of 14 (2 to 39 %) 310 glasses. T35"
    ) in said
    assert "6 of 64 (4 to 18 %) too few to say (n = 9)" in said
    assert "T88 9 2 of 3 too few to say (n = 2) too few to say (n = 0)" in said


def test_who_does_not_follow_or_moves_is_told_in_words_that_train(said: str) -> None:
    """What was seen, which way, how sure, and what helps; nobody is worst or wrong."""
    assert "T07: the answers do not follow what the rest find in the same glasses. A few" in said
    assert (
        "T35 scores stale further from the good end than before in the same beer, beside the "
        "rest: by 21 to 81 % a year."
    ) in said
    assert "T55 perhaps scores stale nearer to the good end than before" in said
    assert "by 4 to 40 % a year" in said
    before = said.partition("For the statistician")[0]
    for word in ("worst", "best ", "rank", "fail", "significan", "p-value", "model", "regression"):
        assert word not in before, word


def test_each_who_moves_has_a_chart_by_quarter(pages: Path, said: str) -> None:
    """The one who drifts and the one who may; and one chart of everybody's errors."""
    html = (pages / "assessors.html").read_text(encoding="utf-8")
    for name in ("errors", "drift-T35", "drift-T55"):
        assert f'data-chart="{name}"' in html
    assert 'data-chart="drift-T12"' not in html
    assert "270 glasses in 2 quarters" in said
    assert "T35 Oct to Dec 2025 120 −19 (−30 to −7)" in said


def test_pairs_of_names_are_counted_and_not_written(said: str) -> None:
    """How many, and where to see which."""
    assert "One pair of names looks like one person written two ways. Nothing was joined" in said


def test_from_verdicts_it_is_said_in_glasses(store: Path) -> None:
    """Where no attribute is scored a drift is of glasses in a hundred."""
    results = read_results(store)
    by_verdict = results.assessors.with_columns(measure=pl.lit("verdict"))
    context = assessors.page(replace(results, assessors=by_verdict)).context
    assert "T35 rejects more glasses than before in the same beer" in context["moving"]
    assert "by 21 to 81 in a hundred a year" in context["moving"]
    assert "read from verdicts" in context["measure"]


def test_nobody_yet_is_said_with_the_file_that_fills_it(empty_pages: Path) -> None:
    """Before the first tasting the page says which tables are missing, and has no chart."""
    bare = text(empty_pages / "assessors.html")
    assert "Nobody has tasted yet: the tables samples and tastings fill this." in bare
    assert "data-chart" not in (empty_pages / "assessors.html").read_text(encoding="utf-8")
