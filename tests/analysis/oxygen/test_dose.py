"""From readings as people keep them to one dose a lot."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.oxygen.dose import lot_oxygen
from analysis.oxygen.packages import package_oxygen
from analysis.oxygen.partition import shaken_multiplier
from analysis.units import ingress_ppb_per_day

READING = {
    "lot": pl.String,
    "format": pl.String,
    "reading": pl.String,
    "measured_at": pl.Datetime("us"),
    "unit": pl.String,
    "quantity": pl.String,
    "value": pl.Float64,
    "bound": pl.String,
    "filled_at": pl.Datetime("us"),
    "minutes_after_fill": pl.Float64,
    "temperature_c": pl.Float64,
    "headspace_ml": pl.Float64,
    "head": pl.String,
    "run_position": pl.String,
    "meter": pl.String,
    "load_id": pl.Int64,
    "file": pl.String,
    "sheet": pl.String,
    "row_number": pl.Int32,
}
PACKAGED_ON = date(2031, 3, 4)
NOON = datetime(2031, 3, 4, 12)  # noqa: DTZ001 - the tables hold local times
FORMATS = pl.DataFrame(
    {
        "format": ["bottle", "can", "keg", "mini can"],
        "volume_ml": [355.0, 330.0, 30_000.0, 250.0],
        "headspace_ml": [17.0, 12.0, None, None],
        "ingress_ppb_per_day": [None, 0.0, None, None],
        "ingress_ml_o2_per_day": [0.001, None, None, None],
    }
)
LOTS = pl.DataFrame(
    {
        "lot": ["L1", "L1", "L1", "L2"],
        "format": ["bottle", "can", "keg", "can"],
        "packaged_on": [PACKAGED_ON] * 4,
        "line": [None, None, None, "canning"],
    },
    schema_overrides={"line": pl.String},
)


def readings(*rows: dict[str, Any]) -> pl.DataFrame:
    """Make the oxygen table: a can of lot L1, measured at once, unless a row says otherwise."""
    usual = {
        "lot": "L1",
        "format": "can",
        "measured_at": NOON,
        "unit": "ppb",
        "quantity": "total",
        "bound": "",
        "load_id": 1,
        "file": "oxygen.csv",
        "sheet": "",
    }
    filled = [usual | {"row_number": number} | row for number, row in enumerate(rows, start=2)]
    return pl.DataFrame(filled, schema=READING)


def lots_of(table: pl.DataFrame) -> pl.DataFrame:
    """Work out all lots of an oxygen table."""
    packages = package_oxygen(
        table, LOTS, FORMATS, shaken_temperature_c=20.0, late_after_minutes=120.0
    )
    return lot_oxygen(packages, LOTS, FORMATS, shaken_temperature_c=20.0)


def oxygen_of(*rows: dict[str, Any], lot: str = "L1", form: str = "can") -> dict[str, Any]:
    """Work out all lots and return the row of one."""
    table = lots_of(readings(*rows))
    return table.row(by_predicate=(pl.col("lot") == lot) & (pl.col("format") == form), named=True)


def test_a_lot_is_the_geometric_mean_of_its_packages() -> None:
    """20, 40 and 80 ppb, in three units, are 40 ppb in three packages."""
    row = oxygen_of(
        {"value": 20.0}, {"value": 0.04, "unit": "ppm"}, {"value": 80.0, "unit": "ug/L"}
    )
    assert row["total_oxygen_ppb"] == pytest.approx(40.0)
    assert row["packages"] == 3
    assert row["assumed"] is None


def test_every_lot_has_a_row_without_readings_too() -> None:
    """No readings: no total and no dose, counts of 0, and the ingress of the format."""
    table = lots_of(readings())
    assert table.select("lot", "format").rows() == LOTS.select("lot", "format").rows()
    assert table.select("packages", "from_shaken", "late", "below_floor", "unusable").sum().row(
        0
    ) == (0, 0, 0, 0, 0)
    assert table["dose_ppb"].is_null().all()
    assert table["ingress_ppb_per_day"].to_list() == [
        pytest.approx(float(ingress_ppb_per_day(0.001, 355.0))),
        0.0,
        0.0,
        0.0,
    ]


def test_the_dose_is_the_total_and_90_days_of_ingress() -> None:
    """50 ppb in a bottle whose crown lets in 0.001 mL a day: 50 + 90 · 3.75."""
    row = oxygen_of({"value": 50.0, "format": "bottle"}, form="bottle")
    assert row["dose_ppb"] == pytest.approx(50.0 + 90.0 * 3.75, rel=1e-3)


def test_a_shaken_reading_is_multiplied() -> None:
    """Its own temperature and headspace are used, and nothing was assumed."""
    row = oxygen_of(
        {"value": 30.0, "quantity": "shaken", "temperature_c": 5.0, "headspace_ml": 20.0}
    )
    assert row["total_oxygen_ppb"] == pytest.approx(30.0 * shaken_multiplier(5.0, 20.0, 330.0))
    assert (row["from_shaken"], row["assumed"]) == (1, None)


def test_what_a_shaken_reading_does_not_say_is_assumed_and_said() -> None:
    """Without temperature and headspace: 20 °C and the format's, counted in words."""
    row = oxygen_of(
        {"value": 30.0, "quantity": "shaken"},
        {"value": 30.0, "quantity": "shaken", "temperature_c": 20.0},
    )
    assert row["total_oxygen_ppb"] == pytest.approx(30.0 * shaken_multiplier(20.0, 12.0, 330.0))
    assert row["assumed"] == "shaken at 20 °C for 1; headspace of the format for 2"


@pytest.mark.parametrize(
    "fault", [{"format": "keg"}, {"format": "can", "temperature_c": 55.0}], ids=["headspace", "hot"]
)
def test_a_shaken_reading_that_cannot_be_converted_is_unusable(fault: dict[str, Any]) -> None:
    """No headspace known at all, or hotter than the solubility is known for."""
    row = oxygen_of({"value": 30.0, "quantity": "shaken"} | fault, form=fault["format"])
    assert (row["packages"], row["unusable"], row["total_oxygen_ppb"]) == (0, 1, None)


def test_a_shaken_keg_with_a_headspace_is_taken_at_its_word() -> None:
    """A keg entered as shaken is converted like any package."""
    row = oxygen_of(
        {"value": 30.0, "quantity": "shaken", "format": "keg", "headspace_ml": 900.0}, form="keg"
    )
    assert row["total_oxygen_ppb"] == pytest.approx(30.0 * shaken_multiplier(20.0, 900.0, 30_000))


def test_dissolved_and_headspace_of_one_package_add_up() -> None:
    """By the reading's name over two rows, or by file, sheet and row where it has none."""
    row = oxygen_of(
        {"reading": "R1", "quantity": "dissolved", "value": 10.0},
        {"reading": "R1", "quantity": "headspace", "value": 30.0},
        {"quantity": "dissolved", "value": 10.0, "row_number": 9},
        {"quantity": "headspace", "value": 0.03, "unit": "mg/L", "row_number": 9},
    )
    assert (row["packages"], row["total_oxygen_ppb"]) == (2, pytest.approx(40.0))


@pytest.mark.parametrize(
    "elsewhere", [{"sheet": "May"}, {"file": "old.csv"}, {"load_id": 2}, {"row_number": 8}]
)
def test_halves_of_two_packages_do_not_add_up(elsewhere: dict[str, Any]) -> None:
    """Dissolved here and headspace in another place are two lower bounds."""
    row = oxygen_of(
        {"quantity": "dissolved", "value": 10.0, "row_number": 2},
        {"quantity": "headspace", "value": 30.0, "row_number": 2} | elsewhere,
    )
    assert (row["packages"], row["part"], row["total_oxygen_ppb"]) == (0, 2, None)
    assert row["at_least_ppb"] == pytest.approx(300.0**0.5)


@pytest.mark.parametrize("quantity", ["dissolved", "headspace"])
def test_half_a_package_is_a_lower_bound(quantity: str) -> None:
    """The beer alone or the gas alone: 10 says next to nothing beside 50, 100 pulls up."""
    low = oxygen_of({"quantity": quantity, "value": 10.0}, {"value": 50.0})
    high = oxygen_of({"quantity": quantity, "value": 100.0}, {"value": 50.0})
    assert (low["packages"], low["part"], low["at_least_ppb"]) == (1, 1, None)
    assert low["total_oxygen_ppb"] == pytest.approx(50.0, rel=1e-3)
    assert 50.0 < high["total_oxygen_ppb"] < 100.0 * 2.0**0.5


def test_a_total_is_preferred_to_a_shaken_and_that_to_halves() -> None:
    """Each package counts once, by the best that was read on it."""
    halves = [
        {"reading": "R1", "quantity": "dissolved", "value": 1.0},
        {"reading": "R1", "quantity": "headspace", "value": 1.0},
    ]
    shaken = {"reading": "R1", "quantity": "shaken", "value": 30.0}
    total = {"reading": "R1", "quantity": "total", "value": 55.0}
    both = oxygen_of(*halves, shaken)
    assert (both["packages"], both["from_shaken"]) == (1, 1)
    every = oxygen_of(*halves, shaken, total)
    assert (every["packages"], every["from_shaken"], every["assumed"]) == (1, 0, None)
    assert every["total_oxygen_ppb"] == pytest.approx(55.0)


@pytest.mark.parametrize(
    ("when", "late"),
    [
        ({"minutes_after_fill": 120.0}, 0),
        ({"minutes_after_fill": 121.0}, 1),
        ({"filled_at": datetime(2031, 3, 4, 10)}, 0),  # noqa: DTZ001 - local, as NOON
        ({"filled_at": datetime(2031, 3, 4, 9, 59)}, 1),  # noqa: DTZ001
        ({"filled_at": datetime(2031, 3, 4, 9), "minutes_after_fill": 30.0}, 0),  # noqa: DTZ001
        ({"measured_at": datetime(2031, 3, 5, 2)}, 0),  # noqa: DTZ001
        ({"measured_at": datetime(2031, 3, 5, 2, 1)}, 1),  # noqa: DTZ001
        ({"measured_at": None}, 0),
    ],
)
def test_a_late_reading_is_counted_as_a_bound(when: dict[str, Any], late: int) -> None:
    """Late is after 120 minutes, or as long after the packaging day where no time is known."""
    row = oxygen_of({"value": 40.0}, {"value": 10.0} | when)
    assert (row["packages"], row["late"], row["unusable"]) == (2 - late, late, 0)
    assert row["total_oxygen_ppb"] == pytest.approx(40.0 if late else 20.0, rel=1e-3)


def test_below_the_floor_is_an_upper_bound() -> None:
    """Below 10 is at most 10, nothing and less than nothing at most 1 ppb, all counted."""
    row = oxygen_of(
        {"value": 10.0, "bound": "below"}, {"value": 0.0}, {"value": -3.0}, {"value": 10.0}
    )
    assert (row["packages"], row["below_floor"]) == (4, 3)
    assert row["total_oxygen_ppb"] < 10.0**0.5  # what it would be at the floors
    assert row["total_oxygen_lower_ppb"] < row["total_oxygen_ppb"] < row["total_oxygen_upper_ppb"]


def test_above_the_range_is_a_lower_bound() -> None:
    """Above 500 is at least 500, unless the package was read in another way too."""
    row = oxygen_of(
        {"value": 500.0, "bound": "above"},
        {"reading": "R1", "value": 500.0, "bound": "above"},
        {"reading": "R1", "quantity": "shaken", "value": 30.0},
    )
    assert (row["packages"], row["part"], row["from_shaken"]) == (1, 1, 1)
    assert row["total_oxygen_ppb"] > 30.0 * shaken_multiplier(20.0, 12.0, 330.0)


def test_lots_of_one_code_keep_their_readings_apart() -> None:
    """One code in can and keg, and another code in cans, are three lots."""
    rows = (
        {"value": 50.0},
        {"value": 20.0, "format": "keg"},
        {"value": 90.0, "lot": "L2"},
    )
    assert oxygen_of(*rows)["total_oxygen_ppb"] == pytest.approx(50.0)
    assert oxygen_of(*rows, form="keg")["total_oxygen_ppb"] == pytest.approx(20.0)
    assert oxygen_of(*rows, lot="L2")["total_oxygen_ppb"] == pytest.approx(90.0)


@settings(deadline=None, max_examples=30)
@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "value": st.floats(-5.0, 900.0),
                "quantity": st.sampled_from(["total", "shaken", "dissolved", "headspace"]),
                "bound": st.sampled_from(["", "below", "above", None]),
                "minutes_after_fill": st.sampled_from([None, 10.0, 300.0]),
                "format": st.sampled_from(["bottle", "can", "keg"]),
            }
        ),
        max_size=12,
    ),
    st.integers(0, 1000),
)
def test_every_package_is_counted_once_in_any_order(rows: list[dict[str, Any]], seed: int) -> None:
    """Read, late, part and unusable add up to all packages; shuffled rows change nothing."""
    table = readings(*rows)
    shuffled = table.sample(fraction=1.0, shuffle=True, seed=seed)
    out = lots_of(table)
    counts = out.select("packages", "late", "part", "unusable").sum_horizontal()
    assert counts.sum() == len(rows)
    assert lots_of(shuffled).equals(out)
