"""Pressure of carbonated packages, beside published tables, and where they are not stored."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.pressure import Package, headspace_bar, stored_at
from analysis.units import bar_of_psi

# °F, psi, volumes: published, BrewingTechniques 2(1), 1994, "Guideline for degrees of carbonation
# at various beer temperatures", table I; it was not made from the relation.
GUIDELINE = [
    (32, 8, 2.48),
    (34, 10, 2.58),
    (36, 12, 2.67),
    (38, 11, 2.48),
    (40, 10, 2.30),
    (40, 14, 2.65),
    (42, 13, 2.48),
    (45, 15, 2.51),
    (46, 12, 2.22),
]
# °F, volumes, psi: published, "Force Carbonation Tables" of the brewery.org library, made from it.
FORCED = [(32, 2.5, 8.2), (40, 2.0, 6.8), (50, 2.7, 20.1), (60, 3.0, 30.2)]
KEPT_COLD = 4.0
FIZZY = Package("can", 6.0, 2.6, at_rest=True)


def celsius_of(temp_f: float) -> float:
    """Return °C; written again here so that the check stands apart."""
    return (temp_f - 32.0) / 1.8


@pytest.mark.parametrize(("temp_f", "psi", "volumes"), GUIDELINE)
def test_the_published_guideline_is_met(temp_f: float, psi: float, volumes: float) -> None:
    """Within half a psi of the table, whose own steps are 1 psi and 0.01 volumes."""
    pressure = headspace_bar(volumes, celsius_of(temp_f))
    assert pressure == pytest.approx(bar_of_psi(psi), abs=0.5 * 0.0689)


@pytest.mark.parametrize(("temp_f", "volumes", "psi"), FORCED)
def test_the_usual_relation_gives_its_own_table(temp_f: float, volumes: float, psi: float) -> None:
    """To the last printed digit."""
    assert headspace_bar(volumes, celsius_of(temp_f)) == pytest.approx(
        bar_of_psi(psi), abs=0.051 * 0.0689
    )


def test_in_the_warm_henrys_law_takes_over_where_it_is_higher() -> None:
    """At 40 °C and 2.5 volumes 3.8 bar by the solubility of CO2 in water, 0.530 L/(L·atm)."""
    # published: the Bunsen coefficient at 40 °C, 0.530, of older handbooks
    assert headspace_bar(2.5, 40.0) == pytest.approx((2.5 / 0.530 - 1.0) * 1.01325, rel=0.01)
    assert headspace_bar(2.5, 40.0) > bar_of_psi(50.1)


@given(volumes=st.floats(0.5, 5.0), temp_c=st.floats(0.0, 59.0), step=st.floats(0.1, 1.0))
def test_pressure_rises_with_temperature_and_carbonation(
    volumes: float, temp_c: float, step: float
) -> None:
    """And is never below the atmosphere's."""
    here = headspace_bar(volumes, temp_c)
    assert here >= 0.0
    assert headspace_bar(volumes, temp_c + step) >= here
    assert headspace_bar(volumes + step, temp_c) >= here


def test_beer_at_rest_is_within_its_limit_or_left_out() -> None:
    """By its CO2 and its limit; without either nobody says so."""
    assert stored_at(FIZZY, 30.0).within is True
    assert stored_at(FIZZY, 30.0).left_out is None
    weak = stored_at(Package("can", 2.0, 2.6, at_rest=True), 30.0)
    assert weak.within is False
    assert weak.left_out == "its CO2 alone is above the package's limit of 2 bar"
    assert stored_at(Package("can", None, 2.6, at_rest=True), 30.0).within is None
    unknown = stored_at(Package("can", 6.0, None, at_rest=True), 30.0)
    assert (unknown.bar, unknown.within, unknown.left_out) == (None, None, None)


@pytest.mark.parametrize("at_rest", [False, None])
def test_beer_that_may_referment_is_never_within_a_limit(at_rest: bool | None) -> None:  # noqa: FBT001
    """Nor forced in glass, whether it is known or only not excluded; cold it may stand."""
    for kind in ("can", "bottle"):
        assert stored_at(Package(kind, 6.0, 2.6, at_rest), KEPT_COLD).within is None
    assert stored_at(Package("can", 6.0, 2.6, at_rest), 30.0).left_out is None
    glass = Package("bottle", 6.0, 2.6, at_rest)
    assert stored_at(glass, KEPT_COLD).left_out is None
    assert stored_at(glass, 30.0).left_out == "beer that may referment is not forced in glass"


@pytest.mark.parametrize("kind", ["keg", "plastic keg", "cask"])
def test_kegs_are_never_put_in_the_warm_cupboard(kind: str) -> None:
    """Whatever their limit; in the cold and on a shelf they may stand."""
    keg = Package(kind, 7.0, 2.5, at_rest=True)
    assert "lend them a date" in str(stored_at(keg, 30.0).left_out)
    assert stored_at(keg, 20.0).left_out is None


def test_arrays_come_back_in_their_shape() -> None:
    """One pressure for each temperature."""
    assert headspace_bar(2.5, np.array([4.0, 20.0, 30.0])).shape == (3,)
