"""Taking back the newest load of a file, and who said what of a row."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.forget import forget
from pipelines.flows.history import history_lines
from pipelines.flows.standing import standing_run

if TYPE_CHECKING:
    from tests.pipelines.flows.conftest import Desk

BEERS = "beer,style,abv_pct"


def take_back(desk: Desk, file: str) -> list[str]:
    """Forget the newest load of a file and give what was said."""
    said: list[str] = []
    forget(file, desk.config, said.append)
    return said


def strengths(desk: Desk) -> dict[object, object]:
    """The beers as they stand."""
    return dict(desk.ask("SELECT beer, abv_pct FROM core.beers"))  # type: ignore[arg-type]


def test_a_load_is_taken_back_and_what_stood_before_stands_again(desk: Desk) -> None:
    """New rows are gone, corrected ones as before, withdrawn ones back; all is said by table."""
    desk.put("beers one.csv", BEERS, "Fen Dark,stout,6")
    desk.load()
    desk.put("beers wrong.csv", f"{BEERS},void", "Fen Dark,stout,9", "Fen X,stout,4")
    desk.load("all")
    desk.put("beers void.csv", f"{BEERS},void", "Fen Pale,pale ale,5,yes")
    desk.load("all")
    assert strengths(desk) == {"Fen Dark": 9.0, "Fen X": 4.0}
    said = take_back(desk, "beers wrong.csv")
    assert said == [
        "load 5: what load 3 read of beers wrong.csv is taken back",
        "beers: 1 gone, 1 as they were before",
        'stalecurve load --confirm "beers wrong.csv" takes it in again',
    ]
    assert take_back(desk, "beers void.csv")[1] == "beers: 1 back that it had withdrawn"
    assert strengths(desk) == {"Fen Dark": 6.0, "Fen Pale": 5.0}
    assert desk.ask("SELECT count(*) FROM history.beers") == [(5,)]
    out = desk.ask("SELECT file, outcome FROM published.files_out")
    assert out == [("beers void.csv", "taken back"), ("beers wrong.csv", "taken back")]
    desk.load("beers wrong.csv")
    assert desk.ask("SELECT file FROM published.files_out") == [("beers void.csv",)]


def test_it_stays_out_until_it_changes_or_is_confirmed(desk: Desk) -> None:
    """The file lies in the inbox still; under another name it is a copy of what was forgotten."""
    path = desk.put("beers one.csv", BEERS, "Fen Dark,stout,6", "Fen Oak,,7")
    desk.load()
    take_back(desk, str(path))
    assert desk.aside("beers") == []
    assert desk.load("all").load_id is None
    copy = desk.config.paths.inbox / "beers copy.csv"
    copy.write_bytes(path.read_bytes())
    desk.load()
    duplicate = "beers copy.csv: duplicate of beers one.csv, which was forgotten, not read again"
    assert desk.said[0] == duplicate
    copy.unlink()
    assert desk.load("beers one.csv").rows_new == 1
    assert len(desk.aside("beers")) == 1
    take_back(desk, "beers one.csv")
    desk.put("beers one.csv", BEERS, "Fen Dark,stout,6", "Fen Ash,stout,8")
    assert desk.load().rows_new == 2


def test_what_others_said_too_stands_all_the_same(desk: Desk) -> None:
    """A row that was unchanged when another file said it rests on that file then."""
    desk.put("beers one.csv", BEERS, "Fen Dark,stout,6")
    desk.load()
    desk.put("beers two.csv", BEERS, "Fen Dark,stout,6", "Fen Red,red,5")
    assert desk.load().rows_unchanged == 1
    (desk.config.paths.inbox / "beers two.csv").unlink()
    assert take_back(desk, "beers one.csv")[1] == "beers: 1 standing all the same"
    assert strengths(desk) == {"Fen Pale": 5.0, "Fen Dark": 6.0, "Fen Red": 5.0}


def test_an_older_saying_does_not_undo_a_later_one(desk: Desk) -> None:
    """Taken back in the middle, the newest still stands; then what was said before all."""
    for name, strength in (("one", 6), ("two", 7), ("three", 8)):
        desk.put(f"beers {name}.csv", BEERS, f"Fen Dark,stout,{strength}")
        desk.load()
    take_back(desk, "beers two.csv")
    assert strengths(desk)["Fen Dark"] == 8.0
    take_back(desk, "beers three.csv")
    assert strengths(desk)["Fen Dark"] == 6.0


def test_a_row_that_was_overtaken_stands_when_the_later_one_is_taken_back(desk: Desk) -> None:
    """It came in too late to count, but it was said."""
    lots = "lot,format,beer,packaged_on"
    desk.put("lots one.csv", lots, "002,can 330,Fen Dark,2026-03-01")
    desk.load()
    desk.put("beers two.csv", BEERS, "Fen Dark,stout,6")
    desk.put("lots two.csv", lots, "002,can 330,Fen Dark,2026-03-02")
    desk.load()
    packaged = "SELECT CAST(packaged_on AS VARCHAR) FROM core.lots WHERE lot = '002'"
    assert desk.ask(packaged) == [("2026-03-02",)]
    take_back(desk, "lots two.csv")
    assert desk.ask(packaged) == [("2026-03-01",)]


def test_forgetting_again_takes_back_the_load_before(desk: Desk) -> None:
    """One at a time, until none is left; an unknown file has a hint."""
    for strength in (6, 7):
        desk.put("beers one.csv", BEERS, f"Fen Dark,stout,{strength}")
        desk.load()
    take_back(desk, "beers one.csv")
    assert strengths(desk)["Fen Dark"] == 6.0
    assert "beers: 1 gone" in take_back(desk, "beers one.csv")
    with pytest.raises(StoreError, match=r"no load of beers one\.csv is left to take back"):
        take_back(desk, "beers one.csv")
    with pytest.raises(StoreError, match=r"beer\.csv is left .* did you mean beers\.csv"):
        take_back(desk, "beer.csv")


def test_mended_rows_that_are_taken_back_stand_aside_again(desk: Desk) -> None:
    """Those mended, those dismissed, and those mended in vain, each as it stood before."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong", "Fen Oak,,6", "Fen Ash,,7")
    desk.load()
    rows = desk.aside("beers")
    changes = ({"abv_pct": "6"}, {"void": "yes"}, {"abv_pct": "700"})
    mended = [row | change for row, change in zip(rows, changes, strict=True)]
    desk.drop_in("beers mended.csv", mended)
    desk.load()
    assert [row["abv_pct"] for row in desk.aside("beers")] == ["700"]
    take_back(desk, "beers mended.csv")
    assert desk.aside("beers") == rows
    assert "Fen Dark" not in strengths(desk)


def test_mended_rows_are_taken_back_one_after_the_other(desk: Desk) -> None:
    """Mended in vain, then mended: each taken back leaves what the one before had written."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    for name, strength in (("beers one.csv", "600"), ("beers two.csv", "6")):
        desk.drop_in(name, [desk.aside("beers")[0] | {"abv_pct": strength}])
        desk.load()
    for name, strength in (("beers two.csv", "600"), ("beers one.csv", "strong")):
        take_back(desk, name)
        assert [row["abv_pct"] for row in desk.aside("beers")] == [strength]
        desk.put("beers more.csv", BEERS, f"Fen {strength},stout,5")
        desk.load()
        assert [row["abv_pct"] for row in desk.aside("beers")] == [strength]


def test_in_any_order_the_mended_row_that_is_left_counts(desk: Desk) -> None:
    """The row mended in vain is taken back first; the one that came in after it stands."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    for name, strength in (("beers one.csv", "600"), ("beers two.csv", "6")):
        desk.drop_in(name, [desk.aside("beers")[0] | {"abv_pct": strength}])
        desk.load()
    take_back(desk, "beers one.csv")
    assert (desk.aside("beers"), strengths(desk)["Fen Dark"]) == ([], 6.0)
    take_back(desk, "beers two.csv")
    assert [row["abv_pct"] for row in desk.aside("beers")] == ["strong"]


def test_nothing_stands_aside_of_a_file_that_is_forgotten(desk: Desk) -> None:
    """Neither when what mended it is forgotten too, nor lost when it is taken in again."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    desk.drop_in("beers mended.csv", [desk.aside("beers")[0] | {"abv_pct": "6"}])
    desk.load()
    take_back(desk, "beers new.csv")
    assert strengths(desk)["Fen Dark"] == 6.0
    take_back(desk, "beers mended.csv")
    assert desk.aside("beers") == []
    desk.load("beers new.csv")
    assert [row["abv_pct"] for row in desk.aside("beers")] == ["strong"]


def test_a_row_with_a_new_reason_is_as_old_as_it_was(desk: Desk) -> None:
    """It stands aside for another reason since a later load, and goes with its own."""
    samples = "sample,lot,storage_temp_c,placed_on,pulled_on"
    desk.put("samples two.csv", samples, "S9,002,20,2026-03-01,2026-04-01")
    desk.load()
    lots = "lot,format,beer,packaged_on"
    desk.put("lots two.csv", lots, "002,can 330,Fen Pale,2026-03-05")
    desk.load()
    assert "2026-03-05" in desk.aside("samples")[0]["reason"]
    take_back(desk, "samples two.csv")
    assert desk.aside("samples") == []
    desk.put("lots two.csv", lots, "002,can 330,Fen Pale,2026-03-01")
    desk.load()
    assert desk.ask("SELECT sample FROM core.samples ORDER BY 1") == [("S1",), ("S2",)]


def test_a_newer_content_that_is_taken_back_leaves_the_faults_of_the_older(desk: Desk) -> None:
    """What it had replaced stands aside again."""
    desk.put("beers new.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    rows = desk.aside("beers")
    desk.put("beers new.csv", BEERS, "Fen Red,red,5")
    desk.load()
    assert desk.aside("beers") == []
    take_back(desk, "beers new.csv")
    assert desk.aside("beers") == rows


def test_a_forgetting_is_changed_data(desk: Desk) -> None:
    """The run before it stands no longer."""
    run = fit(desk.config, [].append)
    assert standing_run(desk.config) == run.run_id
    take_back(desk, "tastings.csv")
    assert standing_run(desk.config) is None


def test_a_growing_workbook_does_not_undo_a_correction(desk: Desk) -> None:
    """What a file says as it said it last time is no news; what it says anew is."""
    desk.put("beers grown.csv", BEERS, "Fen Dark,stout,6")
    desk.load()
    desk.put("beers fixed.csv", BEERS, "Fen Dark,stout,6.5")
    desk.load()
    desk.put("beers grown.csv", BEERS, "Fen Dark,stout,6", "Fen Red,red,5")
    summary = desk.load()
    assert (summary.rows_new, summary.rows_corrected, summary.rows_unchanged) == (1, 0, 1)
    assert strengths(desk)["Fen Dark"] == 6.5
    desk.put("beers grown.csv", BEERS, "Fen Dark,stout,6.6", "Fen Red,red,5")
    assert desk.load().rows_corrected == 1
    assert strengths(desk)["Fen Dark"] == 6.6


def test_the_history_of_a_row_is_told_in_the_order_it_was_said(desk: Desk) -> None:
    """New, corrected, said again, withdrawn, taken back, mended, and from which place."""
    desk.put("beers one.csv", BEERS, "Fen Dark,stout,strong")
    desk.load()
    desk.drop_in("beers mended.csv", [desk.aside("beers")[0] | {"abv_pct": "6"}])
    desk.load()
    desk.put("beers two.csv", BEERS, "Fen Dark,stout,6")
    desk.load()
    desk.put("beers three.csv", BEERS, "Fen Dark,porter,7")
    desk.load()
    take_back(desk, "beers three.csv")
    desk.put("beers four.csv", f"{BEERS},void", "Fen Dark,stout,6,yes")
    desk.load()
    desk.put("beers five.csv", BEERS, "Fen Dark,stout,6.5")
    desk.load()
    lines = history_lines("beers", ["fen dark"], desk.config)
    told = [line.split(": ", 1)[1] for line in lines if line.startswith("  load ")]
    assert lines[0] == "beers: Fen Dark"
    assert told == [
        "beers mended.csv, row 2, which mends beers one.csv, row 2: new",
        "beers two.csv, row 2: said again",
        "beers three.csv, row 2: corrected, taken back by load 6",
        "beers four.csv, row 2: withdrawn",
        "beers five.csv, row 2: back again, stands now",
    ]
    assert "    style: stout → porter" in lines
    assert "    abv_pct: 6.0 → 7.0" in lines


def test_the_beginning_of_a_key_is_enough(desk: Desk) -> None:
    """All formats of a lot, all glasses of a session; a table without a key by its columns."""
    desk.put("formats two.csv", "format,kind,volume_ml", "keg 30,keg,30000")
    desk.put("lots two.csv", "lot,format,beer,packaged_on", "001,keg 30,Fen Pale,2026-01-05")
    desk.put("oxygen.csv", "lot,format,measured_at,unit,total", "001,can 330,2026-01-05,ppb,60")
    desk.load()
    heads = [line for line in history_lines("lots", ["001"], desk.config) if line[0] != " "]
    assert heads == ["lots: 001, can 330", "lots: 001, keg 30"]
    assert len(history_lines("tastings", ["T1", "A1", "S2"], desk.config)) > 1
    (head, *_) = history_lines("oxygen", ["001", "can 330", "2026-01-05T00:00"], desk.config)
    assert head == "oxygen: 001, 2026-01-05 00:00:00, ppb, total, 60.0"


@pytest.mark.parametrize(
    ("table", "key", "message"),
    [
        ("lotz", ["001"], "there is no table lotz: did you mean lots"),
        ("lots", ["1"], "no such row in lots: lot 1: did you mean 001"),
        ("lots", ["001", "can 333"], "format can 333: did you mean can 330"),
        ("beers", ["a", "b"], "a row of beers is known by beer: 2 values are too many"),
    ],
)
def test_what_is_not_there_has_a_hint(desk: Desk, table: str, key: list[str], message: str) -> None:
    """A table, a row, a part of its key."""
    with pytest.raises(StoreError, match=message):
        history_lines(table, key, desk.config)
