"""Two lots, formats or beers compared from a store, and what is said of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from pipelines.errors import AnswerError, StoreError
from pipelines.flows.before_after import answer_compare
from pipelines.flows.before_after_words import comparison_words, found, kept_words
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

ROW: dict[str, Any] = {
    "kind": "format",
    "first": "bottle",
    "second": "can",
    "attribute": "stale",
    "difference": 0.63,
    "difference_lower": 0.104,
    "difference_upper": 1.151,
    "first_glasses": 48,
    "second_glasses": 51,
    "first_lots": 3,
    "second_lots": 4,
    "assessors": 8,
    "sessions": 7,
    "kept": "20 °C for 28 to 56 days",
    "one_session": False,
    "reason": None,
}


def tables(lots: int = 2) -> dict[str, str]:
    """Return files of so many lots of two formats, tasted by five people at two ages."""
    formats = ("can 330", "bottle 330")
    filled = [(f"{kind[0].upper()}{n}", kind) for kind in formats for n in range(lots)]
    lot_rows = [f"{lot},{kind},Fen Pale,2026-01-05" for lot, kind in filled]
    samples, tastings = [], []
    for lot, _ in filled:
        for days, pulled in ((28, "2026-02-03"), (56, "2026-03-03")):
            samples.append(f"{lot}{days},{lot},20,2026-01-06,{pulled}")
            for person in range(5):
                verdict = "reject" if lot[0] == "B" and person > 0 else "accept"
                tastings.append(f"T{lot}{days},2026-03-04,P{person},{lot}{days},{verdict}")
    return {
        "beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\ncan 330,pale ale,5.0\n",
        "formats.csv": (
            "format,kind,volume_ml\ncan 330,can,330\nbottle 330,bottle,330\nkeg 30,keg,30000\n"
        ),
        "lots.csv": "\n".join(["lot,format,beer,packaged_on", *lot_rows, ""]),
        "samples.csv": "\n".join(["sample,lot,storage_temp_c,placed_on,pulled_on", *samples, ""]),
        "tastings.csv": "\n".join(["session,tasted_on,assessor,sample,verdict", *tastings, ""]),
    }


@pytest.fixture
def loaded(brewery: Config) -> Config:
    """A brewery whose bottles are rejected more often than its cans."""
    for name, text in tables().items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    ingest(brewery, lambda _: None)
    return brewery


def said(config: Config, first: str, second: str, kind: str | None = None) -> list[str]:
    """Return what is said of two things."""
    lines: list[str] = []
    answer_compare(first, second, kind, config, lines.append)
    return lines


def test_formats_are_recognised_and_compared(loaded: Config) -> None:
    """Bottles are rejected by four in five, cans by none: the sentence, what was compared, how."""
    first, compared, last = said(loaded, "bottle 330", "can 330")
    assert first.startswith("Share of glasses rejected: can 330 has 80 of 100 glasses less than")
    assert compared == (
        "Compared: 20 and 20 glasses of 2 and 2 lots, tasted by the same 5 people in 8 sessions, "
        "kept at 20 °C for 28 to 56 days."
    )
    assert last.startswith("For the statistician: second less first, each at 90.0 %")


def test_lots_are_compared_as_they_are(loaded: Config) -> None:
    """Two lots of one format: no word of lots, and a difference that may be there."""
    first, compared, _ = said(loaded, "C0", "C1")
    assert first.startswith("Share of glasses rejected: no difference found between C0 and C1; C1")
    assert compared.startswith("Compared: 10 and 10 glasses, tasted by the same 5 people")


def test_what_nobody_tasted_is_too_few_to_say(loaded: Config) -> None:
    """Not an error: an answer."""
    (line,) = said(loaded, "can 330", "keg 30")
    assert line.startswith("can 330 and keg 30: too few to say (n = 0 glasses")


@pytest.mark.parametrize(
    ("first", "second", "kind", "message"),
    [
        ("C0", "C0", None, "compared with itself"),
        ("C0", "can 330", None, "C0 is a lot and can 330 a format: name two of a kind"),
        ("C0", "C10", None, "there is no lot or format or beer C10: did you mean C1?"),
        ("C0", "C1", "beer", "there is no beer C0"),
        ("C0", "C1", "batch", "--as is lot, format or beer, not batch"),
    ],
)
def test_what_cannot_be_compared_is_one_message(
    loaded: Config, first: str, second: str, kind: str | None, message: str
) -> None:
    """It says what the tables know, and what to type."""
    with pytest.raises(AnswerError) as refused:
        said(loaded, first, second, kind)
    assert message in str(refused.value)


def test_a_name_of_two_kinds_is_asked_for(brewery: Config) -> None:
    """Beers named as formats are."""
    for name, text in tables().items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    beers = "beer,style,abv_pct\nFen Pale,pale ale,5.0\ncan 330,stout,5.0\nkeg 30,stout,5.0\n"
    (brewery.paths.inbox / "beers.csv").write_text(beers, encoding="utf-8")
    ingest(brewery, lambda _: None)
    with pytest.raises(AnswerError, match="formats and beers: add --as format or --as beer"):
        said(brewery, "can 330", "keg 30")
    assert "too few to say" in said(brewery, "can 330", "keg 30", "format")[0]


def test_before_the_first_load_there_is_nothing_to_compare(brewery: Config) -> None:
    """The message says what to do first."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        said(brewery, "C0", "C1")


def test_a_run_keeps_what_the_pages_show(loaded: Config) -> None:
    """Formats of the style with an answer; difference tests judged; sizes without any test."""
    tests = "session,tasted_on,method,sample,control,assessments,correct\nD1,2026-03-04,"
    text = tests + "triangle,B028,C028,9,8\n"
    (loaded.paths.inbox / "difference_tests.csv").write_text(text, encoding="utf-8")
    ingest(loaded, lambda _: None)
    fit(loaded, lambda _: None)
    with open_store(loaded.paths.database, read_only=True) as connection:
        compared = connection.sql("SELECT second, found, answer FROM published.comparisons")
        assert compared.fetchall()[0][:2] == ("can 330", True)
        judged = connection.sql("SELECT sample_lot, found, answer FROM published.difference_tests")
        ((lot, noticed, answer),) = judged.fetchall()
        assert (lot, noticed) == ("B0", True)
        assert answer.startswith("A difference was noticed: 8 of 9 were right")
        ((sizes,),) = connection.sql("SELECT count(*) FROM published.difference_sizes").fetchall()
    assert sizes == 10


def test_a_difference_is_said_with_its_bounds_and_its_direction() -> None:
    """Judged by the bounds as they are said, rounded outwards."""
    assert found(ROW)
    assert comparison_words(ROW) == "stale: can has 0.63 more than bottle (0.10 to 1.16 more)."
    less = ROW | {"difference": -0.63, "difference_lower": -1.151, "difference_upper": -0.104}
    assert comparison_words(less) == "stale: can has 0.63 less than bottle (0.10 to 1.16 less)."
    near = ROW | {"difference_lower": 0.004}
    assert not found(near)
    assert comparison_words(near).endswith("can may have up to 1.16 more.")


def test_no_difference_found_is_said_with_what_may_be_there() -> None:
    """Both ways, or one."""
    both = ROW | {"difference_lower": -0.2}
    assert comparison_words(both) == (
        "stale: no difference found between bottle and can; can may have from 0.20 less to 1.16 "
        "more."
    )
    down = ROW | {"difference_lower": -0.2, "difference_upper": -0.001}
    assert comparison_words(down).endswith("can may have up to 0.20 less.")
    share = {"attribute": None, "difference_lower": -0.2, "difference_upper": 0.111}
    assert comparison_words(ROW | share).startswith("share of glasses rejected: no difference")
    assert comparison_words(ROW | share).endswith(
        "from 20 of 100 glasses less to 12 of 100 glasses more."
    )


def test_what_is_too_few_is_said_with_its_reason() -> None:
    """As the analysis says it."""
    few = ROW | {"reason": "too few to say (n = 1 and 1 lot)", "difference": None}
    assert comparison_words(few) == "stale: too few to say (n = 1 and 1 lot)."
    assert not found(few)


def test_one_session_is_said_to_be_one() -> None:
    """What another day would add is not in the bounds."""
    words = kept_words(ROW | {"kind": "lot", "sessions": 1, "one_session": True})
    assert "by the same 8 people in one session" in words
    assert words.endswith("is not in the bounds.")
    assert "lots" not in words
