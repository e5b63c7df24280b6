"""Data as breweries have them at first: an answer with a wide bound, or a reason; never a crash."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.policy import Policy
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Mapping

Tables = dict[str, pl.DataFrame]
REJECTED = pl.col("verdict") == "reject"


@pytest.fixture(scope="module")
def tables() -> Tables:
    """A small brewery: two lots a cell, six assessors."""
    return dict(simulate(5, lots_per_cell=2, assessors=6))


def _with_verdict(tables: Tables, verdict: pl.Expr) -> Tables:
    return {**tables, "tastings": tables["tastings"].with_columns(verdict=verdict)}


def _few_rejections(tables: Tables) -> Tables:
    rejections = REJECTED.cum_sum() <= 4
    return _with_verdict(
        tables, pl.when(REJECTED & ~rejections).then(pl.lit("accept")).otherwise("verdict")
    )


def _one_lot(tables: Tables) -> Tables:
    kept = tables["samples"].filter(pl.col("lot") == pl.col("lot").first())
    return {**tables, "samples": kept, "tastings": _tasted(tables, kept)}


def _one_temperature(tables: Tables) -> Tables:
    kept = tables["samples"].filter((pl.col("storage_temp_c") == 20) | (pl.col("role") != "aged"))
    return {**tables, "samples": kept, "tastings": _tasted(tables, kept)}


def _tasted(tables: Tables, samples: pl.DataFrame) -> pl.DataFrame:
    return tables["tastings"].filter(pl.col("sample").is_in(samples["sample"].to_list()))


def _one_rejects_everything(tables: Tables) -> Tables:
    who = pl.col("assessor") == pl.col("assessor").min()
    return _with_verdict(tables, pl.when(who).then(pl.lit("reject")).otherwise("verdict"))


def _everybody_guesses(tables: Tables) -> Tables:
    answers = np.random.default_rng(1).choice(["accept", "reject"], tables["tastings"].height)
    return {**tables, "tastings": tables["tastings"].with_columns(verdict=pl.Series(answers))}


def _one_assessor(tables: Tables) -> Tables:
    who = pl.col("assessor") == pl.col("assessor").min()
    return {**tables, "tastings": tables["tastings"].filter(who)}


def _no_fresh_beer(tables: Tables) -> Tables:
    kept = tables["samples"].filter(pl.col("role") == "aged")
    return {**tables, "samples": kept, "tastings": _tasted(tables, kept)}


HARD = {
    "few rejections": _few_rejections,
    "one lot": _one_lot,
    "no oxygen": lambda tables: {**tables, "oxygen": tables["oxygen"].clear()},
    "all rejected": lambda tables: _with_verdict(tables, pl.lit("reject")),
    "all accepted": lambda tables: _with_verdict(tables, pl.lit("accept")),
    "one assessor rejects everything": _one_rejects_everything,
    "everybody guesses": _everybody_guesses,
    "one assessor": _one_assessor,
    "one temperature": _one_temperature,
    "no fresh beer": _no_fresh_beer,
}


@pytest.mark.parametrize("case", HARD)
def test_an_answer_with_a_bound_or_a_reason(case: str, tables: Tables) -> None:
    """Every date has an ordered, finite bound and a width, or the sentence why there is none."""
    found = assess(HARD[case](tables), Policy(), Assumptions())
    dates = found.frames["dates"]
    assert dates.height
    answered = dates.filter(pl.col("basis") != "none")
    reasons = dates.filter(pl.col("basis") == "none")["reason"]
    assert reasons.is_not_null().all()
    assert (reasons.str.len_chars() > 20).all()
    assert answered.select(
        (pl.col("shelf_life_days_lower") > 0.0).all()
        & (pl.col("shelf_life_days_lower") < 0.97 * pl.col("shelf_life_days")).all()
        & (pl.col("shelf_life_days") < pl.col("shelf_life_days_upper").fill_null(np.inf)).all()
    ).item()
    if case == "all accepted":
        assert answered.is_empty()


def _width(found: Assessment) -> float:
    width = pl.col("shelf_life_days_upper") / pl.col("shelf_life_days_lower")
    dates = found.frames["dates"].filter(pl.col("basis") != "none")
    return float(dates.select(width.median()).item())


@pytest.mark.parametrize("case", ["few rejections", "one lot", "one assessor"])
def test_poor_data_give_a_wider_bound(case: str, tables: Tables) -> None:
    """What is taken away widens what is said."""
    usual = assess(tables, Policy(), Assumptions())
    assert _width(assess(HARD[case](tables), Policy(), Assumptions())) > _width(usual)


def test_one_temperature_leaves_the_energy_to_its_prior(tables: Tables) -> None:
    """A cold route then rests on an assumption, and says so; the caution stands."""
    found = assess(_one_temperature(tables), Policy(), Assumptions())
    cold = found.frames["dates"].filter(
        (pl.col("route") == "cold chain") & (pl.col("basis") != "none")
    )
    assert set(cold["basis"]) == {"prior"}
    assert "one temperature" in set(found.frames["cautions"]["caution"])


def test_a_guessing_assessor_counts_for_less(tables: Tables) -> None:
    """Somebody who rejects everything is left out, it is said, and the dates hardly move."""
    usual = assess(tables, Policy(), Assumptions())
    odd = assess(_one_rejects_everything(tables), Policy(), Assumptions())
    assert odd.evidence.astray == 1
    assert "assessors left out" in set(odd.frames["cautions"]["caution"])
    place = ["style", "format", "route"]
    both = usual.frames["dates"].join(odd.frames["dates"], on=place, suffix="_odd")
    moved = (both["shelf_life_days_odd"] / both["shelf_life_days"]).drop_nulls()
    assert 0.75 < moved.median() < 1.25  # type: ignore[operator]


def test_two_wordings_of_the_question_are_said(tables: Tables) -> None:
    """Verdicts from before the day of the present wording are used, and it is said."""
    later: Mapping[str, pl.DataFrame] = tables
    found = assess(later, Policy(), Assumptions(asked_since=date(2026, 3, 1)))
    assert "two wordings" in set(found.frames["cautions"]["caution"])
    always = assess(later, Policy(), Assumptions())
    assert "two wordings" not in set(always.frames["cautions"]["caution"])
