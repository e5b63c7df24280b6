"""What is in the trade of a beer whose printed date proved too long."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from analysis.dating.trade import in_trade

TODAY = date(2026, 5, 1)
LOTS = pl.DataFrame(
    {
        "lot": ["old", "gone", "new", "next"],
        "packaged_on": [TODAY - timedelta(days=d) for d in (90, 130, 20, -3)],
        "best_before": [TODAY + timedelta(days=d) for d in (30, -10, 100, 117)],
        "packages": [500, 400, None, 300],
    },
    schema_overrides={"packages": pl.Int32},
)
SHIPMENTS = pl.DataFrame(
    {
        "lot": ["old", "old", "new", "gone", "old"],
        "shipped_on": [TODAY - timedelta(days=d) for d in (60, 40, 1, 100, -2)],
        "packages": [200, 100, 50, 400, 200],
        "customer": ["Corner", None, "Corner", "Corner", "Corner"],
        "route": [None, None, "by road", None, None],
    },
    schema_overrides={"packages": pl.Int32},
)


def test_lots_out_and_not_past_their_printed_date_are_gathered() -> None:
    """Neither what is past its date, nor what is still to be packaged or shipped."""
    found = in_trade(LOTS, SHIPMENTS, 77, TODAY)
    assert found.lots.select("lot", "supported_on", "packages", "shipped", "left").rows() == [
        ("old", TODAY - timedelta(days=13), 500, 300, 200),
        ("new", TODAY + timedelta(days=57), None, 50, None),
    ]
    assert found.packages == 350


def test_customers_are_named_with_what_they_hold_and_by_when() -> None:
    """The most packages first; who is not named comes as such."""
    found = in_trade(LOTS, SHIPMENTS, 77, TODAY)
    assert found.customers.rows() == [
        ("Corner", None, 250, 2, 250, 200, TODAY - timedelta(days=13)),
        (None, None, 100, 1, 100, 100, TODAY - timedelta(days=13)),
    ]
    assert (found.too_long, found.past, found.past_lots) == (350, 300, ("old",))


def test_a_shipment_is_held_against_its_own_route() -> None:
    """Cold keeps the days printed; export supports 40; what no date is given for is too long."""
    sent = SHIPMENTS.with_columns(route=pl.Series(["cold", "export", "by sea", None, None]))
    days = {"cold": 150, "export": 40, "by sea": None}
    found = in_trade(LOTS, sent, 77, TODAY, days)
    assert found.customers.rows() == [
        ("Corner", "cold", 200, 1, 0, 0, None),
        (None, "export", 100, 1, 100, 100, TODAY - timedelta(days=50)),
        ("Corner", "by sea", 50, 1, 50, 0, None),
    ]
    assert (found.too_long, found.past, found.past_lots) == (150, 100, ("old",))


def test_without_supported_days_no_day_is_given() -> None:
    """The lots and customers are told all the same."""
    found = in_trade(LOTS, SHIPMENTS, None, TODAY)
    assert found.lots["supported_on"].null_count() == 2
    assert found.customers["earliest_on"].null_count() == 2


def test_nothing_shipped_is_nothing_in_the_trade() -> None:
    """Lots in house are listed with nothing shipped."""
    found = in_trade(LOTS, SHIPMENTS.clear(), 77, TODAY)
    assert (found.packages, found.customers.height, found.lots.height) == (0, 0, 2)
