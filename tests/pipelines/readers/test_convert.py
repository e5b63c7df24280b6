"""One cell at a time: what it is read as, or why it is set aside."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from conftest import Inbox

    from pipelines.readers.check import Known

LOT = {"lot": "L1", "format": "can", "beer": "Glimmer", "packaged_on": "2026-01-05"}
BEER = {"beer": "Dusk", "style": "stout", "abv_pct": "5"}
OXYGEN = {
    "lot": "0015",
    "measured_at": "2026-01-05 10:00",
    "unit": "ppb",
    "quantity": "total",
    "value": "50",
}
TASTING = {"session": "S1", "tasted_on": "2026-04-07", "assessor": "AB", "sample": "P1"}
COMPLAINT = {"complaint": "C1", "received_on": "2026-04-07", "category": "stale"}

OR_SAY = "; or say day_first = true (or false) under [dates] in the configuration"


def write(inbox: Inbox, table: str, row: dict[str, str]) -> None:
    """Write a table of one row, every cell in quotation marks."""
    lines = (",".join(f'"{cell}"' for cell in cells) for cells in (row, row.values()))
    inbox.text(f"{table}.csv", "\n".join(lines))


@pytest.mark.parametrize(
    ("table", "row", "column", "text", "value"),
    [
        ("beers", BEER, "abv_pct", "4.8", 4.8),
        ("beers", BEER, "abv_pct", "4,8", 4.8),
        ("beers", BEER, "abv_pct", "0,125", 0.125),
        ("beers", BEER, "abv_pct", "1e1", 10.0),
        ("beers", BEER, "pasteurised", "Nein", False),
        ("beers", BEER, "pasteurised", "TRUE", True),
        ("beers", BEER, "pasteurised", "", None),
        ("beers", BEER, "void", "yes", True),
        ("beers", BEER, "beer", "007", "007"),
        ("lots", LOT, "packages", "1200.0", 1200),
        ("lots", LOT, "packaged_on", "2026-01-05 00:00:00", date(2026, 1, 5)),
        ("lots", LOT, "packaged_on", "2026-01-05T14:10", date(2026, 1, 5)),
        ("lots", LOT, "started_at", "2026-01-05T07:30", datetime(2026, 1, 5, 7, 30)),  # noqa: DTZ001
        ("lots", LOT, "started_at", "2026-01-05", datetime(2026, 1, 5)),  # noqa: DTZ001
        ("lots", LOT, "status", "HELD", "held"),
        ("oxygen", OXYGEN, "unit", "µg / l", "ug/L"),
        ("oxygen", OXYGEN, "unit", "μg/L", "ug/L"),
        ("oxygen", OXYGEN, "value", "< 10", 10.0),
        ("oxygen", OXYGEN, "value", "\N{MINUS SIGN}1.5", -1.5),
        ("tastings", TASTING, "verdict", "OK", "accept"),
        ("tastings", TASTING, "verdict", "not_sure", "not sure"),
        ("complaints", COMPLAINT, "category", "Short_Fill; stale ;stale;", "short fill;stale"),
    ],
)
def test_cells_that_are_read(
    inbox: Inbox,
    known: Known,
    table: str,
    row: dict[str, str],
    column: str,
    text: str,
    value: object,
) -> None:
    """A cell is read as what a person means by it."""
    write(inbox, table, row | {column: text})
    checked = inbox.check(known)
    assert checked.set_aside.is_empty()
    assert checked.tables[table][column].to_list() == [value]


@pytest.mark.parametrize(
    ("table", "row", "column", "text", "reason", "expected"),
    [
        ("beers", BEER, "abv_pct", "five", "not a number", "a number from 0 up to 70"),
        ("beers", BEER, "abv_pct", "nan", "not a number", "a number from 0 up to 70"),
        ("beers", BEER, "abv_pct", "1e999", "not a number", "a number from 0 up to 70"),
        ("beers", BEER, "abv_pct", "<5", "not a number", "a number from 0 up to 70"),
        (
            "beers",
            BEER,
            "abv_pct",
            "1,234",
            "a comma that may part thousands or decimals",
            "a number from 0 up to 70",
        ),
        ("beers", BEER, "abv_pct", "71", "too large", "a number from 0 up to 70"),
        ("beers", BEER, "abv_pct", "-1", "too small", "a number from 0 up to 70"),
        ("beers", BEER, "abv_pct", "", "empty", "a number from 0 up to 70"),
        ("beers", BEER, "beer", "x" * 65, "too long", "a name or code of up to 64 characters"),
        ("beers", BEER, "pasteurised", "1,234", "neither yes nor no", "yes or no"),
        ("lots", LOT, "packaged_on", "2026-02-30", "not a date", "a day such as 2026-04-07"),
        (
            "lots",
            LOT,
            "packaged_on",
            "05.01.2026",
            "a date whose day and month may be either way round",
            f"a day such as 2026-04-07{OR_SAY}",
        ),
        ("lots", LOT, "packaged_on", "1900-01-05", "not a date", "a day such as 2026-04-07"),
        (
            "lots",
            LOT,
            "started_at",
            "2026-01-05T07:30Z",
            "not a date and time",
            "a day and time such as 2026-04-07 14:30",
        ),
        ("lots", LOT, "packages", "12.5", "not a whole number", "a whole number from 0"),
        (
            "lots",
            LOT,
            "packages",
            "1.200",
            "a point that may part thousands or decimals",
            "a whole number from 0",
        ),
        (
            "lots",
            LOT,
            "status",
            "sold",
            "not one of the words known here",
            "released, held or scrapped",
        ),
        (
            "tastings",
            TASTING,
            "verdict",
            "maybe",
            "not one of the words known here",
            "accept, reject or not sure",
        ),
        ("tastings", TASTING, "stale", "11", "too large", "a number from 0 up to 10"),
    ],
)
def test_cells_that_are_not(
    inbox: Inbox,
    known: Known,
    table: str,
    row: dict[str, str],
    column: str,
    text: str,
    reason: str,
    expected: str,
) -> None:
    """A cell that cannot be meant sets its row aside, with what stands there and what should."""
    write(inbox, table, row | {column: text})
    checked = inbox.check(known)
    assert checked.tables[table].is_empty()
    told = checked.set_aside.select("row_number", "column_name", "value", "reason", "expected")
    assert told.rows() == [(2, column, text, reason, expected)]


def test_scores(inbox: Inbox, known: Known) -> None:
    """Scores are gathered as one JSON object; a score is as good as a verdict."""
    inbox.text(
        "tastings.csv",
        "session,tasted_on,assessor,sample,code,verdict,Stale\n"
        "S1,2026-04-07,AB,P1,101,,4.5\nS1,2026-04-07,AB,P1,102,reject,\n",
    )
    assert inbox.check(known).tables["tastings"]["scores"].to_list() == ['{"stale":4.5}', "{}"]


def test_bounds(inbox: Inbox, known: Known) -> None:
    """Below and above a meter's range is said beside the value, and nothing else is."""
    inbox.text(
        "oxygen.csv",
        "lot,measured_at,unit,total\n"
        "0015,2026-01-05,ppb,<10\n0015,2026-01-05,ppb,>900\n0015,2026-01-05,ppb,5\n",
    )
    oxygen = inbox.check(known).tables["oxygen"]
    assert oxygen.select("value", "bound").rows() == [(10, "below"), (900, "above"), (5, "")]


def test_results_below_a_bound(inbox: Inbox, known: Known) -> None:
    """A laboratory's `<10` is kept as a result, not as a number."""
    inbox.text("lot_results.csv", "lot,quantity,value\n0015,yeast count,<10\n0015,ph,4.2\n")
    results = inbox.check(known).tables["lot_results"]
    assert results.select("value", "result").rows() == [(None, "<10"), (4.2, None)]
