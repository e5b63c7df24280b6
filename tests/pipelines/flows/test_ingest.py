"""Taking files in."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from pipelines.errors import ReadError
from pipelines.flows.ingest import IngestSummary, ingest
from pipelines.readers.site import Site
from pipelines.store.connect import open_store
from pipelines.store.fetch import fetch

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

NOTHING_NEW = "no new file in the inbox: nothing changed"
STANDS_ASIDE = "rows of earlier files that still stand aside: 1, see the data page"


def put(config: Config, name: str, content: str | bytes) -> Path:
    """Put a file into the inbox."""
    path = config.paths.inbox / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def take_in(config: Config) -> tuple[IngestSummary, list[str]]:
    """Take the inbox in and give the summary and the lines said, but for where rows to mend are."""
    lines: list[str] = []
    summary = ingest(config, lines.append)
    return summary, [line for line in lines if not line.startswith("to mend them: ")]


def stored(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask the store."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_the_inbox_is_stored_and_counted(brewery: Config) -> None:
    """Every file becomes rows of its table, and each is said with its counts."""
    summary, lines = take_in(brewery)
    assert summary == IngestSummary(load_id=1, files=7, rows_new=10)
    assert "samples.csv: samples, 2 new" in lines
    assert "load 1: 10 new" in lines
    with open_store(brewery.paths.database, read_only=True) as connection:
        assert fetch(connection, "samples")["format"].to_list() == ["can 330", "can 330"]


def test_loading_again_changes_nothing(brewery: Config) -> None:
    """No load is recorded where nothing is new."""
    take_in(brewery)
    assert take_in(brewery) == (IngestSummary(load_id=None), [NOTHING_NEW])
    assert stored(brewery, "SELECT count(*) FROM intake.loads") == [(1,)]


def test_the_same_content_under_another_name_is_a_duplicate(brewery: Config) -> None:
    """It is said and recorded once, and nothing of it is stored again."""
    take_in(brewery)
    put(brewery, "later/tastings copy.csv", (brewery.paths.inbox / "tastings.csv").read_bytes())
    summary, lines = take_in(brewery)
    assert lines[0] == "later/tastings copy.csv: duplicate of tastings.csv, not read again"
    assert summary == IngestSummary(load_id=2, files=1)
    assert take_in(brewery)[0].load_id is None


def test_a_changed_file_corrects_its_rows(brewery: Config) -> None:
    """The same key with another value is a correction; what did not change stays as it was."""
    take_in(brewery)
    path = brewery.paths.inbox / "tastings.csv"
    put(brewery, path.name, path.read_text(encoding="utf-8").replace("S1,accept", "S1,reject"))
    summary, _ = take_in(brewery)
    assert (summary.rows_corrected, summary.rows_unchanged) == (1, 1)
    assert stored(brewery, "SELECT DISTINCT verdict FROM core.tastings") == [("reject",)]


def test_a_fault_is_said_in_full_and_the_good_rows_are_stored(brewery: Config) -> None:
    """File, row, column, value, reason and what was expected; no failure of the load."""
    text = "beer,style,abv_pct\nFen Dark,stout,strong\nFen Wheat,wheat,4.8\n"
    put(brewery, "beers-new.csv", text)
    summary, lines = take_in(brewery)
    assert summary.rows_set_aside == 1
    fault = "beers-new.csv, row 2, abv_pct: 'strong', not a number (expected a number from 0 up"
    assert any(line.startswith(fault) for line in lines)
    assert stored(brewery, "SELECT count(*) FROM core.beers") == [(2,)]


def test_many_faults_are_cut_short_on_the_terminal(brewery: Config) -> None:
    """Two hundred are written out, the rest is counted, with the place where all are listed."""
    rows = "".join(f"Fen No. {n},stout,strong\n" for n in range(205))
    put(brewery, "beers-new.csv", f"beer,style,abv_pct\n{rows}")
    _, lines = take_in(brewery)
    assert sum("not a number" in line for line in lines) == 200
    assert lines[-1] == "and 5 more: see the data page and its set_aside.csv"


def test_a_row_waits_for_the_lot_that_it_names(brewery: Config) -> None:
    """It comes in by itself with the load that brings the lot, and is then settled."""
    put(brewery, "oxygen.csv", "lot,measured_at,unit,total\n002,2026-03-01 10:00,ppb,60\n")
    _, lines = take_in(brewery)
    assert any("oxygen.csv, row 2, lot: '002', unknown lot" in line for line in lines)
    put(brewery, "beers-more.csv", "beer,style,abv_pct\nFen Wheat,wheat,4.8\n")
    _, lines = take_in(brewery)
    assert lines[-1] == STANDS_ASIDE
    lot = "lot,format,beer,packaged_on\n002,can 330,Fen Pale,2026-03-01\n"
    put(brewery, "lots-march.csv", lot)
    summary, _ = take_in(brewery)
    assert (summary.rows_new, summary.rows_set_aside) == (2, 0)
    assert stored(brewery, "SELECT lot, value FROM core.oxygen") == [("002", 60.0)]
    assert stored(brewery, "SELECT count(*) FROM published.set_aside") == [(0,)]


def test_a_word_taught_later_mends_the_rows_that_used_it(brewery: Config) -> None:
    """A file need not be saved anew because the configuration has learnt the panel's word."""
    text = (
        "session,tasted_on,assessor,sample,verdict\n"
        "T2,2026-02-06,A1,S1,lovely\nT2,2026-02-06,A1,S2,awful\n"
    )
    put(brewery, "tastings-two.csv", text)
    assert take_in(brewery)[0].rows_set_aside == 2
    assert take_in(brewery)[0].load_id is None
    taught = replace(brewery, site=Site(words={"accept": ["lovely"]}))
    summary, lines = take_in(taught)
    assert (summary.rows_new, summary.files) == (1, 0)
    assert lines[0] == "tastings-two.csv: tastings, 1 new"
    assert stored(brewery, "SELECT value FROM published.set_aside") == [("awful",)]


def test_a_file_that_is_none_of_ours_is_said_and_no_failure(brewery: Config) -> None:
    """Broken and unknown files are named at every load, and recorded once."""
    put(brewery, "holidays.csv", "who,when\nA1,July\n")
    put(brewery, "oxygen.xlsx", b"no workbook")
    put(brewery, ".hidden.csv", "x")
    put(brewery, "~$oxygen.xlsx", "x")
    summary, first = take_in(brewery)
    assert (summary.files, summary.rows_new) == (9, 10)
    said = [line for line in first if line.startswith(("holidays.csv: ", "oxygen.xlsx cannot"))]
    assert len(said) == 2
    again, second = take_in(brewery)
    assert again.load_id is None
    assert second == [*said, NOTHING_NEW]
    outcomes = "SELECT file, outcome FROM intake.files WHERE outcome <> 'loaded' ORDER BY file"
    assert stored(brewery, outcomes) == [
        ("holidays.csv", "not recognised"),
        ("oxygen.xlsx", "not readable"),
    ]


def test_a_file_being_written_is_tried_again(
    brewery: Config, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half a Parquet file that is whole a moment later is taken in."""
    with open_store(brewery.paths.database) as connection:
        whole = brewery.folder / "beers-two.parquet"
        beer = "SELECT 'Fen Dark' AS beer, 'stout' AS style, '5.2' AS abv_pct"
        connection.execute(f"COPY ({beer}) TO '{whole}' (FORMAT parquet)")
    content = whole.read_bytes()
    path = put(brewery, whole.name, content[: len(content) // 2])
    monkeypatch.setattr(time, "sleep", lambda _: path.write_bytes(content))
    _, lines = take_in(brewery)
    assert "beers-two.parquet: beers, 1 new" in lines


def test_what_stands_aside_is_said_at_every_load(brewery: Config) -> None:
    """A row with several faults is one row; two that disagree are two."""
    put(brewery, "beers-new.csv", "beer,style,abv_pct\n,stout,strong\n")
    take_in(brewery)
    assert take_in(brewery)[1] == [NOTHING_NEW, STANDS_ASIDE]
    put(brewery, "beers-two.csv", "beer,style,abv_pct\nA,stout,5\nA,stout,6\n")
    take_in(brewery)
    assert take_in(brewery)[1][-1] == STANDS_ASIDE.replace("1", "3")


def test_a_refused_file_is_named_by_every_load_while_it_lies_there(brewery: Config) -> None:
    """The pages show what the newest load refused: an older refusal must not fall off them."""
    broken = put(brewery, "oxygen.xlsx", b"no workbook")
    newest = "SELECT file FROM published.files WHERE load_id = {} AND outcome <> 'loaded'"
    take_in(brewery)
    put(brewery, "beers-two.csv", "beer,style,abv_pct\nFen Dark,stout,5\n")
    assert take_in(brewery)[0] == IngestSummary(load_id=2, files=1, rows_new=1)
    assert stored(brewery, newest.format(2)) == [("oxygen.xlsx",)]
    broken.unlink()
    put(brewery, "beers-three.csv", "beer,style,abv_pct\nFen Red,stout,5\n")
    assert take_in(brewery)[0].load_id == 3
    assert stored(brewery, newest.format(3)) == []


def test_a_file_that_cannot_be_opened_keeps_no_other_from_coming_in(brewery: Config) -> None:
    """It is said and recorded like any that cannot be read."""
    # The process's own memory: a file that opens, and whose first byte nobody may read.
    (brewery.paths.inbox / "oxygen.csv").symlink_to("/proc/self/mem")
    summary, lines = take_in(brewery)
    assert summary.rows_new == 10
    said = "oxygen.csv cannot be opened (Input/output error): close it elsewhere and try again"
    assert said in lines
    assert take_in(brewery) == (IngestSummary(load_id=None), [said, NOTHING_NEW])
    outcome = "SELECT sha256, outcome FROM intake.files WHERE file = 'oxygen.csv'"
    assert stored(brewery, outcome) == [(None, "not readable")]


def test_a_file_that_is_whole_again_is_no_duplicate_of_itself(brewery: Config) -> None:
    """What was broken for a while and is as it was is read, and changes no row."""
    whole = (brewery.paths.inbox / "beers.csv").read_bytes()
    take_in(brewery)
    put(brewery, "beers.csv", b'"beer')
    take_in(brewery)
    put(brewery, "beers.csv", whole)
    summary, lines = take_in(brewery)
    assert (summary.load_id, summary.rows_unchanged, summary.rows_new) == (3, 1, 0)
    assert lines[0] == "beers.csv: beers, 1 unchanged"
    assert take_in(brewery)[1] == [NOTHING_NEW]


def test_an_empty_inbox_is_called_that(brewery: Config) -> None:
    """The message says where to put files."""
    for path in brewery.paths.inbox.iterdir():
        path.unlink()
    inbox = brewery.paths.inbox
    assert take_in(brewery)[1] == [f"the inbox {inbox} is empty: put CSV, XLSX or Parquet files in"]


def test_without_an_inbox_there_is_nothing_to_take_in(brewery: Config) -> None:
    """The message says what to make or set."""
    gone = replace(brewery, paths=replace(brewery.paths, inbox=brewery.folder / "elsewhere"))
    with pytest.raises(ReadError, match="there is no inbox"):
        ingest(gone, print)
    assert not gone.paths.database.exists()


def test_days_are_held_against_what_came_in_before(brewery: Config) -> None:
    """A sample older than its lot, and a tasting older than its sample, stand aside.

    The day of the lot may be the wrong one: once it is mended, both the sample and its tasting
    come in by themselves, though their files lie there no longer.
    """
    take_in(brewery)
    put(
        brewery,
        "samples-two.csv",
        "sample,lot,storage_temp_c,placed_on,pulled_on\nS3,001,20,2026-01-04,2026-02-05\n",
    )
    heading = "session,tasted_on,assessor,sample,verdict\n"
    put(brewery, "tastings-two.csv", f"{heading}T0,2026-02-04,A1,S1,accept\n")
    put(brewery, "tastings-three.csv", f"{heading}T1,2026-02-05,A1,S3,accept\n")
    summary, lines = take_in(brewery)
    assert (summary.rows_new, summary.rows_set_aside) == (0, 3)
    for said in (
        "samples-two.csv, row 2, placed_on: '2026-01-04', before its lot was packaged",
        "tastings-two.csv, row 2, tasted_on: '2026-02-04', before its sample was pulled",
    ):
        assert any(line.startswith(said) for line in lines), lines
    for name in ("samples-two.csv", "tastings-three.csv"):
        (brewery.paths.inbox / name).unlink()
    lots = brewery.paths.inbox / "lots.csv"
    put(brewery, lots.name, lots.read_text(encoding="utf-8").replace("01-05", "01-03"))
    summary, _ = take_in(brewery)
    assert (summary.rows_corrected, summary.rows_new) == (1, 2)
    assert stored(brewery, "SELECT DISTINCT file FROM published.set_aside") == [
        ("tastings-two.csv",)
    ]
