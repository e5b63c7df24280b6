"""The lot that a complaint counts for, and how stale such beer was expected to be."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from analysis.cases.attributed import attributed, expected_shares
from analysis.cases.exposure import drunk
from tests.analysis.cases.simulated_trade import ROUTE, TODAY, lots, risk_draws, shipments

LOTS = lots(6)
SHIPMENTS = shipments(LOTS)
OUT = drunk(LOTS, SHIPMENTS, [ROUTE], risk_draws(), TODAY)
BEST = LOTS["best_before"]


def complaint(**told: object) -> pl.DataFrame:
    """Return one complaint of the first of May that says so much."""
    schema = {
        "complaint": pl.String,
        "drunk_on": pl.Date,
        **dict.fromkeys(("lot", "format", "beer"), pl.String),
        "printed_date": pl.Date,
        **dict.fromkeys(("code_time", "outlet"), pl.String),
    }
    row = dict.fromkeys(schema) | {"complaint": "K1", "drunk_on": date(2026, 5, 1)} | told
    return pl.DataFrame([row], schema=schema)


@pytest.mark.parametrize(
    ("told", "lot", "named"),
    [
        ({"lot": "L02"}, "L02", True),
        ({"lot": "L02", "format": "can"}, "L02", True),
        ({"printed_date": BEST[3], "format": "can"}, "L03", False),
        ({"lot": "L99", "printed_date": BEST[3]}, "L03", False),
        ({"lot": "l-02"}, "L02", False),
        ({"lot": "L02", "format": "keg"}, None, False),
        ({"beer": "Fen Pale", "outlet": "Harbour"}, None, False),
        ({"lot": "not a lot"}, None, False),
        ({}, None, False),
    ],
)
def test_the_lot_is_the_one_named_or_a_likely_one(
    told: dict[str, object], lot: str | None, *, named: bool
) -> None:
    """Named and ours, or a candidate at odds of nine in ten; else none."""
    (row,) = attributed(complaint(**told), LOTS, SHIPMENTS).rows(named=True)
    assert (row["lot"], row["named"]) == (lot, named)
    assert row["named_lot"] == told.get("lot")
    if lot is None:
        assert row["odds"] is None
    else:
        assert row["odds"] == 1.0 if named else row["odds"] >= 0.9
        assert (row["format"], row["line"] in {"old line", "new line"}) == ("can", True)


def test_a_lot_in_two_formats_needs_the_format() -> None:
    """Half and half is no lot; kegs a hundred times fewer are."""
    kegs = LOTS.filter(pl.col("lot") == "L02").with_columns(format=pl.lit("slim can"))
    more = shipments(kegs)
    both = pl.concat([LOTS, kegs])
    half = attributed(complaint(lot="L02"), both, pl.concat([SHIPMENTS, more]))
    assert half["lot"].to_list() == [None]
    few = pl.concat([SHIPMENTS, more.with_columns(packages=pl.lit(100))])
    mostly = attributed(complaint(lot="L02"), both.with_columns(packages=None), few)
    assert mostly.select("lot", "format", "named").row(0) == ("L02", "can", False)


def test_the_share_expected_is_that_of_the_packages_of_that_day_and_outlet() -> None:
    """Near the day, at the outlet that got some of it; else of the whole lot; else not known."""
    seen = attributed(complaint(lot="L02", outlet="taproom"), LOTS, SHIPMENTS)
    share = expected_shares(seen, OUT)[0]
    near = OUT.filter(
        pl.col("lot") == "L02",
        pl.col("customer") == "Taproom",
        (pl.col("on") - date(2026, 5, 1)).dt.total_days().abs() <= 21,
    )["share_rejected"]
    assert near.min() < share < near.max()
    later = seen.with_columns(drunk_on=date(2026, 5, 1) + timedelta(days=60))
    assert expected_shares(later, OUT)[0] > share
    elsewhere = expected_shares(seen.with_columns(outlet=pl.lit("Kiosk")), OUT)[0]
    assert elsewhere is not None
    assert elsewhere != share
    assert expected_shares(seen, OUT.filter(pl.col("lot") != "L02")).to_list() == [None]


def test_rows_keep_their_order_and_number() -> None:
    """Also where nothing is known of any."""
    many = pl.concat(
        complaint(complaint=f"K{n}", lot=lot) for n, lot in enumerate(["L02", "??", "L01", "L04"])
    )
    found = attributed(many, LOTS, SHIPMENTS)
    assert found["complaint"].to_list() == ["K0", "K1", "K2", "K3"]
    assert expected_shares(found, OUT).is_null().to_list() == [False, True, False, False]
    assert attributed(many.clear(), LOTS, SHIPMENTS).is_empty()
