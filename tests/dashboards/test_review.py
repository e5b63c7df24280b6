"""The report on a quarter as HTML and PDF."""

from __future__ import annotations

import json
import re
import zlib
from typing import Any

import pytest

from dashboards.record_sheet import pdf_of
from dashboards.review import SIZES_PT, html_of

MARKUP = "<img src=http://127.0.0.1/x>{{ 7*7 }}\u202e"

DATE = {
    "beer": "Fennimore Pils",
    "style": "pale lager",
    "format": "bottle",
    "route": "ambient",
    "printed_days": 180,
    "supported_days": 77,
    "days": 103,
    "basis": "borrowed",
    "page": "style-pale-lager.html",
    "packages": 9000,
    "kept": "kept as 'ambient' says (about 21 °C)",
    "ends": "ambient, ends at 21 °C",
    "elsewhere": [{"ends": "export, ends at 22 °C", "days": None}],
    "first_estimate": True,
    "decision": {"decision_id": 4, "days": 180, "because": "the trade asks"},
}
OXYGEN = {
    "line": "canning",
    "format": "can",
    "lots": 3,
    "lots_before": 4,
    "bound_lots": 1,
    "ppb": 81.4,
    "ppb_before": 61.2,
    "ratio": 1.33,
    "ratio_lower": 1.08,
    "ratio_upper": 1.64,
    "finding": "more",
    "packages": 30000,
}
HEAD = {
    "line": "canning",
    "format": None,
    "head": "3",
    "chance": 0.98,
    "heads": 4,
    "ratio": 1.83,
    "ratio_lower": 1.73,
    "ratio_upper": 1.94,
    "packages": 30000,
    "days": 6.4,
    "of": "stout, can",
    "kept": "kept as 'ambient' says (about 21 °C)",
}
METER = {
    "meter": "M2",
    "checks": 12,
    "failed": 4,
    "last_passed": False,
    "lots": 2,
    "packages": 7000,
}
SAMPLE = {
    "lot": "L7",
    "format": "can",
    "beer": "Loft Window",
    "sample": "S7",
    "storage_temp_c": 20.0,
    "age_days": 92.0,
    "printed_days": 90,
    "tasted": 9,
    "rejected": 7,
    "finding": "did not keep",
    "packages": 5000,
}
SAFETY = {
    "complaint": "K9",
    "category": "stale",
    "by_note": True,
    "lot": None,
    "closed": False,
    "on": "2026-08-02",
}
RATE = {
    "taste": 6,
    "packages": 87_000.0,
    "expected": 3.98,
    "luck_lower": 1.0,
    "luck_upper": 7.0,
    "per_million": 69.2,
    "lower": 30.1,
    "upper": 136.6,
    "verdict": "as expected",
}
TOLD = {
    "grouping": "outlet",
    "name": "Pier Kiosk",
    "format": "",
    "taste": 5,
    "expected": 0.7,
    "packages": 8123.4,
}
ACTION = {
    "action_id": 3,
    "state": "agreed",
    "what": "Taste the keg again",
    "who": "panel leader",
    "because": None,
    "due_on": "2026-08-01",
    "on": "2026-07-14",
}
NONE = {"days": None, "packages": None}
NEEDS = [
    {"kind": "safety complaints", "of": [SAFETY], **NONE},
    {"kind": "no validation", "beer": "Small", "format": "can", "days": None, "packages": 1200},
    {"kind": "date too long", "beer": DATE["beer"], "days": 103.0, "packages": 9000, "of": [DATE]},
    {"kind": "head", **HEAD},
    {"kind": "more oxygen", **OXYGEN, "days": None},
    {"kind": "meter", **METER, "days": None},
    {"kind": "complaints", **TOLD, "days": None},
    {"kind": "not kept", **SAMPLE, "days": None},
    {"kind": "action open", "quarter": "2026-Q2", **ACTION, **NONE},
]


EXPECTED = """\
16 lots were filled from 1 Jul 2026 to 30 Sep 2026, 87 792 packages; nine decisions are needed.
Data up to 12 Oct 2026, working day 8 of the next quarter: what is dated later is left out.
Newest load 7 of 12 Oct 2026; run 9. Made on 12 Oct 2026.
One complaint touches safety: K9 (stale, by its note, lot unknown, 2 Aug 2026, open).
Fennimore Pils: shorten to 77 days instead of 180 in bottle, kept as 'ambient' says (about 21
°C). 9 000 packages with a date still ahead. Decision 4 stands otherwise. First
Head 3 of the canning line reads 1.8 times the others (1.7 to 1.9), 98 % sure that it is this
one. Mended, it is worth up to 6 days (stout, can, kept as 'ambient' says
The canning line, can: 33 % more oxygen (8 to 64 %) than last quarter. Find what changed;
Meter M2 failed 4 of 12 checks; it has not passed since: have it serviced.
Outlet Pier Kiosk: 5 complaints about taste in a year, 0.7 expected, more than luck
One more in the sections below.
export, ends at 22 °C: not fit for it. Decision 4: 180 days, “the trade asks”. Lent by
Of 2 samples tasted within two weeks of the date, none kept to it, one did not, and for one
One lot is known by a bound alone and left out.
the control failed in session P9 (4 Aug 2026, 6 of 8): suspect the sample first.
Six complaints were about a taste that age could explain, where 4.0 were expected and luck
alone brings 1 to 7: as expected. That is 69 (30 to 137) per million packages drunk
Stout keeps 61 days longer in can than in bottle, kept as 'ambient' says (about 21 °C).
3 Taste the keg again panel leader, 1 Aug 2026 not done
In the whole quarter no shipment is written down.
The file fridge* is late: the last came on 1 Sep 2026.
1 of 8 complaints name no lot of ours."""


def record(**changes: object) -> dict[str, Any]:
    """Return the record of a review."""
    return {
        "quarter": "2026-Q3",
        "before": "2026-Q2",
        "first_day": "2026-07-01",
        "last_day": "2026-09-30",
        "data_until": "2026-10-12",
        "closes_on": "2026-10-12",
        "made_at": "2026-10-12T06:15:00",
        "brewery": "Quillmere Brewhouse",
        "load": {"number": 7, "on": "2026-10-12"},
        "run": 9,
        "outcome": "estimated",
        "reason": None,
        "share_rejected": 0.25,
        "confidence": 0.9,
        "question": "Would this still be served?",
        "filled": {"lots": 16, "packages": 87_792},
        "compared": 9,
        "too_long": [DATE],
        "too_short": [{**DATE, "beer": "Deep Stout", "elsewhere": [], "decision": None}],
        "unvalidated": [],
        "retained": {
            "false_alarms": 0.1,
            "limit": 0.325,
            "rows": [
                SAMPLE,
                {**SAMPLE, "lot": "L8", "tasted": 7, "rejected": 4, "finding": "too few"},
            ],
        },
        "oxygen": {"rows": [OXYGEN], "signals": ["Canning, can: lot L9 held 127 ppb."]},
        "heads": [HEAD],
        "meters": {"rows": [METER], "doubt": True, "dates_moved": 1, "dates": 20},
        "panel": {
            "sessions": 38,
            "assessors": 8.0,
            "few": 1,
            "without_control": 0,
            "fresh_tasted": 305,
            "fresh_rejected": 34,
            "failed": [
                {"session": "P9", "tasted_on": "2026-08-04", "fresh_rejected": 6, "fresh_tasted": 8}
            ],
            "apart": [{"code": "T45", "follows": False, "drift": "none shows"}],
        },
        "complaints": {
            "now": 8,
            "before": 3,
            "without_lot": 1,
            "rate": RATE,
            "rate_before": RATE,
            "rows": [{"category": "stale", "now": 6, "before": 1}],
            "told": [TOLD],
            "safety": [SAFETY],
        },
        "formats": [
            {
                "style": "stout",
                "format": "can",
                "other_format": "bottle",
                "gap_days": 61.0,
                "gap_days_lower": 30.2,
                "gap_days_upper": 99.8,
                "filling_days": 6.0,
                "ingress_days": 57.0,
                "kept": "kept as 'ambient' says (about 21 °C)",
                "ends": "ambient, ends at 21 °C",
            }
        ],
        "actions": [ACTION],
        "gaps": {
            "missing": ["shipments", "changes"],
            "late_files": [{"expected": "fridge*", "days_late": 3, "last_on": "2026-09-01"}],
            "without_oxygen": [{"lot": "L3", "format": "can", "packages": None}],
            "without_packages": 2,
            "untasted": [
                {
                    "sample": "S5",
                    "lot": "L5",
                    "format": "can",
                    "storage_temp_c": 20.0,
                    "pulled_on": "2026-09-02",
                }
            ],
            "lent": [{"style": "stout", "format": "bottle"}],
            "rows_aside": 24,
        },
        "needs": NEEDS,
        **changes,
    }


def text(html: str) -> str:
    """Return the text of a report with single common spaces."""
    return re.sub(r"\s+", " ", re.sub("<.*?>", " ", html.partition("</style>")[2]))


def pages_of(pdf: bytes) -> int:
    """Count the pages of a PDF."""
    streams = re.findall(rb"/FlateDecode.*?stream\n(.*?)\nendstream", pdf, re.DOTALL)
    return len(re.findall(rb"/Type /Page\b", b"\n".join(map(zlib.decompress, streams))))


def test_a_report_says_what_needs_a_decision_and_why() -> None:
    """Each part in a sentence with its numbers, how beer is kept, and what is not known."""
    said = text(html_of(record())).replace("&#39;", "'")
    for part in EXPECTED.split("\n"):
        assert part in said, part
    for word in ("significant", "p-value", "model"):
        assert word not in said


def test_each_claim_leads_to_its_page() -> None:
    """From the folder of the reports to the pages beside it, and to nowhere else."""
    links = set(re.findall(r'href="(.*?)"', html_of(record())))
    assert {"../index.html", "../oxygen.html", "../heads.html", "../meters.html"} <= links
    assert {"../style-pale-lager.html", "../complaints.html", "../reviews.html"} <= links
    assert all(re.fullmatch(r"\.\./[a-z-]+\.html", link) for link in links)


def test_a_quiet_quarter_is_said_to_be_one() -> None:
    """Where nothing stands out, each part says so in a sentence."""
    empty = record(
        needs=[],
        too_long=[],
        too_short=[],
        retained={"false_alarms": 0.0, "limit": 0.25, "rows": []},
        oxygen={"rows": [], "signals": []},
        heads=[],
        meters={"rows": [], "doubt": False, "dates_moved": 0, "dates": 0},
        panel={"sessions": 0},
        complaints={**record()["complaints"], "now": 0, "before": 0, "without_lot": 0},
        formats=[],
        actions=[],
    )
    said = text(html_of(empty))
    for part in (
        "no decision is needed",
        "None: nothing stands out.",
        "9 of 9 printed dates are supported by the data.",
        "No retained sample was tasted within two weeks",
        "No lot was filled in the quarter.",
        "No head of any line stands out.",
        "No meter was checked in the quarter",
        "No session was held in the quarter.",
        "No complaint is written down for the quarter.",
        "No action is recorded for 2026-Q2",
    ):
        assert part in said, part
    undated = text(html_of(record(outcome="not estimated", reason="too few verdicts")))
    assert "Nothing could be dated, because too few verdicts." in undated


def test_a_report_is_set_on_few_sheets_the_same_bytes_each_time() -> None:
    """Three for this one, in which every part has something to say."""
    html = html_of(record())
    pdf = pdf_of(html, SIZES_PT)
    assert pages_of(pdf) == 3
    assert pdf == pdf_of(html, SIZES_PT)


@pytest.mark.parametrize(
    "place",
    [
        *("Fennimore Pils", "canning", "L7", "M2", "Pier Kiosk", "K9", "Taste the keg again"),
        *("Quillmere Brewhouse", "fridge*"),
    ],
)
def test_no_name_acts_as_markup(place: str) -> None:
    """What a file or a person says is shown as it was written, in HTML and so in the PDF."""
    hostile = json.loads(json.dumps(record()).replace(place, json.dumps(MARKUP)[1:-1]))
    html = html_of(hostile)
    assert "<img" not in html
    assert "&lt;img" in html
    assert "{{ 7*7 }}" in html
    assert "\u202e" not in html  # it would turn the rest of the sentence round
