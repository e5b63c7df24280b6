"""Asking about one lot, from files in the inbox to a line and a page."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from dashboards.errors import DashboardError
from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows import lot_today
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.lot_today import answer_lot
from pipelines.flows.publish import publish
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

HELD = """
import sys
from pathlib import Path
from pipelines.flows.lock import writers_lock
with writers_lock(Path(sys.argv[1]), "run"):
    print("held", flush=True)
    sys.stdin.read()
"""
HEADINGS = "lot,format,measured_at,quantity,value,unit,minutes_after_fill\n"


def ask(
    config: Config, lot: str, format_: str | None = None
) -> tuple[list[str], list[str], Path | None]:
    """Ask about a lot: what was said, what was remarked, and the page."""
    said: list[str] = []
    remarked: list[str] = []
    page = answer_lot(lot, format_, config, said.append, remarked.append)
    return said, remarked, page


def readings(config: Config, lot: str, *ppb: float, minutes: int = 30, name: str = "w1") -> None:
    """Put a file of readings into the inbox."""
    rows = "".join(
        f"{lot},can 330,2026-01-05T10:{place:02d},total,{value},ppb,{minutes}\n"
        for place, value in enumerate(ppb)
    )
    (config.paths.inbox / f"oxygen-{name}.csv").write_text(HEADINGS + rows, encoding="utf-8")


def test_the_newest_readings_are_taken_in_first(brewery: Config) -> None:
    """A file put down a moment ago is in the answer, and the page says the same."""
    ingest(brewery, [].append)
    readings(brewery, "001", 48.0, 52.0, 50.0)
    said, remarked, page = ask(brewery, "001")
    assert said == [
        (
            "001, can 330 (Fen Pale, packaged 5 Jan 2026): 50 ppb (37 to 67) from 3 packages (head "
            "not recorded), no limits of its line and format yet. Too few to shorten or to clear: "
            "6 are needed. To do: taste a retained sample: none of it is in storage, so put one "
            "aside. Measuring again tomorrow cannot clear this lot; a lower reading then is not "
            "better news."
        )
    ]
    assert any("oxygen-w1.csv: oxygen, 3 new" in line for line in remarked)
    assert page == brewery.paths.pages / "lot-001.html"
    html = page.read_text(encoding="utf-8")
    assert "Too few to shorten or to clear: 6 are needed." in html
    assert 'data-chart="packages-' in html


def test_before_any_run_the_oxygen_is_told_and_no_days(brewery: Config) -> None:
    """Six readings without a fit: the line says what is missing."""
    readings(brewery, "001", 48.0, 52.0, 50.0, 51.0, 49.0, 50.0)
    said, _, _ = ask(brewery, "001")
    assert "50 ppb (" in said[0]
    assert "No route carries" not in said[0]
    assert "nothing is estimated for this style and format yet." in said[0]


def test_a_lot_in_several_formats_answers_a_line_each(brewery: Config) -> None:
    """One page for all of them; one line where a format is named."""
    (brewery.paths.inbox / "formats more.csv").write_text(
        "format,kind,volume_ml\nkeg 30,keg,30000\n", encoding="utf-8"
    )
    (brewery.paths.inbox / "lots more.csv").write_text(
        "lot,format,beer,packaged_on\n001,keg 30,Fen Pale,2026-01-05\n", encoding="utf-8"
    )
    both, _, page = ask(brewery, "001")
    assert [line.partition(" (")[0] for line in both] == ["001, can 330", "001, keg 30"]
    one, _, again = ask(brewery, "001", "keg 30")
    assert one == [both[1]]
    assert page == again
    assert page is not None
    assert page.read_text(encoding="utf-8").count('<h2 id="format-') == 2


@pytest.mark.parametrize(
    ("lot", "format_", "message"),
    [
        ("1", None, "there is no lot 1: did you mean 001?"),
        ("x9", None, "there is no lot x9$"),
        (
            "001",
            "can 33",
            "lot 001 was not filled into can 33: it is can 330: did you mean can 330?",
        ),
    ],
)
def test_an_unknown_lot_is_told_with_the_nearest(
    brewery: Config, lot: str, format_: str | None, message: str
) -> None:
    """Nothing is written for it."""
    with pytest.raises(StoreError, match=message.replace("?", r"\?")):
        ask(brewery, lot, format_)
    assert not brewery.paths.pages.exists()


HOSTILE = ['../../"x" <b>', "A B", "a b", "a-b", "Ä/Ö", "CON", ".", "x" * 64]


def test_names_that_mean_harm_have_tame_pages_of_their_own(brewery: Config) -> None:
    """Slashes, signs and capitals: each lot has its own page within the folder."""
    rows = "".join(
        '"' + lot.replace('"', '""') + '",can 330,Fen Pale,2026-01-05\n' for lot in HOSTILE
    )
    (brewery.paths.inbox / "lots more.csv").write_text(
        "lot,format,beer,packaged_on\n" + rows, encoding="utf-8"
    )
    pages = [ask(brewery, lot)[2] for lot in HOSTILE]
    assert all(page and page.parent == brewery.paths.pages and page.is_file() for page in pages)
    assert len({str(page).lower() for page in pages}) == len(HOSTILE)
    html = str(pages[0] and pages[0].read_text(encoding="utf-8"))
    assert "<b>" not in html.partition("<main")[2]
    assert "&lt;b&gt;" in html


def test_asking_again_takes_the_place_of_what_was_said(brewery: Config) -> None:
    """One row a lot and format, with the day of the last question."""
    day = date(2026, 1, 7)
    ask(brewery, "001")
    ask(replace(brewery, as_of=day), "001")
    with open_store(brewery.paths.database, read_only=True) as connection:
        rows = connection.sql("SELECT lot, asked_on, judged_on FROM published.lots").fetchall()
    assert rows == [("001", day, day)]


def test_a_page_asked_for_outlives_the_nights_that_follow(brewery: Config) -> None:
    """For ninety days from the question; then it goes, for nothing is wrong with the lot."""
    asked = replace(brewery, as_of=date(2026, 1, 7))
    page = ask(asked, "001")[2]
    assert page is not None
    publish(replace(brewery, as_of=date(2026, 4, 6)), [].append)
    assert page.is_file()
    publish(replace(brewery, as_of=date(2026, 4, 9)), [].append)
    assert not page.exists()
    assert (brewery.paths.pages / "index.html").is_file()


def test_while_a_night_is_at_work_the_answer_does_not_wait_for_it(
    brewery: Config, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It rests on what was taken in before, says so, and leaves inbox and pages alone."""
    ingest(brewery, [].append)
    readings(brewery, "001", 48.0)
    monkeypatch.setattr(lot_today, "PATIENCE_SECONDS", 0.3)
    command = [sys.executable, "-c", HELD, str(brewery.paths.database)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=os.environ
    ) as night:
        assert night.stdout is not None
        assert night.stdout.readline() == "held\n"
        said, remarked, page = ask(brewery, "001")
        night.communicate("")
    assert page is None
    assert "no oxygen reading" in said[0]
    assert "stalecurve run" in remarked[-1]
    assert remarked[-1].endswith("this rests on what was taken in before.")
    assert not brewery.paths.pages.exists()


def test_the_lock_is_free_while_the_lot_is_judged(brewery: Config) -> None:
    """Judging holds nobody up: another process gets the lock when the answer is said."""
    taken: list[str] = []

    def said(_line: str) -> None:
        command = [sys.executable, "-c", HELD, str(brewery.paths.database)]
        done = subprocess.run(
            command, input="", capture_output=True, text=True, check=True, timeout=60
        )
        taken.append(done.stdout)

    answer_lot("001", None, brewery, said, [].append)
    assert taken == ["held\n"]


def test_pages_of_somebody_else_are_left_alone(brewery: Config) -> None:
    """A folder that holds something else gets no page."""
    brewery.paths.pages.mkdir()
    (brewery.paths.pages / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(DashboardError, match="no pages of stalecurve"):
        ask(brewery, "001")
    assert [path.name for path in brewery.paths.pages.iterdir()] == ["index.html"]


@pytest.fixture(scope="module")
def fitted(make_brewery: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Config:
    """An invented brewery of a dozen lots with a run."""
    config = load_config(make_brewery(tmp_path_factory.mktemp("lots") / "b", "Quillmoor", 5))
    ingest(config, [].append)
    fit(config, [].append)
    return config


def test_a_lot_with_much_oxygen_is_shortened_and_listed_with_each_publishing(
    fitted: Config,
) -> None:
    """Readings that came after the fit count; the page is there without being asked for."""
    with open_store(fitted.paths.database, read_only=True) as connection:
        ((lot, packaged_on),) = connection.sql(
            """
            SELECT l.lot, l.packaged_on FROM core.lots AS l JOIN core.beers AS b USING (beer)
            WHERE l.format = 'can 440' AND b.style = 'pale ale'
            ORDER BY l.packaged_on DESC LIMIT 1
            """
        ).fetchall()
    rows = "".join(
        f"{lot},can 440,{packaged_on}T10:{place:02d},total,{900 + 10 * place},ppb,30\n"
        for place in range(12)
    )
    (fitted.paths.inbox / "oxygen-new.csv").write_text(HEADINGS + rows, encoding="utf-8")
    config = replace(fitted, as_of=packaged_on)
    said, _, page = ask(config, lot, "can 440")
    assert " do not hold, kept as 'ambient' says (about 21 °C): its oxygen supports " in said[0]
    assert "To do: shorten to " in said[0]
    assert page is not None
    publish(config, [].append)
    assert page.is_file()
