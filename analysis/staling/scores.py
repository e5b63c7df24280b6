r"""The second route: from a panel's scores of an attribute to the age at which it is past its end.

A pull is one sample in one session. Its score is the panel's mean less the panel's mean of the
blind fresh beer of that session (of the same style, else of any), which takes out the session's
mood. With L the mean of these fresh levels, and the scale turned so that its best end is 0, its
worst E and its cut-off c, a pull of relative score y leaves the room E − L − y to the worst end. A
line through room on age, on the clock of 20 °C at the style's activation energy, is turned round at
the room of the cut-off, E − c, with Fieller's bounds; see `score_lines`.

A pull of n glasses beside m fresh ones weighs 1 / (1/n + 1/m). The bounds hold what is not known of
L, the variance of the sessions' fresh levels over their number; that it is partly in the pulls too,
with the opposite sign, makes them a little wide.

Reference: Hough, Sensory Shelf Life Estimation of Food Products, 2010, chapter on cut-off points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import polars as pl

from analysis.errors import InputError, NotEstimable
from analysis.panel.glasses import Scale
from analysis.staling.clock import equivalent_days
from analysis.staling.score_lines import Line, Pulls, best_line
from analysis.survival.fieller import RatioSet, Shape

if TYPE_CHECKING:
    from collections.abc import Mapping

_AGE_DIGITS = 2
_SCORE_DIGITS = 9
_CROSSINGS = {
    "style": pl.String,
    "attribute": pl.String,
    "order": pl.String,
    "pulls": pl.Int32,
    "lots": pl.Int32,
    "days": pl.Float64,
    "days_lower": pl.Float64,
    "days_upper": pl.Float64,
    "reaches": pl.Boolean,
    "note": pl.String,
}
_LEFT_OUT = {"style": pl.String, "attribute": pl.String, "reason": pl.String}


class AttributeScale(Scale, Protocol):
    """How an attribute is scored, and where a beer's life ends by it."""

    @property
    def cut_off(self) -> float:
        """The panel's mean score at which the beer's life ends, from `low` to `high`."""


@dataclass(frozen=True)
class ScoreRoute:
    """What the scores say of the age at which each attribute passes its cut-off.

    Attributes:
        crossings: one row a style and attribute, sorted by them: style, attribute, order ("zero",
            "first"), pulls, lots, days (at 20 °C from packaging, null where the fitted scores do
            not get worse), days_lower and days_upper (one-sided bounds; null where unbounded, both
            where the data exclude no age), reaches (the crossing lies within the ages tasted),
            note (what to know of it, null where there is nothing).
        left_out: style, attribute, reason; sorted by style and attribute.
    """

    crossings: pl.DataFrame
    left_out: pl.DataFrame


def score_crossings(
    scores: pl.DataFrame,
    samples: pl.DataFrame,
    attributes: Mapping[str, AttributeScale],
    energy: Mapping[str, float],
    *,
    confidence: float,
) -> ScoreRoute:
    """Find the age at 20 °C at which each attribute of each style passes its cut-off.

    Args:
        scores: one row a score: session, assessor, sample, code, attribute, score (null: none).
        samples: one row a sample: sample, style, lot, storage_temp_c, before_days, before_temp_c,
            stored_days, role, aged.
        attributes: scale of each attribute; scores of others are passed over.
        energy: activation energy of each style, kJ/mol.
        confidence: of each bound, one-sided, between 0.5 and 1.

    Raises:
        InputError: the confidence is not between 0.5 and 1.
    """
    if not 0.5 <= confidence < 1.0:  # noqa: PLR2004 - the half is that of the docstring
        message = "the confidence of a bound must be between 0.5 and 1"
        raise InputError(message)
    crossings: list[dict[str, object]] = []
    left_out: list[dict[str, object]] = []
    pulls = _pulls(_oriented(scores, samples, attributes))
    for (style, attribute), group in pulls.group_by("style", "attribute", maintain_order=True):
        cell: dict[str, object] = {"style": style, "attribute": attribute}
        try:
            found = _crossing(group, attributes[str(attribute)], energy.get(str(style)), confidence)
        except NotEstimable as reason:
            left_out.append(cell | {"reason": str(reason)})
        else:
            crossings.append(cell | found)
    return ScoreRoute(
        pl.DataFrame(crossings, schema=_CROSSINGS), pl.DataFrame(left_out, schema=_LEFT_OUT)
    )


def _oriented(
    scores: pl.DataFrame, samples: pl.DataFrame, attributes: Mapping[str, AttributeScale]
) -> pl.DataFrame:
    """Join scores with their samples, worse up from 0 at the best end, in an order that holds."""
    scales = pl.DataFrame(
        [
            (name, *((scale.low, 1.0) if scale.worse == "high" else (scale.high, -1.0)))
            for name, scale in attributes.items()
        ],
        schema={"attribute": pl.String, "best": pl.Float64, "sign": pl.Float64},
        orient="row",
    )
    known = ["style", "lot", "storage_temp_c", "before_days", "before_temp_c", "stored_days"]
    return (
        scores.filter(pl.col("score").is_not_null())
        .join(scales, on="attribute")
        .join(
            samples.select("sample", *known, "role", "aged"),
            on="sample",
        )
        .filter(pl.col("role").is_in(["aged", "fresh"]))
        .with_columns(worse=(pl.col("score") - pl.col("best")) * pl.col("sign"))
        .sort("style", "attribute", "session", "sample", "assessor", "code", "worse")
    )


def _pulls(oriented: pl.DataFrame) -> pl.DataFrame:
    """Make one row of each aged sample in a session, beside the fresh beer of that session.

    Returns:
        style, attribute, session, sample, lot, the storage, mean, glasses, fresh, fresh_glasses
        (both null without any) and fresh_is_own (it is of the same style).
    """
    fresh = oriented.filter(~pl.col("aged"))
    own, others = (
        fresh.group_by(by, maintain_order=True).agg(
            pl.col("worse").mean().alias(f"{name}_mean"), pl.len().alias(f"{name}_glasses")
        )
        for name, by in (
            ("own", ["session", "attribute", "style"]),
            ("others", ["session", "attribute"]),
        )
    )
    storage = ["lot", "storage_temp_c", "before_days", "before_temp_c", "stored_days"]
    return (
        oriented.filter("aged")
        .group_by("style", "attribute", "session", "sample", *storage, maintain_order=True)
        .agg(mean=pl.col("worse").mean(), glasses=pl.len())
        .join(own, on=["session", "attribute", "style"], how="left", maintain_order="left")
        .join(others, on=["session", "attribute"], how="left", maintain_order="left")
        .with_columns(
            fresh=pl.coalesce("own_mean", "others_mean"),
            fresh_glasses=pl.coalesce("own_glasses", "others_glasses"),
            fresh_is_own=pl.col("own_mean").is_not_null(),
        )
    )


def _crossing(
    group: pl.DataFrame, scale: AttributeScale, energy: float | None, confidence: float
) -> dict[str, object]:
    """Return the columns of one row of the crossings.

    Raises:
        NotEstimable: the attribute is to be left out; the text says why.
    """
    if energy is None:
        message = "no activation energy is known for the style"
        raise NotEstimable(message)
    level, variance = _fresh_level(group)
    cut_off = scale.cut_off - scale.low if scale.worse == "high" else scale.high - scale.cut_off
    if level >= cut_off:
        message = "the fresh beer is past the cut-off already"
        raise NotEstimable(message)
    worst = scale.high - scale.low
    pulls = _arranged(group, energy, level, worst)
    line = best_line(pulls, worst - cut_off)
    ages = line.crossing(worst - cut_off, variance, confidence)
    worsens = line.slope < 0.0
    if ages.shape is Shape.INTERVAL and not worsens:
        message = (
            "it rises and falls: worse than fresh beer, but better with age from the first pull on"
            if pulls.room.mean() < worst - level
            else "the scores get better with age, not worse"
        )
        raise NotEstimable(message)
    lower, upper = _bounds(ages, line, worst - cut_off)
    days = max((line.at(worst - cut_off) - line.intercept) / line.slope, 0.0) if worsens else None
    reaches = days is not None and days <= pulls.age[-1]
    lots = group["lot"].n_unique()
    return {
        "order": line.order,
        "pulls": group.height,
        "lots": lots,
        "days": days,
        "days_lower": lower,
        "days_upper": upper,
        "reaches": reaches,
        "note": _note(group, lots=lots, reaches=reaches, decided=upper is not None),
    }


def _fresh_level(group: pl.DataFrame) -> tuple[float, float]:
    """Return the mean of the sessions' fresh levels and its variance; zeros where there are none.

    Without fresh beer the scores stand as they are. One session alone tells no variance.
    """
    levels = group.unique("session", maintain_order=True)["fresh"].drop_nulls().to_numpy()
    if not levels.size:
        return 0.0, 0.0
    return float(levels.mean()), float(levels.var(ddof=1) / levels.size) if levels.size > 1 else 0.0


def _arranged(group: pl.DataFrame, energy: float, level: float, worst: float) -> Pulls:
    """Give the pulls of a style and attribute their age and room, the youngest first.

    Both are rounded to what is known of them, lest last digits pass for another age or score.
    """
    age = pl.Series(equivalent_days(group, energy))
    relative = pl.col("mean") - pl.col("fresh").fill_null(level)
    placed = group.with_columns(
        age=age.round(_AGE_DIGITS),
        room=(worst - level - relative).round(_SCORE_DIGITS),
        weight=1.0 / (1.0 / pl.col("glasses") + (1.0 / pl.col("fresh_glasses")).fill_null(0.0)),
        lot=pl.col("lot").rank("dense").cast(pl.Int64) - 1,
        session=pl.col("session").rank("dense").cast(pl.Int64) - 1,
    ).sort("age", "lot", "session", "sample")
    return Pulls(*(placed[name].to_numpy() for name in ("age", "room", "weight", "lot", "session")))


def _bounds(ages: RatioSet, line: Line, cut_off_room: float) -> tuple[float | None, float | None]:
    """Return the bounds of the first age past the cut-off, null where there is none.

    Where the set has a gap, the scores do not surely change with age, and the ages in the gap are
    surely on one side of the cut-off: short of it, and the crossing comes after the gap or never;
    or past it, and the crossing came before the gap.
    """
    if ages.shape is Shape.EVERYTHING:
        return None, None
    if ages.shape is Shape.INTERVAL:
        return max(ages.lower, 0.0), max(ages.upper, 0.0)
    within = (ages.lower + ages.upper) / 2.0
    if line.intercept + line.slope * within > line.at(cut_off_room):
        return max(ages.upper, 0.0), None
    return 0.0, max(ages.lower, 0.0)


def _note(group: pl.DataFrame, *, lots: int, reaches: bool, decided: bool) -> str | None:
    """Say what a reader has to know of a crossing."""
    pulls, alone = group.height, group["fresh"].null_count()
    lent = group.filter(~pl.col("fresh_is_own") & pl.col("fresh").is_not_null()).height
    instead = "set against that of other sessions" if alone < pulls else "taken as scored"
    remarks = (
        (not decided, "cannot be decided: the scores do not surely get worse with age"),
        (decided and not reaches, "beyond the oldest beer tasted: rests on the assumed course"),
        (lent > 0, f"{lent} of {pulls} pulls set against fresh beer of another style"),
        (alone > 0, f"{alone} of {pulls} pulls without blind fresh beer beside them, {instead}"),
        (lots == 1, "one lot: the bounds lack what differs from lot to lot"),
    )
    return "; ".join(remark for holds, remark in remarks if holds) or None
