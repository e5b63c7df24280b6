"""The date lent to a format that was never filled."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.dating.new_format import (
    UNREAD_PPB,
    UNREAD_SD,
    NewFormat,
    lent_dates,
    likeness,
    oxygen_of,
)
from analysis.dating.policy import Policy
from analysis.dating.style_lives import lent_cells, style_lives
from analysis.oxygen.shrinkage import Spreads

if TYPE_CHECKING:
    from analysis.dating.shelf_life import Cell
    from tests.analysis.dating.conftest import Fitted

UNTASTED = "bottle 750"
SPREADS = Spreads(package_sd=0.35, lot_sd=0.25, packages=90, lots=30)
KNOWN = pl.DataFrame(
    {
        "format": ["bottle", "can", "keg"],
        "kind": ["bottle", "can", "keg"],
        "volume_ml": [500.0, 440.0, 30_000.0],
        "closure": ["Crown", None, "spear"],
        "ingress_ppb_per_day": [1.0, 0.0, 0.0],
        "ingress_given": [True, True, False],
        "total_oxygen_ppb": [70.0, 55.0, None],
    }
)
CAN = NewFormat("can 330", "can", 330.0)
LIMITS = pl.DataFrame(
    schema={
        **dict.fromkeys(("beer", "style", "format", "cause"), pl.String),
        "days": pl.Float64,
    }
)
TASTED = pl.DataFrame(
    schema={
        **dict.fromkeys(("style", "route", "basis"), pl.String),
        "oldest_tasted_days": pl.Float64,
    }
)


def untasted(fitted: Fitted) -> list[Cell]:
    """Give the cells of the format that nobody has tasted."""
    return [cell for cell in fitted.cells if cell.format == UNTASTED and cell.filled is not None]


def test_an_untasted_format_typed_in_is_lent_the_days_that_the_run_gives_it(
    fitted: Fitted,
) -> None:
    """By its own numbers, on every route: lower bound and median within 6 %, over 400 draws."""
    lives = style_lives(fitted.model)
    compared = 0
    for cell in untasted(fitted):
        assert cell.filled is not None
        assert cell.verdicts == 0
        totals = cell.filled["total_oxygen_ppb"].to_numpy()
        typed = NewFormat(
            "typed in",
            cell.kind,
            750.0,
            ingress=float(cell.filled["ingress_ppb_per_day"][0]),
            oxygen=tuple(totals),
        )
        between = Spreads(0.05, float(np.log(totals).std()), 90, 30)
        found = lent_dates(
            typed,
            oxygen_of(typed, KNOWN, between),
            lives.filter(pl.col("style") == cell.style),
            TASTED,
            routes=fitted.routes,
            limits=LIMITS,
            policy=Policy(),
        )
        for route in (way for way in fitted.routes if way.carries(cell.kind)):
            own = cell.life(route, 0.25, 0.9)
            row = found.row(by_predicate=pl.col("route") == route.name, named=True)
            assert own is not None
            assert row["shelf_life_days"] == pytest.approx(own.days, rel=0.06)
            assert row["shelf_life_days_lower"] == pytest.approx(own.lower, rel=0.06)
            assert row["temp_c"] == route.last_temp_c
            compared += 1
    assert compared >= 6


def test_a_style_is_what_the_fit_has_of_it_but_for_the_format(fitted: Fitted) -> None:
    """Identity: with the fit's own format effects added, the ages are those of the fit's lot."""
    model, style = fitted.model, fitted.model.layout.styles[0]
    effects = np.concatenate([part.params[:, len(model.layout.styles)] for part in model.draws])
    lives = style_lives(model).filter(pl.col("style") == style)
    zero = lives.with_columns(
        location=np.concatenate(
            [part.params[:, 0] for part in model.draws]
        )  # the first style alone: no format
    )
    ages = lent_cells(zero, np.zeros((lives.height, 1)), np.ones(1)).age_at(0.25)
    spread = np.log(lent_cells(lives, np.zeros((lives.height, 1)), np.ones(1)).age_at(0.25) / ages)
    assert spread.mean() == pytest.approx(0.0, abs=0.04)
    interaction = np.concatenate([part.spreads[:, 0] for part in model.draws])
    assert spread.std() == pytest.approx(math.hypot(0.15, float(interaction.mean())), rel=0.2)
    assert effects.std() < spread.std()  # a format that was tasted is known better


def test_few_readings_leave_the_oxygen_wide_and_none_wider() -> None:
    """The level's SD falls with the readings, never below the lots'; without one it is assumed."""
    one, six = (
        oxygen_of(replace(CAN, oxygen=(60.0,) * number), KNOWN, SPREADS) for number in (1, 6)
    )
    assert (one.total_ppb, six.total_ppb) == pytest.approx((60.0, 60.0))
    assert one.level_sd == pytest.approx(math.hypot(0.35, 0.25))
    assert six.level_sd == pytest.approx(math.hypot(0.35 / math.sqrt(6), 0.25))
    none = oxygen_of(CAN, KNOWN, SPREADS)
    assert (none.like, none.total_ppb, none.level_sd) == ("can", pytest.approx(55.0), UNREAD_SD)
    assert oxygen_of(CAN, KNOWN.clear(), SPREADS).total_ppb == UNREAD_PPB


def test_ingress_is_taken_from_what_is_said_then_the_closure_then_the_kind() -> None:
    """In that order; a scavenging liner that nobody has yet lets in 0.2, and the rest nothing."""
    bottle = NewFormat("bottle 330", "bottle", 330.0)
    asked = (
        replace(bottle, ingress=0.4, closure="crown"),
        replace(CAN, closure="crown"),
        replace(bottle, closure="crown, scavenging liner"),
        replace(bottle, closure="cork"),
        NewFormat("cask 9", "cask", 41_000.0),
    )
    found = [oxygen_of(one, KNOWN, SPREADS) for one in asked]
    assert [(one.ingress, one.ingress_from) for one in found] == [
        (0.4, "given"),
        (1.0, "closure"),
        (0.2, "scavenging"),
        (1.0, "kind"),
        (0.0, "nothing"),
    ]


def test_likeness_can_be_checked_by_hand() -> None:
    """Kind 2, closure 1 or a half, volume half a doubling, dose a doubling."""
    asked = NewFormat("can 880", "can", 880.0, closure="crown")
    found = likeness(asked, KNOWN, 110.0)
    by_format = dict(found.select("format", "distance").iter_rows())
    assert found["format"][0] == "can"
    assert by_format["can"] == pytest.approx(0.5 + 0.5 + 1.0)
    bottle = 2.0 + 0.5 * math.log2(880 / 500) + abs(math.log2(160 / 110))
    assert by_format["bottle"] == pytest.approx(bottle)


@given(st.lists(st.floats(5.0, 2_000.0), min_size=1, max_size=8), st.floats(0.0, 5.0))
def test_the_typical_total_lies_among_the_readings(readings: list[float], ingress: float) -> None:
    """And its bounds around it, and the dose above it."""
    found = oxygen_of(replace(CAN, oxygen=tuple(readings), ingress=ingress), KNOWN, SPREADS)
    assert min(readings) * 0.999 <= found.total_ppb <= max(readings) * 1.001
    assert found.bounds[0] < found.total_ppb < found.bounds[1]
    assert found.dose_ppb == pytest.approx(found.total_ppb + 90 * ingress)


def test_more_oxygen_and_fewer_readings_never_lend_more(fitted: Fitted) -> None:
    """The lower bound falls with the oxygen, and rises with readings of the same mean."""
    lives = style_lives(fitted.model)

    def lower(*readings: float) -> list[float]:
        asked = NewFormat("x", "can", 330.0, ingress=0.0, oxygen=readings)
        return lent_dates(
            asked,
            oxygen_of(asked, KNOWN, SPREADS),
            lives,
            TASTED,
            routes=fitted.routes,
            limits=LIMITS,
            policy=Policy(),
        )["shelf_life_days_lower"].to_list()

    few, many, more = lower(60.0), lower(*[60.0] * 9), lower(*[180.0] * 9)
    assert all(a > b for a, b in zip(many, more, strict=True))
    assert sum(a < b for a, b in zip(few, many, strict=True)) >= 0.9 * len(few)


def test_a_style_without_a_validation_has_no_date(fitted: Fitted) -> None:
    """Low alcohol: no days, the reason, and no shelf life that could be taken for one."""
    style = fitted.model.layout.styles[0]
    asked = replace(CAN, oxygen=(60.0,))
    found = lent_dates(
        asked,
        oxygen_of(asked, KNOWN, SPREADS),
        style_lives(fitted.model).filter(pl.col("style") == style),
        TASTED,
        routes=fitted.routes,
        limits=LIMITS,
        policy=Policy(),
        unsafe=frozenset({style}),
    )
    assert found.height
    assert found["best_before_days"].null_count() == found.height
    assert found["shelf_life_days_lower"].null_count() == found.height
    assert set(found["binding_cause"]) == {"safety"}
    assert "validated separately" in found["reason"][0]


def test_without_a_fit_there_is_nothing_to_lend() -> None:
    """The table has its columns and no row."""
    assert style_lives(None).is_empty()
