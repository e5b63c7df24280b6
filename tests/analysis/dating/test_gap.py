"""The days between two formats, taken apart into filling, ingress and the rest."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import optimize, special

from analysis.dating.filling import Filling, filled_cells
from analysis.dating.gap import PARTS, closing, crossed_ages, format_gaps, parts_of
from analysis.dating.policy import Policy
from data_demo import truth

if TYPE_CHECKING:
    from collections.abc import Callable

    from analysis.dating.filling import Filled
    from tests.analysis.dating.conftest import Fitted

CROSSINGS = tuple(product((True, False), repeat=3))
FIRST, OTHER = (True, True, True), (False, False, False)
BOUNDS = ("", "_lower", "_upper")


def gaps(fitted: Fitted, **policy: float) -> pl.DataFrame:
    """Return the gaps of a brewery."""
    return format_gaps(fitted.model, fitted.cells, fitted.routes, Policy(**policy))


@given(arrays(np.float64, (8, 5), elements=st.floats(1.0, 1e4)))
def test_parts_add_up_in_every_draw_and_turn_round_with_the_formats(days: np.ndarray) -> None:
    """Whatever the eight crossings are: the sum is the gap, and swapping changes the signs."""
    crossed = dict(zip(CROSSINGS, days, strict=True))
    parts = parts_of(crossed)
    np.testing.assert_allclose(
        sum(parts.values()), crossed[FIRST] - crossed[OTHER], rtol=1e-12, atol=1e-8
    )
    swapped = parts_of({tuple(not s for s in whose): d for whose, d in crossed.items()})
    for name in PARTS:
        np.testing.assert_allclose(swapped[name], -parts[name], rtol=1e-12, atol=1e-8)


@given(arrays(np.float64, (2, 5), elements=st.floats(1.0, 1e4)), st.integers(0, 2))
def test_what_changes_nothing_has_no_part(days: np.ndarray, place: int) -> None:
    """Where one of the three alone decides, it has the whole gap and the others nothing."""
    parts = parts_of({whose: days[0 if whose[place] else 1] for whose in CROSSINGS})
    for name in PARTS:
        whole = days[0] - days[1] if name == PARTS[place] else np.zeros(5)
        np.testing.assert_allclose(parts[name], whole, atol=1e-8)


def test_parts_by_hand() -> None:
    """Filling 10, ingress 20, rest 0, and 6 that filling and ingress do together, shared evenly."""
    crossed = {
        (filling, ingress, rest): np.array(
            [100.0 + 10 * filling + 20 * ingress + 6 * (filling and ingress)]
        )
        for filling, ingress, rest in CROSSINGS
    }
    found = {name: float(part[0]) for name, part in parts_of(crossed).items()}
    assert found == pytest.approx({"filling": 13.0, "ingress": 23.0, "rest": 0.0})


def test_parts_of_every_row_add_up_as_they_are_quoted(fitted: Fitted) -> None:
    """Filling, ingress and rest make the gap, bounds enclose it, and who keeps longer is first."""
    found = gaps(fitted)
    assert found.height > 6
    total = found.select(
        pl.sum_horizontal([f"{p}_days" for p in PARTS]) - pl.col("gap_days")
    ).to_series()
    assert total.abs().max() < 1e-6
    for name in ("gap", *PARTS):
        ordered = pl.col(f"{name}_days_lower") <= pl.col(f"{name}_days_upper")
        assert found.select(ordered.all()).item()
    assert found.select((pl.col("gap_days") > -1.0).all()).item()
    apart = pl.col("shelf_life_days") - pl.col("other_shelf_life_days") - pl.col("gap_days")
    assert found.select((apart.abs() <= 0.1 * pl.col("shelf_life_days")).all()).item()


def test_each_pair_stands_once_on_each_route_that_carries_both(fitted: Fitted) -> None:
    """A keg shares no route with a bottle; bottle and can share three."""
    found = gaps(fitted)
    assert not found.select(pl.col("format", "other_format") == "keg 30").to_series().any()
    key = pl.concat_list(
        pl.min_horizontal("format", "other_format"), pl.max_horizontal("format", "other_format")
    ).list.join("|")
    once = found.group_by("style", key.alias("pair"), "route").len()
    assert once["len"].to_list() == [1] * found.height
    assert set(found["route"]) == {"ambient", "cold chain", "export"}


def test_without_an_effect_of_oxygen_all_is_rest(fitted: Fitted) -> None:
    """At b = 0 filling and ingress account for nothing, and closing them gains nothing."""
    found = gaps(fitted.with_exponents(np.zeros_like))
    for name in ("filling", "ingress", "closed"):
        for end in BOUNDS:
            assert found[f"{name}_days{end}"].drop_nulls().abs().max() < 1e-6
    assert (found["rest_days"] - found["gap_days"]).abs().max() < 1e-6


def test_a_format_beside_itself_is_not_apart(fitted: Fitted) -> None:
    """Equal formats: every crossing is the same age, so that the gap and its parts are 0."""
    same = next(f for f in filled_cells(fitted.cells) if f.cell.format == "bottle 500")
    aged = crossed_ages(fitted.model, same, same, 0.25)
    assert all(np.array_equal(age, aged[FIRST]) for age in aged.values())
    assert all(not part.any() for part in parts_of(aged).values())


def pair(fitted: Fitted, style: str = "pale ale") -> tuple[Filled, Filled]:
    """Return the can and the bottle of a style."""
    by_format = {f.cell.format: f for f in filled_cells(fitted.cells) if f.cell.style == style}
    return by_format["can 440"], by_format["bottle 500"]


def test_equal_filling_and_closures_leave_the_rest_alone(fitted: Fitted) -> None:
    """A bottle filled and closed as the can differs from it by what oxygen does not explain."""
    can, bottle = pair(fitted)
    aged = crossed_ages(fitted.model, can, replace(bottle, filling=can.filling), 0.25)
    parts = parts_of(aged)
    assert np.abs(parts["filling"]).max() == 0.0
    assert np.abs(parts["ingress"]).max() == 0.0
    np.testing.assert_allclose(parts["rest"], aged[FIRST] - aged[OTHER])


def test_less_ingress_and_less_filling_never_take_days(fitted: Fitted) -> None:
    """Where oxygen stales at all, the tighter format is favoured in every draw."""
    able = fitted.with_exponents(np.abs)
    can, bottle = pair(able)
    less = replace(can, filling=Filling(bottle.filling.total_ppb * 0.7, 0.0))
    parts = parts_of(crossed_ages(able.model, less, bottle, 0.25))
    assert parts["filling"].min() >= 0.0
    assert parts["ingress"].min() >= 0.0
    found = gaps(able).drop_nulls("closed_days_lower")
    assert found.height > 0
    assert found["closed_days_lower"].min() >= 0.0


def test_what_would_close_it_is_no_tighter_than_a_scavenging_liner(fitted: Fitted) -> None:
    """The bottle is brought to the can's filling where that is less, and to 0.2 ppb a day."""
    can, bottle = pair(fitted)
    closed = closing(can, bottle)
    assert closed.ingress == 0.2
    assert closed.median_ppb == min(can.filling.median_ppb, bottle.filling.median_ppb)
    found = gaps(fitted)
    bottles = found.filter(pl.col("other_format") == "bottle 500", pl.col("format") == "can 440")
    assert bottles["closed_ingress_ppb_per_day"].unique().to_list() == [0.2]
    other_way = closing(bottle, can)
    assert other_way.ingress == 0.0


def true_days(style: str, totals: np.ndarray, ingress: float, route: str, share: float) -> float:
    """Return the true day at which the share is rejected, of lots filled with these totals."""
    beer = truth.STYLES[style]
    dose = totals + truth.INGRESS_DAYS * ingress
    middle = np.log(beer.median_days) - beer.oxygen_exponent * np.log(dose / 60.0)
    spread = np.sqrt(truth.LOT_SD**2 + truth.ASSESSOR_SD**2 + truth.RESIDUAL_SD**2)
    log_age = optimize.brentq(
        lambda x: float(special.ndtr((x - middle) / spread).mean()) - share, -5.0, 12.0
    )
    return truth.day_at(truth.ROUTES[route], float(np.exp(log_age)), beer.activation_energy)


def test_simulated_truth_is_recovered(fit_brewery: Callable[[int], Fitted]) -> None:
    """Four breweries in which oxygen alone parts can and bottle: bounds hold about four in five."""
    held = dict.fromkeys(("gap", *PARTS), 0)
    number = 0
    for seed in range(4):
        fitted = fit_brewery(20 + seed)
        found = gaps(fitted).filter(
            pl.col("route") == "ambient",
            pl.col("format").is_in(["can 440", "bottle 500"]),
            pl.col("other_format").is_in(["can 440", "bottle 500"]),
        )
        for row in found.rows(named=True):
            filled = {
                f.cell.format: f.filling
                for f in filled_cells(fitted.cells)
                if f.cell.style == row["style"]
            }
            sides = {True: filled[row["format"]], False: filled[row["other_format"]]}
            true = {
                whose: np.array(
                    [
                        true_days(
                            row["style"],
                            sides[whose[0]].total_ppb,
                            sides[whose[1]].ingress,
                            "ambient",
                            0.25,
                        )
                    ]
                )
                for whose in CROSSINGS
            }
            parts = {"gap": true[FIRST] - true[OTHER], **parts_of(true)}
            number += 1
            for name, days in parts.items():
                held[name] += row[f"{name}_days_lower"] <= days[0] <= row[f"{name}_days_upper"]
    assert number == 16
    assert min(held.values()) >= 10
