"""Unit conversions, against published conversions and identities."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.units import (
    air_ppb,
    celsius,
    gas_oxygen_mg_per_l,
    ingress_ppb_per_day,
    kelvin,
    oxygen_ppb,
)


@pytest.mark.parametrize(
    ("value", "unit", "ppb"),
    [(45.0, "ppb", 45.0), (45.0, "ug/L", 45.0), (0.045, "ppm", 45.0), (0.045, "mg/L", 45.0)],
)
def test_one_concentration_in_four_units_is_the_same_ppb(
    value: float, unit: str, ppb: float
) -> None:
    """Identity: 45 µg/L is 0.045 mg/L is 45 ppb."""
    assert oxygen_ppb(value, unit) == pytest.approx(ppb)


def test_an_unknown_oxygen_unit_is_refused_with_the_known_ones() -> None:
    """A unit of no table of ours raises and says what was expected."""
    with pytest.raises(InputError, match=r"no oxygen unit 'g/L': expected one of ppb, ug/L, ppm"):
        oxygen_ppb(1.0, "g/L")


@pytest.mark.parametrize(
    ("ml_a_day", "ppb_a_day", "ppb_in_180_days"), [(0.001, 3.75, 675.0), (0.002, 7.5, 1350.0)]
)
def test_what_a_crown_lets_in(ml_a_day: float, ppb_a_day: float, ppb_in_180_days: float) -> None:
    """Crowns of 0.001 to 0.002 mL O2 a day, J. Am. Soc. Brew. Chem. 45:14, 1987, in 355 mL.

    The ppb are derived from it and rounded: 3.75 stands for 3.747.
    """
    ingress = ingress_ppb_per_day(ml_a_day, 355.0)
    assert ingress == pytest.approx(ppb_a_day, rel=1e-3)
    assert ingress * 180.0 == pytest.approx(ppb_in_180_days, rel=1e-3)


def test_a_millilitre_of_air_in_355_ml_is_785_ppb() -> None:
    """Identity of the ideal gas: 0.20946 mL · 31.998 g/mol / 24.055 L/mol in 0.355 L."""
    assert air_ppb(1.0, 355.0) == pytest.approx(0.20946 * 31.998 / 24.0552 / 0.355 * 1000, rel=1e-5)
    assert air_ppb(1.0, 355.0) == pytest.approx(785.0, abs=0.5)


def test_a_mole_of_gas_fills_22_4_litres_at_0_degrees() -> None:
    """Identity with the molar volume of an ideal gas, 22.41397 L/mol at 0 °C and 1 atm (CODATA)."""
    assert gas_oxygen_mg_per_l(0.0) == pytest.approx(31_998 / 22.41397, rel=1e-6)


@settings(deadline=None)
@given(st.floats(-200.0, 500.0))
def test_celsius_turns_kelvin_round(temp_c: float) -> None:
    """To K and back is the same temperature."""
    assert celsius(kelvin(temp_c)) == pytest.approx(temp_c, abs=1e-9)


@pytest.mark.parametrize("temp_c", [-273.15, -300.0, math.inf, [20.0, -280.0]])
def test_what_is_no_temperature_is_refused(temp_c: float | list[float]) -> None:
    """Absolute zero, what lies below and infinity raise, in an array too."""
    with pytest.raises(InputError, match=r"above -273\.15 °C"):
        kelvin(temp_c)


def test_missing_stays_missing() -> None:
    """NaN in is NaN out, in its place."""
    assert np.isnan(kelvin([20.0, math.nan])).tolist() == [False, True]
