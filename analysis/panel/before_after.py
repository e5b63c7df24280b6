"""Before and after: two lots, formats, beers or stretches of time, as one panel found them.

Only like is compared with like: glasses of one storage temperature (to the degree), pulled after
about as many days, by assessors who tasted both sides. What a question asks is looked at in several
attributes and pairs at once, and each look may mislead, so that its intervals are at
1 − 0.10 / looks (Bonferroni): all intervals of a question hold together in nine of ten questions.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import NotEstimable
from analysis.panel.contrast import Glasses, contrast
from analysis.panel.glasses import attribute_scores

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from analysis.panel.contrast import Contrast

TOGETHER = 0.90
"""Confidence of all intervals of one question together."""
ALIKE_SHARE = 0.15
ALIKE_DAYS = 3
"""Pulls are of about the same age up to so much, and so many days, beyond the youngest."""
SERVED = ("aged", "fresh", "release")
"""Roles of beer as it is sold; returned and spiked beer is compared with nothing."""

COMPARISONS = {
    "kind": pl.String,
    "subject": pl.String,
    "changed_on": pl.Date,
    "first": pl.String,
    "second": pl.String,
    "attribute": pl.String,
    "first_mean": pl.Float64,
    "first_lower": pl.Float64,
    "first_upper": pl.Float64,
    "second_mean": pl.Float64,
    "second_lower": pl.Float64,
    "second_upper": pl.Float64,
    "difference": pl.Float64,
    "difference_lower": pl.Float64,
    "difference_upper": pl.Float64,
    "level": pl.Float64,
    "looks": pl.Int32,
    "first_glasses": pl.Int32,
    "second_glasses": pl.Int32,
    "assessors": pl.Int32,
    "first_lots": pl.Int32,
    "second_lots": pl.Int32,
    "sessions": pl.Int32,
    "kept": pl.String,
    "one_session": pl.Boolean,
    "reason": pl.String,
}
"""One row a pair and attribute.

kind: lot, format, beer, trial, change. subject: what the question is about (a style, a lot, a
change), changed_on the day of a change. first, second: the sides. attribute: null for the share of
glasses rejected. The means and the second less the first, on the attribute's scale or as shares,
with bounds at `level`. looks: attributes times pairs of the question. kept: storages and days of
what was compared. one_session: both were tasted in one session alone. reason: why there are no
numbers; null where there are.
"""


@dataclass(frozen=True)
class Question:
    """One pair to compare.

    Attributes:
        kind: lot, format, beer, trial or change.
        subject: what the question is about; pairs of one subject are corrected together.
        first: name of the first side.
        second: name of the second side.
        glasses: rows of `glasses` with a column `second` (Boolean).
        alike: columns besides storage and age in which cells must agree.
        changed_on: day of a change; None else.
    """

    kind: str
    subject: str
    first: str
    second: str
    glasses: pl.DataFrame
    alike: Sequence[str] = field(default=())
    changed_on: date | None = None


def compare(questions: Iterable[Question], attributes: Sequence[str]) -> pl.DataFrame:
    """Compare the sides of each pair in every attribute, and in the share of glasses rejected.

    Args:
        questions: the pairs.
        attributes: those of the panel.

    Returns:
        `COMPARISONS`, in the order of the questions, the share rejected after the attributes.
    """
    rows, found = [], []
    for question in questions:
        values = _values(question.glasses, attributes)
        for attribute in (*attributes, None):
            row, means = _compared(question, attribute, values)
            rows.append(row)
            found.append(means)
    asked = [(row["kind"], row["subject"], row["changed_on"]) for row in rows]
    looks = Counter(key for key, means in zip(asked, found, strict=True) if means is not None)
    bounded = [
        row | ({} if means is None else _bounded(means, looks[key], row["attribute"] is None))
        for row, key, means in zip(rows, asked, found, strict=True)
    ]
    return pl.DataFrame(bounded, schema=COMPARISONS)


def _values(glasses: pl.DataFrame, attributes: Sequence[str]) -> dict[str | None, pl.DataFrame]:
    """Return the glasses of each attribute, and with whether they were rejected, with `value`."""
    served = glasses.filter(pl.col("role").is_in(SERVED))
    scores = attribute_scores(served, attributes).rename({"score": "value"})
    every: dict[str | None, pl.DataFrame] = {
        name: scores.filter(pl.col("attribute") == name) for name in attributes
    }
    every[None] = served.drop_nulls("rejected").with_columns(
        value=pl.col("rejected").cast(pl.Float64)
    )
    return every


def _compared(
    question: Question, attribute: str | None, values: Mapping[str | None, pl.DataFrame]
) -> tuple[dict[str, object], Contrast | None]:
    kept = _matched(values[attribute], question.alike)
    sides = [kept.filter(pl.col("second") == side) for side in (False, True)]
    one_session = kept["session"].n_unique() == 1
    row: dict[str, object] = dict.fromkeys(COMPARISONS) | {
        "kind": question.kind,
        "subject": question.subject,
        "changed_on": question.changed_on,
        "first": question.first,
        "second": question.second,
        "attribute": attribute,
        "first_glasses": sides[0].height,
        "second_glasses": sides[1].height,
        "assessors": kept["assessor"].n_unique(),
        "first_lots": sides[0].select("lot", "format").n_unique(),
        "second_lots": sides[1].select("lot", "format").n_unique(),
        "sessions": kept["session"].n_unique(),
        "kept": _kept(kept),
        "one_session": one_session,
    }
    if kept.is_empty():
        why = "too few to say (n = 0 glasses of like storage and age, tasted by the same people)"
        return row | {"reason": why}, None
    try:
        return row, contrast(_coded(kept, question.kind, attribute is None, one_session))
    except NotEstimable as reason:
        return row | {"reason": str(reason)}, None


def _matched(values: pl.DataFrame, alike: Sequence[str]) -> pl.DataFrame:
    """Keep cells and assessors that both sides have, and name each glass's `cell`."""
    columns = ["_temp", "_age", *alike]
    kept = (
        values.with_columns(
            _temp=pl.col("storage_temp_c").round(0),
            _days=(pl.col("pulled_on") - pl.col("placed_on")).dt.total_days(),
        )
        .sort("_temp", "_days")
        .with_columns(_age=pl.col("_days").map_batches(_ages, return_dtype=pl.Int64).over("_temp"))
        .with_columns(cell=pl.struct(columns))
    )
    both = pl.col("second").n_unique() == 2  # noqa: PLR2004 - the two sides
    while not kept.is_empty():
        fewer = kept.filter(both.over("cell")).filter(both.over("assessor"))
        if fewer.height == kept.height:
            break
        kept = fewer
    return kept.sort("session", "assessor", "sample", "code", "value")


def _ages(days: pl.Series) -> pl.Series:
    """Return for each age, sorted, the youngest that it goes together with."""
    youngest: list[int] = []
    for day in days:
        if not youngest or day > youngest[-1] * (1.0 + ALIKE_SHARE) + ALIKE_DAYS:
            youngest.append(day)
        else:
            youngest.append(youngest[-1])
    return pl.Series(youngest, dtype=pl.Int64)


def _kept(kept: pl.DataFrame) -> str:
    """Say at which temperatures, and after how many days, what was compared was pulled."""
    spans = kept.group_by("_temp").agg(low=pl.col("_days").min(), high=pl.col("_days").max())
    return ", ".join(
        f"{temp:g} °C for {low} days" if low == high else f"{temp:g} °C for {low} to {high} days"
        for temp, low, high in spans.sort("_temp").rows()
    )


def _coded(kept: pl.DataFrame, kind: str, share: bool, one_session: bool) -> Glasses:  # noqa: FBT001
    """Say what is drawn at random.

    Two lots are compared as they are, by what sessions (and so packages) differ by; one session
    alone leaves the assessors. Else lots are drawn too, those of one batch together.
    """

    def codes(of: pl.Expr) -> np.ndarray:
        return kept.select(of.rank("dense").cast(pl.Int64) - 1).to_series().to_numpy()

    session = codes(pl.col("session"))
    clusters = {} if one_session else {"session": session}
    if kind == "trial":
        lots = codes(pl.when(~pl.col("second")).then("lot"))
        clusters["lot"] = np.nan_to_num(lots, nan=-1).astype(np.int64)
    elif kind != "lot":
        clusters["lot"] = codes(pl.col("batch"))
    return Glasses(
        value=kept["value"].to_numpy(),
        second=kept["second"].to_numpy(),
        cell=codes(pl.col("cell")),
        assessor=codes(pl.col("assessor")),
        clusters=clusters,
        share=share,
    )


def _bounded(means: Contrast, looks: int, share: bool) -> dict[str, object]:  # noqa: FBT001
    level = 1.0 - (1.0 - TOGETHER) / looks
    row: dict[str, object] = {"level": level, "looks": looks}
    for name, least in (("first", 0.0), ("second", 0.0), ("difference", -1.0)):
        estimate = getattr(means, name)
        lower, upper = estimate.bounds(level)
        if share:
            lower, upper = max(lower, least), min(upper, 1.0)
        mean = name if name == "difference" else f"{name}_mean"
        row |= {mean: estimate.value, f"{name}_lower": lower, f"{name}_upper": upper}
    return row
