"""Two sides on one panel: means, difference, and what is not known of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, t

from analysis.errors import NotEstimable
from analysis.panel.contrast import Glasses, contrast


def panel(
    rng: np.random.Generator,
    *,
    lots: int = 3,
    cells: int = 3,
    people: int = 10,
    attendance: float = 1.0,
    spread: tuple[float, float, float] = (0.3, 0.3, 0.2),
    apart: float = 0.0,
) -> Glasses:
    """Simulate lots of two sides, each cell of a lot tasted in a session of its own.

    Args:
        rng: the randomness.
        lots: of each side.
        cells: storages and ages.
        people: assessors.
        attendance: chance that one comes.
        spread: SD of assessors' own difference, of lots, of sessions.
        apart: the true difference.
    """
    cell, lot, side, who = (
        axis.ravel()
        for axis in np.meshgrid(
            np.arange(cells), np.arange(lots), np.arange(2), np.arange(people), indexing="ij"
        )
    )
    session = (cell * lots + lot) * 2 + side
    here = rng.uniform(size=len(cell)) < attendance
    own, of_lot, of_session = spread
    value = (
        rng.normal(0, 1.5, cells)[cell]
        + rng.normal(0, 1, people)[who]
        + rng.normal(0, own, (people, 2))[who, side]
        + rng.normal(0, of_lot, 2 * lots)[2 * lot + side]
        + rng.normal(0, of_session, 2 * lots * cells)[session]
        + rng.normal(0, 0.8, len(cell))
        + apart * side
    )
    codes = {"session": session[here], "lot": (2 * lot + side)[here]}
    dense = {name: np.unique(code, return_inverse=True)[1] for name, code in codes.items()}
    return Glasses(value[here], side[here] == 1, cell[here], who[here], dense)


def test_on_balanced_data_means_are_means() -> None:
    """Where everybody tasted everything, least squares changes nothing (identity)."""
    glasses = panel(np.random.default_rng(1))
    found = contrast(glasses)
    first, second = (glasses.value[glasses.second == side].mean() for side in (False, True))
    assert (found.first.value, found.second.value) == pytest.approx((first, second))
    assert found.difference.value == pytest.approx(second - first)


def test_on_balanced_data_the_error_is_that_of_assessors_own_differences() -> None:
    """One session: the standard error and bounds are those of a paired t-test (identity)."""
    glasses = replace(panel(np.random.default_rng(2), lots=1, cells=1, people=8), clusters={})
    own = glasses.value[glasses.second] - glasses.value[~glasses.second]
    found = contrast(glasses).difference
    assert found.error == pytest.approx(own.std(ddof=1) / np.sqrt(8))
    assert found.freedom == pytest.approx(7)
    reach = t.ppf(0.95, 7) * found.error
    assert found.bounds(0.90) == pytest.approx((own.mean() - reach, own.mean() + reach))


def test_a_cell_that_one_side_tasted_more_does_not_favour_it() -> None:
    """The older cell scores 5 higher and was tasted by all of one side, by few of the other."""
    glasses = panel(np.random.default_rng(3), spread=(0.0, 0.0, 0.0))
    older = glasses.cell == 2
    value = glasses.value + 5.0 * older
    kept = ~(older & ~glasses.second & (glasses.assessor > 2))
    part = Glasses(
        value[kept],
        glasses.second[kept],
        glasses.cell[kept],
        glasses.assessor[kept],
        {name: codes[kept] for name, codes in glasses.clusters.items()},
    )
    raw = part.value[part.second].mean() - part.value[~part.second].mean()
    assert raw > 0.7
    assert abs(contrast(part).difference.value) < 0.4


@pytest.mark.parametrize("spread", [(0.3, 0.3, 0.2), (0.3, 0.0, 0.0), (0.0, 0.5, 0.0)])
def test_bounds_cover_whatever_differs(spread: tuple[float, float, float]) -> None:
    """120 panels with 70 % there: 90 % bounds hold as often as they say, or a little more."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(120):
        glasses = panel(rng, attendance=0.7, spread=spread, apart=0.4)
        lower, upper = contrast(glasses).difference.bounds(0.90)
        held += lower <= 0.4 <= upper
    assert held >= binom.ppf(0.005, 120, 0.90)


def lone(glasses: Glasses, *, lot: int) -> Glasses:
    """Keep of the second side the first lot alone, under another code."""
    kept = ~glasses.second | (glasses.clusters["lot"] == 1)
    codes = np.where(glasses.second, lot, glasses.clusters["lot"] // 2)
    return Glasses(
        glasses.value[kept],
        glasses.second[kept],
        glasses.cell[kept],
        glasses.assessor[kept],
        {"lot": codes[kept]},
    )


def test_one_lot_is_held_against_what_its_neighbours_differ_by() -> None:
    """Four lots and a fifth that is like them: 90 % bounds hold nothing as often as they say."""
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(120):
        found = contrast(lone(panel(rng, lots=4, spread=(0.2, 0.5, 0.0)), lot=-1)).difference
        lower, upper = found.bounds(0.90)
        held += lower <= 0.0 <= upper
    assert held >= binom.ppf(0.005, 120, 0.90)
    with pytest.raises(NotEstimable, match="n = 4 and 1 lot"):
        contrast(lone(panel(rng, lots=4), lot=4))


def test_glasses_that_were_all_accepted_are_no_proof() -> None:
    """Eight of eight on both sides leave room for a difference."""
    glasses = panel(np.random.default_rng(9), lots=1, cells=1, people=8)
    none = replace(glasses, value=np.zeros(16), clusters={}, share=True)
    lower, upper = contrast(none).difference.bounds(0.90)
    assert lower < -0.1
    assert upper > 0.1


def test_two_people_are_too_few() -> None:
    """And how many there are is said."""
    glasses = panel(np.random.default_rng(4), people=2)
    with pytest.raises(NotEstimable, match="n = 2 assessors who tasted both"):
        contrast(glasses)


def test_one_lot_a_side_does_not_speak_for_its_kind() -> None:
    """What lots differ by cannot be told from one."""
    glasses = panel(np.random.default_rng(4), lots=1)
    with pytest.raises(NotEstimable, match="n = 1 and 1 lot"):
        contrast(glasses)
