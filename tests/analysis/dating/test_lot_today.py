"""One lot's oxygen against its line, and whether its usual date holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.dose_lives import DoseLives
from analysis.dating.lot_today import ENOUGH, Background, judge_lots
from analysis.dating.policy import Policy
from analysis.dating.routes import Route
from analysis.kinetics.history import Stages
from analysis.oxygen.dose import lot_oxygen

DAY = date(2026, 3, 2)
SHELF = Route("shelf", frozenset({"can"}), 0.6, Stages((10.0, float("inf")), (4.0, 20.0)))
FRIDGE = Route("fridge", frozenset({"can"}), 0.4, Stages((float("inf"),), (4.0,)))
FORMATS = pl.DataFrame(
    {
        "format": ["can"],
        "volume_ml": [330.0],
        "ingress_ppb_per_day": [0.0],
        "ingress_ml_o2_per_day": [None],
    },
    schema_overrides={"ingress_ml_o2_per_day": pl.Float64},
)
# 100 days at 20 °C at 60 ppb, halved by four times the oxygen; the same in every draw.
LIVES = DoseLives(np.full(50, 100.0), np.full(50, 0.5), np.full(50, 75.0))
Bounds = tuple[float | None, float | None]


def package(lower: float | None, upper: float | None, **also: Any) -> dict[str, Any]:  # noqa: ANN401
    """A package of the lot, its total known to lie between two bounds."""
    return {
        "lot": "L1",
        "format": "can",
        "line": "one",
        "packaged_on": DAY,
        "measured_at": datetime.combine(DAY, datetime.min.time()),
        "head": None,
        "basis": "none" if lower is None and upper is None else "total",
        "lower_ppb": lower,
        "upper_ppb": upper,
        "sd_log": 0.07,
        "sd_shared": 0.0,
        "late": upper is None,
        "below": lower == 0.0,
        "shaken": False,
        "no_temperature": False,
        "no_headspace": False,
        **also,
    }


def packages_of(*bounds: Bounds, **also: object) -> pl.DataFrame:
    """The packages of the lot, and of twenty lots of its line before it at 60 ppb."""
    before = [
        package(ppb, ppb, lot=f"before {number}")
        for number in range(20)
        for ppb in (50.0, 60.0, 72.0)
    ]
    rows = [*(package(*pair, **also) for pair in bounds), *before]
    return pl.DataFrame(
        rows,
        schema_overrides={"head": pl.String, "upper_ppb": pl.Float64},
        infer_schema_length=None,
    )


def clean(*ppb: float) -> list[Bounds]:
    """Packages whose totals are known."""
    return [(value, value) for value in ppb]


def behind(**changed: Any) -> Background:  # noqa: ANN401
    """What a usual brewery holds a lot against."""
    usual: dict[str, Any] = {
        "dates": pl.DataFrame(
            {
                "style": "ale",
                "format": "can",
                "route": ["fridge", "shelf"],
                "best_before_days": [300, 105],
                "oldest_tasted_days": [400.0, 200.0],
                "total_oxygen_ppb": 60.0,
            }
        ),
        "lives": {("ale", "can", 0.25): LIVES},
        "charts": pl.DataFrame(
            {
                "line": ["one"],
                "format": ["can"],
                "limits_lots": [20],
                "centre_ppb": [60.0],
                "limit_lower_ppb": [30.0],
                "limit_upper_ppb": [120.0],
            }
        ),
        "routes": (FRIDGE, SHELF),
        "limits": pl.DataFrame(
            schema={
                **dict.fromkeys(("beer", "style", "format", "cause"), pl.String),
                "days": pl.Float64,
            }
        ),
        "samples": pl.DataFrame(
            schema={**dict.fromkeys(("lot", "format", "sample"), pl.String), "pulled_on": pl.Date}
        ),
        "policy": Policy(),
    }
    return Background(**usual | changed)


def judge(
    bounds: list[Bounds],
    background: Background | None = None,
    printed: int | None = 105,
    abv: float | None = 5.0,
    **also: object,
) -> dict[str, Any]:
    """Judge the lot of these packages."""
    wanted = pl.DataFrame(
        {
            "lot": ["L1"],
            "format": ["can"],
            "beer": ["Fen"],
            "style": ["ale"],
            "kind": ["can"],
            "abv_pct": [abv],
            "line": ["one"],
            "packaged_on": [DAY],
            "best_before": [printed and DAY + timedelta(days=printed)],
        },
        schema_overrides={"abv_pct": pl.Float64, "best_before": pl.Date},
    )
    packages = packages_of(*bounds, **also)
    lots = packages.select("lot", "format", "line").unique().sort("lot")
    if "L1" not in lots["lot"]:
        lots = pl.concat([lots, wanted.select("lot", "format", "line")])
    oxygen = lot_oxygen(packages, lots, FORMATS, shaken_temperature_c=20.0)
    found = judge_lots(wanted, oxygen, packages, background or behind())
    return found.row(0, named=True)


USUAL = clean(55.0, 58.0, 60.0, 60.0, 62.0, 66.0)
HIGH = clean(230.0, 236.0, 240.0, 240.0, 246.0, 250.0)
LOW = clean(28.0, 29.0, 30.0, 30.0, 31.0, 32.0)


@pytest.mark.parametrize(
    ("bounds", "also", "verdict"),
    [
        (LOW, {}, "holds"),
        (USUAL, {}, "as usual"),
        (USUAL, {"printed": 80}, "holds"),
        (USUAL, {"printed": 150}, "date too long"),
        (HIGH, {}, "shorten"),
        (HIGH, {"printed": 42}, "holds"),
        (HIGH[:5], {}, "too few"),
        (LOW[:5], {}, "too few"),
        ([], {}, "no readings"),
        ([(None, None)] * 8, {}, "no readings"),
        ([(200.0, None)] * 8, {}, "shorten"),
        ([(40.0, None)] * 8, {}, "only bounds"),
        ([(1.0, None)] * 8, {}, "only bounds"),
        ([(200.0, None)] * 5, {}, "too few"),
        ([*HIGH[:5], *([(300.0, None)] * 9)], {}, "too few"),
        ([(0.0, 2.0)] * 6, {}, "holds"),
        (USUAL, {"abv": 0.4}, "no validation"),
        (USUAL, {"abv": None}, "no validation"),
    ],
)
def test_the_verdict(bounds: list[Bounds], also: dict[str, Any], verdict: str) -> None:
    """Cleared by its upper end, shortened by its lower, and six packages for either."""
    assert judge(bounds, **also)["verdict"] == verdict


@pytest.mark.parametrize(
    ("changed", "printed", "verdict"),
    [
        ({"lives": {}}, 105, "no estimate"),
        ({"routes": ()}, 105, "no route"),
        ({"routes": (replace(SHELF, kinds=frozenset({"keg"})),)}, 105, "no route"),
        ({"dates": behind().dates.clear()}, None, "no date"),
        ({"dates": behind().dates.clear()}, 105, "date too long"),
        ({"policy": Policy(cap_days=70)}, 105, "as usual"),
    ],
)
def test_what_is_missing_is_said(
    changed: dict[str, Any], printed: int | None, verdict: str
) -> None:
    """No fit, no route, no date at all: a reason instead of a number, and no error."""
    assert judge(USUAL, behind(**changed), printed=printed)["verdict"] == verdict


def test_a_high_lot_is_shortened_to_what_its_upper_end_supports() -> None:
    """Four times the oxygen halves 100 days at 20 °C; the ten cold days before come on top."""
    found = judge(HIGH)
    upper = found["upper_ppb"]
    assert upper == pytest.approx(240.0, rel=0.25)
    days = float(LIVES.days(SHELF.stages, upper)[0])
    assert found["shorten_days"] == found["supported_days"] == days // 7 * 7
    assert (found["above_line"], found["limit_upper_ppb"]) == (True, 120.0)


def test_the_cold_chain_is_named_where_the_usual_days_hold_there() -> None:
    """The least cold route that is colder than the main one; none where none holds."""
    assert judge(HIGH)["cold_route"] == "fridge"
    assert judge(HIGH)["cold_temp_c"] == 4.0
    assert judge(HIGH, printed=350)["cold_route"] is None
    assert judge(USUAL)["cold_route"] is None


def test_no_lot_is_given_more_than_its_usual_days() -> None:
    """However little oxygen it holds."""
    assert judge(LOW)["supported_days"] == 105
    assert judge(LOW)["shorten_days"] is None


def test_without_a_printed_date_the_date_of_the_style_is_usual() -> None:
    """On the route that takes most of the volume."""
    found = judge(USUAL, printed=None)
    assert (found["usual_days"], found["route"], found["temp_c"]) == (105, "shelf", 20.0)
    assert found["printed_on"] is None


def test_late_readings_alone_leave_no_upper_end() -> None:
    """They say at least, the lot's value and what it holds at most stay open."""
    found = judge([(200.0, None)] * 8)
    assert (found["total_ppb"], found["upper_ppb"]) == (None, None)
    assert found["at_least_ppb"] == pytest.approx(200.0)
    assert found["lower_ppb"] < 200.0
    assert (found["late"], found["packages"]) == (8, 0)
    assert found["shorten_days"] is not None
    assert found["cold_route"] is None  # what is no more than a bound clears on no route


def test_heads_are_named_once_each() -> None:
    """In order; none where nobody wrote them down."""
    assert judge(USUAL, head="7")["heads"] == "7"
    assert judge(USUAL)["heads"] is None


def test_the_next_sample_in_storage_is_named() -> None:
    """The one that is pulled first, of this lot and format alone."""
    samples = pl.DataFrame(
        {
            "lot": ["L1", "L1", "L1", "L2"],
            "format": ["can", "can", "keg", "can"],
            "sample": ["S2", "S1", "S0", "S3"],
            "pulled_on": [DAY, DAY - timedelta(days=1), DAY - timedelta(days=9), DAY],
        }
    )
    found = judge(USUAL, behind(samples=samples))
    assert (found["samples"], found["sample"]) == (2, "S1")


def test_without_a_chart_nothing_is_said_of_the_line() -> None:
    """A new line has no limits; the verdict does not need them."""
    found = judge(HIGH, behind(charts=behind().charts.clear()))
    assert (found["above_line"], found["line_lots"], found["verdict"]) == (None, 0, "shorten")


@given(
    st.lists(st.floats(5.0, 2_000.0), max_size=12),
    st.lists(st.floats(5.0, 2_000.0), max_size=8),
    st.integers(7, 360),
)
def test_too_few_are_never_judged_and_late_ones_never_clear(
    read: list[float], late: list[float], printed: int
) -> None:
    """Whatever the numbers: no holding without six read, no days beyond the usual ones."""
    found = judge([*clean(*read), *((ppb, None) for ppb in late)], printed=printed)
    if found["verdict"] in {"holds", "as usual"}:
        assert len(read) >= ENOUGH
    if 0 < len(read) < ENOUGH:
        assert found["verdict"] == "too few"
    assert (found["supported_days"] or 0) <= printed
    if found["verdict"] == "shorten":
        assert (found["shorten_days"] or 0) < printed


def test_no_lot_asked_about_is_no_row() -> None:
    """An empty table in, an empty table out, with its columns."""
    packages = packages_of(*USUAL)
    lots = packages.select("lot", "format", "line").unique()
    oxygen = lot_oxygen(packages, lots, FORMATS, shaken_temperature_c=20.0)
    wanted = pl.DataFrame(
        schema={
            **dict.fromkeys(("lot", "format", "beer", "style", "kind", "line"), pl.String),
            "abv_pct": pl.Float64,
            "packaged_on": pl.Date,
            "best_before": pl.Date,
        }
    )
    assert judge_lots(wanted, oxygen, packages, behind()).is_empty()
