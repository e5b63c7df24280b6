"""What an answer says of each kind of complaint, and what it never shows."""

from __future__ import annotations

import re
import zlib
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.complaint_reply import draft
from dashboards.complaint_sheet import html_of
from dashboards.complaint_words import STOP, answer
from dashboards.record_sheet import pdf_of
from pipelines.config import load_config
from pipelines.flows.complaint_asked import Asked
from pipelines.flows.complaint_case import NOT_OF_AGE
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from tests.pipelines.flows.complaints.brewery import HEADINGS, HOSTILE, NAME, answered, record

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

NBSP = "\N{NO-BREAK SPACE}"


def text(html: str) -> str:
    """Return the text of a page with single common spaces."""
    body = re.sub("<.*?>", " ", html.partition("</style>")[2])
    return re.sub(r"\s+", " ", body.replace(NBSP, " "))


def unpacked(content: bytes) -> bytes:
    """Return a file with the packed parts of a PDF unpacked behind it."""
    streams = re.findall(rb"/FlateDecode.*?stream\n(.*?)\nendstream", content, re.DOTALL)
    return b"\n".join([content, *(zlib.decompress(stream) for stream in streams)])


def everywhere(folder: Path) -> dict[str, bytes]:
    """Return every file that a brewery could open, PDFs unpacked; the store and the inbox not."""
    found = {}
    for part in ("pages", "records", "set_aside"):
        for path in (folder / part).rglob("*"):
            if path.is_file():
                content = path.read_bytes()
                streams = re.findall(
                    rb"/FlateDecode.*?stream\n(.*?)\nendstream", content, re.DOTALL
                )
                unpacked = [zlib.decompress(stream) for stream in streams]
                found[str(path.relative_to(folder))] = b"\n".join([content, *unpacked])
    return found


def test_the_page_stands_in_its_order(config: Config) -> None:
    """Answer first, then facts, age, evidence, odds, storage, questions, time line, reply last."""
    html = html_of(record("C1", config))
    headings = re.findall(r"<h2>(.*?)</h2>", html)
    assert [h for h in headings if h != "What could still change that"] == [
        "What we know",
        "What we do not know",
        "Its age on the day",
        "Evidence",
        "The odds between the causes",
        "The storage that would explain it",
        *(["What to ask for next"] if "What to ask for next" in headings else []),
        "From packaging to the complaint",
        "Other complaints",
        "Draft – not sent",
    ]
    said = text(html)
    for part in (
        "Fen Pale in can 330, lot 001, packaged on canning on 5 Jan 2026, 2 000 packages.",
        "&#39;shop&#39;, 10 days at 8 °C, then 19 °C; as it was shipped to this outlet.",
        (
            "It was 93 days old when it was opened on 8 Apr 2026; 58 days before its printed date, "
            "5 Jun 2026 (151 days)."
        ),
        "Oxygen at filling: 54 ppb (",
        "from 6 packages; ",
        "Kept at 20 °C, 31 days old: 0 of 1 rejected",
        "to be expected of so many packages drunk",
    ):
        assert part in said.replace("\N{NARROW NO-BREAK SPACE}", " "), part
    assert "<svg viewBox" in html
    assert 'aria-label="packaged: 5' in html


def test_every_account_stands_in_the_odds_and_those_that_cannot_be_say_why(config: Config) -> None:
    """The uncomfortable one first; a can is neither light-struck nor draught."""
    found = record("C1", config)
    assert [row["account"] for row in found["odds"]] == [
        *("date too long", "high oxygen", "warm trade", "both", "light", "dispense"),
        "past its date",
    ]
    assert {row["account"] for row in found["odds"] if not row["possible"]} == {
        *("light", "dispense", "past its date")
    }
    assert found["odds"][0]["prior"] == pytest.approx(30 / 85)


def test_told_storage_speaks_for_a_warm_trade(config: Config) -> None:
    """Sixty days at 31 °C make a warm trade likelier than it was before looking."""
    found = record("C8", config)
    odds = {row["account"]: row for row in found["odds"]}
    assert odds["warm trade"]["posterior"] > odds["warm trade"]["prior"]
    factors = {
        row["account"]: row["factor"]
        for row in found["items"]
        if row["item"] == "how it was kept, as told"
    }
    assert factors["warm trade"] > 3.0 > factors["date too long"]


def test_priors_of_the_configuration_are_taken(config: Config) -> None:
    """What a brewery takes for likely beforehand moves the odds, and is shown as it is."""
    priors = {**config.complaints.priors, "warm trade": 300.0}
    other = replace(config, complaints=replace(config.complaints, priors=priors))
    before, after = (
        {row["account"]: row for row in record("C1", each)["odds"]} for each in (config, other)
    )
    assert after["warm trade"]["prior"] > 2.0 * before["warm trade"]["prior"]
    assert after["warm trade"]["posterior"] > before["warm trade"]["posterior"]


@pytest.mark.parametrize("complaint", ["C2", "C3"])
def test_what_touches_safety_stops(config: Config, complaint: str) -> None:
    """By category or by a German word: the stop, what to do, the lot, the others, and no more."""
    found = record(complaint, config)
    assert found["safety"]
    assert "odds" not in found
    said = text(html_of(found))
    assert answer(found) == (STOP,)
    for part in (
        STOP,
        "Do not taste it, and let nobody taste it",
        "Fen Pale, can 330, lot 001, packaged 5 Jan 2026: 2 000 packages",
        "1 700 packages shipped to 2 customers.",
        "C3, 12 Apr 2026" if complaint == "C2" else "C2, 11 Apr 2026: stale, gushing; Moss Shop",
    ):
        assert part in said.replace("\N{NARROW NO-BREAK SPACE}", " ")
    for part in ("Draft", "odds between", "days old"):
        assert part not in said


def test_a_matter_of_safety_is_recorded_and_counted(config: Config) -> None:
    """The answers that are published say which were matters of safety."""
    answered("C2", config)
    answered("C1", config)
    publish(config, [].append)
    listed = (config.paths.pages / "complaints" / "complaint-c2.html").read_text(encoding="utf-8")
    assert STOP in listed


def test_what_is_no_question_of_age_gets_facts_and_no_odds(config: Config) -> None:
    """A hazy beer: what is known of the lot, and a reply."""
    found = record("C4", config)
    assert found["odds"] == []
    assert answer(found)[0] == f"No odds are given: {NOT_OF_AGE}."
    assert "Oxygen at filling" in html_of(found)


def test_a_lot_that_is_not_ours_is_said_so_with_those_that_may_be_meant(config: Config) -> None:
    """The code was misread, or the beer is not ours; the printed date tells which it may be."""
    found = record("C5", config)
    assert not found["lot_is_ours"]
    said = text(html_of(found))
    assert "Lot O01x is not one of ours as it is written: either it was misread" in said
    assert found["candidates"][0]["lot"] == "001"
    assert found["odds"]


def test_without_a_lot_the_answer_is_averaged_over_those_that_may_be(config: Config) -> None:
    """Beer, format, printed date and outlet tell which lots, with odds that add to one."""
    found = record("C6", config)
    assert [row["lot"] for row in found["candidates"]] == ["001", "002"]
    assert sum(row["odds"] for row in found["candidates"]) == pytest.approx(1.0)
    assert sum(row["posterior"] for row in found["odds"]) == pytest.approx(1.0)
    assert "Which lot it may be" in html_of(found)


def test_a_day_that_cannot_be_is_said_so(config: Config) -> None:
    """A complaint before its lot was packaged has no age, and the answer says what is wrong."""
    found = record("C7", config)
    assert found["odds"] == []
    if found["known"] is None:
        assert "No lot of ours fits what was told" in answer(found)[0]
    else:
        assert "came before the lot was packaged" in answer(found)[0]
    assert "Draft – not sent" in html_of(found)


def test_the_draft_reply_holds_back(config: Config) -> None:
    """No cause, no blame, no promise, nothing of anybody else, and not that it is safe to drink."""
    letter = " ".join(draft(record("C1", config))).lower()
    for word in (
        *("oxygen", "warm", "stale", "date is", "light", "cause", "fault", "safe", "refund"),
        *("compensat", "replace", "voucher", "other shop", "moss shop", "shelf", "because", "c2"),
    ):
        assert word not in letter, word
    assert "fen pale, can 330, lot 001" in letter


def test_names_in_notes_stand_nowhere_unless_the_setting_says_so(config: Config) -> None:
    """Not on a page, in PDF, JSON or CSV; with show_notes on the page, and gone when off."""
    answered("C1", config)
    publish(config, [].append)
    files = everywhere(config.folder)
    holding = [name for name, content in files.items() if NAME.encode() in content]
    assert len(files) > 20
    assert holding == []

    file = config.folder / "stalecurve.toml"
    plain = file.read_text(encoding="utf-8")
    file.write_text(f"{plain}\n[complaints]\nshow_notes = true\n", encoding="utf-8")
    shown = load_config(file)
    _, (page, *_) = answered("C1", shown)
    assert f"cardboard says {NAME}" in page.read_text(encoding="utf-8")
    publish(shown, [].append)
    assert NAME in page.read_text(encoding="utf-8")
    assert NAME not in " ".join(draft(record("C1", shown)))

    file.write_text(plain, encoding="utf-8")
    publish(load_config(file), [].append)
    assert NAME not in page.read_text(encoding="utf-8")


def test_hostile_text_is_inert_everywhere(config: Config) -> None:
    """Markup, template braces, right-to-left marks and formulas are text on page, PDF and CSV."""
    row = f'"{HOSTILE.replace(chr(34), chr(34) * 2)}"'
    (config.paths.inbox / "complaints hostile.csv").write_text(
        f"{HEADINGS}\nX1,2026-04-20,stale,001,,can 330,,{row},{row},,,,,{row}\n"
        f"=X2,2026-04-21,stale,{row},,can 330,,{row},,,,,,\n",
        encoding="utf-8",
    )
    ingest(config, [].append)
    for complaint in ("X1", "=X2"):
        found = record(complaint, config)
        html = html_of(found)
        assert "<script" not in html
        assert "&lt;script&gt;" in html
        assert "{{ 7 * 7 }}" in html
        whole = unpacked(pdf_of(html))
        for acting in (b"/JavaScript", b"/URI", b"/Launch", b"/OpenAction"):
            assert acting not in whole
    _, files = answered("=X2", config)
    assert re.fullmatch(r"complaint-x2-[0-9a-f]{8}\.html", files[0].name)
    publish(config, [].append)
    for path in (config.paths.pages / "data").glob("*.csv"):
        for column in pl.read_csv(path, infer_schema=False).iter_columns():
            assert not column.drop_nulls().str.contains(r"^[=+@\t\r]").any(), path.name


def test_names_that_differ_in_signs_alone_have_pages_of_their_own() -> None:
    """K-1, k-1, K 1 and K/1 do not write over each other."""
    names = {
        Asked(date(2026, 4, 1), ("stale",), complaint=name).page_name(1)
        for name in ("K-1", "k-1", "K 1", "K/1", "../K-1", "", "é")
    }
    assert len(names) == 7
    assert all(re.fullmatch(r"[a-z0-9-]+", name) for name in names)
