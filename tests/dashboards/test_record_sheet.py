"""The record sheet as HTML and PDF."""

from __future__ import annotations

import re
import zlib
from typing import Any

import pytest
from weasyprint.urls import FatalURLFetchingError

from dashboards.record_sheet import html_of, pdf_of

MARKUP = "<img src=http://127.0.0.1/x>"
LIFE = {"shelf_life_days": 97.0, "shelf_life_days_lower": 79.4, "shelf_life_days_upper": None}
RULE = "life ends where one glass in four would be rejected for age, 90 % sure"


def route(name: str, days: int | None) -> dict[str, Any]:
    """Return what is known of a route."""
    return {
        "route": name,
        "market": "home",
        "temp_c": 21.0,
        "cold": False,
        "shelf_days": None,
        "binding_cause": "flavour",
        "basis": "fitted",
        "reason": None if days else "not fit for this route",
        "best_before_days": days,
        "rule": {"confidence": 0.9},
        "rule_in_words": RULE,
        "verdicts": 694,
        "lots": 6,
        "oldest_tasted_days": 244.0,
        "shelf_lives": [{"share_rejected": share, **LIFE} for share in (0.1, 0.25, 0.5)],
        "at_risk": {"share": 0.421, "lower": 0.305, "upper": 0.552} if days else None,
    }


def record(**changes: object) -> dict[str, Any]:
    """Return a record."""
    choices = [("share", "0.1", False, 56), ("share", "0.25", True, 77), ("cap", "none", False, 77)]
    return {
        "decision": 3,
        "recorded_at": "2026-04-06T14:05:00",
        "recorded_by": "Ada Quill",
        "brewery": "Quillmere Brewhouse",
        "beer": "Fennimore Pils",
        "format": "bottle",
        "market": None,
        "route": None,
        "days": 126,
        "because": "the trade asks",
        "supported": {"days": 77, "route": "ambient", "temp_c": 21.0},
        "first_estimate": True,
        "own_rule": False,
        "routes": [route("ambient", 77), route("export", None)],
        "alternatives": [
            {"route": "ambient", "choice": c, "setting": s, "in_force": f, "best_before_days": d}
            for c, s, f, d in choices
        ],
        "cautions": ["Few lots in bottle have been tasted."],
        "evidence": {
            "run": 7,
            "run_finished_at": "2026-04-06T06:01:09",
            "newest_load": 2,
            "load_finished_at": "2026-04-06T06:00:05",
            "code_version": "0.1.0",
            "input_files": 11,
            "inputs_sha256": "ab" * 32,
            "question": "Would this still be served?",
        },
        "takes_the_place_of": [
            {
                "decision": 2,
                "days": 90,
                "recorded_by": "B. Hale",
                "recorded_at": "2026-01-02T08:00:00",
            }
        ],
        **changes,
    }


def text(html: str) -> str:
    """Return the text of a sheet with single common spaces."""
    return re.sub(r"\s+", " ", re.sub("<.*?>", " ", html.partition("</style>")[2]))


def unpacked(pdf: bytes) -> bytes:
    """Return what stands in the packed parts of a PDF."""
    streams = re.findall(rb"/FlateDecode.*?stream\n(.*?)\nendstream", pdf, re.DOTALL)
    return b"\n".join(zlib.decompress(stream) for stream in streams)


def pages_of(pdf: bytes) -> int:
    """Count the pages of a PDF."""
    return len(re.findall(rb"/Type /Page\b", unpacked(pdf)))


def test_a_sheet_says_what_was_decided_and_on_what() -> None:
    """Days, reason, what the data support and where it is kept, risk, choices, evidence."""
    said = text(html_of(record()))
    for part in (
        "Fennimore Pils, bottle: 126 days from packaging",
        "Decided for all markets, recorded by Ada Quill on 6 Apr 2026, 14:05.",
        "It takes the place of decision 2 (90 days, B. Hale, 2 Jan 2026).",
        "126 days are 49 days above what the data support, which is 77 days, kept as",
        "First estimate, unchecked: do not change a label on this alone.",
        "ambient (home), ends at 21 °C 77, flavour 42 (30 to 56) 97 (79 or more)",
        "No date for &#39;export&#39;, which ends at 21 °C: not fit for this route.",
        "as the rule has it 77 – one glass in ten rejected 56 – no cap 77 –",
        "Few lots in bottle have been tasted.",
        "Run 7 of 6 Apr 2026, newest load 2 of 6 Apr 2026; stalecurve 0.1.0.",
        f"Inputs: 11 files, checksum (SHA-256) {'ab' * 32}.",
        f"Rule: {RULE}.",
        "A best-before date is about quality, not safety.",
    ):
        assert part in said
    assert "First estimate" not in text(html_of(record(first_estimate=False)))


def test_the_same_record_gives_the_same_pdf_of_one_page() -> None:
    """To the bit, as wide as A4 and as high as Letter, dated by the decision."""
    html = html_of(record())
    pdf = pdf_of(html)
    assert pdf == pdf_of(html)
    assert pages_of(pdf) == 1
    assert b"D:20260406" in unpacked(pdf)
    (box,) = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", unpacked(pdf))
    assert (round(float(box[0])), round(float(box[1]))) == (595, 791)


def test_a_long_record_still_stands_on_one_page() -> None:
    """The type gets smaller, down to what can be read; past that a second page follows."""
    long = record(because="x y " * 300, cautions=["A caution of some length."] * 12)
    assert pages_of(pdf_of(html_of(long))) == 1
    assert pages_of(pdf_of(html_of(record(cautions=["One more."] * 200)))) > 1


@pytest.mark.parametrize("name", ["because", "recorded_by", "beer", "format", "market", "brewery"])
def test_no_name_acts_as_markup(name: str) -> None:
    """What a person wrote is shown as it was written."""
    html = html_of(record(**{name: MARKUP}))
    assert "<img" not in html
    assert "&lt;img" in html


def test_nothing_is_fetched_for_a_sheet() -> None:
    """One that refers to something elsewhere is no sheet of ours."""
    assert pages_of(pdf_of("<!DOCTYPE html><title>x</title><p>y</p>")) == 1
    with pytest.raises(FatalURLFetchingError):
        pdf_of(f"<!DOCTYPE html><title>x</title>{MARKUP}")
