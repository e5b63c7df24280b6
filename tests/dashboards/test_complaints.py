"""The page of complaints, and what the trade says on the back-test's."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards import words
from dashboards.pages import back_test_field, complaints
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    seen = re.sub(r"<script.*?</script>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    seen = html.unescape(re.sub("<.*?>", " ", seen))
    return re.sub(r"\s+", " ", seen.replace("\N{NARROW NO-BREAK SPACE}", " "))


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page."""
    return text(pages / "complaints.html")


def lead(store: Path) -> str:
    """Return the sentence that comes first."""
    first = complaints.page(read_results(store)).context["lead"]
    return str(first).replace(words.NBSP, " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


def test_the_sentence_comes_first_and_safety_next(said: str) -> None:
    """How many, the rate with its limits, and that safety is another matter."""
    assert (
        "Complaints 12 complaints since 1 Apr 2025, 9 of them about a taste that the age of the "
        "beer could explain. That makes 112 (58 to 196) per million packages drunk, of which there "
        "were about 80 000. One complaint touches safety: no question of freshness, but the "
        "food-safety lead's. They are counted apart and nobody tastes that beer. More complaints "
        "about taste than luck explains: L0905, bottle (5, 0.9 expected) and Apr 2026 (7, 2.6 "
        "expected). Held against the brewery's own rate at the age of the beer. One complaint "
        "names no lot of ours"
    ) in said


def test_each_group_stands_beside_what_was_expected(said: str) -> None:
    """The oddest first, what cannot be said said so; lots without a complaint in the file alone."""
    for row in (
        "Apr 2026 19 200 7 2.6 365 (171 to 685) More than luck explains.",
        "L0905, bottle 4 101 5 0.9 1 219 (480 to 2 564) More than luck explains. L0971, can",
        "2 0.4 244 (43 to 768) More than expected, but luck brings such a one among so many.",
        "L0880, can 0 1 0.0 – Cannot say: no shipment names it.",
        "Kiosk 0 1 0.0 – Cannot say: no shipment names it.",
        "Harbour 50 400 1 5.3 20 (1 to 95) Fewer than luck explains.",
        "no line given 20 000 4 2.8",
    ):
        assert row in said
    assert "L0972, slim can 9" not in said
    assert "One lot stands in the file alone" in said


def test_luck_is_counted_where_statistics_are(said: str) -> None:
    """How many were looked at, and how many luck brings."""
    folded = said[said.index("For the statistician") :]
    assert "of 12 lots luck alone brings 0.3 to a chance of 5 % or less, 2 came to it" in folded
    assert "That part is 62 % (21 % to 93 %, from 8 complaints)." in folded


def test_each_complaint_tells_its_lot_and_how_it_is_known(said: str) -> None:
    """Named, likely, not ours, not named; those that touch safety say so."""
    assert "K11 1 Apr 2026 stale, flat L0971, can 8 Fennimore Pils; Mill" in said
    assert "Lot not named: of ours, date, code and outlet fit this one best (97 %)." in said
    assert re.search(r"K10 28 Mar 2026 gushing L0971, can 4 .{0,60}Safety\.", said)
    assert "K09 20 Mar 2026 other flavour not ours: B-7 – Kiosk" in said
    assert "K08 2 Mar 2026 leaker not named – Straw Hat" in said


def test_the_files_hold_every_row(pages: Path) -> None:
    """Lots without a complaint too; no column holds a note or a finding."""
    lots = pl.read_csv(pages / "data/complaints-by-lot.csv")
    assert lots["name"].to_list() == ["L0880", "L0905", "L0971", "L0972"]
    each = pl.read_csv(pages / "data/complaints.csv")
    assert each.height == 5
    assert not {"note", "finding"} & set(each.columns)


def test_the_chart_says_its_counts_to_those_who_do_not_see_it(pages: Path) -> None:
    """The text alternative holds every month."""
    page = (pages / "complaints.html").read_text(encoding="utf-8").replace(words.NBSP, " ")
    assert "Mar 2026: 2, 6.4 expected; Apr 2026: 7, 2.6 expected." in page


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("DELETE FROM this_week.field_summary", "run stalecurve publish."),
        (
            "UPDATE this_week.field_summary SET complaints = 0, taste = 0, safety = 0",
            "No complaint since 1 Apr 2025. That is no news of the beer",
        ),
        (
            "UPDATE this_week.field_summary SET packages = 0, per_million = NULL",
            "of the beer could explain. Without shipments nobody can say",
        ),
    ],
)
def test_what_is_missing_is_said(
    make_store: Callable[..., Path], brewery: str, change: str, said: str
) -> None:
    """Not published yet, no complaint, no shipment."""
    assert said in lead(make_store(brewery, change))


def test_a_steady_year_is_said_to_be_one(make_store: Callable[..., Path], brewery: str) -> None:
    """No group has more than luck explains."""
    store = make_store(brewery, "UPDATE this_week.field_rates SET verdict = 'as expected'")
    told = complaints.page(read_results(store)).context["told"]
    assert told.startswith("No month, lot, outlet or line has more complaints about taste")


def test_before_the_first_load_the_page_says_what_to_do(empty_pages: Path) -> None:
    """One sentence, no table, no chart."""
    page = empty_pages / "complaints.html"
    assert "Complaints are counted together with the pages: run stalecurve publish." in text(page)
    assert "vega.js" not in page.read_text(encoding="utf-8")


def test_the_back_test_says_whether_the_trade_agrees(pages: Path) -> None:
    """The sentence, then complaints beside those expected by age, format and style."""
    said = text(pages / "back-test.html")
    assert (
        "Does the trade agree? The trade agrees: no age, style or format stands out. As far as "
        "8 complaints tell, 62 % of them (21 % to 93 %) go with the share that the fit expects"
    ) in said
    for row in (
        "Beer up to 8 weeks old 41 000 1 3.1",
        "Beer 8 to 12 weeks old 30 000 2 2.6",
        "Beer over 12 weeks old 9 400 5 2.3",
        "Can 60 400 4 4.2",
    ):
        assert row in said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            "UPDATE this_week.field_checks SET verdict = 'more' WHERE age_from = 84",
            "The trade does not agree: beer over 12 weeks old had 5 where 2.3 were expected.",
        ),
        ("UPDATE this_week.field_summary SET compared = 3", "Too few to say: 3 complaints"),
        ("UPDATE this_week.field_summary SET compared = 0", "The trade cannot tell yet"),
        ("DELETE FROM this_week.field_summary", "The trade cannot tell yet"),
    ],
)
def test_a_trade_that_does_not_agree_or_cannot_tell_is_said_to(
    make_store: Callable[..., Path], brewery: str, change: str, said: str
) -> None:
    """Where it is off, or why nothing is said."""
    sentence = back_test_field.sentence(read_results(make_store(brewery, change)))
    assert sentence.replace(words.NBSP, " ").startswith(said)
