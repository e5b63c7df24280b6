"""A file that would change much waits for a person's word."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.errors import ReadError
from pipelines.flows.forget import forget

if TYPE_CHECKING:
    from tests.pipelines.flows.conftest import Desk

BEERS = "beer,style,abv_pct"
OUTCOMES = "SELECT load_id, outcome FROM intake.files WHERE file = 'beers two.csv' ORDER BY load_id"


def beers(number: int, strength: float, style: str = "stout") -> list[str]:
    """Rows of so many beers."""
    return [f"Fen No. {n},{style},{strength}" for n in range(1, number + 1)]


@pytest.fixture
def hundred(desk: Desk) -> Desk:
    """The brewery with a hundred beers more."""
    desk.put("beers hundred.csv", BEERS, *beers(100, 5))
    desk.load()
    return desk


@pytest.mark.parametrize(
    ("changed", "waits"), [(1, False), (5, False), (6, True), (21, True), (100, True)]
)
def test_more_than_a_twentieth_or_twenty_rows_wait(
    hundred: Desk, changed: int, *, waits: bool
) -> None:
    """Of 101 stored beers five may change unasked; new rows are no change."""
    hundred.put("beers two.csv", BEERS, *beers(changed, 6), "Fen New,stout,4")
    summary = hundred.load()
    assert (summary.load_id, summary.rows_corrected) == (3, 0 if waits else changed)
    assert hundred.ask(OUTCOMES) == [(3, "waiting" if waits else "loaded")]
    assert hundred.ask("SELECT count(*) FROM core.beers") == [(101 if waits else 102,)]


def test_twenty_one_of_very_many_wait(hundred: Desk) -> None:
    """Twenty rows are the most, however small their share."""
    hundred.put("beers many.csv", BEERS, *(f"Ash No. {n},stout,5" for n in range(900)))
    hundred.load()
    hundred.put("beers two.csv", BEERS, *beers(21, 6))
    hundred.load()
    assert hundred.ask(OUTCOMES) == [(4, "waiting")]
    hundred.put("beers two.csv", BEERS, *beers(20, 6))
    assert hundred.load().rows_corrected == 20


def test_a_single_row_never_waits(desk: Desk) -> None:
    """Not even the only one of its table; two of two do."""
    desk.put("beers two.csv", BEERS, "Fen Pale,pale ale,5.5")
    assert desk.load().rows_corrected == 1
    samples = "sample,lot,storage_temp_c,placed_on,pulled_on"
    rows = [f"S{n},001,25,2026-01-06,2026-02-05" for n in (1, 2)]
    desk.put("samples two.csv", samples, *rows)
    desk.load()
    assert any("samples two.csv waits for your word" in line for line in desk.said)


def test_what_would_change_is_shown_before_and_after(hundred: Desk) -> None:
    """Ten rows column by column, the rest in a count, and the command that takes it in."""
    rows = [*beers(20, 6, style="porter"), "Fen Pale,pale ale,5,yes"]
    hundred.put("beers two.csv", f"{BEERS},void", *rows)
    hundred.load()
    first = hundred.said.index(
        "beers two.csv waits for your word: would change 21 of 101 rows of beers; "
        'stalecurve load --confirm "beers two.csv" takes it in'
    )
    shown = hundred.said[first + 1 : first + 12]
    assert shown[0] == "  beers Fen No. 1: abv_pct: 5.0 → 6.0; style: stout → porter"
    assert shown[-1] == "  and 11 more"
    hundred.put("beers two.csv", f"{BEERS},void", *rows[-3:], "Fen No. 1,stout,5,yes", *rows[:5])
    hundred.load()
    assert "  beers Fen Pale: withdrawn" in hundred.said


def test_the_rest_of_the_load_goes_on_without_it(hundred: Desk) -> None:
    """Nothing of it is stored; what names its new rows stands aside, and comes in after it."""
    hundred.put("beers two.csv", BEERS, *beers(30, 6), "Fen New,stout,4")
    hundred.put("lots two.csv", "lot,format,beer,packaged_on", "002,can 330,Fen New,2026-03-01")
    assert hundred.load().rows_set_aside == 1
    assert hundred.ask("SELECT reason FROM published.set_aside") == [("unknown beer",)]
    again = hundred.load()
    assert again.load_id is None
    assert any(line.startswith("beers two.csv waits for your word") for line in hundred.said)
    confirmed = hundred.load("beers two.csv")
    assert (confirmed.rows_corrected, confirmed.rows_new) == (30, 2)
    assert hundred.ask("SELECT count(*) FROM published.set_aside") == [(0,)]
    assert hundred.ask(OUTCOMES) == [(3, "waiting"), (4, "loaded")]


def test_it_is_confirmed_by_its_path_too_and_all_at_once(hundred: Desk) -> None:
    """As the shell completes it; and `all` is every file that waits."""
    path = hundred.put("beers two.csv", BEERS, *beers(30, 6))
    hundred.load()
    assert hundred.load(str(path)).rows_corrected == 30
    hundred.put("beers three.csv", BEERS, *beers(30, 7))
    assert hundred.load("all").rows_corrected == 30


def test_a_copy_of_a_file_that_waits_waits_with_it(hundred: Desk) -> None:
    """It is a duplicate of nothing that was taken in, until the other is."""
    path = hundred.put("beers two.csv", BEERS, *beers(30, 6))
    (hundred.config.paths.inbox / "copy of beers.csv").write_bytes(path.read_bytes())
    hundred.load()
    reason = "SELECT reason FROM intake.files WHERE file = 'copy of beers.csv' ORDER BY load_id"
    assert hundred.ask(reason) == [("the same as beers two.csv, which waits",)]
    hundred.load("beers two.csv")
    assert hundred.ask(reason)[1:] == [("duplicate of beers two.csv",)]


@pytest.mark.parametrize("named", ["beers two.csv", "beers copy.csv"])
def test_a_file_or_its_copy_can_be_confirmed_whichever_comes_first(
    hundred: Desk, named: str
) -> None:
    """The one that a person names is taken in, the other is its duplicate."""
    path = hundred.put("beers two.csv", BEERS, *beers(30, 6))
    (hundred.config.paths.inbox / "beers copy.csv").write_bytes(path.read_bytes())
    hundred.load()
    assert hundred.load(named).rows_corrected == 30
    assert hundred.ask("SELECT count(*) FROM published.files_out WHERE outcome = 'waiting'") == [
        (0,)
    ]


def test_pages_know_what_waits_now(hundred: Desk) -> None:
    """Also after another load was taken back; not once the file is gone."""
    path = hundred.put("beers two.csv", BEERS, *beers(30, 6))
    hundred.load()
    waiting = "SELECT file FROM published.files_out WHERE outcome = 'waiting'"
    forget("tastings.csv", hundred.config, [].append)
    assert hundred.ask(waiting) == [("beers two.csv",)]
    path.unlink()
    hundred.put("beers three.csv", BEERS, "Fen New,stout,4")
    hundred.load()
    assert hundred.ask(waiting) == []


def test_a_file_that_is_not_there_cannot_be_confirmed(hundred: Desk) -> None:
    """The nearest one is named."""
    with pytest.raises(ReadError, match=r"no file beers hundert.csv .* mean beers hundred.csv"):
        hundred.load("beers hundert.csv")


def test_a_file_that_waits_does_not_quarrel_with_others(hundred: Desk) -> None:
    """A row that disagrees with one of its rows is taken in."""
    hundred.put("beers two.csv", BEERS, *beers(30, 6))
    hundred.put("beers three.csv", BEERS, *beers(1, 7))
    assert hundred.load().rows_corrected in {0, 1}
    assert hundred.ask("SELECT count(*) FROM published.set_aside") in ([(0,)], [(2,)])
