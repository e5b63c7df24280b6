"""What closures let in, and the week in which that overtakes the filling."""

from __future__ import annotations

import math
from typing import Any

import polars as pl
import pytest

from analysis.oxygen.ingress import ingress_table
from analysis.units import ingress_ppb_per_day

FORMAT = {
    **dict.fromkeys(("format", "kind", "closure"), pl.String),
    **dict.fromkeys(("volume_ml", "ingress_ppb_per_day", "ingress_ml_o2_per_day"), pl.Float64),
}
LOT = {
    **dict.fromkeys(("lot", "format", "closure"), pl.String),
    **dict.fromkeys(
        ("total_oxygen_ppb", "at_least_ppb", "ingress_ppb_per_day"),
        pl.Float64,
    ),
}


def row(
    format_: dict[str, Any], *totals: float | None, closure: str | None = "crown", **lot: object
) -> dict[str, Any]:
    """Return the table's row of one format, 355 mL, whose lots held these totals."""
    formats = pl.DataFrame(
        [{"format": "bottle", "kind": "bottle", "closure": "crown", "volume_ml": 355.0} | format_],
        schema=FORMAT,
    )
    per_day = format_.get("ingress_ppb_per_day") or 0.0
    if (ml := format_.get("ingress_ml_o2_per_day")) is not None:
        per_day = float(ingress_ppb_per_day(ml, 355.0))
    lots = pl.DataFrame(
        [
            {
                "lot": f"L{place}",
                "format": "bottle",
                "closure": closure,
                "total_oxygen_ppb": total,
                "ingress_ppb_per_day": per_day,
            }
            | lot
            for place, total in enumerate(totals)
        ],
        schema=LOT,
    )
    return ingress_table(lots, lots.select("lot", "format", "closure"), formats).row(0, named=True)


def test_ingress_overtakes_the_filling_in_the_week_of_total_over_ingress() -> None:
    """60 ppb at 5 ppb a day: day 12, in week 2; an interval from the lots' totals."""
    found = row({"ingress_ppb_per_day": 5.0}, 50.0, 60.0, 72.0)
    assert found["overtakes_days"] == pytest.approx(12.0)
    assert found["overtakes_week"] == 2
    assert found["overtakes_days_lower"] == pytest.approx(found["total_oxygen_ppb_lower"] / 5.0)
    assert found["overtakes_week_lower"] == math.floor(found["overtakes_days_lower"] / 7) + 1
    assert found["overtakes_week_lower"] <= 2 <= found["overtakes_week_upper"]


@pytest.mark.parametrize(
    ("ml_a_day", "ppb_a_day", "days_to_355_ppb"), [(0.001, 3.75, 94.7), (0.002, 7.5, 47.3)]
)
def test_a_crown_of_the_literature(
    ml_a_day: float, ppb_a_day: float, days_to_355_ppb: float
) -> None:
    """0.001 to 0.002 mL O2 a day in 355 mL, J. Am. Soc. Brew. Chem. 45:14, 1987 (published)."""
    found = row({"ingress_ml_o2_per_day": ml_a_day}, 355.0)
    assert found["ingress_ppb_per_day"] == pytest.approx(ppb_a_day, rel=0.005)
    assert found["ingress_ml_o2_per_day"] == pytest.approx(ml_a_day)
    assert found["overtakes_days"] == pytest.approx(days_to_355_ppb, rel=0.005)
    assert found["overtakes_days_lower"] is None


def test_what_lets_nothing_in_never_overtakes() -> None:
    """Nothing in, no day and no week; whether the table says so or it is taken so is told."""
    said = row({"ingress_ppb_per_day": 0.0}, 60.0, 70.0)
    assert (said["overtakes_days"], said["overtakes_week"], said["ingress_given"]) == (
        None,
        None,
        True,
    )
    assert row({}, 60.0)["ingress_given"] is False


def test_other_closures_are_counted_and_lots_known_as_bounds_are_too() -> None:
    """A lot without a word of its closure has the format's; one known at least is a bound."""
    other = row({"ingress_ppb_per_day": 1.0}, 60.0, 70.0, closure="scavenging liner")
    assert other["lots_other_closure"] == 2
    assert row({"ingress_ppb_per_day": 1.0}, 60.0, closure=None)["lots_other_closure"] == 0
    assert row({"closure": None}, 60.0, closure="cork")["lots_other_closure"] == 0
    bounds = row({"ingress_ppb_per_day": 1.0}, None, None, at_least_ppb=80.0)
    assert (bounds["lots"], bounds["lots_bounds"], bounds["overtakes_week"]) == (2, 2, None)
    unread = row({"ingress_ppb_per_day": 1.0}, None)
    assert (unread["lots"], unread["total_oxygen_ppb"]) == (0, None)


def test_without_lots_there_is_no_row() -> None:
    """A format that nothing was filled into is not told of."""
    empty = pl.DataFrame(schema=LOT)
    formats = pl.DataFrame([{"format": "can", "kind": "can", "volume_ml": 440.0}], schema=FORMAT)
    assert ingress_table(empty, empty, formats).is_empty()


def test_a_format_whose_lots_are_left_out_has_no_row() -> None:
    """Lots of a withdrawn beer have no oxygen, and their format is not told of."""
    formats = pl.DataFrame([{"format": "can", "kind": "can", "volume_ml": 440.0}], schema=FORMAT)
    lots = pl.DataFrame([{"lot": "L1", "format": "can"}], schema=LOT)
    assert ingress_table(lots.clear(), lots, formats).is_empty()
