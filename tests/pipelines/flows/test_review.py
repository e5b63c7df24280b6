"""The review of a quarter: from the data as they stood, and the same again later."""

from __future__ import annotations

import json
import shutil
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from pipelines.config import load_config
from pipelines.errors import AnswerError, StoreError
from pipelines.flows.actions import Word, record_action
from pipelines.flows.fit import fit
from pipelines.flows.forget import forget
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from pipelines.flows.review import review
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

MARKUP = "<script>alert(1)</script>"
FILES = {
    "lots.csv": (
        "lot,format,beer,packaged_on,best_before,packages,line\n"
        "001,can 330,Fen Pale,2026-01-05,2026-06-05,900,a\n"
        f"{MARKUP},can 330,Fen Pale,2026-01-20,2026-07-20,800,=1+1\n"
    ),
    "tastings.csv": (
        "session,tasted_on,assessor,sample,verdict\n"
        "T1,2026-02-05,A1,S1,accept\nT1,2026-02-05,A1,S2,reject\nT1,2026-02-05,A2,S2,reject\n"
    ),
    "oxygen.csv": (
        "lot,measured_at,reading,unit,quantity,value\n001,2026-01-05 10:00,R1,ppb,total,60\n"
    ),
    "complaints.csv": (
        "complaint,received_on,category,lot,note\nK1,2026-02-20,injury,001,a cut lip\n"
        "K2,2026-03-03,stale;flat,001,by Zebedee Quill\n"
    ),
}
LATER = {
    "oxygen later.csv": (
        "lot,measured_at,reading,unit,quantity,value\n001,2026-01-05 10:00,R1,ppb,total,160\n"
    ),
    "lots later.csv": (
        "lot,format,beer,packaged_on,best_before,packages,line\n"
        "003,can 330,Fen Pale,2026-03-05,2026-08-05,700,a\n"
    ),
    "tastings later.csv": (
        "session,tasted_on,assessor,sample,verdict\n"
        "T1,2026-02-05,A1,S1,reject\nT2,2026-03-05,A9,S1,reject\n"
    ),
}


def brewery(folder: Path, files: dict[str, str], as_of: str = "2026-04-20") -> Config:
    """Make a small brewery that takes a day for today."""
    from tests.pipelines.flows.conftest import CONFIGURATION, INBOX

    (folder / "inbox").mkdir(parents=True, exist_ok=True)
    for name, text in {**INBOX, **FILES, **files}.items():
        (folder / "inbox" / name).write_text(text, encoding="utf-8")
    return dated(folder, as_of, CONFIGURATION)


def dated(folder: Path, as_of: str, more: str) -> Config:
    """Give the brewery's configuration another day for today."""
    (folder / "stalecurve.toml").write_text(f"as_of = {as_of}\n{more}", encoding="utf-8")
    return load_config(folder / "stalecurve.toml")


def reviewed(name: str | None, config: Config) -> tuple[list[str], dict[str, bytes]]:
    """Review, and return what was said and the report's files by ending."""
    said: list[str] = []
    written = review(name, config, said.append)
    return said, {path.suffix: path.read_bytes() for path in written}


def record_in(files: dict[str, bytes]) -> dict[str, Any]:
    """Return the record of a report, without what tells one making of it from another."""
    made: dict[str, Any] = json.loads(files[".json"])
    return {name: held for name, held in made.items() if name not in {"made_at", "load", "run"}}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes]]:
    """A small brewery whose last quarter was reviewed, and the report."""
    folder = tmp_path_factory.mktemp("reviewed")
    config = brewery(folder, {})
    ingest(config, [].append)
    fit(config, [].append)
    record_action(Word("2025-Q4", "Look at head 3", "", None, None, None, "", "Ada"), config, print)
    said, files = reviewed(None, config)
    assert said[0] == "2026-Q1: made from the data up to 10 Apr 2026, and kept"
    return folder, files


@pytest.fixture
def config(first: tuple[Path, dict[str, bytes]], tmp_path: Path) -> Config:
    """A copy of that brewery."""
    copy = shutil.copytree(first[0], tmp_path / "brewery")
    return load_config(copy / "stalecurve.toml")


def test_a_report_says_what_stood_then(first: tuple[Path, dict[str, bytes]]) -> None:
    """What was filled, the run that stood, complaints on safety first, last quarter's actions."""
    made = json.loads(first[1][".json"])
    assert (made["quarter"], made["data_until"], made["run"]) == ("2026-Q1", "2026-04-10", 1)
    assert made["filled"] == {"lots": 2, "packages": 1700}
    assert made["needs"][0]["kind"] == "safety complaints"
    assert made["needs"][1]["kind"] == "date too long"
    assert made["needs"][1]["packages"] == 1700
    assert [row["state"] for row in made["actions"]] == ["agreed"]
    assert made["complaints"]["now"] == 2
    assert [row["lot"] for row in made["gaps"]["without_oxygen"]] == [MARKUP]
    assert "meter_checks" in made["gaps"]["missing"]


def test_no_text_of_a_file_acts_in_a_report(first: tuple[Path, dict[str, bytes]]) -> None:
    """Markup is shown as it was written, no note is shown at all, and the PDF is made of that."""
    html = first[1][".html"].decode()
    assert MARKUP not in html
    assert "&lt;script&gt;alert(1)" in html
    assert "Zebedee" not in html + first[1][".json"].decode()
    assert first[1][".pdf"].startswith(b"%PDF")


def test_made_again_it_is_the_same_to_the_byte(
    first: tuple[Path, dict[str, bytes]], config: Config
) -> None:
    """After loads, corrections, a file taken back, a run, actions and publishing."""
    for name, text in LATER.items():
        (config.paths.inbox / name).write_text(text, encoding="utf-8")
    ingest(config, [].append, ["all"])
    forget("complaints.csv", config, [].append)
    assert fit(config, [].append).run_id == 2
    record_action(Word(None, None, "", None, 1, None, "mended", "Ada"), config, print)
    publish(config, [].append)
    kept = (config.paths.pages / "reviews" / "2026-Q1.html").read_bytes()
    shutil.rmtree(config.paths.database.parent / "reviews")

    said, files = reviewed("2026q1", config)
    assert len(said) == 1
    assert said[0].endswith("made again from the data as they stood, it is the same")
    assert files == first[1]
    assert kept == files[".html"]

    # What was undone would have shown: without the one that was kept, the report is another.
    with open_store(config.paths.database) as connection:
        connection.execute("DELETE FROM records.reviews")
    _, anew = reviewed("2026-Q1", config)
    was, now = record_in(first[1]), record_in(anew)
    assert (now["filled"]["lots"], now["complaints"]["now"]) == (3, 0)
    assert [row["state"] for row in now["actions"]] == ["done"]
    assert now["oxygen"]["rows"] != was["oxygen"]["rows"]


def test_a_changed_configuration_is_said_and_the_report_stays(
    first: tuple[Path, dict[str, bytes]], config: Config
) -> None:
    """The one that was kept is what the meeting saw."""
    text = (config.folder / "stalecurve.toml").read_text(encoding="utf-8")
    changed = dated(
        config.folder, "2026-05-20", text.partition("\n")[2] + "\n[policy]\ncap_days = 9\n"
    )
    said, files = reviewed("2026-Q1", changed)
    assert said[0].endswith("which stays; the configuration changed since, so that it would read "
                            "otherwise now")  # fmt: skip
    assert files == first[1]


def test_rows_dated_later_are_left_out(
    first: tuple[Path, dict[str, bytes]], tmp_path: Path
) -> None:
    """A quarter first asked for later reads as if nothing had happened since working day 8."""
    config = brewery(
        tmp_path / "later",
        {
            "lots more.csv": (
                "lot,format,beer,packaged_on,packages\n004,can 330,Fen Pale,2026-03-01,500\n"
                "005,can 330,Fen Pale,2026-04-11,500\n"
            ),
            "tastings more.csv": (
                "session,tasted_on,assessor,sample,verdict\nT3,2026-04-11,A3,S1,reject\n"
            ),
        },
    )
    ingest(config, [].append)
    # Packaged in the quarter by an older word, and later by the newest: it is later.
    (config.paths.inbox / "lots moved.csv").write_text(
        "lot,format,beer,packaged_on,packages\n004,can 330,Fen Pale,2026-04-12,500\n",
        encoding="utf-8",
    )
    ingest(config, [].append, ["all"])
    fit(config, [].append)
    record_action(Word("2025-Q4", "Look at head 3", "", None, None, None, "", "Ada"), config, print)
    _, files = reviewed("2026-Q1", config)
    made = json.loads(files[".json"])
    assert (made["run"], made["load"]["number"]) == (None, 2)
    assert record_in(files) == record_in(first[1])
    with open_store(config.paths.database, read_only=True) as connection:
        assert connection.sql("SELECT count(*) FROM core.lots").fetchall() == [(4,)]


def test_a_quarter_is_reviewed_so_far_and_then_for_good(tmp_path: Path) -> None:
    """Before working day 8 a new word makes a new report; the older one stays in the records."""
    config = brewery(tmp_path, {}, "2026-02-10")
    ingest(config, [].append)
    said, files = reviewed("2026-Q1", config)
    assert said[0].startswith("2026-Q1, so far: made from the data up to 10 Feb 2026")
    made = json.loads(files[".json"])
    assert (made["run"], made["complaints"]["now"]) == (None, 0)
    assert "the quarter is not over" in files[".html"].decode()
    later = brewery(tmp_path, {}, "2026-04-20")
    _, files = reviewed("2026-Q1", later)
    assert json.loads(files[".json"])["complaints"]["now"] == 2
    with open_store(config.paths.database, read_only=True) as connection:
        kept = connection.sql("SELECT data_until FROM records.reviews ORDER BY review_id")
        assert kept.fetchall() == [(date(2026, 2, 10),), (date(2026, 4, 10),)]


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("2026-Q5", "'2026-Q5' is no quarter: expected a year and Q1 to Q4, such as 2026-Q1"),
        ("spring", "'spring' is no quarter"),
        ("2026-Q3", "2026-Q3 begins on 1 Jul 2026: its review can be made from that day on"),
        ("2025-Q3", "nothing is dated in 2025-Q3: what was loaded runs from 5 Jan 2026 to 3 Mar"),
    ],
)
def test_a_quarter_that_cannot_be_reviewed_is_refused(
    config: Config, name: str, fault: str
) -> None:
    """Said in one sentence, and nothing is kept."""
    with pytest.raises(AnswerError, match=fault):
        review(name, config, [].append)


def test_without_data_there_is_no_review(tmp_path: Path) -> None:
    """No store, or one into which nothing came."""
    config = brewery(tmp_path, {})
    with pytest.raises(
        StoreError, match=r"there is no stalecurve\.duckdb yet: run stalecurve load"
    ):
        review(None, config, [].append)
    for path in config.paths.inbox.iterdir():
        path.unlink()
    ingest(config, [].append)
    with pytest.raises(AnswerError, match="nothing has been loaded yet: run stalecurve load first"):
        review(None, config, [].append)
