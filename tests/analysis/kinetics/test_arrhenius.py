"""Arrhenius and Q10, against published values and identities."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.kinetics.arrhenius import (
    acceleration,
    acceleration_by_q10,
    activation_energy_from_q10,
    arrhenius_slope,
    q10,
)

TEMPERATURES = st.floats(-2.0, 60.0)
ENERGIES = st.floats(20.0, 180.0)


@pytest.mark.parametrize(
    ("energy", "factor"), [(50.0, 1.9674), (70.0, 2.5789), (83.144, 3.0810), (100.0, 3.8705)]
)
def test_q10_and_activation_energy_from_20_to_30_degrees(energy: float, factor: float) -> None:
    """Identity with R = 8.31446 J/(mol·K), in both directions, to the digits given."""
    assert q10(energy, 20.0) == pytest.approx(factor, abs=5e-5)
    assert activation_energy_from_q10(factor, 20.0) == pytest.approx(energy, abs=5e-3)


def test_the_rule_by_q10_of_accelerated_ageing() -> None:
    """ASTM F1980: Q10 2, 55 against 25 °C, is a factor 8, and 730 days become 91.25."""
    factor = acceleration_by_q10(2.0, 55.0, 25.0)
    assert factor == pytest.approx(8.0)
    assert 730.0 / factor == pytest.approx(91.25)


def test_q10_is_the_ratio_of_two_lives_ten_degrees_apart() -> None:
    """Teaching text on food shelf life: 20 weeks at 20 °C and 10 at 30 °C are a Q10 of 2."""
    energy = activation_energy_from_q10(20.0 / 10.0, 20.0)
    assert q10(energy, 20.0) == pytest.approx(2.0)
    assert acceleration(30.0, energy) == pytest.approx(2.0)


def test_the_rule_of_3_30_300_days_is_no_arrhenius_line() -> None:
    """Common practice, 3 days at 32.2 °C, 30 at 22.2, 300 at 3.3, derived: 173, then 83 kJ/mol.

    One line through the three by least squares has 107 and gives 4.3, 18 and 355 days.
    """
    temps, lives = np.array([32.2, 22.2, 3.3]), np.array([3.0, 30.0, 300.0])
    assert activation_energy_from_q10(lives[1] / lives[0], 22.2) == pytest.approx(173, abs=0.5)
    assert acceleration(22.2, 83.0, 3.3) == pytest.approx(lives[2] / lives[1], rel=0.02)
    slope, intercept = np.polyfit(arrhenius_slope(temps), np.log(lives), 1)
    assert -slope == pytest.approx(107, abs=0.5)
    line = np.exp(intercept) / acceleration(temps, -slope)
    assert line == pytest.approx([4.3, 18, 355], rel=0.02)


def test_the_nist_arrhenius_acceleration() -> None:
    """Identity with NIST e-Handbook 8.4.2.2: exp(Ea/k (1/T0 - 1/T)), Ea 0.863 eV, 85 to 125 °C."""
    by_the_handbook = np.exp(0.863 / 8.617e-5 * (1 / (85 + 273.16) - 1 / (125 + 273.16)))
    assert acceleration(125.0, 0.863 * 96.4853, 85.0) == pytest.approx(by_the_handbook, rel=1e-3)


@settings(deadline=None)
@given(TEMPERATURES, ENERGIES)
def test_the_slope_is_that_of_the_log_acceleration(temp_c: float, energy: float) -> None:
    """The acceleration against 20 °C is exp(Ea · slope), and 1 at 20 °C."""
    assert acceleration(temp_c, energy) == pytest.approx(np.exp(energy * arrhenius_slope(temp_c)))
    assert acceleration(20.0, energy) == 1.0


@settings(deadline=None)
@given(TEMPERATURES, TEMPERATURES, TEMPERATURES, ENERGIES)
def test_accelerations_chain(one: float, two: float, three: float, energy: float) -> None:
    """From one temperature to a third is the same by way of a second."""
    by_way = acceleration(three, energy, two) * acceleration(two, energy, one)
    assert by_way == pytest.approx(acceleration(three, energy, one), rel=1e-9)


@settings(deadline=None)
@given(TEMPERATURES, st.floats(0.1, 20.0), ENERGIES)
def test_warmer_is_faster_and_q10_falls(temp_c: float, warmer: float, energy: float) -> None:
    """The rate rises with temperature while its Q10 falls."""
    assert acceleration(temp_c + warmer, energy) > acceleration(temp_c, energy)
    assert q10(energy, temp_c + warmer) < q10(energy, temp_c)


def test_shapes_broadcast() -> None:
    """Three temperatures in a column against four energies give three rows of four."""
    temps, energies = np.array([[4.0], [20.0], [30.0]]), np.array([50.0, 70.0, 90.0, 110.0])
    assert acceleration(temps, energies).shape == (3, 4)


@pytest.mark.parametrize("factor", [0.0, -2.0])
def test_a_q10_of_nothing_is_refused(factor: float) -> None:
    """A Q10 of 0 or below raises."""
    with pytest.raises(InputError, match="Q10 must be above 0"):
        activation_energy_from_q10(factor, 20.0)
