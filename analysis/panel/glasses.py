"""Every glass that was tasted, joined with what is known of its beer: the panel's one frame."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Iterable

_OF_SAMPLE = (
    "sample",
    "lot",
    "format",
    "storage_temp_c",
    "placed_on",
    "pulled_on",
    pl.col("role").fill_null("aged"),
)
_OF_GLASS = ("session", "tasted_on", "assessor", "sample", "code", "position", "verdict")


class Scale(Protocol):
    """How an attribute is scored."""

    @property
    def low(self) -> float:
        """The lowest score."""

    @property
    def high(self) -> float:
        """The highest score, above `low`."""

    @property
    def worse(self) -> str:
        """The worse end: "high" or "low"."""


def glasses(
    tastings: pl.DataFrame, samples: pl.DataFrame, lots: pl.DataFrame, beers: pl.DataFrame
) -> pl.DataFrame:
    """Join tastings with their samples, lots and beers.

    Args:
        tastings: session, tasted_on, assessor, sample, code, position, verdict, scores.
        samples: sample, lot, format, storage_temp_c, placed_on, pulled_on, role.
        lots: lot, format, beer, batch, packaged_on.
        beers: beer, style.

    Returns:
        One row a glass, in an order that does not depend on that of the tables: session, tasted_on,
        assessor, sample, code, position (of the glass in its assessor's order, from 1; null where
        it was not written down), verdict, rejected (null unless the verdict is accept or reject),
        scores (JSON text), role, style, beer, format, lot, batch, storage_temp_c, placed_on,
        pulled_on, age_days (from packaging to the pull), waited_days (from the pull to the
        tasting).
    """
    answer = pl.when(pl.col("verdict").is_in(["accept", "reject"])).then(pl.col("verdict"))
    return (
        tastings.select(*_OF_GLASS, "scores")
        .join(samples.select(_OF_SAMPLE), on="sample")
        .join(lots.select("lot", "format", "beer", "batch", "packaged_on"), on=["lot", "format"])
        .join(beers.select("beer", "style"), on="beer")
        .select(
            *_OF_GLASS,
            (answer == "reject").alias("rejected"),
            "scores",
            "role",
            "style",
            "beer",
            "format",
            "lot",
            pl.col("batch").fill_null(pl.col("lot")),
            "storage_temp_c",
            "placed_on",
            "pulled_on",
            age_days=(pl.col("pulled_on") - pl.col("packaged_on")).dt.total_days(),
            waited_days=(pl.col("tasted_on") - pl.col("pulled_on")).dt.total_days(),
        )
        .sort(*_OF_GLASS, "scores")
    )


def attribute_scores(tasted: pl.DataFrame, attributes: Iterable[str]) -> pl.DataFrame:
    """Lay the scores out, one row a glass and attribute that was scored.

    Args:
        tasted: glasses, or rows of tastings: scores (JSON text) and what else is to be kept.
        attributes: those to lay out; others that the glasses have scores of are left out.

    Returns:
        The columns of `tasted` but scores, attribute, score; by attribute, then as they came.
    """
    names = list(attributes)
    kept = tasted.drop("scores")
    if not names:
        return kept.head(0).with_columns(
            attribute=pl.lit(None, pl.String), score=pl.lit(None, pl.Float64)
        )
    return (
        tasted.with_columns(
            pl.col("scores").str.json_decode(pl.Struct(dict.fromkeys(names, pl.Float64)))
        )
        .unnest("scores")
        .unpivot(names, index=kept.columns, variable_name="attribute", value_name="score")
        .drop_nulls("score")
    )
