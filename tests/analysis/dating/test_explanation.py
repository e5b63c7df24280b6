"""What stands behind the dates, on a simulated brewery of the demo's kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.explanation import explain
from analysis.dating.policy import Policy
from data_demo.simulate import simulate
from pipelines.readers.site import Attribute

if TYPE_CHECKING:
    from collections.abc import Mapping


@pytest.fixture(scope="module")
def frames() -> Mapping[str, pl.DataFrame]:
    """All tables of a small brewery, its staleness scores with them."""
    tables = simulate(3, lots_per_cell=3)
    found = assess(tables, Policy(), Assumptions())
    assert found.model is not None
    stale = {"stale": Attribute(low=0.0, high=10.0, worse="high", cut_off=4.0)}
    return {**found.frames, **explain(found.model, tables, Policy(), stale)}


def test_every_style_is_read_in_four_ways(frames: Mapping[str, pl.DataFrame]) -> None:
    """The reading the dates rest on gives the most days where tasters raise false alarms."""
    read = frames["treatments"].pivot("treatment", index="style", values="days")
    allowed = read["wrong verdicts allowed"]
    assert read.height == frames["styles"].height
    for other in ("widest brackets", "first rejection", "every glass alone"):
        assert (read[other] < allowed).all()


def test_more_oxygen_always_costs_days(frames: Mapping[str, pl.DataFrame]) -> None:
    """Both kinds of more, in every cell with an estimate, at the middle."""
    assert (frames["oxygen_effects"]["days_lost"] > 0.0).all()


def test_bounds_stand_in_order(frames: Mapping[str, pl.DataFrame]) -> None:
    """Lower, middle and upper of every effect ascend."""
    for table, name in (("oxygen_effects", "days_lost"), ("trial_effects", "days_gained")):
        found = frames[table]
        assert found.height
        assert (found[f"{name}_lower"] <= found[name]).all()
        assert (found[name] <= found[f"{name}_upper"]).all()


def test_scores_stand_beside_verdicts(frames: Mapping[str, pl.DataFrame]) -> None:
    """Each style is crossed or left out with a reason, and the verdicts' days stand beside."""
    crossed, left = frames["score_crossings"], frames["scores_left_out"]
    assert set(crossed["style"]) | set(left["style"]) == set(frames["styles"]["style"])
    assert crossed["verdict_days"].is_not_null().all()
    assert left["reason"].is_not_null().all()


def test_the_back_test_sees_every_tasted_lot(frames: Mapping[str, pl.DataFrame]) -> None:
    """Each lot with verdicts once; the bands hold all of its glasses."""
    lots, bands = frames["back_test"], frames["back_test_calibration"]
    assert lots["verdicts"].sum() == frames["styles"]["verdicts"].sum()
    assert bands["verdicts"].sum() == lots["verdicts"].sum()
    assert (lots["log_score"] < 0.0).all()


def test_curve_steps_and_band_speak_of_the_same_styles(frames: Mapping[str, pl.DataFrame]) -> None:
    """Shares lie between 0 and 1 and bounds hold their curve."""
    curve, band = frames["curves"], frames["turnbull_bands"]
    assert set(curve["style"]) == set(band["style"]) == set(frames["turnbull"]["style"])
    assert (curve["share_rejected_lower"] <= curve["share_rejected_upper"]).all()
    assert band.select(
        (pl.col("share_lower") >= 0).all()
        & (pl.col("share_lower") <= pl.col("share_upper")).all()
        & (pl.col("share_upper") <= 1).all()
    ).item()


def test_no_page_could_name_an_assessor(frames: Mapping[str, pl.DataFrame]) -> None:
    """The parameters told hold the spread between assessors and none of their own parts."""
    names = frames["parameters"]["name"]
    assert "spread of assessor" in set(names)
    assert not names.str.contains(r"A\d\d").any()
    assert frames["parameters"]["narrowed"].is_between(0.0, 1.0).all()
