"""To which lot a complaint is counted, and how stale that beer was expected to be.

The lot is the one that it names; where it names none of ours, or not which of its formats, the
likeliest candidate counts where its odds are nine in ten at least, and no lot otherwise: a count
cannot be split.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.candidates import Told, candidates, fold, folded

if TYPE_CHECKING:
    from collections.abc import Iterable

LIKELY = 0.9
"""Odds from which a candidate counts as the lot."""

_NEAR_DAYS = 7.0  # beer drunk so much earlier or later speaks e times less for a complaint's
_LOT = ("lot", "format")


def attributed(
    complaints: pl.DataFrame, lots: pl.DataFrame, shipments: pl.DataFrame
) -> pl.DataFrame:
    """Give each complaint the lot that it counts for.

    Args:
        complaints: complaint, drunk_on, lot, format, beer, printed_date, code_time, outlet.
        lots: as `candidates` takes them, with style and line.
        shipments: likewise.

    Returns:
        The same rows; lot and format now are those of ours, or null; named_lot is the lot as
        written, named whether it is ours; odds of the lot (1 where it is named; null where no lot
        is counted); beer, style, line and packaged_on of the lot.
    """
    formats = lots.group_by("lot").agg(only=pl.col("format").unique())
    named = (
        complaints.rename({"lot": "named_lot", "format": "named_format"})
        .join(formats, left_on="named_lot", right_on="lot", how="left", maintain_order="left")
        .with_columns(
            filled=pl.when(pl.col("only").list.len() == 1)
            .then(pl.coalesce("named_format", pl.col("only").list.first()))
            .otherwise("named_format")
        )
        .with_columns(is_ours=pl.col("only").list.contains(pl.col("filled")).fill_null(value=False))
    )
    found = [
        (row["named_lot"], row["filled"], 1.0)
        if row["is_ours"]
        else _likeliest(row, lots, shipments)
        for row in named.iter_rows(named=True)
    ]
    of_ours = pl.DataFrame(
        found, schema={"lot": pl.String, "format": pl.String, "odds": pl.Float64}, orient="row"
    )
    own = lots.select(*_LOT, "style", "line", "packaged_on", own_beer="beer")
    return (
        named.drop("only", "filled", "named_format")
        .rename({"is_ours": "named"})
        .hstack(of_ours)
        .join(own, on=_LOT, how="left", maintain_order="left")
        .with_columns(beer=pl.coalesce("own_beer", "beer"))
        .drop("own_beer")
    )


def _likeliest(
    row: dict[str, Any], lots: pl.DataFrame, shipments: pl.DataFrame
) -> tuple[str | None, str | None, float | None]:
    """Return the lot, format and odds of the one candidate that is likely, if one is."""
    hints = ("named_lot", "printed_date", "code_time")
    if all(row[name] is None for name in hints):  # beer and outlet alone never tell one lot
        return None, None, None
    told = Told(
        day=row["drunk_on"],
        lot=row["named_lot"],
        format=row["named_format"],
        **{name: row[name] for name in ("beer", "printed_date", "code_time", "outlet")},
    )
    for lot, format_, odds in (
        candidates(told, lots, shipments).select(*_LOT, "odds").head(1).rows()
    ):
        if odds >= LIKELY:
            return lot, format_, odds
    return None, None, None


def spellings(names: Iterable[str | None]) -> dict[str, str]:
    """Return how each outlet is written, by the key that all ways to write it share."""
    return {fold(name): name for name in sorted({name for name in names if name}, reverse=True)}


def expected_shares(complaints: pl.DataFrame, drunk: pl.DataFrame) -> pl.Series:
    """Return the share of such beer that was expected to be rejected for age, 0 to 1.

    It is that of the packages of the lot that were drunk about that day, at that outlet where some
    of it went there; null where the lot is not known, was never shipped, or has no estimate.

    Args:
        complaints: complaint, lot, format, drunk_on, outlet.
        drunk: as `exposure.drunk` returns it.
    """
    there = folded("customer") == folded("outlet")
    near = (
        complaints.select("complaint", *_LOT, "drunk_on", "outlet")
        .join(drunk.drop_nulls("share_rejected"), on=_LOT)
        .with_columns(
            away=(pl.col("on") - pl.col("drunk_on")).dt.total_days().abs(),
            there=there.fill_null(value=False),
        )
        .filter((pl.col("there") | ~pl.col("there").any()).over("complaint"))
        .with_columns(
            weight=pl.col("packages")
            * (-(pl.col("away") - pl.col("away").min().over("complaint")) / _NEAR_DAYS).exp()
        )
        .group_by("complaint", maintain_order=True)
        .agg(share=(pl.col("weight") * pl.col("share_rejected")).sum() / pl.col("weight").sum())
    )
    return complaints.select("complaint").join(
        near, on="complaint", how="left", maintain_order="left"
    )["share"]
