"""What stands behind the dates of an assessment: effects, checks, and other routes to an age."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.glasses import attribute_scores
from analysis.staling import summary
from analysis.staling.checks import back_test, curvature, real_time
from analysis.staling.effects import change_effects, lots_changed, oxygen_effects
from analysis.staling.scores import score_crossings
from analysis.staling.treatments import ALLOWED, treatments

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.dating.policy import Policy
    from analysis.each import Each
    from analysis.staling.model import StalingModel
    from analysis.staling.scores import AttributeScale


def explain(
    model: StalingModel,
    tables: Mapping[str, pl.DataFrame],
    policy: Policy,
    attributes: Mapping[str, AttributeScale],
    each: Each = map,
) -> dict[str, pl.DataFrame]:
    """Tabulate what stands behind the dates of a fit.

    Args:
        model: the fit.
        tables: the input tables; changes and tastings are used.
        policy: the brewery's rule for its dates.
        attributes: how each scored attribute is scored.
        each: spreads the lots of the back-test.

    Returns:
        The result tables by name.
    """
    share, confidence = policy.share_rejected, policy.confidence
    tested = back_test(model, each)
    read = treatments(model, share, confidence)
    changed = lots_changed(model.evidence, tables["changes"])
    return {
        "treatments": read,
        "oxygen_effects": oxygen_effects(model, share, confidence),
        "trial_effects": change_effects(model, changed, share, confidence),
        "curvature": curvature(model),
        "real_time": real_time(model, confidence),
        "back_test": tested.lots,
        "back_test_calibration": tested.calibration,
        "curves": summary.curves(model, confidence),
        "turnbull": summary.turnbull_steps(model),
        "turnbull_bands": summary.turnbull_bands(model, confidence),
        "gaps": summary.gaps(model),
        "parameters": summary.parameters(model),
        "laws": summary.laws(model),
        **_scores(model, read, tables["tastings"], attributes, confidence),
    }


def _scores(
    model: StalingModel,
    read: pl.DataFrame,
    tastings: pl.DataFrame,
    attributes: Mapping[str, AttributeScale],
    confidence: float,
) -> dict[str, pl.DataFrame]:
    """Find where panel means cross their cut-offs, and set the verdicts' answer beside them."""
    written = tastings.select("session", "assessor", "sample", "code", "scores")
    long = attribute_scores(written, attributes)
    found = score_crossings(
        long, model.evidence.samples, attributes, model.energies, confidence=confidence
    )
    by_verdict = read.filter(pl.col("treatment") == ALLOWED).select(
        "style",
        verdict_days="days",
        verdict_lower="days_lower",
        verdict_upper="days_upper",
    )
    apart = (pl.col("days_lower") > pl.col("verdict_upper")) | (
        pl.col("days_upper") < pl.col("verdict_lower")
    )
    disagrees = pl.when(apart.fill_null(value=False)).then(pl.lit("disagrees with the verdicts"))
    crossings = (
        found.crossings.join(by_verdict, on="style", how="left")
        .with_columns(note=pl.concat_str("note", disagrees, separator="; ", ignore_nulls=True))
        .with_columns(pl.col("note").replace("", None))
        .rename({"order": "course"})
        .select(
            "style",
            "attribute",
            "course",
            "pulls",
            "lots",
            "days",
            "days_lower",
            "days_upper",
            "verdict_days",
            "note",
        )
    )
    return {"score_crossings": crossings, "scores_left_out": found.left_out}
