"""Rows as a whole: shape, key, and what must hold between their cells."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.readers.contract import TABLES
from pipelines.readers.convert import stored_types

if TYPE_CHECKING:
    from conftest import Inbox

    from pipelines.readers.check import Checked, Known


def told(checked: Checked, *columns: str) -> list[tuple[object, ...]]:
    """Give some columns of what was set aside."""
    return checked.set_aside.select(columns).rows()


@pytest.mark.parametrize("name", TABLES)
def test_frames_as_the_contract_says(inbox: Inbox, name: str) -> None:
    """Even a table without rows has every column of the contract in its type."""
    inbox.text(f"{name}.csv", "")
    beside = {
        "void": pl.Boolean(),
        "extra": pl.String(),
        "file": pl.String(),
        "sheet": pl.String(),
        "row_number": pl.Int32(),
        "row_key": pl.String(),
        "said_in": pl.Int64(),
    }
    assert dict(inbox.check().tables[name].schema) == stored_types(TABLES[name]) | beside


def test_place_and_extra(inbox: Inbox) -> None:
    """A stored row knows its place, its key, and the cells under unknown headings."""
    inbox.text("2026/beers.csv", 'beer,style,abv_pct,colour,hop\n"D""k",stout,6,red,\n')
    row = inbox.check().tables["beers"].row(0, named=True)
    assert (row["file"], row["sheet"], row["row_number"]) == ("2026/beers.csv", "", 2)
    assert json.loads(row["row_key"]) == ['D"k']
    assert json.loads(row["extra"]) == {"colour": "red"}


def test_every_fault_is_told(inbox: Inbox) -> None:
    """A row with several faults is set aside once with each of them and with all of its text."""
    inbox.text("beers.csv", "beer,style,abv_pct,colour\nDusk,,99,red\n")
    checked = inbox.check()
    assert told(checked, "column_name", "kind") == [("abv_pct", "value"), ("style", "missing")]
    assert json.loads(checked.set_aside["cells"][0]) == {
        "beer": "Dusk",
        "abv_pct": "99",
        "colour": "red",
    }


@pytest.mark.parametrize(
    ("name", "content", "reason", "expected"),
    [
        ("beers", "beer,style\nA,x\nB,y\n", "the column abv_pct is missing", "the heading abv_pct"),
        (
            "beers",
            "beer\nA\nB\n",
            "the columns style and abv_pct are missing",
            "the heading style and abv_pct",
        ),
        (
            "oxygen",
            "lot,measured_at,unit\n1,2026-01-01,ppb\n2,2026-01-01,ppb\n",
            "the columns quantity and value are missing",
            "the heading quantity and value, or one of total, shaken, dissolved or headspace",
        ),
        (
            "beers",
            "beer,style,abv_pct,Beer\nA,x,1,A\nB,y,1,B\n",
            "more than one heading means beer",
            "one column headed beer",
        ),
    ],
)
def test_tables_that_cannot_be_read_by_column(
    inbox: Inbox, name: str, content: str, reason: str, expected: str
) -> None:
    """Where a column is missing or stands twice, each row is set aside once and says so."""
    inbox.text(f"{name}.csv", content)
    checked = inbox.check()
    assert checked.tables[name].is_empty()
    assert told(checked, "row_number", "reason", "expected") == [
        (2, reason, expected),
        (3, reason, expected),
    ]


def test_a_row_that_slipped(inbox: Inbox) -> None:
    """A row with more cells than headings is set aside, for its cells may have slipped."""
    inbox.text("beers.csv", "beer,style,abv_pct\nA,x,1,\nB,y,1,5\n")
    checked = inbox.check()
    assert checked.tables["beers"]["beer"].to_list() == ["A"]
    assert told(checked, "row_number", "value", "reason") == [(3, "5", "more cells than headings")]


@pytest.mark.parametrize(
    ("name", "content", "column", "reason"),
    [
        (
            "formats",
            "format,kind,volume_ml,ingress_ppb_per_day,ingress_ml_o2_per_day\nb,can,330,1,1",
            "ingress_ml_o2_per_day",
            "ingress_ppb_per_day is filled too",
        ),
        (
            "lots",
            "lot,format,beer,packaged_on,best_before\nL,can,Glimmer,2026-01-05,2025-01-05",
            "best_before",
            "earlier than packaged_on",
        ),
        (
            "lot_results",
            "lot,quantity,value\n0015,ph,",
            "value",
            "neither value nor result is filled",
        ),
        (
            "oxygen",
            "lot,measured_at,unit,total,filled_at\n0015,2026-01-05,ppb,1,2026-01-06",
            "measured_at",
            "earlier than filled_at",
        ),
        ("oxygen", "lot,measured_at,unit,total\n0015,2026-01-05,ppb,", "value", "no reading"),
        (
            "samples",
            "sample,lot,storage_temp_c,placed_on,pulled_on\nP2,0015,20,2026-02-02,2026-02-01",
            "pulled_on",
            "earlier than placed_on",
        ),
        (
            "tastings",
            "session,tasted_on,assessor,sample,verdict\nS,2026-02-01,AB,P1,",
            "verdict",
            "neither a verdict nor a score",
        ),
        (
            "difference_tests",
            "session,tasted_on,method,sample,control,assessments,correct\nS,2026-02-01,triangle,P1,P1,8,9",
            "correct",
            "more correct answers than assessments",
        ),
        (
            "route_stages",
            "route,stage_no,stage,temp_c,days\nambient,1,a,4,\nambient,2,b,4,",
            "days",
            "empty, and not the route's last stage",
        ),
        ("limits", "beer,style,cause,days\n,,haze,90", "beer", "neither beer nor style is filled"),
    ],
)
def test_rules(
    inbox: Inbox, known: Known, name: str, content: str, column: str, reason: str
) -> None:
    """What must hold between the cells of a row is told of one of them."""
    inbox.text(f"{name}.csv", content)
    checked = inbox.check(known)
    assert told(checked, "row_number", "column_name", "reason", "kind") == [
        (2, column, reason, "missing" if reason == "no reading" else "value")
    ]


def test_wide_oxygen(inbox: Inbox, known: Known) -> None:
    """A wide row is as many readings as it has values, all at its place, or none of them."""
    inbox.text(
        "oxygen.csv",
        "lot,measured_at,unit,dissolved,headspace,headspace_ml,reading\n"
        "0015,2026-01-05,ppb,20,31,12,R1\n0015,2026-01-05,ppb,20,bad,12,R2\n",
    )
    checked = inbox.check(known)
    assert checked.tables["oxygen"].select("row_number", "quantity", "value", "row_key").rows() == [
        (2, "dissolved", 20, '["dissolved","R1"]'),
        (2, "headspace", 31, '["headspace","R1"]'),
    ]
    assert told(checked, "row_number", "column_name", "value") == [(3, "headspace", "bad")]


def test_rows_that_say_the_same(inbox: Inbox) -> None:
    """The same row again counts once, in one file or in two, and this is mentioned."""
    inbox.text("beers.csv", "beer,style,abv_pct\nA,x,1\nA,x,1.0\n")
    inbox.text("beers-2.csv", "abv_pct,beer,style,colour\n1,A,x,red\n")
    checked = inbox.check()
    assert checked.tables["beers"].select("beer", "extra").rows() == [("A", '{"colour":"red"}')]
    assert checked.set_aside.is_empty()
    assert [mention.text for mention in checked.mentions] == [
        "rows that say again what another row says, counted once: 2"
    ]


def test_rows_that_disagree(inbox: Inbox) -> None:
    """One key with two meanings in one load sets both rows aside, each naming the other."""
    inbox.text("beers.csv", "beer,style,abv_pct\nA,x,1\nB,x,2\n")
    inbox.text("beers-2.csv", "beer,style,abv_pct\nA,x,2\n")
    checked = inbox.check()
    assert checked.tables["beers"]["beer"].to_list() == ["B"]
    assert told(checked, "file", "row_number", "value", "kind", "reason") == [
        (
            "beers-2.csv",
            2,
            "A",
            "conflict",
            "the same beer with another abv_pct in beers.csv, row 2",
        ),
        (
            "beers.csv",
            2,
            "A",
            "conflict",
            "the same beer with another abv_pct in beers-2.csv, row 2",
        ),
    ]


def test_rows_that_disagree_are_named_as_a_person_would(inbox: Inbox, known: Known) -> None:
    """Several columns of a key are listed, with what stands in them."""
    row = "S,2026-02-01,AB,P1,101"
    inbox.text(
        "tastings.csv",
        f"session,tasted_on,assessor,sample,code,verdict\n{row},accept\n{row},reject\n",
    )
    assert told(inbox.check(known), "value", "reason")[0] == (
        "S, AB, P1, 101",
        "the same session, assessor, sample and code with another verdict in tastings.csv, row 3",
    )


def test_readings_without_a_key(inbox: Inbox, known: Known) -> None:
    """Identical readings of one file are several; the same file's copy adds none."""
    content = "lot,measured_at,unit,total\n0015,2026-01-05,ppb,5\n0015,2026-01-05,ppb,5\n"
    inbox.text("oxygen.csv", content)
    inbox.text("oxygen-copy.csv", content)
    oxygen = inbox.check(known).tables["oxygen"]
    assert oxygen["file"].unique().to_list() == ["oxygen-copy.csv"]
    assert [json.loads(key)[-1] for key in oxygen["row_key"]] == [1, 2]


def test_two_glasses_of_one_sample(inbox: Inbox, known: Known) -> None:
    """Two glasses under two blind codes are two rows; a missing code is part of a key too."""
    inbox.text(
        "tastings.csv",
        "session,tasted_on,assessor,sample,code,verdict\n"
        "S,2026-02-01,AB,P1,101,accept\nS,2026-02-01,AB,P1,102,reject\n"
        "S,2026-02-01,AB,P1,,accept\n",
    )
    checked = inbox.check(known)
    assert [json.loads(key)[3] for key in checked.tables["tastings"]["row_key"]] == [
        "101",
        "102",
        None,
    ]
