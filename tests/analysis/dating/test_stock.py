"""How much life is left in each lot, the way it really travelled."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.dose_lives import DoseLives
from analysis.dating.policy import Policy
from analysis.dating.routes import Route
from analysis.dating.stock import Kept, Minimum, last_days, stock, travelled
from analysis.kinetics.history import Stages, equivalent_age

TODAY = date(2026, 5, 1)
# A warehouse at 4 °C for ten days, then a shelf at the temperature of the lives.
SHELF = Route("shelf", frozenset({"can"}), 1.0, Stages((10.0, float("inf")), (4.0, 20.0)))
LIVES = DoseLives(np.full(20, 100.0), np.full(20, 0.5), np.full(20, 75.0))
SLOW = float(equivalent_age(Stages((float("inf"),), (4.0,)), 1.0, 75.0))
LOG = {
    "read_at": pl.Datetime("us"),
    "temp_c": pl.Float64,
    "route": pl.String,
    "lot": pl.String,
}
LIMITS = pl.DataFrame(
    schema={**dict.fromkeys(("beer", "style", "format", "cause"), pl.String), "days": pl.Float64}
)


def kept(**changed: Any) -> Kept:  # noqa: ANN401
    """How the brewery keeps its beer."""
    usual: dict[str, Any] = {
        "routes": (SHELF,),
        "lives": {("ale", "can", 0.25): LIVES},
        "limits": LIMITS,
        "log": pl.DataFrame(schema=LOG),
        "policy": Policy(),
    }
    return Kept(**usual | changed)


def lots(*rows: dict[str, Any]) -> pl.DataFrame:
    """Lots packaged thirty days ago with a hundred packages and a far printed date."""
    usual = {
        "lot": "L1",
        "format": "can",
        "beer": "Fen",
        "style": "ale",
        "kind": "can",
        "abv_pct": 5.0,
        "packaged_on": TODAY - timedelta(days=30),
        "best_before": TODAY + timedelta(days=300),
        "packages": 100,
        "dose_ppb": 60.0,
    }
    return pl.DataFrame(
        [usual | row for row in rows or ({},)],
        schema_overrides={"best_before": pl.Date, "packages": pl.Int32, "dose_ppb": pl.Float64},
    )


def shipments(*rows: tuple[str, int, int, str | None, str | None]) -> pl.DataFrame:
    """Shipments: lot, days ago, packages, route, customer."""
    return pl.DataFrame(
        [
            (lot, "can", TODAY - timedelta(days=ago), packages, route, customer)
            for lot, ago, packages, route, customer in rows
        ],
        schema={
            **dict.fromkeys(("lot", "format"), pl.String),
            "shipped_on": pl.Date,
            "packages": pl.Int32,
            **dict.fromkeys(("route", "customer"), pl.String),
        },
        orient="row",
    )


def ranked(*arguments: Any, **changed: Any) -> pl.DataFrame:  # noqa: ANN401
    """The stock as of today."""
    return stock(*arguments, kept(**changed), TODAY)[0]


def test_what_is_in_house_has_stood_at_the_first_stage() -> None:
    """Thirty days at 4 °C use up little of 100 days at 20 °C; then the shelf."""
    (row,) = ranked(lots(), shipments()).rows(named=True)
    left = int(100.0 - 30.0 * SLOW)
    assert (row["place"], row["packages"], row["flavour_days"]) == ("in house", 100, left)
    assert (row["route"], row["temp_c"], row["days_left"]) == ("shelf", 20.0, left)


def test_shipping_ends_the_first_stage() -> None:
    """Shipped on its second day, a lot has stood on the shelf for 28 days."""
    (house, out) = (
        ranked(lots(), shipments(("L1", 28, 60, "shelf", "Corner"))).sort("place").rows(named=True)
    )
    assert (house["packages"], out["packages"], out["customers"]) == (40, 60, "Corner")
    assert out["flavour_days"] == int(102 - 2 * SLOW - 30 + 1e-9)
    assert out["days_left"] < house["days_left"]


def test_the_least_left_comes_first() -> None:
    """More oxygen, or older: less life."""
    found = ranked(
        lots(
            {"lot": "fresh", "packaged_on": TODAY},
            {"lot": "high", "dose_ppb": 240.0},
            {"lot": "usual"},
        ),
        shipments(),
    )
    assert found["lot"].to_list() == ["high", "usual", "fresh"]
    assert found["days_left"].is_sorted()


@given(st.integers(1, 400), st.integers(0, 300), st.floats(5.0, 3_000.0))
def test_nothing_is_left_beyond_the_printed_date(printed: int, age: int, dose: float) -> None:
    """However little oxygen: the printed date stands."""
    packaged = TODAY - timedelta(days=age)
    found = ranked(
        lots(
            {
                "packaged_on": packaged,
                "best_before": TODAY + timedelta(days=printed),
                "dose_ppb": dose,
            }
        ),
        shipments(("L1", 0, 10, None, None)),
    )
    assert (found["days_left"] <= printed).all()
    assert (found["middle_days"] <= printed).all()
    assert found.select((pl.col("days_left") <= pl.col("flavour_days")).all()).item()


def test_more_may_be_shipped_than_was_packed_and_packages_may_not_be_known() -> None:
    """A negative rest and an unknown one are given as such, not as nothing."""
    found = ranked(
        lots({"lot": "over", "packages": 50}, {"lot": "unknown", "packages": None}),
        shipments(("over", 5, 60, "shelf", None), ("unknown", 5, 60, "shelf", None)),
    )
    house = dict(found.filter(pl.col("place") == "in house").select("lot", "packages").rows())
    assert house == {"over": -10, "unknown": None}
    assert set(found.filter(pl.col("place") == "shipped")["customers"]) == {"customer not given"}


def test_a_lot_that_is_all_gone_is_in_the_trade_alone() -> None:
    """Nothing in house is no row."""
    found = ranked(lots(), shipments(("L1", 5, 100, None, "A"), ("L1", 5, 0, None, "B")))
    assert found.select("place", "packages", "customers", "route").rows() == [
        ("shipped", 100, "A, B", "shelf")
    ]


def test_lots_past_their_date_are_counted_and_not_listed() -> None:
    """Where no shipment accounts for their packages; so a list stays one of what can be sold."""
    found, past = stock(
        lots({"best_before": TODAY - timedelta(days=1)}, {"lot": "L2", "best_before": TODAY}),
        shipments(),
        kept(),
        TODAY,
    )
    assert (found["lot"].to_list(), past) == (["L2"], 1)
    assert found["days_left"].to_list() == [0]


def test_a_lot_without_a_printed_date_ends_at_the_longest_of_its_style() -> None:
    """And says that none is printed."""
    (row,) = ranked(lots({"best_before": None}), shipments(), policy=Policy(cap_days=40)).rows(
        named=True
    )
    assert (row["printed"], row["printed_days"], row["days_left"]) == (False, 10, 10)


def test_without_an_estimate_the_printed_date_alone_counts() -> None:
    """No fit, no route or no dose: no days of flavour, and no error."""
    for changed in ({"lives": {}}, {"routes": ()}):
        (row,) = ranked(lots(), shipments(), **changed).rows(named=True)
        assert (row["flavour_days"], row["days_left"]) == (None, 300)
    (row,) = ranked(lots({"dose_ppb": None}), shipments()).rows(named=True)
    assert (row["flavour_days"], row["days_left"]) == (None, 300)


def test_a_beer_without_a_safety_validation_has_no_flavour_left_to_tell() -> None:
    """Below 2.5 % vol its flavour says nothing of how long it keeps."""
    found = ranked(lots({"abv_pct": 0.4}), shipments())
    assert found.select("flavour_days", "days_left").row(0) == (None, 300)


def test_an_unknown_route_of_a_shipment_is_named_and_not_guessed() -> None:
    """Its temperature is not known, so the printed date alone counts."""
    found = ranked(lots(), shipments(("L1", 5, 100, "by mule", None)))
    assert found.select("route", "temp_c", "flavour_days").row(0) == ("by mule", None, None)


def test_another_limit_ends_the_life_sooner() -> None:
    """Haze after forty days leaves ten of a lot that is thirty days old."""
    haze = pl.DataFrame(
        {"beer": None, "style": "ale", "format": None, "cause": "haze", "days": 40.0},
        schema=LIMITS.schema,
    )
    assert ranked(lots(), shipments(), limits=haze)["flavour_days"].to_list() == [10]


def log(day: int, temp_c: float, *, lot: str | None = None, route: str | None = None) -> Any:  # noqa: ANN401
    """Four readings on a day that lies so many days back."""
    at = datetime.combine(TODAY - timedelta(days=day), datetime.min.time())
    return [
        {"read_at": at + timedelta(hours=6 * n), "temp_c": temp_c, "route": route, "lot": lot}
        for n in range(4)
    ]


def test_a_logger_of_the_lot_takes_the_place_of_the_route() -> None:
    """Ten days at 20 °C in house cost what they cost on the shelf; other lots' loggers nothing."""
    rows = [row for day in range(1, 11) for row in log(day, 20.0, lot="L1")]
    rows += log(3, 40.0, lot="other") + log(40, 40.0, lot="L1")
    (row,) = ranked(lots(), shipments(), log=pl.DataFrame(rows, schema=LOG)).rows(named=True)
    assert row["flavour_days"] == int(100.0 - 20.0 * SLOW - 10.0 + 1e-9)
    assert row["logged_days"] == 10


def test_a_logger_of_the_route_counts_from_shipping_on() -> None:
    """Beer that is in house still was not in that lorry."""
    rows = [row for day in (3, 12) for row in log(day, 4.0, route="shelf")]
    found = ranked(
        lots(), shipments(("L1", 5, 60, "shelf", None)), log=pl.DataFrame(rows, schema=LOG)
    ).sort("place")
    assert found["logged_days"].to_list() == [0, 1]


@given(st.integers(0, 200), st.one_of(st.none(), st.integers(0, 200)), st.integers(0, 250))
def test_a_log_that_says_what_the_plan_says_changes_nothing(
    age: int, shipped: int | None, day: int
) -> None:
    """Identity: the same age at 20 °C by any day, however the history is cut."""
    at = None if shipped is None else min(shipped, age)
    plan = travelled(SHELF, age, at, {})
    first = max(10, age) if at is None else at
    same = {n: 4.0 if n < first else 20.0 for n in range(0, age, 3)}
    logged = travelled(SHELF, age, at, same)
    assert float(equivalent_age(logged, day, 75.0)) == pytest.approx(
        float(equivalent_age(plan, day, 75.0)), abs=1e-9
    )


def test_a_customer_s_minimum_gives_a_last_day() -> None:
    """Sixty days before the printed date, or while half of the printed life is left."""
    house = ranked(lots({"best_before": TODAY + timedelta(days=70)}), shipments())
    found = last_days(house, {"Half": Minimum(share=0.5), "Sixty": Minimum(days=60)}, TODAY)
    assert found.select("customer", "last_on", "days").rows() == [
        ("Sixty", TODAY + timedelta(days=10), 10),
        ("Half", TODAY + timedelta(days=20), 20),
    ]


def test_a_minimum_can_be_out_of_reach_already() -> None:
    """The last day lies behind; lots all shipped or without a printed date have none."""
    house = ranked(
        lots(
            {"lot": "near", "best_before": TODAY + timedelta(days=20)},
            {"lot": "none", "best_before": None},
            {"lot": "over", "packages": 1},
        ),
        shipments(("over", 1, 2, None, None)),
    )
    found = last_days(house, {"Sixty": Minimum(days=60)}, TODAY)
    assert found.select("lot", "days").rows() == [("near", -40)]


def test_half_of_an_odd_life_is_rounded_to_the_customer_s_favour() -> None:
    """Of 101 printed days, 51 are left on the last day; of 0.1 of 30 no more than 3."""
    packaged = TODAY
    assert Minimum(share=0.5).last_day(packaged, TODAY + timedelta(101)) == TODAY + timedelta(50)
    assert Minimum(share=0.1).last_day(packaged, TODAY + timedelta(30)) == TODAY + timedelta(27)


def test_a_brewery_without_lots_has_no_stock() -> None:
    """Empty tables in, an empty list out."""
    found, past = stock(lots().clear(), shipments(), kept(), TODAY)
    assert (found.height, past) == (0, 0)
    assert last_days(found, {"A": Minimum(days=1)}, TODAY).is_empty()
