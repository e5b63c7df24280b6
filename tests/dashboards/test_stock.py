"""The page of the stock."""

from __future__ import annotations

import csv
import html
import re
from typing import TYPE_CHECKING

import pytest

from dashboards import words
from dashboards.pages import stock
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", page.read_text("utf-8"))))


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page."""
    return text(pages / "stock.html").replace(words.NBSP, " ")


def test_what_goes_out_first_comes_first_and_nothing_is_extended(said: str) -> None:
    """The sentence with its lot, and the one that must stand on this page."""
    assert (
        "Stock Three lots are in house. First to go out: L0905, bottle (Fennimore Pils): nothing "
        "is left of its life. The printed date stands. This ranks stock; it extends nothing."
    ) in said
    assert "kept at the temperature of the first stage of its route" in said


def test_rows_say_what_is_left_and_on_which_route(said: str) -> None:
    """Used up, left with its bound, and by the printed date alone; loggers are told."""
    for row in (
        "L0905, bottle 120 none 20 Apr 2026 used up Fennimore Pils; ambient, ends at 21 °C",
        "L0971, can −40 78 14 Jul 2026 99 (78 or more) Fennimore Pils; ambient, ends at 21 °C; 3 d",
        "L0972, slim can not known 353 25 Mar 2027 (none printed) – Fennimore Pils; route not",
        "L0971, can 800 41 14 Jul 2026 60 (41 or more) Harbour, Mill, 30 Mar 2026; Fennimore Pils;",
        "L0971, keg 40 167 20 Sep 2026 to the printed date customer not given, 30 Mar 2026;",
    ):
        assert row in said


def test_what_cannot_be_right_is_said(said: str) -> None:
    """More shipped than packed, packages not written down, lots past their date."""
    assert "One lot has more packages shipped than packed: one of the two tables is wrong." in said
    assert "One lot does not say how many packages were packed" in said
    assert "Two lots are past their date with packages that no shipment accounts for" in said


def test_last_days_to_ship_stand_by_lot(said: str) -> None:
    """What can still go comes first; what nobody may get any more last."""
    assert (
        "L0971, can Harbour: too late since 1 Apr 2026; Mill: by 15 May 2026 L0905, bottle Mill: "
        "too late since 19 Feb 2026"
    ) in said


def test_lots_to_look_at_are_listed_and_every_judged_lot_is_linked(pages: Path, said: str) -> None:
    """Flagged ones with their numbers; pages that were asked for as well."""
    assert "L0971, can 211 112 56 Fennimore Pils, 24 Mar 2026 Fennimore Pils, 24 Mar 2026." in said
    assert "Above the limit of its line." in said
    page = (pages / "stock.html").read_text(encoding="utf-8")
    assert 'href="lot-l0971-c6b5160d.html">L0971</a>' in page
    assert 'href="lot-h-9-b-87e2485e.html">H/9 b</a>' in page
    assert "H/9 b, can" not in said


def test_questions_about_the_trade_are_kept(said: str) -> None:
    """The newest first, with route and temperature; without a date too."""
    assert (
        "2 Apr 2026 Fennimore Pils, bottle 180 98 4 200 3 lots, 2 customers, 'ambient' (21 °C) "
        "1 Mar 2026 Straw Hat, bottle 150 – 0 1 lot, 0 customers"
    ) in said.replace("\N{NARROW NO-BREAK SPACE}", " ")


def test_every_row_is_in_the_csv_with_its_numbers(pages: Path) -> None:
    """The page draws the first sixty; the file has all."""
    with (pages / "data/stock-in-house.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["lot"], row["days_left"], row["packages"]) for row in rows] == [
        ("L0905", "-6", "120"),
        ("L0971", "78", "-40"),
        ("L0972", "353", ""),
    ]


def test_a_long_list_says_how_much_more_there_is(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Those with the least life left stand on the page."""
    more = """
        INSERT INTO this_week.stock BY NAME
        SELECT s.* REPLACE (s.lot || n AS lot, s.days_left + n AS days_left)
        FROM this_week.stock AS s, range(1, 71) AS t(n) WHERE s.place = 'in house' AND lot = 'L0905'
    """
    page = stock.page(read_results(make_store(brewery, more)))
    assert len(page.context["house"].rows) == stock.SHOWN == 60
    assert page.context["house"].frame.height == 73
    assert page.context["more"]["house"].startswith("13 more")


@pytest.mark.parametrize(
    ("statements", "expected"),
    [
        ((), "run stalecurve publish"),
        (
            ("INSERT INTO this_week.stock_summary VALUES (DATE '2026-04-06', 0, 0, 0)",),
            "the configuration can, under customers",
        ),
    ],
)
def test_where_nothing_is_known_the_page_says_what_fills_it(
    make_pages: Callable[..., Path], statements: tuple[str, ...], expected: str
) -> None:
    """Before the first publishing, and in a brewery without lots."""
    said = text(make_pages(*statements) / "stock.html")
    assert expected in said
    assert "No lot of the last ninety days stands out by its oxygen." in said
    if statements:
        assert "Nothing is in house" in said
        assert "the table shipments fills this" in said
