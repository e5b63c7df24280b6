"""The page of decided dates: decided, supported, printed, and what has been overtaken."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards import decided, words
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    plain = html.unescape(re.sub("<.*?>", " ", page.read_text("utf-8"))).replace(words.NBSP, " ")
    return re.sub(r"\s+", " ", plain)


@pytest.fixture
def said(pages: Path) -> str:
    """The text of the page."""
    return text(pages / "decisions.html")


def test_the_sentence_that_matters_comes_first(said: str) -> None:
    """How many decided dates hold, for how many beers, and how many have been overtaken."""
    assert (
        "Four decided dates hold, for 4 of 6 beers in their formats; two of them have been "
        "overtaken." in said
    )


def test_decided_supported_and_printed_stand_side_by_side(said: str) -> None:
    """With the route and the temperature, and who decided when."""
    for row in (
        "Fennimore Pils, bottle all markets 77 77 180 export, ends at 22 °C Ada Quill, 11 Mar 2026",
        "Fennimore Pils, can home 133 119 112 ambient, ends at 21 °C Ada Quill, 12 Mar 2026",
        "The newest lot is printed 103 days longer than decided.",
    ):
        assert row in said


def test_what_overtook_a_decision_is_said_with_what_changed(said: str) -> None:
    """Fewer days than decided and than then, or many more; a known excess overtakes nothing."""
    assert (
        "Overtaken: the data support 14 days fewer than decided. Changed since: what the data "
        "support, from 133 days to 119 days and its verdicts, from 180 to 260." in said
    )
    assert "Overtaken: the data support 62 days more than decided." in said
    assert (
        "Decided 14 days above what the data support. Because: “the trade asks for six weeks”. "
        "The newest lot is printed 48 days longer than decided. First estimate, unchecked: do not "
        "change a label on this alone." in said
    )


def test_another_rule_and_another_way_are_named(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """What the decision rested on is held against what stands now."""
    change = """
        UPDATE results.date_rules SET share_rejected = 0.1 WHERE beer IS NOT NULL;
        UPDATE records.decisions SET supported_route = 'export', supported_temp_c = 22,
            code_version = '0.0.9' WHERE decision_id = 3;
    """
    found = text(make_pages(brewery, change) / "decisions.html")
    for part in (
        "the shortest way, from export, ends at 22 °C to ambient, ends at 21 °C",
        "the rule, which is now “life ends where one glass in ten would be rejected for age",
        "stalecurve itself, which is another version now",
    ):
        assert part in found


def test_every_decision_stays_and_its_sheet_can_be_opened(said: str, pages: Path) -> None:
    """The one that was superseded says by which; each sheet is there as it was stored."""
    assert "1 Fennimore Pils, bottle all markets 180 77 Ada Quill, 10 Mar 2026" in said
    assert "Because: “as printed so far”. Decision 2 took its place." in said
    for number in range(1, 6):
        sheet = pages / "records" / f"decision-{number:04}"
        assert f"Decision {number}<" in sheet.with_suffix(".html").read_text("utf-8")
        assert sheet.with_suffix(".json").read_bytes() == b'{"decision": %d}\n' % number
    assert "record" not in pl.read_csv(pages / "data" / "decisions-history.csv").columns


def test_the_first_page_has_one_line(pages: Path, empty_pages: Path) -> None:
    """The first that was overtaken, how many more, and where to look."""
    assert (
        "Fennimore Pils, can: the 133 days decided for home have been overtaken, the data support "
        "14 days fewer than decided, and one other is overtaken too; see Decided dates."
        in text(pages / "index.html")
    )
    assert "overtaken" not in text(empty_pages / "index.html")


def test_before_the_first_decision_the_page_says_how_to_make_one(empty_pages: Path) -> None:
    """The command stands there."""
    found = text(empty_pages / "decisions.html")
    assert "No date has been decided yet: what is printed rests on no record." in found
    assert "stalecurve decide --beer … --format … --days … --by …" in found


@pytest.mark.parametrize(
    ("days", "then", "now", "said"),
    [
        (98, 98, 98, ""),
        (98, 98, 105, ""),
        (98, 98, 91, "the data support 7 days fewer than decided"),
        (126, 98, 98, ""),
        (126, 98, 91, "the data support 35 days fewer than decided"),
        (126, 98, 119, ""),
        (70, 98, 98, ""),
        (98, 98, 125, ""),
        (98, 98, 126, "the data support 28 days more than decided"),
        (200, 200, 230, ""),
        (98, 98, None, "the data support no date there any more"),
        (98, None, None, ""),
        (98, None, 91, "the data support 7 days fewer than decided"),
    ],
)
def test_what_was_known_overtakes_nothing(
    days: int, then: int | None, now: int | None, said: str
) -> None:
    """Only fewer days than both, or many more than both, do."""
    row = {"days": days, "supported_days": then, "supported_now": now}
    assert decided.overtaken(row).replace(words.NBSP, " ") == said


def test_a_decision_for_one_market_leaves_the_rest_to_the_older_one(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """For all markets decided, then one for the shortest: the older holds for the others."""
    later = """
        INSERT INTO records.decisions BY NAME
        SELECT * REPLACE (6 AS decision_id, 'abroad' AS market) FROM records.decisions
        WHERE decision_id = 2
    """
    found = decided.holding(read_results(make_store(brewery, later))).rows(named=True)
    shown = [(r["decision_id"], r["supported_now"], r["route_now"]) for r in found[:2]]
    assert shown == [(2, 98, "ambient"), (6, 77, "export")]
