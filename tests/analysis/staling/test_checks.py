"""What the model says of itself, and of oxygen, changes and other readings, on known truths."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.kinetics.arrhenius import arrhenius_slope
from analysis.staling.checks import back_test, curvature, real_time
from analysis.staling.effects import change_effects, lots_changed, oxygen_effects
from analysis.staling.evidence import Evidence, gather
from analysis.staling.model import StalingModel, fit_staling
from analysis.staling.treatments import ALLOWED, treatments

if TYPE_CHECKING:
    from collections.abc import Callable

PACKAGED_ON = date(2031, 3, 4)
PULLS = {4: (60, 120, 240, 300), 20: (28, 56, 84, 120), 30: (14, 28, 42), 38: (7, 14, 21)}


def _simulated(
    log_rate: Callable[[float], float],
    *,
    seed: int = 1,
    gain: float = 0.0,
    wrong: float = 0.05,
) -> Evidence:
    """One style in one format, twelve lots, ten assessors, median 80 days at 20 °C.

    Half of the lots carry the trial `new filter`, which adds `gain` to their log life.
    """
    rng = np.random.default_rng(seed)
    assessor = rng.normal(0.0, 0.25, 10)
    lots, samples, tastings, oxygen = [], [], [], []
    for number in range(12):
        lot, trial = f"lot {number}", "new filter" if number % 2 else None
        dose = 60.0 * np.exp(0.4 * rng.standard_normal())
        lots.append((lot, "can", "beer", PACKAGED_ON, trial))
        oxygen.append((lot, "can", dose, 0.0, dose))
        own = np.log(80.0) - 0.3 * np.log(dose / 60.0) + rng.normal(0.0, 0.1)
        own += gain if trial else 0.0
        for temp_c, days in PULLS.items():
            turns = own + assessor + 0.3 * rng.standard_normal(10)
            for day in (0, *days):
                sample = f"{lot} {temp_c} {day}"
                pulled = date.fromordinal(PACKAGED_ON.toordinal() + day)
                samples.append((sample, lot, "can", float(temp_c), PACKAGED_ON, pulled))
                stale = np.log(max(day, 1e-9)) + log_rate(temp_c) > turns
                answers = stale ^ (rng.random(10) < wrong)
                tastings += [
                    ("s", pulled, f"t{who}", sample, "reject" if answers[who] else "accept")
                    for who in range(10)
                ]
    named = {"orient": "row"}
    return gather(
        pl.DataFrame({"beer": ["beer"], "style": ["style"], "abv_pct": [5.0]}),
        pl.DataFrame(
            lots, schema=["lot", "format", "beer", "packaged_on", "trial"], **named
        ).with_columns(
            batch=pl.lit(None, pl.String),
            line=pl.lit(None, pl.String),
            best_before=pl.lit(date(2031, 7, 2)),
        ),
        pl.DataFrame(
            samples,
            schema=["sample", "lot", "format", "storage_temp_c", "placed_on", "pulled_on"],
            **named,
        ).with_columns(
            before_placing_temp_c=pl.lit(None, pl.Float64),
            role=pl.when(pl.col("pulled_on") == PACKAGED_ON)
            .then(pl.lit("fresh"))
            .otherwise(pl.lit("aged")),
        ),
        pl.DataFrame(
            tastings, schema=["session", "tasted_on", "assessor", "sample", "verdict"], **named
        ),
        pl.DataFrame(
            oxygen,
            schema=["lot", "format", "total_oxygen_ppb", "ingress_ppb_per_day", "dose_ppb"],
            **named,
        ).with_columns(packages=pl.lit(6)),
        before_placing_c=4.0,
    )


def _straight(temp_c: float) -> float:
    return float(75.0 * arrhenius_slope(temp_c))


def _two_routes(temp_c: float) -> float:
    """Two reactions, 48 and 130 kJ/mol, equally fast at 20 °C: convex in 1/T."""
    slope = float(arrhenius_slope(temp_c))
    return float(np.log(0.5 * (np.exp(48.0 * slope) + np.exp(130.0 * slope))))


@pytest.fixture(scope="module")
def model() -> StalingModel:
    """The fit to one straight Arrhenius line, a change that gains a fifth, and 5 % errors."""
    return fit_staling(_simulated(_straight, gain=0.2), draws=500)


def test_a_straight_line_is_not_called_curved(model: StalingModel) -> None:
    """One activation energy: the likelihood ratio stays below its 1 % point."""
    assert curvature(model)["p_value"].item() > 0.01


def test_two_reactions_of_unlike_energy_are_seen() -> None:
    """A curved truth is found, and the line is said to promise too much in the cold."""
    found = curvature(fit_staling(_simulated(_two_routes), draws=100)).row(0, named=True)
    assert found["p_value"] < 0.01
    assert found["ratio_cold"] < 1.0


def test_two_temperatures_are_always_straight() -> None:
    """Nothing can be said of a curve through two points."""
    evidence = _simulated(_straight)
    kept = evidence.series.filter(~pl.col("aged") | pl.col("storage_temp_c").is_between(10, 35))
    two = replace(evidence, series=kept)
    assert curvature(fit_staling(two, draws=50)).is_empty()


def test_forced_storage_predicts_real_time(model: StalingModel) -> None:
    """Where one line is true the rejections seen at 20 °C lie within what 30 °C would expect."""
    found = real_time(model, 0.95).row(0, named=True)
    assert found["expected_lower"] <= found["rejected"] <= found["expected_upper"]
    assert found["verdicts"] == 480


def test_the_back_test_is_calibrated_and_beats_the_printed_date(model: StalingModel) -> None:
    """Predicted and observed shares agree; a date that knows no age is worth less."""
    found = back_test(model)
    assert found.lots.height == 12
    bands = found.calibration.filter(pl.col("verdicts") > 60)
    assert (bands["expected"] - bands["rejected"]).abs().max() < 0.12  # type: ignore[operator]
    expected, rejected = (found.lots[name].sum() for name in ("expected", "rejected"))
    assert expected == pytest.approx(rejected, rel=0.1)
    scored = found.lots.select("printed_log_score", "baseline_log_score").mean().row(0)
    assert scored[0] > scored[1]


def test_twice_the_oxygen_costs_what_the_exponent_says(model: StalingModel) -> None:
    """The truth loses 1 − 2^−0.3 of its life; it lies within the bounds."""
    found = oxygen_effects(model, 0.25, 0.95).filter(pl.col("more") == "twice the dose")
    row = found.row(0, named=True)
    usual = treatments(model, 0.25, 0.9).filter(pl.col("treatment") == ALLOWED)["days"].item()
    truth = usual * (1.0 - 2.0**-0.3)
    assert row["days_lost_lower"] < truth < row["days_lost_upper"]


def test_a_change_that_gains_a_fifth_is_found(model: StalingModel) -> None:
    """Held at equal oxygen the trial's gain lies within its bounds and is above nothing."""
    changed = lots_changed(model.evidence, pl.DataFrame(schema=_CHANGES))
    assert set(changed) == {"new filter"}
    found = change_effects(model, changed, 0.25, 0.9)
    held = found.filter("oxygen_held").row(0, named=True)
    usual = treatments(model, 0.25, 0.9).filter(pl.col("treatment") == ALLOWED)["days"].item()
    assert held["lots"] == 6
    assert held["days_gained_lower"] > 0.0
    assert held["days_gained_lower"] < usual * np.expm1(0.2) < 1.3 * held["days_gained_upper"]


_CHANGES = {
    "changed_on": pl.Date,
    "what": pl.String,
    "line": pl.String,
    "beer": pl.String,
    "format": pl.String,
}


def test_a_change_of_the_plant_concerns_the_lots_after_it(model: StalingModel) -> None:
    """A change before or after all lots has nothing to be compared with, and is left out."""
    changes = pl.DataFrame(
        [
            (date(2030, 1, 1), "crown", None, None, None),
            (date(2032, 1, 1), "seamer", "1", None, None),
        ],
        schema=_CHANGES,
        orient="row",
    )
    assert set(lots_changed(model.evidence, changes)) == {"new filter"}
    assert change_effects(model, {}, 0.25, 0.9).is_empty()


@pytest.mark.parametrize("format_", ["can", "keg"])
def test_oxygen_moves_along_where_a_change_has_lots_beside_it(
    format_: str, evidence_of: Callable[..., Evidence]
) -> None:
    """Lots tried in a format of their own have no dose to be compared with: only oxygen held."""
    made = evidence_of({f"{lot}/{who}": "AARR" for lot in ("one", "two") for who in "abc"})
    own = pl.when(pl.col("lot") == "two").then(pl.lit(format_)).otherwise("format")
    evidence = replace(
        made,
        series=made.series.with_columns(format=own),
        lots=made.lots.with_columns(format=own),
    )
    changed = {"new filter": frozenset({f"two|{format_}"})}
    found = change_effects(fit_staling(evidence, draws=50), changed, 0.25, 0.9)
    assert found["oxygen_held"].to_list() == ([True, False] if format_ == "can" else [True])


def test_readings_that_take_no_verdict_to_be_wrong_are_shorter(model: StalingModel) -> None:
    """With false alarms in the data every other reading gives fewer days; first rejection least."""
    days = dict(treatments(model, 0.25, 0.9).select("treatment", "days").iter_rows())
    assert days["first rejection"] < days["widest brackets"] < days[ALLOWED]
    assert days["every glass alone"] < days[ALLOWED]


def test_without_errors_the_readings_agree() -> None:
    """Identity in the limit: no wrong verdict, and brackets say what the likelihood says."""
    clean = fit_staling(_simulated(_straight, wrong=0.0), draws=500)
    days = dict(treatments(clean, 0.25, 0.9).select("treatment", "days").iter_rows())
    assert days["widest brackets"] == pytest.approx(days[ALLOWED], rel=0.07)
    assert days["first rejection"] == pytest.approx(days["widest brackets"], rel=1e-6)
