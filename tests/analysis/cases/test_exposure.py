"""Packages drunk week by week, and how stale they were expected to be."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.cases.drunk import PAST_DATE
from analysis.cases.exposure import drunk
from analysis.dating.risk import at_risk
from analysis.dating.routes import Route
from analysis.kinetics.history import Stages

BEGIN = date(2026, 1, 10)
INF = float("inf")
AMBIENT = Route("ambient", frozenset(), 0.7, Stages((14.0, INF), (12.0, 21.0)))
COLD = Route("cold", frozenset(), 0.3, Stages((14.0, INF), (4.0, 8.0)))
LOTS = pl.DataFrame(
    {
        "lot": ["a", "b"],
        "format": "can",
        "kind": "can",
        "style": "pale ale",
        "line": ["canning", None],
        "packaged_on": BEGIN,
        "best_before": [None, None],
        "dose_ppb": [60.0, 240.0],
    },
    schema_overrides={"best_before": pl.Date},
)
SHIPMENTS = pl.DataFrame(
    {
        "lot": ["a", "b"],
        "format": "can",
        "shipped_on": BEGIN + timedelta(days=14),
        "packages": [1000, 500],
        "route": [None, "cold"],
        "customer": ["Harbour", None],
        "best_before": [None, None],
    },
    schema_overrides={"best_before": pl.Date},
)
RNG = np.random.default_rng(3)
DRAWS = pl.DataFrame(
    {
        "style": "pale ale",
        "format": "can",
        "draw": np.arange(40),
        "distribution": ["weibull"] * 15 + ["lognormal"] * 25,
        "location": RNG.normal(np.log(90.0), 0.05, 40),
        "oxygen_exponent": RNG.normal(0.35, 0.02, 40),
        "scale": 0.35,
        "between": 0.3,
        "activation_energy_kj_mol": RNG.normal(65.0, 3.0, 40),
    }
)
LATER = BEGIN + timedelta(days=500)


def test_all_of_a_shipment_is_drunk_in_the_end() -> None:
    """All but a ten-thousandth, none before it was shipped, by lot, line and customer."""
    found = drunk(LOTS, SHIPMENTS, [AMBIENT, COLD], DRAWS, LATER)
    by_lot = found.group_by("lot", "line", "customer").agg(pl.col("packages").sum()).sort("lot")
    assert by_lot["packages"].to_list() == pytest.approx([1000.0, 500.0], rel=2e-4)
    assert by_lot.select("line", "customer").rows() == [("canning", "Harbour"), (None, None)]
    assert found["on"].min() > BEGIN + timedelta(days=14)
    assert found["age_days"].min() > 14.0


@pytest.mark.parametrize(("lot", "route", "dose"), [("a", AMBIENT, 60.0), ("b", COLD, 240.0)])
def test_the_share_rejected_is_that_of_the_risk(lot: str, route: Route, dose: float) -> None:
    """Our own: `at_risk`'s median of the same draws, dose and history, within the draws' spread."""
    found = drunk(LOTS, SHIPMENTS, [AMBIENT, COLD], DRAWS, LATER).filter(pl.col("lot") == lot)
    doses = pl.DataFrame({"dose_ppb": [dose]})
    for row in found.filter(pl.col("age_days") < 150).gather_every(4).iter_rows(named=True):
        risk = at_risk(DRAWS, doses, route.stages, row["age_days"], 0.9)
        assert risk.lower - 0.02 <= row["share_rejected"] <= risk.upper + 0.02


def test_more_oxygen_and_more_warmth_are_expected_to_be_rejected_more() -> None:
    """The same shipment by the warm route, and with four times the dose."""
    shares = {
        (dose, route): drunk(
            LOTS.with_columns(dose_ppb=dose),
            SHIPMENTS.with_columns(route=pl.lit(route)),
            [AMBIENT, COLD],
            DRAWS,
            LATER,
        )["share_rejected"].sum()
        for dose in (60.0, 240.0)
        for route in ("ambient", "cold")
    }
    assert shares[60.0, "ambient"] < shares[240.0, "ambient"]
    assert shares[240.0, "cold"] < shares[240.0, "ambient"]


@pytest.mark.parametrize(
    "change",
    [
        {"lots": LOTS.with_columns(dose_ppb=pl.lit(None, pl.Float64))},
        {"draws": DRAWS.clear()},
        {"routes": []},
        {"draws": DRAWS.with_columns(style=pl.lit("stout"))},
    ],
)
def test_where_nothing_is_expected_packages_are_drunk_all_the_same(change: dict) -> None:
    """No dose, no estimate, no route, another style: the share is not known."""
    kept = {"lots": LOTS, "shipments": SHIPMENTS, "routes": [AMBIENT], "draws": DRAWS} | change
    found = drunk(*kept.values(), LATER)
    assert found["share_rejected"].null_count() == found.height
    assert found["packages"].sum() == pytest.approx(1500.0, rel=2e-4)


def test_a_past_date_slows_it_down() -> None:
    """From the day after the printed one; a shipment's own date goes before its lot's."""
    day = BEGIN + timedelta(days=60)
    of_lot = drunk(LOTS.with_columns(best_before=day), SHIPMENTS, [], DRAWS, LATER)
    own = drunk(
        LOTS.with_columns(best_before=BEGIN),
        SHIPMENTS.with_columns(best_before=day),
        [],
        DRAWS,
        LATER,
    )
    usual = drunk(LOTS, SHIPMENTS, [], DRAWS, LATER)
    assert own.equals(of_lot, null_equal=True)
    late = (usual["on"] > day).to_numpy()
    ratio = (of_lot["packages"] / usual["packages"]).to_numpy()
    assert np.allclose(ratio[late], PAST_DATE)
    assert np.allclose(ratio[~late], 1.0)


@settings(max_examples=40, deadline=None)
@given(days=st.integers(-5, 400), more=st.integers(0, 200))
def test_a_later_day_adds_and_takes_nothing_away(days: int, more: int) -> None:
    """Packages drunk by a day are no more by a later one; nothing lies ahead of today."""
    today = BEGIN + timedelta(days=days)
    first = drunk(LOTS, SHIPMENTS, [], DRAWS, today)
    later = drunk(LOTS, SHIPMENTS, [], DRAWS, today + timedelta(days=more))
    assert first["packages"].sum() <= later["packages"].sum() + 1e-9
    assert first.is_empty() or first["on"].max() <= today


def test_without_shipments_nothing_is_drunk() -> None:
    """An empty frame with its columns."""
    found = drunk(LOTS, SHIPMENTS.clear(), [AMBIENT], DRAWS, LATER)
    assert found.is_empty()
    assert {"packages", "share_rejected", "on"} <= set(found.columns)
