"""Shaken readings that somebody entered as totals."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from analysis.oxygen.entered import LEAST_ODDS, entered_as_total
from analysis.oxygen.packages import package_oxygen
from analysis.oxygen.partition import shaken_multiplier
from tests.analysis.oxygen.test_dose import FORMATS, PACKAGED_ON, readings

Z = float(shaken_multiplier(20.0, 12.0, 330.0))


def named(
    rng: np.random.Generator, *, mistaken: bool, both_ways: bool, lot_sd: float = 0.25
) -> pl.DataFrame:
    """Name what stands out of 20 lots of 8 cans; the last one's totals are entered shaken if so."""
    rows = []
    for number in range(20):
        of_lot = 4.0 + rng.normal(0.0, lot_sd)
        for can in range(8):
            value = float(np.exp(of_lot + rng.normal(0.0, 0.2)))
            shaken = both_ways and can % 2 == 0
            wrong = mistaken and number == 19
            rows.append(
                {
                    "lot": f"L{number:02d}",
                    "reading": f"R{number}-{can}",
                    "quantity": "shaken" if shaken else "total",
                    "value": value / Z if shaken or wrong else value,
                    "temperature_c": 20.0,
                }
            )
    lots = pl.DataFrame(
        {
            "lot": [f"L{number:02d}" for number in range(20)],
            "format": "can",
            "packaged_on": PACKAGED_ON,
            "line": "canning",
        }
    )
    packages = package_oxygen(
        readings(*rows), lots, FORMATS, shaken_temperature_c=20.0, late_after_minutes=120.0
    )
    return entered_as_total(packages, lots, FORMATS, shaken_temperature_c=20.0)


def test_a_lot_with_both_kinds_of_reading_is_found() -> None:
    """In at least 36 of 40 simulated breweries, with its numbers, and no other lot with it."""
    rng = np.random.default_rng(2)
    rows = [
        row
        for _ in range(40)
        for row in named(rng, mistaken=True, both_ways=True).iter_rows(named=True)
    ]
    assert len(rows) >= 36
    for row in rows:
        assert (row["lot"], row["packages"], row["beside"]) == ("L19", 4, "shaken")
        assert row["multiplier"] == pytest.approx(Z)
        assert row["odds"] >= LEAST_ODDS
        assert row["entered_ppb"] < row["usual_ppb"]


def test_beside_its_line_alone_a_lot_is_named_only_where_lots_are_alike() -> None:
    """Lots 8 % apart: in 30 or more of 40 breweries; 25 % apart: in few, it may be a good lot."""
    rng = np.random.default_rng(3)
    alike = pl.concat([named(rng, mistaken=True, both_ways=False, lot_sd=0.08) for _ in range(40)])
    assert set(alike.select("lot", "beside").iter_rows()) == {("L19", "line")}
    assert len(alike) >= 30
    apart = pl.concat([named(rng, mistaken=True, both_ways=False) for _ in range(40)])
    assert len(apart) <= 10


@pytest.mark.parametrize("both_ways", [True, False])
def test_where_nobody_was_mistaken_hardly_a_lot_is_named(*, both_ways: bool) -> None:
    """At most one of 800 lots."""
    rng = np.random.default_rng(4)
    assert sum(len(named(rng, mistaken=False, both_ways=both_ways)) for _ in range(40)) <= 1
