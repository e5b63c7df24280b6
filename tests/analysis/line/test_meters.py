"""What a brewery's meters say of themselves and of each other."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from analysis.line.meters import meter_report, readings_in_doubt
from analysis.oxygen.packages import package_oxygen

START = datetime(2031, 3, 3, 7)  # noqa: DTZ001 - the tables hold local times
CHECK = {
    "meter": pl.String,
    "checked_at": pl.Datetime("us"),
    "standard": pl.String,
    "expected": pl.Float64,
    "observed": pl.Float64,
    "unit": pl.String,
    "tolerance": pl.Float64,
    "state": pl.String,
}
EMPTY = {
    **dict.fromkeys(
        ("lot", "format", "reading", "unit", "quantity", "bound", "head", "run_position", "meter"),
        pl.String,
    ),
    **dict.fromkeys(("file", "sheet"), pl.String),
    **dict.fromkeys(("measured_at", "filled_at"), pl.Datetime("us")),
    **dict.fromkeys(("value", "minutes_after_fill", "temperature_c", "headspace_ml"), pl.Float64),
    "load_id": pl.Int64,
    "row_number": pl.Int32,
}


def tables(readings: list[dict[str, Any]], checks: list[dict[str, Any]]) -> dict[str, pl.DataFrame]:
    """Make the tables oxygen and meter_checks: totals in ppb, a reference of 50 ppb ± 5."""
    usual = {"format": "can", "unit": "ppb", "quantity": "total"}
    check = {"standard": "reference", "expected": 50.0, "unit": "ppb", "tolerance": 5.0}
    return {
        "oxygen": pl.DataFrame([usual | row for row in readings], schema=EMPTY),
        "meter_checks": pl.DataFrame([check | row for row in checks], schema=CHECK),
    }


def report(made: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Work the report out as a fit does."""
    lots = made["oxygen"].select("lot", "format").unique()
    packages = package_oxygen(
        made["oxygen"],
        lots.with_columns(line=pl.lit("canning"), packaged_on=pl.lit(date(2031, 3, 3))),
        pl.DataFrame({"format": ["can"], "volume_ml": [330.0], "headspace_ml": [12.0]}),
        shaken_temperature_c=20.0,
        late_after_minutes=120.0,
    )
    return meter_report(made, packages)


def brewery(ratio: float, lots: int, seed: int = 1) -> dict[str, pl.DataFrame]:
    """Let two meters read four cans each of so many lots, the second `ratio` times as high."""
    rng = np.random.default_rng(seed)
    rows = []
    for lot in range(lots):
        level = 60.0 * np.exp(rng.normal(0.0, 0.3))
        for can in range(8):
            meter = "M1" if can % 2 else "M2"
            value = level * np.exp(rng.normal(0.0, 0.1)) * (ratio if meter == "M2" else 1.0)
            rows.append(
                {
                    "lot": f"L{lot:02d}",
                    "reading": f"R{lot}-{can}",
                    "meter": meter,
                    "value": float(value),
                    "minutes_after_fill": 20.0,
                    "measured_at": START + timedelta(days=lot, hours=can),
                }
            )
    return tables(rows, [])


def test_rows_in_doubt_are_counted_by_span_and_by_lot() -> None:
    """A check on day 0 good, day 4 failed, day 8 good: the second meter's rows of days 0 to 7."""
    made = brewery(1.0, 12)
    checks = [
        {"meter": "M2", "checked_at": START - timedelta(hours=1), "observed": 50.0},
        {"meter": "M2", "checked_at": START + timedelta(days=4, hours=9), "observed": 57.0},
        {"meter": "M2", "checked_at": START + timedelta(days=8, hours=-1), "observed": 51.0},
    ]
    made = tables(made["oxygen"].to_dicts(), checks)
    assert readings_in_doubt(made).sum() == 8 * 4
    found = report(made)
    span = found["meter_doubts"].row(0, named=True)
    assert (span["episode"], span["readings"], span["lots"]) == (1, 32, 8)
    assert span["error"] == pytest.approx(7.0)
    by_lot = found["readings_in_doubt"]
    assert by_lot["lot"].to_list() == [f"L{lot:02d}" for lot in range(8)]
    assert set(by_lot.select("line", "meter", "readings").iter_rows()) == {("canning", "M2", 4)}
    assert found["meter_readings"].select("meter", "readings", "in_doubt").rows() == [
        ("M1", 48, 0),
        ("M2", 48, 32),
    ]


def test_overlapping_spans_count_a_reading_once() -> None:
    """Zero and reference both off from day 2 to 4: each span has the rows, the meter once."""
    rows = [{"lot": "L00", "meter": "M1", "value": 60.0, "measured_at": START + timedelta(days=3)}]
    zero = {"standard": "zero", "expected": 0.0}
    checks = [
        {"meter": "M1", "checked_at": START + timedelta(days=d)} | extra | {"observed": value}
        for d, off in ((1, 0.0), (2, 9.0), (4, 0.0))
        for extra, value in ((zero, off), ({}, 50.0 + off))
    ]
    found = report(tables(rows, checks))
    assert found["meter_doubts"]["readings"].to_list() == [1, 1]
    assert found["meter_readings"]["in_doubt"].to_list() == [1]
    assert found["readings_in_doubt"]["readings"].to_list() == [1]


def test_readings_without_a_meter_and_meters_without_a_check_are_counted() -> None:
    """Neither is in doubt, whatever another meter's check says."""
    rows = [
        {"lot": "L00", "meter": meter, "value": 60.0, "measured_at": START}
        for meter in ("M1", "M3", None)
    ]
    check = {"meter": "M1", "checked_at": START + timedelta(days=1), "observed": 90.0}
    found = report(tables(rows, [check]))
    assert found["meter_readings"].sort("meter", nulls_last=True).select(
        "meter", "readings", "in_doubt"
    ).rows() == [("M1", 1, 1), ("M3", 1, 0), (None, 1, 0)]


def test_a_meter_that_reads_a_fifth_high_is_seen_beside_the_other() -> None:
    """On 20 lots of four packages each: ratio 1.2 within its interval, and 1 outside of it."""
    pair = report(brewery(1.2, 20))["meter_pairs"].row(0, named=True)
    assert (pair["first_meter"], pair["second_meter"], pair["lots"]) == ("M1", "M2", 20)
    assert 1.0 < pair["ratio_lower"] < 1.2 < pair["ratio_upper"]
    assert pair["slope_lower"] < 1.0 < pair["slope_upper"]
    assert pair["agreement_lower"] < pair["ratio_lower"]
    assert pair["agreement_upper"] > pair["ratio_upper"]


def test_two_meters_on_few_lots_are_said_to_be_too_few() -> None:
    """Four lots: no number, and why."""
    pair = report(brewery(1.2, 4))["meter_pairs"].row(0, named=True)
    assert (pair["lots"], pair["ratio"]) == (4, None)
    assert "too few" in pair["reason"]


def test_a_standard_that_is_read_twice_a_day_shows_its_repeatability() -> None:
    """Pairs 2 ppb apart on three days: s₁ is √2, limits at the mean, whatever the bottle holds."""
    twice = [
        {"meter": "M1", "checked_at": START + timedelta(days=d, minutes=m)}
        | {"expected": 50.0 + 10.0 * d, "observed": 50.0 + 10.0 * d + m, "tolerance": 5.0}
        for d in range(3)
        for m in (0, 2)
    ]
    once = [
        {"meter": "M2", "checked_at": START + timedelta(days=d), "observed": 50.0} for d in range(6)
    ]
    bias = report(tables([], twice + once))["meter_bias"].sort("meter")
    assert bias["short_term_sd"].to_list() == [pytest.approx(2.0**0.5), None]
    assert bias["between_sd"][0] == pytest.approx(0.0)
    assert bias.select("limit_lower", "limit_upper").row(0) == pytest.approx((1.0, 1.0))


def test_one_meter_alone_is_compared_with_none() -> None:
    """No pair, no error."""
    made = brewery(1.0, 6)
    alone = made["oxygen"].filter(pl.col("meter") == "M1").to_dicts()
    assert report(tables(alone, []))["meter_pairs"].is_empty()


def test_a_brewery_without_checks_or_readings_has_an_empty_report() -> None:
    """Every table is there and has no row."""
    found = report(tables([], []))
    assert set(found) == {
        "meter_checks",
        "meter_bias",
        "meter_readings",
        "meter_doubts",
        "readings_in_doubt",
        "meter_pairs",
    }
    assert all(frame.is_empty() for frame in found.values())
    assert readings_in_doubt(tables([], [])).is_empty()
