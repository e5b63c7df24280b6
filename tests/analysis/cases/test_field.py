"""What the trade tells: of lots that have too many complaints, of steady ones, of the fit."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analysis.cases.exposure import drunk
from analysis.cases.field import Field, field, first_day
from analysis.cases.rates import GROUPINGS
from analysis.cases.with_age import complaint_weights
from tests.analysis.cases.simulated_trade import (
    CUSTOMERS,
    ROUTE,
    TODAY,
    complaints,
    lots,
    risk_draws,
    shipments,
)

LOTS = lots()
SHIPMENTS = shipments(LOTS)
OUT = drunk(LOTS, SHIPMENTS, [ROUTE], risk_draws(), TODAY)
STEADY = complaint_weights(0.7, OUT["packages"].to_numpy(), OUT["share_rejected"].to_numpy())


def told_by(seen: pl.DataFrame, out: pl.DataFrame = OUT) -> Field:
    """Return what the complaints tell."""
    return field(seen, out, LOTS, SHIPMENTS, TODAY)


def told(found: Field, grouping: str) -> list[str]:
    """Return the groups that have more than luck explains."""
    rows = found.rates.filter(pl.col("grouping") == grouping, pl.col("verdict") == "more")
    return rows["name"].to_list()


def test_a_lot_with_five_times_the_rate_is_told() -> None:
    """Of twenty years of 150 complaints in eighteen at least, another lot in two at most."""
    rng = np.random.default_rng(5)
    mean = 150.0 * STEADY * np.where(OUT["lot"] == "L09", 5.0, 1.0)
    years = [told(told_by(complaints(rng, OUT, mean)), "lot") for _ in range(20)]
    assert sum("L09" in named for named in years) >= 18
    assert sum(bool(set(named) - {"L09"}) for named in years) <= 2


def test_an_outlet_with_three_times_the_rate_is_told() -> None:
    """In nine years of ten, and no line beside it."""
    rng = np.random.default_rng(6)
    mean = 60.0 * STEADY * np.where(OUT["customer"] == "Taproom", 3.0, 1.0)
    found = [told_by(complaints(rng, OUT, mean)) for _ in range(10)]
    assert sum(told(one, "outlet") == ["Taproom"] for one in found) >= 9
    assert sum(bool(told(one, "line")) for one in found) <= 1


@pytest.mark.parametrize("rate", [12.0, 80.0])
def test_a_steady_brewery_is_told_nothing_at_the_stated_error(rate: float) -> None:
    """Of forty years of each grouping at most six tell of anything where one in twenty may.

    More than six of forty at 5 % come about once in two hundred times.
    """
    rng = np.random.default_rng(int(rate))
    found = [told_by(complaints(rng, OUT, rate * STEADY)) for _ in range(40)]
    for grouping in GROUPINGS:
        assert sum(bool(told(one, grouping)) for one in found) <= 6, grouping
    for grouping in ("age", "style", "format"):
        off = [
            one.checks.filter(
                pl.col("grouping") == grouping, pl.col("verdict") != "as expected"
            ).height
            for one in found
        ]
        assert sum(bool(number) for number in off) <= 6, grouping


def test_a_fit_that_is_wrong_about_a_style_is_told() -> None:
    """The stout is thought to live 160 days at 20 °C and lives 70: it has more than expected."""
    true = drunk(LOTS, SHIPMENTS, [ROUTE], risk_draws({"pale ale": 90.0, "stout": 70.0}), TODAY)
    weights = complaint_weights(0.9, true["packages"].to_numpy(), true["share_rejected"].to_numpy())
    found = told_by(complaints(np.random.default_rng(2), OUT, 120.0 * weights))
    by_style = dict(
        found.checks.filter(pl.col("grouping") == "style").select("name", "verdict").rows()
    )
    assert by_style == {"stout": "more", "pale ale": "fewer"}


def test_complaints_that_know_nothing_of_age_are_told_from_those_that_do() -> None:
    """Bounds of the part that goes with age: near all of them, and far from it."""
    rng, packages = np.random.default_rng(9), OUT["packages"].to_numpy()
    parts = []
    for part in (1.0, 0.0):
        weights = complaint_weights(part, packages, OUT["share_rejected"].to_numpy())
        parts.append(told_by(complaints(rng, OUT, 150.0 * weights)).summary.row(0, named=True))
    assert parts[0]["with_age_lower"] > 0.6
    assert parts[1]["with_age_upper"] < 0.4


def test_numbers_expected_add_up_to_those_observed() -> None:
    """In every grouping; rates are counts over packages, and stand within their limits."""
    found = told_by(complaints(np.random.default_rng(3), OUT, 40.0 * STEADY))
    taste = found.summary["taste"][0]
    for grouping in GROUPINGS:
        rows = found.rates.filter(pl.col("grouping") == grouping)
        assert rows["taste"].sum() == taste
        assert rows["expected"].sum() == pytest.approx(taste)
        assert rows["packages"].sum() == pytest.approx(found.summary["packages"][0])
        rate = rows["taste"] / rows["packages"] * 1e6
        assert rows["per_million"].to_list() == pytest.approx(rate.to_list())
        assert ((rows["lower"] <= rate) & (rate <= rows["upper"])).all()
        assert (rows["told_from"] > rows["expected"]).all()
    for grouping in ("age", "style", "format"):
        rows = found.checks.filter(pl.col("grouping") == grouping)
        assert rows["complaints"].sum() == pytest.approx(rows["expected"].sum()) == taste
    ages = found.checks.filter(pl.col("grouping") == "age")
    assert ages["age_to"].to_list()[:-1] == ages["age_from"].to_list()[1:]


def test_what_touches_safety_enters_nothing_else() -> None:
    """It is counted apart, by category, and is in no rate and no check."""
    seen = complaints(np.random.default_rng(4), OUT, 30.0 * STEADY)
    marked = seen.with_columns(
        safety=pl.Series(np.arange(seen.height) < 3),
        category=pl.Series(["stale;illness"] * 3 + ["stale"] * (seen.height - 3)),
    )
    found = told_by(marked)
    summary = found.summary.row(0, named=True)
    assert (summary["safety"], summary["taste"]) == (3, seen.height - 3)
    assert found.rates.filter(pl.col("grouping") == "line")["taste"].sum() == seen.height - 3
    assert found.kinds.select("category", "safety", "complaints").rows() == [
        ("stale", False, seen.height - 3),
        ("illness", True, 3),
        ("stale", True, 3),
    ]


def test_beer_that_is_flat_or_leaks_is_no_complaint_about_taste() -> None:
    """Counted by category alone; one of two categories counts in each."""
    seen = complaints(np.random.default_rng(4), OUT, 30.0 * STEADY).head(4)
    kinds = ["flat", "leaker", "stale;flat", "sour"]
    found = told_by(seen.with_columns(category=pl.Series(kinds)))
    assert found.summary.select("complaints", "taste").row(0) == (4, 1)
    assert dict(found.kinds.select("category", "complaints").rows()) == {
        "flat": 2,
        "leaker": 1,
        "stale": 1,
        "sour": 1,
    }


def test_groups_without_packages_cannot_be_said_anything_of() -> None:
    """A lot never shipped and an outlet that no shipment names stand there without a rate."""
    seen = complaints(np.random.default_rng(4), OUT, 30.0 * STEADY)
    unshipped = SHIPMENTS.filter(pl.col("lot") != "L03")
    out = OUT.filter(pl.col("lot") != "L03")
    strange = seen.with_columns(
        outlet=pl.when(pl.int_range(pl.len()) < 2).then(pl.lit("Kiosk")).otherwise("outlet"),
        lot=pl.when(pl.int_range(pl.len()) < 2).then(pl.lit("L03")).otherwise("lot"),
    )
    found = field(strange, out, LOTS, unshipped, TODAY).rates
    for grouping, name in (("lot", "L03"), ("outlet", "Kiosk")):
        row = found.filter(pl.col("grouping") == grouping, pl.col("name") == name).row(
            0, named=True
        )
        assert row["taste"] >= 2
        assert (row["verdict"], row["packages"], row["per_million"]) == ("cannot say", 0.0, None)
        rest = found.filter(pl.col("grouping") == grouping, pl.col("packages") > 0.0)
        assert rest["expected"].sum() == pytest.approx(rest["taste"].sum())


@pytest.mark.parametrize("outlet", ["HARBOUR", " harbour", "Har-bour"])
def test_an_outlet_is_known_however_it_is_written(outlet: str) -> None:
    """It counts for the customer; without an outlet a complaint counts for none."""
    seen = complaints(np.random.default_rng(4), OUT, 30.0 * STEADY)
    found = told_by(seen.with_columns(outlet=pl.lit(outlet))).rates
    by_name = dict(found.filter(pl.col("grouping") == "outlet").select("name", "taste").rows())
    assert by_name == {name: seen.height * (name == "Harbour") for name in CUSTOMERS}
    none = told_by(seen.with_columns(outlet=pl.lit(None, pl.String))).rates
    assert none.filter(pl.col("grouping") == "outlet")["taste"].sum() == 0


def test_without_an_estimate_packages_alone_are_expected_to_count() -> None:
    """Expected goes with packages drunk, nothing is compared, and nothing fails."""
    out = OUT.with_columns(share_rejected=pl.lit(None, pl.Float64))
    found = told_by(complaints(np.random.default_rng(3), OUT, 40.0 * STEADY), out)
    rows = found.rates.filter(pl.col("grouping") == "lot")
    by_packages = rows["packages"] / rows["packages"].sum()
    assert np.allclose(rows["expected"], by_packages * rows["taste"].sum())
    assert found.checks.is_empty()
    assert found.summary.select("compared", "with_age").row(0) == (0, None)


@pytest.mark.parametrize("shipped", [True, False])
@pytest.mark.parametrize("complained", [True, False])
def test_without_complaints_or_shipments_there_is_an_answer(
    shipped: bool,  # noqa: FBT001 - a pytest parameter
    complained: bool,  # noqa: FBT001 - a pytest parameter
) -> None:
    """Every frame has its columns; a rate only where packages were drunk."""
    seen = complaints(np.random.default_rng(3), OUT, 10.0 * STEADY)
    found = field(
        seen if complained else seen.clear(),
        OUT if shipped else OUT.clear(),
        LOTS,
        SHIPMENTS if shipped else SHIPMENTS.clear(),
        TODAY,
    )
    summary = found.summary.row(0, named=True)
    assert (summary["per_million"] is not None) == shipped
    assert summary["complaints"] == (seen.height if complained else 0)
    assert found.rates.is_empty() == (not shipped and not complained)
    assert found.looks.height == len(GROUPINGS)
    assert (found.rates["verdict"] != "more").all()


def test_the_last_twelve_months_and_this_one_are_looked_at() -> None:
    """What is older, or lies ahead of the day, enters nothing."""
    assert first_day(date(2028, 2, 29)) == date(2027, 2, 1)
    seen = complaints(np.random.default_rng(3), OUT, 10.0 * STEADY).head(3)
    days = [first_day(TODAY) - timedelta(days=1), first_day(TODAY), TODAY + timedelta(days=1)]
    found = told_by(seen.with_columns(received_on=pl.Series(days)))
    assert found.complaints["received_on"].to_list() == [first_day(TODAY)]
    assert found.rates.filter(pl.col("grouping") == "month")["name"].min() >= "2025-12"
