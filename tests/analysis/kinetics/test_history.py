"""Storage histories: equivalent age, its inverse, and the mean kinetic temperature."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.kinetics.arrhenius import acceleration, activation_energy_from_q10
from analysis.kinetics.history import (
    Stages,
    day_at,
    equivalent_age,
    mean_kinetic_temperature,
    overlaid,
    spells,
)
from analysis.units import GAS_CONSTANT

TEMPERATURES = st.floats(-2.0, 45.0)
ENERGIES = st.floats(45.0, 110.0)
AGES = st.floats(0.0, 3000.0)


@st.composite
def histories(draw: st.DrawFn, *, closed: bool) -> Stages:
    """One to five stages, the last of them endless unless closed."""
    count = draw(st.integers(1, 5))
    days = draw(st.lists(st.floats(0.0, 400.0), min_size=count, max_size=count))
    temps = draw(st.lists(TEMPERATURES, min_size=count, max_size=count))
    return Stages(tuple(days if closed else [*days[:-1], math.inf]), tuple(temps))


@settings(deadline=None)
@given(histories(closed=False), AGES, ENERGIES)
def test_day_at_turns_equivalent_age_round(stages: Stages, age: float, energy: float) -> None:
    """The day by which an age is reached is worth that age."""
    day = day_at(stages, age, energy)
    assert equivalent_age(stages, day, energy) == pytest.approx(age, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(histories(closed=False), st.floats(0.0, 2000.0), ENERGIES)
def test_equivalent_age_turns_day_at_round(stages: Stages, day: float, energy: float) -> None:
    """The age of a day is reached on that day."""
    age = equivalent_age(stages, day, energy)
    assert day_at(stages, age, energy) == pytest.approx(day, rel=1e-9, abs=1e-6)


@settings(deadline=None)
@given(histories(closed=False), AGES, ENERGIES, st.floats(0.1, 10.0))
def test_a_warmer_route_is_shorter(
    stages: Stages, age: float, energy: float, warmer: float
) -> None:
    """With every stage warmer the same age is reached no later."""
    warm = Stages(stages.days, tuple(temp + warmer for temp in stages.temp_c))
    assert day_at(warm, age, energy) <= day_at(stages, age, energy)


@settings(deadline=None)
@given(histories(closed=False), AGES, AGES, ENERGIES)
def test_an_older_age_is_reached_later(
    stages: Stages, one: float, two: float, energy: float
) -> None:
    """The day rises with the age."""
    younger, older = sorted((one, two))
    assert day_at(stages, younger, energy) <= day_at(stages, older, energy)


@settings(deadline=None)
@given(histories(closed=False), AGES, ENERGIES, st.sampled_from([24.0, 1440.0, 1 / 7]))
def test_days_scale(stages: Stages, age: float, energy: float, factor: float) -> None:
    """Stages and age in hours, minutes or weeks give the day in the same unit."""
    other = Stages(tuple(days * factor for days in stages.days), stages.temp_c)
    assert day_at(other, age * factor, energy) == pytest.approx(
        day_at(stages, age, energy) * factor, rel=1e-9, abs=1e-9
    )


@settings(deadline=None)
@given(histories(closed=True), ENERGIES, st.floats(1.0, 100.0))
def test_a_closed_route_ends(stages: Stages, energy: float, more: float) -> None:
    """After its end the age stays, and an older age is never reached."""
    end = sum(stages.days)
    age = equivalent_age(stages, end, energy)
    assert equivalent_age(stages, end + more, energy) == pytest.approx(age)
    assert day_at(stages, age + more, energy) == math.inf
    assert day_at(stages, math.inf, energy) == math.inf


@settings(deadline=None)
@given(AGES, ENERGIES)
def test_at_20_degrees_days_are_days(age: float, energy: float) -> None:
    """Kept at 20 °C throughout, age and days are the same."""
    assert day_at(Stages((math.inf,), (20.0,)), age, energy) == pytest.approx(age)


def test_a_route_worked_by_hand() -> None:
    """Q10 2 from 20 to 30 °C: 10 days at 20, 5 at 30, then 20 °C are 10, 20 and on by one."""
    energy = activation_energy_from_q10(2.0, 20.0)
    stages = Stages((10.0, 5.0, math.inf), (20.0, 30.0, 20.0))
    ages = equivalent_age(stages, [0.0, 10.0, 12.5, 15.0, 22.0], energy)
    assert ages == pytest.approx([0.0, 10.0, 15.0, 20.0, 27.0])
    assert day_at(stages, ages, energy) == pytest.approx([0.0, 10.0, 12.5, 15.0, 22.0])
    assert stages.distribution_days == 15.0


def test_draws_pair_up_and_stay_as_they_were() -> None:
    """One age and one energy a draw give one day a draw, and the inputs are not changed."""
    ages, energies = np.array([100.0, 100.0, np.inf]), np.array([50.0, 90.0, 70.0])
    before = ages.copy(), energies.copy()
    stages = Stages((20.0, math.inf), (4.0, 8.0))
    days = day_at(stages, ages, energies)
    singly = [float(day_at(stages, age, ea)) for age, ea in zip(ages, energies, strict=True)]
    assert days.tolist() == singly
    assert np.array_equal(before, (ages, energies))


@pytest.mark.parametrize(
    ("days", "temps", "words"),
    [
        ((), (), "at least one stage"),
        ((1.0, 2.0), (4.0,), "a temperature for each"),
        ((-1.0,), (4.0,), "0 or more"),
        ((math.nan,), (4.0,), "0 or more"),
        ((math.inf, 1.0), (4.0, 8.0), "only the last stage"),
        ((1.0,), (math.nan,), "needs a temperature"),
        ((1.0,), (-300.0,), r"above -273\.15 °C"),
    ],
)
def test_what_is_no_history_is_refused(
    days: tuple[float, ...], temps: tuple[float, ...], words: str
) -> None:
    """Each fault of a history raises and says what is expected."""
    with pytest.raises(InputError, match=words):
        Stages(days, temps)


@pytest.mark.parametrize(
    ("temps", "times", "expected"),
    [
        ([20.0, 25.0, 30.0], [1, 1, 1], 25.858),
        ([4.0, 4.0, 4.0, 4.0, 16.0], [1, 1, 1, 1, 1], 8.109),
        ([4.0, 16.0], [4, 1], 8.109),
        ([20.0, 40.0], [29, 1], 22.008),
    ],
)
def test_mean_kinetic_temperature(temps: list[float], times: list[float], expected: float) -> None:
    """Identity of the formula of USP <1079.2> with ΔH/R = 10 000 K."""
    energy = 10_000 * GAS_CONSTANT
    assert mean_kinetic_temperature(temps, times, energy) == pytest.approx(expected, abs=6e-4)


@settings(deadline=None)
@given(st.lists(st.tuples(TEMPERATURES, st.floats(0.1, 90.0)), min_size=1, max_size=6), ENERGIES)
def test_the_mean_kinetic_temperature_ages_as_the_history_does(
    spells: list[tuple[float, float]], energy: float
) -> None:
    """All the days at that one temperature are worth the whole history; it lies within it."""
    temps, days = zip(*spells, strict=True)
    mean = mean_kinetic_temperature(temps, days, energy)
    assert min(temps) - 1e-6 <= mean <= max(temps) + 1e-6
    assert sum(days) * acceleration(mean, energy) == pytest.approx(
        float(equivalent_age(Stages(days, temps), sum(days) + 1.0, energy)), rel=1e-8
    )


@pytest.mark.parametrize(
    ("weights", "energy", "words"),
    [([0.0, 0.0], 70.0, "weight"), ([1.0], 70.0, "weight"), ([1.0, 1.0], 0.0, "above 0")],
)
def test_a_mean_of_nothing_is_refused(weights: list[float], energy: float, words: str) -> None:
    """No time at all, a weight missing, or no activation energy raise."""
    with pytest.raises(InputError, match=words):
        mean_kinetic_temperature([4.0, 20.0], weights, energy)


@settings(deadline=None)
@given(st.lists(st.tuples(TEMPERATURES, st.floats(0.1, 90.0)), min_size=1, max_size=6), ENERGIES)
def test_the_mean_kinetic_temperature_lies_between_mean_and_highest(
    kept: list[tuple[float, float]], energy: float
) -> None:
    """Warm hours count for more than their time; a constant temperature is its own."""
    temps, days = zip(*kept, strict=True)
    kinetic = mean_kinetic_temperature(temps, days, energy)
    assert np.average(temps, weights=days) - 1e-6 <= kinetic <= max(temps) + 1e-6
    assert mean_kinetic_temperature([temps[0]] * 3, [1, 2, 3], energy) == pytest.approx(temps[0])


@settings(deadline=None)
@given(histories(closed=False), st.floats(0.01, 0.99), AGES, ENERGIES)
def test_a_stage_split_in_two_and_stages_in_another_order_are_the_same(
    stages: Stages, part: float, day: float, energy: float
) -> None:
    """Splitting changes no day's age; what is over before that day may stand in any order."""
    *way, last = zip(stages.days, stages.temp_c, strict=True)
    halves = [
        half for days, temp in way for half in ((days * part, temp), (days * (1 - part), temp))
    ]
    split, turned = (
        Stages(*map(tuple, zip(*kept, last, strict=True))) for kept in (halves, way[::-1])
    )
    assert equivalent_age(split, day, energy) == pytest.approx(
        float(equivalent_age(stages, day, energy)), rel=1e-9, abs=1e-9
    )
    later = stages.distribution_days + day
    assert equivalent_age(turned, later, energy) == pytest.approx(
        float(equivalent_age(stages, later, energy)), rel=1e-9, abs=1e-9
    )


@settings(deadline=None)
@given(histories(closed=False), AGES, st.floats(0.1, 60.0), ENERGIES)
def test_laying_a_history_over_itself_changes_nothing(
    stages: Stages, begin: float, days: float, energy: float
) -> None:
    """A logger that reads what was planned moves no date."""
    kept = Stages(*map(tuple, zip(*spells(stages, begin, begin + days), strict=True)))
    same = overlaid(stages, begin, kept)
    later = begin + days + 10.0
    assert equivalent_age(same, later, energy) == pytest.approx(
        float(equivalent_age(stages, later, energy)), rel=1e-9
    )


def test_a_logged_spell_takes_the_place_of_the_same_days() -> None:
    """Two days at 30 °C from day 13 on: the last of the store and the first of the shelf."""
    plan = Stages((14.0, math.inf), (12.0, 21.0))
    logged = overlaid(plan, 13.0, Stages((2.0,), (30.0,)))
    assert logged == Stages((13.0, 2.0, math.inf), (12.0, 30.0, 21.0))
    assert spells(plan, 13.0, 16.0) == [(1.0, 12.0), (2.0, 21.0)]
    assert spells(Stages((5.0,), (4.0,)), 5.0, 9.0) == []
