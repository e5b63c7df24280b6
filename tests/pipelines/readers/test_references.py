"""What a row names must be known, from the store or from the same load."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import polars as pl
import pytest

if TYPE_CHECKING:
    from conftest import Inbox

    from pipelines.readers.check import Checked, Known

SAMPLES = "sample,lot,format,storage_temp_c,placed_on,pulled_on\n"
LOTS = "lot,format,beer,packaged_on\n"


def told(checked: Checked) -> list[tuple[object, ...]]:
    """Give what was set aside in short."""
    return checked.set_aside.select("column_name", "value", "reason", "expected", "kind").rows()


@pytest.mark.parametrize(
    ("lot", "given", "fault"),
    [
        ("0015", "", None),
        ("0012", "keg", None),
        (
            "0012",
            "",
            (
                "format",
                "",
                "lot 0012 was filled into bottle, keg: say which in the column format",
                "bottle, keg",
                "reference",
            ),
        ),
        ("0015", "keg", ("format", "keg", "lot 0015 was not filled into keg", "can", "reference")),
        (
            "15",
            "",
            (
                "lot",
                "15",
                "unknown lot",
                "a lot of the table lots: did you mean 0015?",
                "reference",
            ),
        ),
    ],
)
def test_lot_and_format(
    inbox: Inbox, known: Known, lot: str, given: str, fault: tuple[str, ...] | None
) -> None:
    """A lot alone will do where it was filled into one format; else the row must say which."""
    inbox.text("samples.csv", f"{SAMPLES}P2,{lot},{given},20,2026-02-01,2026-03-01\n")
    checked = inbox.check(known)
    assert told(checked) == ([fault] if fault else [])
    if not fault:
        assert checked.tables["samples"]["format"].to_list() == [given or "can"]


def test_references_within_a_load(inbox: Inbox) -> None:
    """Beers, formats, lots, samples and tastings may arrive together, in any order of files."""
    inbox.text(
        "a/tastings.csv", "session,tasted_on,assessor,sample,verdict\nS,2026-03-01,CD,P9,ok\n"
    )
    inbox.text("b/samples.csv", f"{SAMPLES}P9,L1,,20,2026-02-01,2026-03-01\n")
    inbox.text("c/lots.csv", f"{LOTS}L1,can,Dusk,2026-01-05\n")
    inbox.text("d/beers.csv", "beer,style,abv_pct\nDusk,stout,6\n")
    inbox.text("e/formats.csv", "format,kind,volume_ml\ncan,can,330\n")
    checked = inbox.check()
    assert checked.set_aside.is_empty()
    assert list(checked.tables) == ["beers", "formats", "lots", "samples", "tastings"]
    assert [mention.text for mention in checked.mentions] == ["unknown assessor, taken in: CD"]


def test_what_was_set_aside_is_no_partner(inbox: Inbox, known: Known) -> None:
    """A row that names one set aside waits for it, and does not take the lot's other format."""
    inbox.text(
        "lots.csv",
        f"{LOTS}L1,can,Glimmer,2026-99-05\nL2,can,Glimmer,bad\nL2,keg,Glimmer,2026-01-05\n",
    )
    inbox.text(
        "samples.csv",
        f"{SAMPLES}P2,L1,,20,2026-02-01,2026-03-01\n"
        "P3,L2,,20,2026-02-01,2026-03-01\nP4,L2,can,20,2026-02-01,2026-03-01\n",
    )
    inbox.text("tastings.csv", "session,tasted_on,assessor,sample,verdict\nS,2026-03-01,AB,P2,ok\n")
    checked = inbox.check(known)
    waiting = checked.set_aside.filter(kind="reference").select("table_name", "reason").rows()
    assert waiting == [
        ("samples", "its lot was set aside too"),
        ("samples", "lot L2 was filled into can, keg: say which in the column format"),
        ("samples", "lot L2 in can was set aside too"),
        ("tastings", "its sample was set aside too"),
    ]


def test_a_faulty_row_does_not_wait(inbox: Inbox, known: Known) -> None:
    """A row that must be mended anyway is not one that comes in by itself."""
    inbox.text("samples.csv", f"{SAMPLES}P2,L9,,200,2026-02-01,2026-03-01\n")
    assert inbox.check(known).set_aside["kind"].to_list() == ["value", "value"]


def test_withdrawn_rows_are_no_partners(inbox: Inbox, known: Known) -> None:
    """A lot that this load withdraws can no longer be named, though it is stored as withdrawn."""
    inbox.text("lots.csv", f"{LOTS[:-1]},void\n0015,can,Glimmer,2026-01-05,yes\n")
    inbox.text("samples.csv", f"{SAMPLES}P2,0015,can,20,2026-02-01,2026-03-01\n")
    checked = inbox.check(known)
    assert checked.tables["lots"]["void"].to_list() == [True]
    assert checked.set_aside["reason"].to_list() == ["unknown lot"]


@pytest.mark.parametrize(
    ("name", "content", "mention"),
    [
        ("complaints", "complaint,received_on,category,lot\nC,2026-01-01,stale,nobody's", None),
        ("shipments", "shipment,lot,shipped_on,packages\nX,L9,2026-01-01,5", "unknown lot"),
        ("oxygen", "lot,measured_at,unit,total,meter\n0015,2026-01-01,ppb,5,M9", "unknown meter"),
        ("limits", "beer,cause,days\nDusk,haze,90", "unknown beer"),
        ("temperature_log", "logger,read_at,temp_c,route\nT,2026-01-01 10:00,5,r", "unknown route"),
    ],
)
def test_names_taken_in(
    inbox: Inbox, known: Known, name: str, content: str, mention: str | None
) -> None:
    """Where a name need not be known the row is stored, and the name mentioned if it matters."""
    inbox.text(f"{name}.csv", content)
    checked = inbox.check(known)
    assert checked.tables[name].height == 1
    texts = [said.text.split(",")[0] for said in checked.mentions]
    assert texts == ([mention] if mention else [])


def test_meters_of_the_same_load(inbox: Inbox, known: Known) -> None:
    """A meter whose checks arrive with its readings is known, though checks are read later."""
    inbox.text("oxygen.csv", "lot,measured_at,unit,total,meter\n0015,2026-01-01,ppb,5,M9\n")
    inbox.text(
        "meter_checks.csv",
        "meter,checked_at,standard,expected,observed,unit\nM9,2026-01-01,zero,0,1,ppb\n",
    )
    assert inbox.check(known).mentions == ()


@pytest.mark.parametrize(
    ("placed", "tasted", "fault"),
    [
        ("2026-01-05", "2026-03-01", None),
        ("2026-01-04", "2026-03-01", "before its lot was packaged"),
        ("2026-01-05", "2026-02-28", "before its sample was pulled"),
    ],
)
def test_order_of_days(
    inbox: Inbox, known: Known, placed: str, tasted: str, fault: str | None
) -> None:
    """Beer is packaged, then placed, then pulled, then tasted."""
    inbox.text("lots.csv", f"{LOTS}L1,can,Glimmer,2026-01-05\n")
    inbox.text("samples.csv", f"{SAMPLES}P2,L1,,20,{placed},2026-03-01\n")
    inbox.text(
        "tastings.csv", f"session,tasted_on,assessor,sample,verdict\nS,{tasted},AB,P2,reject\n"
    )
    found = inbox.check(known).set_aside
    faults = found.filter(pl.col("column_name").str.ends_with("_on"))["reason"].to_list()
    assert faults == ([fault] if fault else [])


@pytest.mark.parametrize(
    ("lots", "placed", "fault"),
    [
        ("", "2026-01-04", True),
        ("", "2026-01-05", False),
        ("0015,can,Glimmer,2026-01-03,\n", "2026-01-04", False),
        ("0015,can,Glimmer,2026-01-07,\n", "2026-01-06", True),
        ("0012,keg,Glimmer,2026-01-07,\n", "2026-01-06", False),
    ],
)
def test_days_known_from_before_hold_until_they_are_corrected(
    inbox: Inbox, known: Known, lots: str, placed: str, *, fault: bool
) -> None:
    """The store's day of a lot counts, unless this very load brings another of that same lot."""
    days = {"lot": ["0015"], "format": ["can"], "packaged_on": [date(2026, 1, 5)]}
    inbox.text("samples.csv", f"{SAMPLES}P2,0015,,20,{placed},2026-03-01\n")
    inbox.text("lots.csv", f"{LOTS[:-1]},void\n{lots}")
    dated = replace(known, dated={"lots": pl.DataFrame(days)})
    reasons = inbox.check(dated).set_aside["reason"].to_list()
    assert reasons == (["before its lot was packaged"] if fault else [])
