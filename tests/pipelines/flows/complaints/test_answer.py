"""A complaint answered, from files in the inbox to a page, a PDF and a record."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dashboards.complaint_words import ONLY_THESE, STOP
from pipelines.errors import StoreError
from pipelines.flows import complaint as flow
from pipelines.flows.complaint_asked import Asked, checked_categories
from pipelines.flows.complaint_work import at_hand
from pipelines.flows.publish import publish
from pipelines.store.connect import open_store
from tests.pipelines.flows.complaints.brewery import COMPLAINTS, FILES, answered, written
from tests.pipelines.flows.conftest import INBOX

if TYPE_CHECKING:
    from pipelines.config import Config

COMMAND = Path(sys.executable).with_name("stalecurve")
HELD = """
import sys
from pathlib import Path
from pipelines.flows.lock import writers_lock
with writers_lock(Path(sys.argv[1]), "run"):
    print("held", flush=True)
    sys.stdin.read()
"""
TYPED = Asked(date(2026, 4, 20), ("stale",), lot="001", format="can 330")


def rows(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask the store."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_a_complaint_of_the_table_is_answered_and_recorded(config: Config) -> None:
    """Page, JSON, HTML and PDF, and one row that says the same."""
    said, files = answered("C1", config)
    assert len(said) == 3
    page, as_json, as_html, as_pdf = files
    assert page == config.paths.pages / "complaints" / "complaint-c1.html"
    assert page.read_bytes() == as_html.read_bytes()
    assert as_pdf.read_bytes().startswith(b"%PDF")
    html = page.read_text(encoding="utf-8")
    for part in (ONLY_THESE, "Draft – not sent", "It was 93 days old when it was opened"):
        assert part in html.replace("\N{NO-BREAK SPACE}", " ")
    record = json.loads(as_json.read_text(encoding="utf-8"))
    assert sum(row["posterior"] for row in record["odds"]) == pytest.approx(1.0)
    assert record["steps"]
    assert rows(
        config,
        "SELECT answer_id, complaint, lot, format, safety, run_id, load_id, answer, shows_note, "
        "record, sheet FROM records.answers",
    ) == [
        (
            *(1, "C1", "001", "can 330", False, 1, 1, said[0], False),
            *(as_json.read_text(encoding="utf-8"), html),
        )
    ]


def test_the_newest_files_are_taken_in_first(config: Config) -> None:
    """One put down a moment ago is answered; before that, it can be typed in."""
    with pytest.raises(StoreError, match=r"there is no complaint C9\. One that is in no file"):
        answered("C9", config)
    more = f"{COMPLAINTS[0]}\nC9,2026-04-20,stale,001,,can 330,,,,,,,,\n"
    (config.paths.inbox / "complaints more.csv").write_text(more, encoding="utf-8")
    _, files = answered("C9", config)
    assert files[0].name == "complaint-c9.html"


def test_asked_again_the_newer_answer_stands_and_the_older_stays(config: Config) -> None:
    """Both are in the record; publishing writes the newest of each complaint, to the bit."""
    answered("C1", config)
    answered("C4", config)
    _, files = answered("C1", config)
    folder = config.paths.pages / "complaints"
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    shutil.rmtree(config.paths.pages)
    publish(config, [].append)
    after = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert after == before
    assert files[0].name in after
    assert rows(config, "SELECT answer_id, name FROM records.answers ORDER BY 1") == [
        (1, "complaint-c1"),
        (2, "complaint-c4"),
        (3, "complaint-c1"),
    ]


def test_one_that_is_typed_in_is_answered_like_one_of_the_table(config: Config) -> None:
    """It needs no file, and has a page and a record of its own."""
    said, files = answered(
        replace(TYPED, received_on=date(2026, 4, 10), outlet="Moss Shop", market="shops"), config
    )
    assert len(said) == 3
    assert files[0].name == "typed-in-0001.html"
    record = json.loads(files[1].read_text(encoding="utf-8"))
    assert record["asked"]["complaint"] is None
    assert "A complaint typed in" in files[0].read_text(encoding="utf-8")
    assert rows(config, "SELECT complaint, name FROM records.answers") == [(None, "typed-in-0001")]


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (replace(TYPED, format="can 33"), r"there is no format can 33: did you mean can 330\?"),
        (replace(TYPED, beer="Fen Pal"), r"there is no beer Fen Pal: did you mean Fen Pale\?"),
    ],
)
def test_a_slip_of_the_typist_is_told(config: Config, asked: Asked, message: str) -> None:
    """A beer or format that there is not is refused with the nearest, and nothing is recorded."""
    with pytest.raises(StoreError, match=message):
        answered(asked, config)
    assert rows(config, "FROM records.answers") == []


def test_categories_are_checked_as_typed() -> None:
    """Several in one text or many; an unknown one is told with the nearest, none with all."""
    assert checked_categories(["Stale; flat", "haze"]) == ("stale", "flat", "haze")
    with pytest.raises(StoreError, match=r"stail is no category of complaints: did you mean stale"):
        checked_categories(["stail"])
    with pytest.raises(StoreError, match="say what the complaint is about with --category: stale,"):
        checked_categories([" ; "])


def test_before_any_run_the_facts_are_told_and_no_odds(tmp_path: Path) -> None:
    """Nothing is fitted yet: the answer says so, and the page still has the reply."""
    config = written(tmp_path, {**INBOX, **FILES})
    said, files = answered("C1", config)
    assert said[0] == ("No odds are given: nothing is estimated for pale ale in can 330 yet.")
    html = files[0].read_text(encoding="utf-8")
    assert "Oxygen at filling" in html
    assert "The odds between the causes" not in html
    assert "Draft – not sent" in html
    assert rows(config, "SELECT run_id FROM records.answers") == [(None,)]


def test_a_brewery_with_nothing_but_the_complaint_gets_an_answer(tmp_path: Path) -> None:
    """No lot, no run, no shipment: it asks for the package."""
    config = written(tmp_path, {})
    said, _ = answered(Asked(date(2026, 4, 20), ("stale",), lot="17"), config)
    assert said[0].startswith("Lot 17 is not one of ours as it is written")


def test_while_a_night_is_at_work_it_is_said_and_not_recorded(
    config: Config, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody on the telephone gets what was known before, and is told that nothing is kept."""
    monkeypatch.setattr(flow, "PATIENCE_SECONDS", 0.1)
    with subprocess.Popen(
        [sys.executable, "-c", HELD, str(config.paths.database)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        said: list[str] = []
        remarked: list[str] = []
        files = flow.answer_complaint("C2", config, at_hand, said.append, remarked.append)
        other.communicate("")
    assert (said, files) == ([STOP], ())
    assert "is not recorded. Ask again later." in remarked[-1]
    assert rows(config, "FROM records.answers") == []


def test_the_command_answers_in_a_process_of_its_own(config: Config) -> None:
    """Typed in at the terminal, from the line to the files, with nothing but the answer on it."""
    command = [str(COMMAND), "complaint", "--lot", "001", "--category", "stale"]
    command += ["--received", "2026-04-10", "--kept-at", "30", "--for", "40"]
    done = subprocess.run(
        [*command, "--config", str(config.folder / "stalecurve.toml")],
        capture_output=True,
        text=True,
        check=False,
        cwd=config.folder,
        env=os.environ,
    )
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[-2:] == [
        "Page: pages/complaints/typed-in-0001.html",
        (
            "Beside the database: records/typed-in-0001.json, records/typed-in-0001.html, "
            "records/typed-in-0001.pdf"
        ),
    ]
    assert (config.folder / "records/typed-in-0001.pdf").read_bytes().startswith(b"%PDF")
