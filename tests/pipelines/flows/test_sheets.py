"""Sheets for a tasting session, printed, filled in and taken in again."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import polars as pl
import pytest
import xlsxwriter

from pipelines.config import Config, load_config
from pipelines.errors import ReadError, StoreError
from pipelines.flows.check import check_files
from pipelines.flows.sheets import make_sheets
from pipelines.flows.sheets_choice import Wanted
from pipelines.readers.files import read_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tests.pipelines.flows.conftest import Desk

ON = date(2026, 2, 10)
"""The day of the session; the brewery's lot is 36 days old then."""
ASSESSORS = (
    "assessor,shelf_life_panel,left_on",
    "A1,yes,",
    "A2,yes,2026-03-31",
    "A3,yes,2026-01-31",
    "A4,no,",
    "A5,,",
    "A6,yes,",
    "A7,yes,",
)
SAMPLES = (
    "sample,lot,storage_temp_c,placed_on,pulled_on,role",
    "0003,001,30,2026-01-06,2026-02-07,",
    "0002,001,20,2026-01-06,2026-02-06,",
    "0009,001,20,2026-01-06,2026-03-06,",
    "R1,001,20,2026-01-06,2026-02-06,returned",
)


@pytest.fixture
def desk(desk: Desk) -> Desk:
    """The brewery with a panel of which four are there, and two samples that nobody tasted."""
    desk.put("assessors.csv", *ASSESSORS)
    desk.put("samples more.csv", *SAMPLES)
    desk.load()
    return desk


def made(desk: Desk, **wanted: Any) -> tuple[list[Path], list[str]]:  # noqa: ANN401
    """Make sheets beside the inbox; give the files and what was said."""
    said: list[str] = []
    files = make_sheets(
        desk.config, Wanted(**{"on": ON, **wanted}), desk.config.folder, said.append
    )
    return list(files), said


def cells_of(book: Path, config: Config) -> dict[str, pl.DataFrame]:
    """Read a workbook as the inbox would, by table."""
    content = read_file(book, book.parent, config.site)
    assert content.mentions == ()
    return {table.table: table.cells for table in content.tables}


def fill_in(book: Path, to: Path, config: Config, answers: Sequence[dict[str, object]]) -> None:
    """Type answers into the rows of a workbook in their order, and save it in the inbox."""
    with xlsxwriter.Workbook(to) as filled:
        for name, cells in cells_of(book, config).items():
            sheet = filled.add_worksheet(name)
            columns = [column for column in cells.columns if column != "row_number"]
            sheet.write_row(0, 0, columns)
            for number, row in enumerate(cells.iter_rows(named=True)):
                typed = row | (answers[number] if name == "tastings" else {})
                sheet.write_row(
                    number + 1, 0, ["" if typed[c] is None else typed[c] for c in columns]
                )


def test_sheets_come_back_as_tastings(desk: Desk) -> None:
    """What was laid out and typed in is what the store holds, row by row; the fresh sample too."""
    (book, page), said = made(desk)
    assert said[0] == (
        "session 2026-02-10: 4 glasses for each of 4 tasters, with fresh 2026-02-10 as the blind "
        f"fresh control and {_twice(book, desk.config)} twice"
    )
    laid_out = cells_of(book, desk.config)["tastings"].rows(named=True)
    verdicts = ("accept", "reject", "not sure")
    answers = [{"verdict": verdicts[i % 3], "note": f"n{i}"} for i in range(len(laid_out))]
    fill_in(book, desk.config.paths.inbox / book.name, desk.config, answers)
    summary = desk.load()
    assert (summary.rows_new, summary.rows_set_aside) == (16 + 1, 0)
    stored = desk.ask(
        "SELECT session, tasted_on, assessor, sample, code, position, verdict, note "
        "FROM core.tastings WHERE session = '2026-02-10' ORDER BY assessor, position"
    )
    assert stored == [
        (
            "2026-02-10",
            ON,
            r["assessor"],
            r["sample"],
            r["code"],
            int(r["position"]),
            a["verdict"],
            a["note"],
        )
        for r, a in zip(laid_out, answers, strict=True)
    ]
    assert desk.ask(
        "SELECT lot, format, storage_temp_c, placed_on, pulled_on, role FROM core.samples "
        "WHERE sample = 'fresh 2026-02-10'"
    ) == [("001", "can 330", 4.0, date(2026, 1, 5), ON, "fresh")]
    assert page.name == "tasting 2026-02-10.html"


def _twice(book: Path, config: Config) -> str:
    poured = cells_of(book, config)["tastings"].group_by("sample").agg(pl.col("code").n_unique())
    return str(poured.filter(pl.col("code") == 2)["sample"].item())


def test_the_usual_session_is_what_waits_for_the_panel(desk: Desk) -> None:
    """Who is on the panel and there that day, by what was pulled, for age, and nobody tasted."""
    (book, _), _ = made(desk)
    tastings = cells_of(book, desk.config)["tastings"]
    assert tastings["assessor"].unique().sort().to_list() == ["A1", "A2", "A6", "A7"]
    assert tastings["sample"].unique().sort().to_list() == ["0002", "0003", "fresh 2026-02-10"]
    assert tastings["position"].to_list() == ["1", "2", "3", "4"] * 4
    assert tastings.group_by("assessor").agg(pl.col("code").n_unique())["code"].to_list() == [4] * 4


def test_the_same_command_gives_the_same_sheets(desk: Desk) -> None:
    """Codes and orders hang on the session's name alone."""
    (book, page), _ = made(desk)
    before = cells_of(book, desk.config)["tastings"], page.read_text("utf-8")
    book.unlink(), page.unlink()
    (again, printed), _ = made(desk)
    assert cells_of(again, desk.config)["tastings"].equals(before[0])
    assert printed.read_text("utf-8") == before[1]
    (other, _), _ = made(desk, session="another")
    assert not cells_of(other, desk.config)["tastings"]["code"].equals(before[0]["code"])


def test_a_sheet_that_is_there_is_never_overwritten(desk: Desk) -> None:
    """It may be filled in already; the one beside it is not written either."""
    page = desk.config.folder / "tasting 2026-02-10.html"
    page.write_text("scribbled on", encoding="utf-8")
    with pytest.raises(ReadError, match=r"10\.html is there already and was left as it is"):
        made(desk)
    assert page.read_text("utf-8") == "scribbled on"
    assert not page.with_suffix(".xlsx").exists()


def test_a_fresh_sample_that_stands_ready_is_taken(desk: Desk) -> None:
    """Nothing is to be pulled then, and the workbook has the tastings alone."""
    ready = ("F1,001,4,2026-01-06,2026-02-09,fresh", "F0,001,12,2026-01-06,2026-02-09,fresh")
    desk.put("samples fresh.csv", SAMPLES[0], *ready)
    desk.load()
    (book, _), said = made(desk)
    assert "with F1 as the blind fresh control" in said[0]
    assert cells_of(book, desk.config).keys() == {"tastings"}


def test_without_fresh_beer_the_leader_is_told(desk: Desk) -> None:
    """On a day when every lot is older than 60 days there is no control, and it says so."""
    (book, page), said = made(desk, on=date(2026, 3, 20), samples=("0002", "0003"))
    assert "fresh" not in said[0]
    assert said[1].startswith("  No fresh control: no released lot of at most 60 days")
    assert cells_of(book, desk.config).keys() == {"tastings"}
    assert "No fresh control" in page.read_text("utf-8")


def test_more_than_six_glasses_are_several_sessions(desk: Desk) -> None:
    """Each has a fresh control and one sample twice, and the leader is told."""
    desk.put(
        "samples many.csv",
        SAMPLES[0],
        *(f"M{i},001,20,2026-01-06,2026-02-0{i},aged" for i in range(1, 8)),
    )
    desk.load()
    files, said = made(desk)
    assert said[0] == (
        "9 samples are too many for one session, which has six glasses at most: they are shared "
        "out over 3"
    )
    books = [cells_of(book, desk.config)["tastings"] for book in files[::2]]
    assert [book["session"][0] for book in books] == [f"2026-02-10-{n}" for n in (1, 2, 3)]
    assert [book["position"].cast(pl.Int64).max() for book in books] == [5, 5, 5]
    poured = pl.concat(books)["sample"].unique()
    assert len(poured) == 9 + 3


def test_seats_without_names_are_written_in_by_hand(desk: Desk) -> None:
    """An empty cell a row under the ballot's number, and a line on paper for the name."""
    (book, page), _ = made(desk, seats=3, twice=False)
    tastings = cells_of(book, desk.config)["tastings"]
    assert tastings["assessor"].null_count() == tastings.height == 9
    assert page.read_text("utf-8").count("sheet 3") == 2


def test_ballots_tell_no_sample(desk: Desk) -> None:
    """Beer, lot, sample and role stand on the leader's plan alone, before the first ballot."""
    (_, page), _ = made(desk, assessors=("A1", "A4"))
    plan, *ballots = page.read_text("utf-8").split('<section class="ballot">')
    for secret in ("0002", "0003", "Fen Pale", "fresh", "lot 001", "30&nbsp;°C"):
        assert all(secret not in ballot for ballot in ballots), secret
    assert "blind fresh control" in plan
    assert len(ballots) == 2
    assert all("Would this still be served" in ballot for ballot in ballots)
    assert all("does not drive" in ballot for ballot in ballots)
    codes = [re.findall(r'class="code">(\d+)<', ballot) for ballot in ballots]
    assert len(codes[0]) == len(set(codes[0])) == 4
    assert sorted(codes[0]) == sorted(codes[1])


@pytest.mark.parametrize("told", ["stale;gushing,001,,", "stale,001,,il a vomi"])
def test_beer_that_nobody_may_taste_is_left_out(desk: Desk, told: str) -> None:
    """An open complaint of gushing, or of illness in its note, keeps its lot from the table."""
    complaint = "complaint,received_on,category,lot,closed_on,note"
    desk.put("complaints.csv", complaint, f"C1,2026-02-01,{told}")
    desk.load()
    with pytest.raises(StoreError, match="no sample that was pulled waits to be tasted"):
        made(desk)
    said: list[str] = []
    with pytest.raises(StoreError):
        make_sheets(desk.config, Wanted(on=ON, samples=("0002",)), desk.config.folder, said.append)
    assert len(said) == 1
    assert said[0].startswith("0002 is left out: complaint C1 on lot 001 is the food-safety lead's")


def test_what_the_leader_must_know_is_said_and_printed(desk: Desk) -> None:
    """A sample that waited long, one that came back from the trade, a lot that is held."""
    desk.put(
        "lots later.csv",
        "lot,format,beer,packaged_on,status",
        "001,can 330,Fen Pale,2026-01-05,held",
    )
    desk.load()
    (_, page), said = made(
        desk, on=date(2026, 2, 25), samples=("0002", "R1"), assessors=("A1",), pour_ml=100.0
    )
    printed = page.read_text("utf-8")
    for line in (
        "0002 was pulled 19 days ago; 14 at most is usual.",
        "Lot 001 is held: ask why before anybody tastes it.",
        "R1 came back from the trade: nobody tastes it before the food-safety lead",
        "Fewer than 4 tasters say little: ask more of them to the table.",
    ):
        assert any(told.startswith(f"  {line}") for told in said)
        assert line in printed.replace("&#39;", "'")
    assert "Pour 100\N{NO-BREAK SPACE}mL into each" in printed


def test_samples_missed_for_good_are_counted(desk: Desk) -> None:
    """As on the page of the week, after 14 and 60 days; named, they are tasted all the same."""
    said: list[str] = []
    with pytest.raises(StoreError, match="no sample that was pulled waits"):
        make_sheets(desk.config, Wanted(on=ON + timedelta(120)), desk.config.folder, said.append)
    assert said[0].startswith("left out, because pulled more than 74 days ago: 3 samples; --sample")


@pytest.mark.parametrize(
    ("wanted", "reason"),
    [
        ({"samples": ("00002",)}, "there is no sample 00002: did you mean 0002?"),
        ({"samples": ("0009",)}, "not pulled yet on 2026-02-10: 0009; name a later day with --on"),
        ({"assessors": ("A8",)}, "there is no assessor A8"),
        ({"session": "T1"}, "session T1 was tasted already: give this one a name with --session"),
        ({"session": "#1"}, "#1 is no name of a session"),
        ({"session": "x" * 51}, "at most 50 characters"),
    ],
)
def test_what_cannot_be_had_is_refused(desk: Desk, wanted: dict[str, Any], reason: str) -> None:
    """In a sentence that says what to do, and no file is written."""
    with pytest.raises(StoreError) as refused:
        made(desk, **wanted)
    assert reason in str(refused.value)
    assert not list(desk.config.folder.glob("tasting*"))


def test_nobody_on_the_panel_is_told(desk: Desk) -> None:
    """With what would help."""
    desk.put("assessors later.csv", ASSESSORS[0], *(f"A{i},no," for i in (1, 2, 3, 6, 7)))
    desk.load("assessors later.csv")
    with pytest.raises(StoreError, match="name tasters with --assessor"):
        made(desk)


def test_without_a_store_it_says_what_to_run(tmp_path: Path) -> None:
    """Nothing is known that could be tasted."""
    (tmp_path / "stalecurve.toml").write_text('[brewery]\nname = "Quillmoor"\n', encoding="utf-8")
    config = load_config(tmp_path / "stalecurve.toml")
    with pytest.raises(StoreError, match="run stalecurve load first"):
        make_sheets(config, Wanted(), tmp_path, lambda _line: None)


def test_attributes_and_a_hostile_name_are_on_the_ballot(desk: Desk) -> None:
    """Its scale with both ends; markup in a taster's name is shown, never run."""
    file = desk.config.folder / "stalecurve.toml"
    scale = "\n[attributes.hop_aroma]\nlow = 0\nhigh = 5\nworse = 'low'\ncut_off = 2\n"
    file.write_text(file.read_text("utf-8") + scale, encoding="utf-8")
    desk.config = load_config(file)
    desk.put("assessors last.csv", ASSESSORS[0], "<script>alert(1)</script>,yes,")
    desk.load()
    (book, page), _ = made(desk)
    printed = page.read_text("utf-8")
    assert "hop aroma (0 to 5, 0 is worst)" in printed
    assert "<script" not in printed
    assert "&lt;script&gt;alert(1)" in printed
    assert "hop_aroma" in cells_of(book, desk.config)["tastings"].columns
    assert "default-src 'none'" in printed
    assert not re.search(r"(src|href)=", printed)


def test_an_empty_workbook_faults_no_samples(desk: Desk) -> None:
    """A check before it is filled in says of each glass what it lacks, and nothing else."""
    (book, _), _ = made(desk)
    said: list[str] = []
    assert not check_files([book], desk.config, said.append)
    faults = [line for line in said if ", row " in line]
    assert len(faults) == 16
    assert all("verdict" in line for line in faults)
