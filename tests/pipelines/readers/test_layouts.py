"""Files that are laid out otherwise: title rows, wide sheets, constants, the day first."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest

from pipelines.readers.site import Layout

if TYPE_CHECKING:
    from conftest import Inbox

    from pipelines.readers.check import Known

PANEL = Layout(
    "Panel*.xlsx",
    sheet="Blatt1",
    table="tastings",
    first_row=4,
    across="assessor",
    value="verdict",
    aside=("Beer",),
    fill={"session": "2026-10"},
)
TITLE = [["Panel of October"], ["in the small room"], []]
HEADINGS = ["tasted on", "Sample", "Beer", "AB", "CD"]
LOTS = "lot,format,beer,packaged_on,started_at\n"


def laid_out(inbox: Inbox, *layouts: Layout) -> Inbox:
    """Give the inbox of a site that says how its files are laid out."""
    return replace(inbox, site=replace(inbox.site, layouts=layouts))


def test_a_panel_sheet(inbox: Inbox, known: Known) -> None:
    """A row with one column an assessor is as many glasses as it has verdicts, at its own place."""
    inbox = laid_out(inbox, PANEL)
    headings = [*HEADINGS, "code"]
    rows = [
        ["2026-04-07", "P1", "Glimmer", "ok", "reject", 101],
        ["2026-04-08", "P1", None, None, "ok", 102],
    ]
    inbox.workbook("panel 14.xlsx", {"Blatt1": [*TITLE, headings, *rows]})
    checked = inbox.check(known)
    assert checked.set_aside.is_empty()
    tastings = checked.tables["tastings"]
    assert tastings.select("assessor", "code", "verdict", "row_number", "extra").rows() == [
        ("AB", "101", "accept", 5, '{"Beer":"Glimmer"}'),
        ("CD", "101", "reject", 5, '{"Beer":"Glimmer"}'),
        ("CD", "102", "accept", 6, "{}"),
    ]
    assert tastings["session"].unique().to_list() == ["2026-10"]
    assert tastings["tasted_on"].to_list()[1:] == [date(2026, 4, 7), date(2026, 4, 8)]


def test_what_is_said_of_a_panel_sheet(inbox: Inbox) -> None:
    """Who was taken for an assessor is said, and a sheet that no layout speaks of as ever."""
    inbox = laid_out(inbox, PANEL)
    inbox.workbook("Panel.xlsx", {"Blatt1": [*TITLE, HEADINGS], "Key": [["AB is Ada"]]})
    assert [(mention.sheet, mention.text) for mention in inbox.read("Panel.xlsx").mentions] == [
        ("Key", "the sheet's name, Key, names no table and the sheet was not read"),
        ("Blatt1", "there are headings and no rows"),
        ("Blatt1", "the heading Beer is not known (cells kept aside)"),
        ("Blatt1", "assessor from the headings: AB, CD"),
    ]


def test_faults_of_a_panel_sheet(inbox: Inbox, known: Known) -> None:
    """A row is set aside whole, once, as it stands, and each fault names the assessor."""
    inbox = laid_out(inbox, replace(PANEL, first_row=1))
    rows = [["2026-04-07", "P1", None, "ok", "perhaps"], ["2026-04-07", "P1", "Glimmer"]]
    inbox.workbook("Panel.xlsx", {"Blatt1": [HEADINGS, *rows]})
    checked = inbox.check(known)
    assert checked.tables["tastings"].is_empty()
    told = checked.set_aside.select("row_number", "column_name", "value", "reason", "expected")
    assert told.rows() == [
        (2, "CD", "perhaps", "not one of the words known here", "accept, reject or not sure"),
        (3, "verdict", "", "nothing under any assessor", "a cell under AB, CD"),
    ]
    assert json.loads(checked.set_aside["cells"][0]) == {
        "session": "2026-10",
        "tasted_on": "2026-04-07",
        "sample": "P1",
        "AB": "ok",
        "CD": "perhaps",
    }


@pytest.mark.parametrize(
    ("headings", "reason"),
    [
        (["AB", "AB"], "more than one heading means AB"),
        (["assessor", "AB"], "more than one heading means assessor"),
        (["verdict", "AB"], "more than one heading means verdict"),
    ],
)
def test_headings_across_that_say_the_same(
    inbox: Inbox, known: Known, headings: list[str], reason: str
) -> None:
    """An assessor that stands twice, or both as a column and across, is never a guess."""
    inbox = laid_out(inbox, replace(PANEL, first_row=1, sheet="*"))
    rows = [["tasted on", "sample", *headings], ["2026-04-07", "P1", "ok", "ok"]]
    inbox.workbook("Panel.xlsx", {"x": rows})
    checked = inbox.check(known)
    assert checked.tables["tastings"].is_empty()
    assert reason in checked.set_aside["reason"].to_list()


def test_scores_and_heads_across(inbox: Inbox, known: Known) -> None:
    """The cells may be an attribute's scores, or readings by filler head."""
    scores = replace(PANEL, first_row=1, sheet="*", value="stale")
    heads = Layout(
        "o2/*.csv", table="oxygen", across="head", value="value", fill={"quantity": "total"}
    )
    inbox = laid_out(inbox, scores, heads)
    inbox.workbook(
        "Panel.xlsx", {"x": [["tasted on", "sample", "AB", "CD"], ["2026-04-07", "P1", 3, "4,5"]]}
    )
    inbox.text("o2/week 14.csv", "lot;measured at;unit;1;2\n0015;2026-04-07;ppb;<5;31,5\n")
    checked = inbox.check(known)
    assert checked.set_aside.is_empty()
    assert checked.tables["tastings"]["scores"].to_list() == ['{"stale":3.0}', '{"stale":4.5}']
    assert checked.tables["oxygen"].select("head", "value", "bound").rows() == [
        ("1", 5.0, "below"),
        ("2", 31.5, ""),
    ]


def test_title_rows_of_a_text_file(inbox: Inbox) -> None:
    """The separator is that of the headings' row, and rows keep the numbers that a person sees."""
    inbox = laid_out(inbox, Layout("beers*.csv", first_row=3))
    inbox.text(
        "beers.csv", "Our beers, all of them, by hand\n\nbeer;style;abv_pct\nDusk;stout;6,5\n"
    )
    checked = inbox.check()
    assert checked.tables["beers"].select("beer", "abv_pct", "row_number").rows() == [
        ("Dusk", 6.5, 4)
    ]


def test_headings_that_stand_lower_than_said(inbox: Inbox) -> None:
    """A row of headings that is empty is said, and where they were found instead."""
    inbox = laid_out(inbox, Layout("beers.csv", first_row=2))
    inbox.text("beers.csv", "Our beers\n\nbeer,style,abv_pct\nDusk,stout,6.5\n")
    assert [mention.text for mention in inbox.read("beers.csv").mentions] == [
        "row 2 has no headings: they are taken from row 3"
    ]


def test_several_layouts_of_one_file(inbox: Inbox) -> None:
    """Each sheet of a workbook may be laid out in its own way; the first that fits it counts."""
    inbox = laid_out(
        inbox,
        Layout("book.xlsx", sheet="Bier*", table="beers", first_row=2),
        Layout("book.xlsx", table="changes"),
    )
    inbox.workbook(
        "book.xlsx",
        {
            "Biere": [["all"], ["beer", "style", "abv_pct"], ["Dusk", "stout", 6]],
            "Sheet2": [],
            "log": [["changed on", "what"], ["2026-01-01", "new crown"]],
        },
    )
    content = inbox.read("book.xlsx")
    assert [(table.table, table.sheet) for table in content.tables] == [
        ("beers", "Biere"),
        ("changes", "log"),
    ]
    assert content.mentions == ()


def test_a_constant_fills_what_is_empty(inbox: Inbox) -> None:
    """What a file says itself is left as it is."""
    inbox = laid_out(
        inbox, Layout("beers.csv", table="beers", fill={"style": "ale", "owner": "us"})
    )
    inbox.text("beers.csv", "beer,style,abv_pct\nDusk,stout,6\nDawn,,5\n")
    beers = inbox.check().tables["beers"]
    assert beers.select("beer", "style", "owner").rows() == [
        ("Dusk", "stout", "us"),
        ("Dawn", "ale", "us"),
    ]


@pytest.mark.parametrize(
    ("day_first", "written", "packaged_on"),
    [
        (True, "07.04.2026", date(2026, 4, 7)),
        (True, "7/4/26", date(2026, 4, 7)),
        (True, "7-4-2026", date(2026, 4, 7)),
        (True, "07/04/2026 14:30", date(2026, 4, 7)),
        (True, "2026-04-07", date(2026, 4, 7)),
        (False, "04/07/2026", date(2026, 4, 7)),
        (True, "04/27/2026", None),
        (True, "31.04.2026", None),
        (True, "26-04-07", None),
        (None, "07.04.2026", None),
        (None, "27.04.2026", None),
    ],
)
def test_order_of_a_date(
    inbox: Inbox, known: Known, *, day_first: bool | None, written: str, packaged_on: date | None
) -> None:
    """A date is read as the site says, and set aside where the site says nothing."""
    inbox = replace(inbox, site=replace(inbox.site, day_first=day_first))
    inbox.text("lots.csv", f"{LOTS}L1,can,Glimmer,{written},\n")
    checked = inbox.check(known)
    assert checked.tables["lots"]["packaged_on"].to_list() == [packaged_on] * bool(packaged_on)
    assert checked.set_aside["value"].to_list() == [written] * (not packaged_on)


def test_order_of_a_date_by_file(inbox: Inbox, known: Known) -> None:
    """A file may write its dates otherwise than the others, to the minute too."""
    inbox = laid_out(inbox, Layout("*us*", day_first=False), Layout("*", day_first=True))
    inbox.text("lots.csv", f"{LOTS}L1,can,Glimmer,07.04.2026,07.04.2026 9:30\n")
    inbox.text("lots us.csv", f"{LOTS}L2,can,Glimmer,4/7/2026,4/7/2026 16:05:10\n")
    checked = inbox.check(known)
    assert checked.tables["lots"].select("packaged_on", "started_at").rows() == [
        (date(2026, 4, 7), datetime(2026, 4, 7, 16, 5, 10)),  # noqa: DTZ001 - local time
        (date(2026, 4, 7), datetime(2026, 4, 7, 9, 30)),  # noqa: DTZ001
    ]
