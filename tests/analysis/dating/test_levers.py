"""Days gained by less oxygen, a better closure, a mended head, a colder way."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from analysis.dating.levers import bad_head_factor, cold, less_at_filling, levers
from analysis.dating.policy import Policy
from analysis.kinetics.history import Stages

if TYPE_CHECKING:
    from tests.analysis.dating.conftest import Fitted

CANNING = {"canning": bad_head_factor(1.8, 4)}
GAINED = ["days_gained_lower", "days_gained", "days_gained_upper"]


def gained(fitted: Fitted, **policy: float) -> pl.DataFrame:
    """Return the levers of a brewery whose canning line has a bad head."""
    return levers(fitted.model, fitted.cells, fitted.routes, Policy(**policy), CANNING)


def test_each_lever_stands_where_it_can_be_pulled(fitted: Fitted) -> None:
    """A liner where a closure lets in, a head on its line, the cold where the way is warm."""
    found = gained(fitted)
    by_lever = {
        name: part.select("format", "route").unique() for (name,), part in found.group_by("lever")
    }
    assert set(by_lever["scavenging liner"]["format"]) == {"bottle 500"}
    assert set(by_lever["bad head mended"]["format"]) == {"can 440"}
    assert set(by_lever["cold warehouse"]["route"]) == {"ambient", "export"}
    assert set(by_lever["20 ppb less"]["format"]) >= {"bottle 500", "can 440", "keg 30"}
    key = ["style", "format", "route", "lever"]
    assert not found.select(key).is_duplicated().any()


def test_without_a_bad_head_no_head_can_be_mended(fitted: Fitted) -> None:
    """No line named, no row."""
    found = levers(fitted.model, fitted.cells, fitted.routes, Policy(), {})
    assert "bad head mended" not in found["lever"].to_list()


def test_less_oxygen_never_shortens_where_oxygen_stales_at_all(fitted: Fitted) -> None:
    """Every draw's gain is 0 or more, bounds in order; so is the cold's."""
    found = gained(fitted.with_exponents(np.abs))
    assert found["days_gained_lower"].min() >= 0.0
    for low, high in pairwise(GAINED):
        assert found.select((pl.col(low) <= pl.col(high)).all()).item()


def test_without_an_effect_of_oxygen_only_the_cold_gains(fitted: Fitted) -> None:
    """At b = 0 less oxygen, a liner and a head are worth nothing."""
    found = gained(fitted.with_exponents(np.zeros_like))
    cold_way = pl.col("lever") == "cold warehouse"
    assert found.filter(~cold_way).select(pl.col(GAINED).abs().max()).row(0) == pytest.approx(
        (0.0, 0.0, 0.0), abs=1e-6
    )
    assert found.filter(cold_way)["days_gained"].min() > 0.0


def test_a_mended_head_is_a_power_of_its_ratio(fitted: Fitted) -> None:
    """At 20 °C all through, a can of no ingress lives r^(b/H) times as long: by hand."""
    b = 0.4
    known = fitted.with_exponents(lambda drawn: np.full_like(drawn, b))
    found = gained(known).filter(
        pl.col("lever") == "bad head mended", pl.col("route") == "cold chain"
    )
    # The days after the cold store are proportional to age; those in it are the same.
    row = found.filter(pl.col("style") == "pale ale").row(0, named=True)
    assert row["value_now"] / row["value_then"] == pytest.approx(1.8**0.25)
    per_day = row["days_gained"] / row["shelf_life_days"]
    assert per_day == pytest.approx(1.8 ** (b / 4) - 1.0, rel=0.05)


def test_what_it_rests_on_is_said_by_lever(fitted: Fitted) -> None:
    """Three lots a cell do not halve the prior of the exponent; the cold asks the energy's."""
    found = gained(fitted)
    oxygen = found.filter(pl.col("lever") != "cold warehouse")
    assert set(oxygen["source"]) == {"prior"}
    known = {cell.style: cell.energy_known for cell in fitted.cells if cell.drawn is not None}
    for style, source in (
        found.filter(pl.col("lever") == "cold warehouse").select("style", "source").iter_rows()
    ):
        assert source == ("fitted" if known[style] else "prior")


@given(arrays(np.float64, 6, elements=st.floats(0.5, 500.0)))
def test_twenty_less_is_never_more_nor_below_ten(totals: np.ndarray) -> None:
    """Each lot loses 20 ppb or what it has above 10; one below 10 stays as it is."""
    less = less_at_filling(totals)
    assert (less <= totals).all()
    assert (totals - less <= 20.0 + 1e-9).all()
    assert (less >= np.minimum(totals, 10.0)).all()


def test_the_way_is_kept_cold_and_the_shelf_stays_as_it_is() -> None:
    """Stages above 8 °C before the last come to 4 °C; one at 8, and the last, do not."""
    way = Stages((30.0, 5.0, np.inf), (28.0, 8.0, 22.0))
    assert cold(way).temp_c == (4.0, 8.0, 22.0)
    assert cold(way).days == way.days
    shelf = Stages((np.inf,), (22.0,))
    assert cold(shelf) == shelf


def test_one_head_among_twelve() -> None:
    """At 1.8 times the rest it adds 1.8^(1/12), 5 %, to the line's mean."""
    assert bad_head_factor(1.8, 12) == pytest.approx(1.0502, abs=1e-4)
    assert bad_head_factor(1.0, 4) == 1.0
