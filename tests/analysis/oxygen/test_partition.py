"""Oxygen between beer and headspace, against published tables and multipliers."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.oxygen.partition import oxygen_solubility, partition, shaken_multiplier

SOLUBILITY = Path(__file__).parents[2] / "reference" / "oxygen_solubility_freshwater_1atm.csv"
TEMPERATURES = st.floats(-2.0, 40.0)


def column(name: str) -> np.ndarray:
    """Read a column of the solubility table; what is not printed is NaN."""
    with SOLUBILITY.open(encoding="utf-8", newline="") as file:
        return np.array([float(row[name] or "nan") for row in csv.DictReader(file)])


def test_solubility_is_that_of_benson_and_krause() -> None:
    """Benson & Krause 1984, evaluated at 0 to 40 °C, to its four printed decimals."""
    expected = column("mgL_BensonKrause_APHA_eq")
    assert oxygen_solubility(column("temp_C")) == pytest.approx(expected, abs=6e-5)


def test_solubility_is_that_of_the_standard() -> None:
    """EN 25814, 0 to 30 °C: 9.09 mg/L at 20 °C, and within its rounding from 8 °C on.

    At 6 and 7 °C it prints 12.5 and 12.2, which is 0.05 and 0.06 above the equation.
    """
    expected = column("mgL_EN25814_table_read")
    printed = ~np.isnan(expected)
    apart = np.abs(oxygen_solubility(column("temp_C")) - expected)[printed]
    last_digit = np.where(expected[printed] < 10.0, 0.01, 0.1)
    assert oxygen_solubility(20.0) == pytest.approx(9.09, abs=0.005)
    assert printed.sum() == 31
    assert np.all(apart[8:] < 0.51 * last_digit[8:])
    assert np.all(apart[:8] < 0.062)


def test_partition_agrees_with_independent_measurements() -> None:
    """Weiss 1970 gives a Bunsen coefficient: K = 273.15 / (T · it), within 0.4 %."""
    temp_c = column("temp_C")
    expected = 273.15 / (temp_c + 273.15) / column("bunsen_Weiss1970_eq_mL_per_mL_atm")
    assert partition(temp_c) == pytest.approx(expected, rel=4e-3)


@pytest.mark.parametrize(
    ("volume_ml", "headspace_ml", "temp_c", "published"),
    [
        (355.0, 17.0, 5.0, 2.1),
        (355.0, 22.0, 5.0, 2.4),
        (355.0, 17.0, 20.0, 2.4),
        (355.0, 22.0, 20.0, 2.9),
        (651.0, 25.0, 5.0, 1.9),
        (651.0, 35.0, 5.0, 2.2),
        (651.0, 25.0, 20.0, 2.2),
        (651.0, 35.0, 20.0, 2.6),
    ],
)
def test_multipliers_of_shaken_readings(
    volume_ml: float, headspace_ml: float, temp_c: float, published: float
) -> None:
    """Published multipliers after Vilachá & Uhlig 1985, printed to one decimal."""
    multiplier = shaken_multiplier(temp_c, headspace_ml, volume_ml)
    assert multiplier == pytest.approx(published, abs=0.06)


@pytest.mark.parametrize(
    ("headspace_ml", "published", "ours"), [(15.0, 227.0, 226.0), (25.0, 312.0, 311.0)]
)
def test_total_of_100_ppb_shaken(headspace_ml: float, published: float, ours: float) -> None:
    """The same source, 355 mL at 20 °C: 227 and 312 ppb; the formula gives 1 ppb less."""
    total = 100.0 * shaken_multiplier(20.0, headspace_ml, 355.0)
    assert total == pytest.approx(published, abs=2.0)
    assert total == pytest.approx(ours, abs=0.5)


@settings(deadline=None)
@given(TEMPERATURES, st.floats(0.0, 60.0), st.floats(100.0, 30_000.0))
def test_mass_is_kept(temp_c: float, headspace_ml: float, volume_ml: float) -> None:
    """Z counts the oxygen in the beer and in the gas above it, for each litre of beer."""
    in_beer, in_gas = 50.0 * volume_ml, 50.0 * partition(temp_c) * headspace_ml
    total = 50.0 * shaken_multiplier(temp_c, headspace_ml, volume_ml)
    assert total == pytest.approx((in_beer + in_gas) / volume_ml)


@settings(deadline=None)
@given(TEMPERATURES, TEMPERATURES)
def test_warm_beer_holds_less(one: float, two: float) -> None:
    """The warmer, the more of the oxygen is in the headspace, 0 to 40 °C and just below."""
    colder, warmer = sorted((one, two))
    assert partition(colder) <= partition(warmer)
    assert oxygen_solubility(colder) >= oxygen_solubility(warmer)


def test_no_headspace_no_correction() -> None:
    """A package filled to the brim reads its total."""
    assert shaken_multiplier(20.0, 0.0, 355.0) == 1.0


def test_missing_headspace_gives_no_multiplier() -> None:
    """NaN in is NaN out, in its place, and the rest is as without it."""
    multiplier = shaken_multiplier([20.0, 20.0, math.nan], [17.0, math.nan, 17.0], 355.0)
    assert np.isnan(multiplier).tolist() == [False, True, True]
    assert multiplier[0] == shaken_multiplier(20.0, 17.0, 355.0)


@pytest.mark.parametrize(
    ("temp_c", "headspace_ml", "volume_ml", "words"),
    [
        (-2.1, 17.0, 355.0, "known from -2 to 40 °C"),
        (40.1, 17.0, 355.0, "known from -2 to 40 °C"),
        (20.0, -1.0, 355.0, "headspace"),
        (20.0, 17.0, 0.0, "volume"),
    ],
)
def test_what_cannot_be_is_refused(
    temp_c: float, headspace_ml: float, volume_ml: float, words: str
) -> None:
    """Temperatures outside the equation, negative gas and no beer raise."""
    with pytest.raises(InputError, match=words):
        shaken_multiplier(temp_c, headspace_ml, volume_ml)
