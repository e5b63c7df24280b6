"""Rows set aside, mended in their own file and dropped in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.flows.mending import guarded, unguarded
from pipelines.readers.site import Layout, Site

if TYPE_CHECKING:
    from tests.pipelines.flows.conftest import Desk

BEERS = "beer,style,abv_pct"
ENTRIES = (
    "SELECT file, row_number, reason, settled_how FROM intake.set_aside ORDER BY load_id, reason"
)
OPEN = "SELECT DISTINCT file, row_number, reason FROM published.set_aside ORDER BY ALL"


def strengths(desk: Desk) -> dict[object, object]:
    """The beers as they stand."""
    return dict(desk.ask("SELECT beer, abv_pct FROM core.beers"))  # type: ignore[arg-type]


def test_a_row_to_mend_stands_in_its_tables_own_columns(desk: Desk) -> None:
    """Every column of the table, the site's own headings, the place, and all reasons in one."""
    desk.put("beers new.csv", f"{BEERS},Hue", "=Fen,,strong,amber")
    desk.load()
    assert desk.said[-1].endswith("set_aside (beers.csv)")
    (row,) = desk.aside("beers")
    assert list(row) == [
        *("beer", "style", "abv_pct", "owner", "pasteurised", "live_yeast_or_sugar", "void", "Hue"),
        *("file", "sheet", "row", "reason"),
    ]
    assert (row["beer"], row["abv_pct"], row["Hue"]) == ("'=Fen", "strong", "amber")
    assert (row["file"], row["sheet"], row["row"]) == ("beers new.csv", "", "2")
    assert row["reason"] == (
        "abv_pct: not a number (expected a number from 0 up to 70); "
        "style: empty (expected a name or code of up to 64 characters)"
    )


@pytest.mark.parametrize("name", ["beers.csv", "beers mended.csv"])
def test_a_mended_row_comes_in_and_leaves_the_list(desk: Desk, name: str) -> None:
    """Under any name that names the table, even that of a file which was there before."""
    desk.put("beers new.csv", BEERS, "=Fen,stout,strong", "Fen Red,red,5.1", "Fen Oak,,6")
    desk.load()
    rows = desk.aside("beers")
    rows[0]["abv_pct"] = "6.5"
    desk.drop_in(name, rows)
    assert desk.load().rows_new == 1
    assert f"{name}: beers, 1 new, 1 unchanged" in desk.said
    assert strengths(desk) == {"Fen Pale": 5.0, "Fen Red": 5.1, "=Fen": 6.5}
    assert desk.ask("SELECT file, row_number, extra FROM core.beers WHERE abv_pct = 6.5") == [
        (name, 2, "{}")
    ]
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Oak"]
    assert [how for *_, how in desk.ask(ENTRIES)] == [None, "mended"]
    assert desk.load().load_id is None


def test_the_list_is_taken_away_with_its_last_row(desk: Desk) -> None:
    """Nothing to mend, no file."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    rows = desk.aside("beers")
    desk.drop_in("beers mended.csv", [rows[0] | {"abv_pct": "6.5"}])
    desk.load()
    assert list(desk.config.paths.set_aside.iterdir()) == []
    assert "to mend them" not in " ".join(desk.said)


def test_a_row_mended_in_vain_stays_at_its_place_with_its_new_reason(desk: Desk) -> None:
    """The list shows what the person wrote; later loads change nothing about it."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    rows = desk.aside("beers")
    desk.drop_in("beers mended.csv", [rows[0] | {"abv_pct": "600"}])
    assert desk.load().rows_set_aside == 1
    assert "beers mended.csv: beers, 1 set aside" in desk.said
    expected = [("beers new.csv", 2, "too large")]
    assert desk.ask(OPEN) == expected
    assert desk.aside("beers")[0]["abv_pct"] == "600"
    desk.put("beers more.csv", BEERS, "Fen Red,red,5.1")
    assert desk.load().load_id is not None
    assert desk.ask(OPEN) == expected
    desk.drop_in("beers mended.csv", [desk.aside("beers")[0] | {"abv_pct": "6"}])
    desk.load()
    assert desk.ask(OPEN) == []
    assert strengths(desk)["Fen Dark"] == 6.0


def test_a_mended_row_may_wait_for_its_lot(desk: Desk) -> None:
    """Mended but for what it names, it comes in by itself when that comes."""
    desk.put("oxygen.csv", "lot,measured_at,unit,total", "002,2026-03-01 10:00,ppb,about 60")
    desk.load()
    rows = desk.aside("oxygen")
    assert rows[0]["lot"] == "'002"
    desk.drop_in("oxygen mended.csv", [rows[0] | {"total": "60"}])
    desk.load()
    assert desk.ask(OPEN) == [("oxygen.csv", 2, "unknown lot")]
    desk.put("lots new.csv", "lot,format,beer,packaged_on", "002,can 330,Fen Pale,2026-03-01")
    assert desk.load().rows_new == 2
    assert desk.ask("SELECT file, lot, value FROM core.oxygen") == [
        ("oxygen mended.csv", "002", 60.0)
    ]
    assert desk.aside("oxygen") == []


def test_a_row_left_out_of_the_mended_file_stands_aside_still(desk: Desk) -> None:
    """Deleting says nothing; dismissing does."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong", "Fen Oak,,6", "Fen Ash,,7")
    desk.load()
    rows = desk.aside("beers")
    desk.drop_in("beers mended.csv", [rows[1] | {"void": "yes"}])
    summary = desk.load()
    assert (summary.rows_withdrawn, summary.rows_new) == (1, 0)
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Dark", "Fen Ash"]
    assert desk.ask(ENTRIES)[2][3] is None
    assert ("beers new.csv", 3, "empty", "withdrawn") in desk.ask(ENTRIES)
    assert desk.ask("SELECT count(*) FROM history.beers") == [(1,)]


def test_of_two_rivals_the_one_that_is_left_comes_in(desk: Desk) -> None:
    """Where one of two rows that disagree is dismissed, the other is no longer in doubt."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,6", "Fen Dark,stout,7")
    desk.load()
    rows = desk.aside("beers")
    assert len(rows) == 2
    desk.drop_in("beers mended.csv", [rows[0] | {"void": "yes"}, rows[1]])
    assert desk.load().rows_new == 1
    assert strengths(desk)["Fen Dark"] == 7.0
    assert desk.aside("beers") == []


def test_a_growing_file_does_not_bring_a_mended_row_back(desk: Desk) -> None:
    """The row stands in its own file as it stood: that is no news."""
    text = [BEERS, "Fen Dark,stout,strong", "Fen Oak,,6"]
    desk.put("beers new.csv", *text)
    desk.load()
    rows = desk.aside("beers")
    desk.drop_in("beers mended.csv", [rows[0] | {"abv_pct": "6.5"}])
    desk.load()
    desk.put("beers new.csv", *text, "Fen Red,red,5.1")
    summary = desk.load()
    assert (summary.rows_new, summary.rows_unchanged, summary.rows_set_aside) == (1, 1, 1)
    assert [line[:21] for line in desk.said if ", row " in line] == ["beers new.csv, row 3,"]
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Oak"]
    assert strengths(desk)["Fen Dark"] == 6.5


def test_a_growing_file_and_its_mended_rows_may_come_together(desk: Desk) -> None:
    """A good mended row and one mended in vain, beside their file as it was and one row more."""
    text = [BEERS, "Fen Dark,stout,strong", "Fen Oak,,6"]
    desk.put("beers new.csv", *text)
    desk.load()
    rows = desk.aside("beers")
    mended = [rows[0] | {"abv_pct": "6.5"}, rows[1] | {"abv_pct": "600"}]
    desk.drop_in("beers mended.csv", mended)
    desk.put("beers new.csv", *text, "Fen Red,red,5.1")
    summary = desk.load()
    assert (summary.rows_new, summary.rows_unchanged, summary.rows_set_aside) == (2, 2, 1)
    assert [(row["beer"], row["abv_pct"]) for row in desk.aside("beers")] == [("Fen Oak", "600")]


def test_without_all_three_headings_nothing_is_mended(desk: Desk) -> None:
    """Then they are unknown headings like any other."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    desk.put("beers two.csv", f"{BEERS},file,row", "Fen Dark,stout,6,beers new.csv,2")
    desk.load()
    assert desk.ask("SELECT extra FROM core.beers WHERE beer = 'Fen Dark'") == [
        ('{"file":"beers new.csv","row":"2"}',)
    ]
    assert len(desk.aside("beers")) == 1


def test_a_row_that_names_no_place_is_a_row_of_its_own(desk: Desk) -> None:
    """A person may add rows to the list, and may name what never stood aside."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    row = desk.aside("beers")[0]
    plain = row | {"beer": "Fen Red", "abv_pct": "5", "file": "", "row": ""}
    elsewhere = row | {"beer": "Fen Oak", "abv_pct": "6", "row": "77"}
    desk.drop_in("beers mended.csv", [row, plain, elsewhere])
    summary = desk.load()
    assert (summary.rows_new, summary.rows_unchanged) == (2, 1)
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Dark"]


def test_mended_rows_may_be_put_where_their_file_lay(desk: Desk) -> None:
    """The other rows of that file stand aside as they did: they have numbers of their own."""
    desk.put("beers new.csv", BEERS, "Fen Oak,,6", "Fen Ash,,7", "Fen Dark,stout,strong")
    desk.load()
    rows = desk.aside("beers")
    added = dict.fromkeys(rows[0], "") | {"beer": "Fen Red", "abv_pct": "weak"}
    desk.drop_in("beers new.csv", [rows[2] | {"abv_pct": "6.5"}, added])
    desk.load()
    place = ("beer", "sheet", "row")
    aside = [tuple(row[name] for name in place) for row in desk.aside("beers")]
    expected = [("Fen Oak", "", "2"), ("Fen Ash", "", "3"), ("Fen Red", "mended", "3")]
    assert aside == expected
    desk.put("beers more.csv", BEERS, "Fen Elm,stout,5")
    desk.load()
    assert [tuple(row[name] for name in place) for row in desk.aside("beers")] == expected
    assert strengths(desk)["Fen Dark"] == 6.5
    desk.drop_in("beers new.csv", [desk.aside("beers")[0] | {"style": "oak"}])
    desk.load()
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Ash"]


@pytest.mark.parametrize("headings", ["reason,Row", "File,row"])
def test_headings_of_its_own_are_not_taken_for_the_place(desk: Desk, headings: str) -> None:
    """A workbook may have a column of reasons; it comes back under its own heading."""
    desk.put("beers new.csv", f"{BEERS},{headings}", "Fen Dark,stout,strong,x,y", "Fen Oak,,6,x,")
    desk.load()
    rows = desk.aside("beers")
    first, second = headings.split(",")
    assert (rows[0][f"{first} (own)"], rows[0][f"{second} (own)"]) == ("x", "y")
    desk.drop_in("beers mended.csv", [rows[0] | {"abv_pct": "6.5"}, rows[1]])
    assert (desk.load().rows_new, len(desk.aside("beers"))) == (1, 1)
    assert desk.ask("SELECT extra FROM core.beers WHERE beer = 'Fen Dark'") == [
        (f'{{"{first}":"x","{second}":"y"}}',)
    ]


def test_a_heading_that_the_site_has_taught_is_no_hindrance(desk: Desk) -> None:
    """Beside file, sheet and row, the reason is the reason, whatever else it means elsewhere."""
    desk.config = replace(desk.config, site=Site(columns={"tastings": {"Reason": "note"}}))
    heads = "session,tasted_on,assessor,sample,verdict,Reason"
    desk.put("tastings new.csv", heads, "T2,2026-02-06,A1,S1,rejekt,stale")
    desk.load()
    desk.drop_in("tastings mended.csv", [desk.aside("tastings")[0] | {"verdict": "reject"}])
    assert desk.load().rows_new == 1
    assert desk.ask("SELECT note FROM core.tastings WHERE session = 'T2'") == [("stale",)]


def test_a_list_that_a_person_works_on_is_left_to_them(desk: Desk) -> None:
    """What stands aside now is written beside it; once dropped in, theirs may go."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    path = desk.config.paths.set_aside / "beers.csv"
    theirs = path.read_text(encoding="utf-8").replace("strong", "6.5")
    path.write_text(theirs, encoding="utf-8")
    desk.put("beers more.csv", BEERS, "Fen Oak,,6")
    desk.load()
    assert path.read_text(encoding="utf-8") == theirs
    assert "set_aside/beers.csv was changed and is not in the inbox: left as it is" in desk.said
    assert desk.said[-1].endswith("set_aside (beers (newer).csv)")
    assert len(desk.aside("beers", " (newer)")) == 2
    (desk.config.paths.inbox / "beers mended.csv").write_bytes(path.read_bytes())
    desk.load()
    assert [row["beer"] for row in desk.aside("beers")] == ["Fen Oak"]
    assert not (desk.config.paths.set_aside / "beers (newer).csv").exists()


def test_a_heading_learnt_since_stands_for_its_column(desk: Desk) -> None:
    """The list has the table's own name for it, and what was not changed stays as it was."""
    desk.put("beers new.csv", "beer,style,Alc", "Fen Dark,stout,strong")
    desk.load()
    assert desk.aside("beers")[0]["Alc"] == "strong"
    desk.config = replace(desk.config, site=Site(columns={"beers": {"Alc": "abv_pct"}}))
    desk.load()
    row = desk.aside("beers")[0]
    assert (row["abv_pct"], "Alc" in row) == ("strong", False)
    desk.drop_in("beers mended.csv", [row])
    assert desk.load().rows_unchanged == 1


def test_a_row_of_a_wide_sheet_is_mended_as_it_is_laid_out(desk: Desk) -> None:
    """The list has its headings, one an assessor, and dates are read as in its own file."""
    wide = Layout("panel*.csv", "*", "tastings", across="assessor", value="verdict", day_first=True)
    desk.config = replace(desk.config, site=Site(layouts=(wide,)))
    rows = ["T2,06/02/2026,S1,accept,perhaps", "T3,07/02/2026,S2,reject,accept"]
    desk.put("panel.csv", "session,tasted_on,sample,Ada,Bea", *rows)
    assert desk.load().rows_set_aside == 1
    (row,) = desk.aside("tastings")
    assert (row["Ada"], row["Bea"], row["tasted_on"]) == ("accept", "perhaps", "06/02/2026")
    desk.drop_in("tastings mended.csv", [row | {"Bea": "reject"}])
    assert desk.load().rows_new == 1
    assert desk.ask(
        """
        SELECT assessor, verdict, CAST(tasted_on AS VARCHAR), extra
        FROM core.tastings WHERE session = 'T2' ORDER BY assessor
        """
    ) == [("Ada", "accept", "2026-02-06", "{}"), ("Bea", "reject", "2026-02-06", "{}")]


def test_a_folder_that_cannot_be_written_is_no_failure(desk: Desk) -> None:
    """The rows are stored; what is wrong is said."""
    desk.config.paths.set_aside.write_text("no folder", encoding="utf-8")
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    assert desk.load().rows_set_aside == 1
    assert any("set_aside/beers.csv cannot be written" in line for line in desk.said)


@given(st.text(max_size=20))
def test_a_guarded_cell_comes_back(text: str) -> None:
    """Whatever was written, and no cell begins as a formula."""
    kept = pl.select(guarded(pl.lit(text))).item()
    assert not kept.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert pl.select(unguarded(pl.lit(kept))).item() == text
