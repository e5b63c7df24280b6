"""What a package's readings say of its total: a value or bounds, and how sure."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import polars as pl
import pytest

from analysis.oxygen.packages import is_clean, log_bounds, package_oxygen
from analysis.oxygen.partition import shaken_multiplier
from tests.analysis.oxygen.test_dose import FORMATS, LOTS, readings


def package(*rows: dict[str, Any]) -> dict[str, Any]:
    """Return the one package that the rows are read on."""
    table = package_oxygen(
        readings(*({"reading": "R1"} | row for row in rows)),
        LOTS,
        FORMATS,
        shaken_temperature_c=20.0,
        late_after_minutes=120.0,
    )
    return table.row(0, named=True)


def bounds(*rows: dict[str, Any]) -> tuple[str, float | None, float | None]:
    """Return basis and bounds of the one package."""
    row = package(*rows)
    return row["basis"], row["lower_ppb"], row["upper_ppb"]


LATE = {"minutes_after_fill": 300.0}
Z = float(shaken_multiplier(20.0, 12.0, 330.0))


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([{"value": 50.0}], ("total", 50.0, 50.0)),
        ([{"value": 20.0, "quantity": "shaken"}], ("shaken", 20.0 * Z, 20.0 * Z)),
        (
            [{"value": 20.0, "quantity": "dissolved"}, {"value": 30.0, "quantity": "headspace"}],
            ("sum", 50.0, 50.0),
        ),
        (
            [
                {"value": 10.0, "quantity": "dissolved", "bound": "below"},
                {"value": 30.0, "quantity": "headspace"},
            ],
            ("sum", 30.0, 40.0),
        ),
        ([{"value": 50.0} | LATE], ("total", 50.0, None)),
        ([{"value": 500.0, "bound": "above"}], ("total", 500.0, None)),
        ([{"value": 20.0, "quantity": "dissolved"}], ("partial", 20.0, None)),
        ([{"value": 20.0, "quantity": "headspace"}], ("partial", 20.0, None)),
        ([{"value": 10.0, "bound": "below"}], ("total", 0.0, 10.0)),
        ([{"value": -3.0}], ("total", 0.0, 1.0)),
        ([{"value": 10.0, "bound": "below"} | LATE], ("none", None, None)),
        ([{"value": 9.0, "quantity": "dissolved", "bound": "below"}], ("none", None, None)),
        (
            [
                {"value": 500.0, "quantity": "dissolved", "bound": "above"},
                {"value": 30.0, "quantity": "headspace"},
            ],
            ("partial", 530.0, None),
        ),
    ],
)
def test_what_a_package_is_known_to_hold(
    rows: list[dict[str, Any]], expected: tuple[str, float | None, float | None]
) -> None:
    """Basis, at least and at most, for each way in which a package is read."""
    basis, lower, upper = bounds(*rows)
    assert basis == expected[0]
    assert (lower, upper) == pytest.approx(expected[1:])


def test_a_package_that_cannot_be_converted_has_its_beer_side_left() -> None:
    """Shaken without a headspace says nothing; the unshaken reading beside it is a lower bound."""
    shaken = {"format": "keg", "quantity": "shaken", "value": 30.0}
    beer = {"format": "keg", "quantity": "dissolved", "value": 12.0}
    assert bounds(shaken) == ("none", None, None)
    assert bounds(shaken, beer) == ("partial", 12.0, None)
    assert package(shaken, beer)["beer_ppb"] == 12.0


def test_the_uncertainty_follows_from_its_sources() -> None:
    """Meter alone for a total; headspace and temperature on top where a shaken one assumes them."""
    share = 1.0 - 1.0 / Z
    meter = math.hypot(0.07, 1.0 / 30.0)
    shaken = {"quantity": "shaken", "value": 30.0}
    total = package({"value": 30.0})
    assert (total["sd_log"], total["sd_shared"]) == (pytest.approx(meter), 0.0)
    weighed = package(shaken | {"temperature_c": 20.0, "headspace_ml": 12.0})
    assert weighed["sd_log"] == pytest.approx(math.hypot(meter, 0.044 * share))
    assert weighed["sd_shared"] == 0.0
    nominal = package(shaken | {"temperature_c": 20.0})
    assert nominal["sd_shared"] == pytest.approx(0.11 * share)
    assert nominal["sd_log"] == pytest.approx(math.hypot(meter, 0.11 * share))
    warmer = math.log(float(shaken_multiplier(25.0, 12.0, 330.0)) / Z)
    nothing = package(shaken)
    assert nothing["sd_shared"] == pytest.approx(math.hypot(0.11 * share, warmer))
    assert weighed["sd_log"] < nominal["sd_log"] < nothing["sd_log"]


def test_what_was_written_down_beside_the_reading_stays_with_the_package() -> None:
    """Head, position, meter and line, from whichever row of the package says them."""
    row = package(
        {"quantity": "dissolved", "value": 20.0, "lot": "L2", "head": "4"},
        {"quantity": "headspace", "value": 20.0, "lot": "L2", "meter": "M1", "run_position": "end"},
    )
    assert (row["head"], row["meter"], row["run_position"]) == ("4", "M1", "end")
    assert row["line"] == "canning"


def test_clean_packages_are_those_of_equal_bounds() -> None:
    """A late one and one below the floor are not, and logs have no bound as infinity."""
    table = package_oxygen(
        readings({"value": 50.0}, {"value": 50.0} | LATE, {"value": 9.0, "bound": "below"}),
        LOTS,
        FORMATS,
        shaken_temperature_c=20.0,
        late_after_minutes=120.0,
    )
    assert table.filter(is_clean())["lower_ppb"].to_list() == [50.0]
    logs = log_bounds(table).sort("log_lower", "log_upper")
    assert logs["log_lower"].to_list() == [-math.inf, math.log(50.0), math.log(50.0)]
    assert logs["log_upper"].to_list() == [math.log(9.0), math.log(50.0), math.inf]


def test_a_package_read_without_anything_assumed_says_so() -> None:
    """A temperature and a headspace of its own; without them both are noted."""
    known = package(
        {"quantity": "shaken", "value": 9.0, "temperature_c": 5.0, "headspace_ml": 20.0}
    )
    assert (known["no_temperature"], known["no_headspace"]) == (False, False)
    assert known["lower_ppb"] == pytest.approx(9.0 * shaken_multiplier(5.0, 20.0, 330.0))
    bare = package({"quantity": "shaken", "value": 9.0})
    assert (bare["no_temperature"], bare["no_headspace"]) == (True, True)
    assert np.isfinite(bare["sd_log"])


def test_no_readings_give_no_packages() -> None:
    """An empty oxygen table has the same columns and types."""
    empty = package_oxygen(
        readings(), LOTS, FORMATS, shaken_temperature_c=20.0, late_after_minutes=120.0
    )
    assert empty.is_empty()
    assert empty.schema["lower_ppb"] == pl.Float64
