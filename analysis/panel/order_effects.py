r"""Does a glass's place in the order, or the glass before it, change what is said of it?

For a glass g, of sample s in session t, tasted by a:

    y_g = sample in session (s, t) + assessor a + β x_g + ε_g

y is 1 for a rejection and 0 for an acceptance, or an attribute's score; x is one of

    first             1 in the first place, 0 in any other
    each place later  the place, from the second on
    after a rejected  1 where the taster rejected the glass before it, 0 where they accepted it

Both sets of effects are taken out first, so that only glasses of one sample that were tasted in
unlike places tell anything. Place is drawn, so β is by least squares. What a taster said of the
glass before is not drawn: who is strict on a day is strict on all glasses, and rejects before and
after. But strictness ties neighbours no closer than glasses further apart, and the instrument is

    z_g = x_g − mean of x over the same taster's glasses that stood two places or more from g

so that β = z'y / z'x. Glasses of the same sample tell nothing of each other here: a duplicate after
its twin is left out. Where all tasters had the glasses in one order, nothing tells place from beer,
and there is no estimate. Intervals are 90 %, two-sided, from variances clustered by session
(Liang–Zeger with G/(G − 1)) and Student's t with G − 1 degrees of freedom.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

from analysis.errors import NotEstimable
from analysis.panel.glasses import attribute_scores

if TYPE_CHECKING:
    from collections.abc import Iterable

FEWEST_SESSIONS = 10
FEWEST_GLASSES = 60
VERDICT = "rejected"

_CONFIDENCE = 0.90
_SAME_ORDER = 1e-9
_SITTING = ["session", "assessor"]
_PLACE = pl.col("position").cast(pl.Float64)
_FIRST = (pl.col("position") == 1).cast(pl.Float64)
_BEFORE = pl.col("before").cast(pl.Float64)
_EFFECTS = {
    "first": (pl.lit(value=True), _FIRST, _FIRST),
    "each place later": (pl.col("position") > 1, _PLACE, _PLACE),
    "after a rejected": (
        pl.all_horizontal(pl.col("before", "apart").is_not_null()),
        _BEFORE,
        _BEFORE - pl.col("apart"),
    ),
}
_SCHEMA = {
    "outcome": pl.String,
    "effect": pl.String,
    "glasses": pl.Int32,
    "sessions": pl.Int32,
    "estimate": pl.Float64,
    "lower": pl.Float64,
    "upper": pl.Float64,
    "reason": pl.String,
}


def order_effects(glasses: pl.DataFrame, attributes: Iterable[str]) -> pl.DataFrame:
    """Estimate what place and the glass before do to verdicts and scores.

    Args:
        glasses: as `analysis.panel.glasses.glasses` returns them.
        attributes: those that are scored.

    Returns:
        One row an outcome (rejected, then each attribute) and effect (first, each place later,
        after a rejected): outcome, effect, glasses and sessions that tell something, estimate
        (share of glasses, or points of the scale) with lower and upper, reason (why there is no
        estimate, else null). No rows where no place was written down.
    """
    placed = _placed(glasses)
    if placed.is_empty():
        return pl.DataFrame(schema=_SCHEMA)
    verdicts = placed.drop_nulls("rejected").with_columns(
        attribute=pl.lit(VERDICT), score=pl.col("rejected").cast(pl.Float64)
    )
    outcomes = [(VERDICT, verdicts)]
    scores = attribute_scores(placed, attributes)
    outcomes += [
        (name, scores.filter(pl.col("attribute") == name)) for name in scores["attribute"].unique()
    ]
    rows = []
    for outcome, scored in sorted(outcomes, key=lambda named: (named[0] != VERDICT, named[0])):
        for effect, (told, treated, instrument) in _EFFECTS.items():
            found = _effect(scored.filter(told).with_columns(x=treated, z=instrument))
            rows.append({"outcome": outcome, "effect": effect, **found})
    return pl.DataFrame(rows, schema=_SCHEMA)


def _placed(glasses: pl.DataFrame) -> pl.DataFrame:
    """Keep glasses whose place is known, and tell what their taster said of the others.

    Adds `before`, whether the glass before was rejected, and `apart`, the share rejected of those
    two places or more away; glasses of the same sample count for neither. Two glasses in one place
    of one taster's order are a slip: neither is believed.
    """
    placed = glasses.filter(
        pl.col("position").is_not_null(), pl.len().over(*_SITTING, "position") == 1
    )
    away = pl.col("position") - pl.col("position_other")
    around = (
        placed.select(*_SITTING, "position", "sample")
        .join(placed.select(*_SITTING, "position", "sample", "rejected"), _SITTING, suffix="_other")
        .filter(pl.col("sample") != pl.col("sample_other"))
        .group_by(*_SITTING, "position")
        .agg(
            before=pl.col("rejected").filter(away == 1).first(),
            apart=pl.col("rejected").filter(away.abs() > 1).mean(),
        )
    )
    return placed.join(around, on=[*_SITTING, "position"], how="left", maintain_order="left")


def _effect(scored: pl.DataFrame) -> dict[str, object]:
    """Estimate one effect from glasses with session, sample, assessor, score, x and z."""
    stratum = ["session", "sample"]
    told = scored.filter(pl.len().over(stratum) > 1).filter(
        pl.col("z").n_unique().over(stratum) > 1
    )
    sessions = told["session"].n_unique()
    found: dict[str, object] = {"glasses": told.height, "sessions": sessions}
    if scored.height and told.is_empty():
        return {**found, "reason": "every taster had a sample in the same place"}
    if sessions < FEWEST_SESSIONS or told.height < FEWEST_GLASSES:
        few = f"too few to say (n = {told.height} glasses in {sessions} sessions)"
        return {**found, "reason": few}
    try:
        estimate, half = _fixed_effects(told.sort(*stratum, "assessor", "position"))
    except NotEstimable as reason:
        return {**found, "reason": str(reason)}
    return {**found, "estimate": estimate, "lower": estimate - half, "upper": estimate + half}


def _fixed_effects(told: pl.DataFrame) -> tuple[float, float]:
    """Return β and half the width of its interval.

    Raises:
        NotEstimable: x does not vary once samples and assessors are taken out.
    """
    strata, people, sessions = (
        told.select(pl.struct(names).rank("dense").cast(pl.Int64) - 1).to_series().to_numpy()
        for names in (["session", "sample"], ["assessor"], ["session"])
    )
    dummies = np.eye(people.max() + 1)[people]
    columns = np.column_stack([told.select("score", "x", "z").to_numpy(), dummies])
    within = columns - _means(columns, strata)[strata]
    fitted, *_ = np.linalg.lstsq(within[:, 3:], within[:, :3], rcond=None)
    score, x, z = (within[:, :3] - within[:, 3:] @ fitted).T
    weight = float(z @ x)
    if weight < _SAME_ORDER * len(x):
        message = "place and taster cannot be told apart"
        raise NotEstimable(message)
    slope = float(z @ score) / weight
    pieces = np.bincount(sessions, z * (score - slope * x))
    groups = len(pieces)
    error = np.sqrt(groups / (groups - 1) * float(pieces @ pieces)) / weight
    return slope, float(error * stats.t.ppf((1 + _CONFIDENCE) / 2, groups - 1))


def _means(columns: np.ndarray, groups: np.ndarray) -> np.ndarray:
    sums = np.zeros((groups.max() + 1, columns.shape[1]))
    np.add.at(sums, groups, columns)
    return sums / np.bincount(groups)[:, None]
