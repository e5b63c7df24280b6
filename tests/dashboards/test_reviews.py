"""The list of quarterly reviews, and where their reports are."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def test_each_quarter_stands_with_its_newest_review(pages: Path) -> None:
    """The newest first; an older review of a quarter is in the records alone."""
    html = (pages / "reviews.html").read_text(encoding="utf-8")
    assert "Two quarters were reviewed, the newest 2026-Q1; one action is not done of 2" in (
        html.replace("\u00a0", " ")
    )
    assert html.index("2026-Q1") < html.index("2025-Q4")
    report = (pages / "reviews" / "2025-Q4.html").read_text(encoding="utf-8")
    assert report == "<!DOCTYPE html><title>Review 2</title>\n"
    record = json.loads((pages / "reviews" / "2026-Q1.json").read_text(encoding="utf-8"))
    assert record == {"quarter": "2026-Q1"}


def test_each_action_stands_with_its_last_word(pages: Path) -> None:
    """Done with the day and what was found; or not done."""
    rows = (pages / "data" / "actions.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 3
    assert rows[1].startswith("1,2025-Q4,done,Mend head 3,line lead,2026-02-01,")
    assert rows[2].startswith("2,2025-Q4,agreed,Taste the keg again,,,")
    html = (pages / "reviews.html").read_text(encoding="utf-8").replace("\u00a0", " ")
    assert "done, 30 Jan 2026" in html
    assert "“it leaked”" in html


def test_before_the_first_review_the_page_says_how(empty_pages: Path) -> None:
    """Which command makes one, and that the schedule does."""
    html = (empty_pages / "reviews.html").read_text(encoding="utf-8")
    assert "No quarter has been reviewed yet: stalecurve review makes the report" in html
    assert "Nothing has been agreed on yet" in html


def test_no_action_acts_as_markup_or_formula(hostile_pages: Path) -> None:
    """What a person wrote is shown as it was written."""
    html = (hostile_pages / "reviews.html").read_text(encoding="utf-8")
    assert "&lt;/script&gt;" in html
    rows = (hostile_pages / "data" / "actions.csv").read_text(encoding="utf-8")
    assert not any(cell.startswith(("=", "+", "@")) for cell in rows.split(","))
