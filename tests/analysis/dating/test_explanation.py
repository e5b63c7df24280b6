"""What stands behind the dates, on a simulated brewery of the demo's kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.explanation import explain
from analysis.dating.policy import Policy
from analysis.staling.treatments import ALLOWED
from data_demo.simulate import simulate
from pipelines.readers.site import Attribute

if TYPE_CHECKING:
    from collections.abc import Mapping


STALE = {"stale": Attribute(low=0.0, high=10.0, worse="high", cut_off=4.0)}


@pytest.fixture(scope="module")
def tables() -> Mapping[str, pl.DataFrame]:
    """Tables of a small brewery."""
    return simulate(3, lots_per_cell=3)


@pytest.fixture(scope="module")
def frames(tables: Mapping[str, pl.DataFrame]) -> Mapping[str, pl.DataFrame]:
    """All that is told of it, its staleness scores with it."""
    return _explained(tables)


def _of_beer(tables: Mapping[str, pl.DataFrame], beer: str) -> pl.DataFrame:
    """Return the tastings of one beer."""
    lots = tables["lots"].filter(pl.col("beer") == beer)
    samples = tables["samples"].join(lots, on=["lot", "format"], how="semi")
    return tables["tastings"].filter(pl.col("sample").is_in(samples["sample"].implode()))


def _explained(tables: Mapping[str, pl.DataFrame]) -> Mapping[str, pl.DataFrame]:
    found = assess(tables, Policy(), Assumptions())
    assert found.model is not None
    return {**found.frames, **explain(found.model, tables, Policy(), STALE)}


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


def test_scores_without_a_verdict_count(
    tables: Mapping[str, pl.DataFrame], frames: Mapping[str, pl.DataFrame]
) -> None:
    """A panel that only scored some of its samples loses none of their pulls."""
    tasted = _of_beer(tables, "Stout No. 6")
    scored_only = tasted["sample"].unique().sort().gather_every(2)
    silent = tasted.with_columns(
        verdict=pl.when(~pl.col("sample").is_in(scored_only.implode())).then("verdict")
    )
    pulls = [
        found["score_crossings"].filter(pl.col("style") == "stout")["pulls"].item()
        for found in (frames, _explained({**tables, "tastings": silent}))
    ]
    assert pulls[0] == pulls[1] > 0


@pytest.mark.parametrize("alone", [True, False])
def test_a_style_without_a_bracket_is_told_as_far_as_it_goes(
    tables: Mapping[str, pl.DataFrame], *, alone: bool
) -> None:
    """One series, rejected first and accepted last: no steps for it, and a reason instead of days.

    It is told so whether other styles bracket an age or none does.
    """
    pulled = pl.col("pulled_on")
    stouts = tables["lots"].filter(pl.col("beer") == "Stout No. 6").select("lot", "format")
    warm = (
        tables["samples"]
        .filter((pl.col("role") == "aged") & (pl.col("storage_temp_c") == 30.0))
        .join(stouts, on=["lot", "format"], how="semi")
        .filter(pl.len().over("lot", "format") > 1)
        .sort("lot", "format", pulled)
        .head(2)
    )
    first, last = warm["sample"]
    glass = tables["tastings"].filter(pl.col("sample").is_in([first, last])).head(1)
    series = pl.concat(
        glass.with_columns(sample=pl.lit(sample), verdict=pl.lit(verdict))
        for sample, verdict in ((first, "reject"), (last, "accept"))
    )
    tastings = series if alone else pl.concat([_of_beer(tables, "Lager No. 3"), series])
    found = _explained({**tables, "tastings": tastings})
    read = found["treatments"].filter(pl.col("style") == "stout")
    reasons = dict(read.select("treatment", "reason").iter_rows())
    assert reasons.pop("widest brackets") == "no series brackets an age"
    assert set(reasons) == {ALLOWED, "first rejection", "every glass alone"}
    assert set(reasons.values()) == {None}
    assert (read["days"].is_null() == read["reason"].is_not_null()).all()
    others_read = found["treatments"].filter(pl.col("style") != "stout")
    assert others_read.is_empty() if alone else others_read["days"].is_not_null().all()
    assert "stout" in set(found["curves"]["style"])
    for name in ("turnbull", "turnbull_bands", "gaps"):
        assert "stout" not in set(found[name]["style"])
