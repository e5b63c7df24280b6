"""Which before and after the tables ask by themselves.

Formats of one style; a lot on which something was tried, beside its neighbours; beer filled before
and after a change. Few, because each further look needs a wider interval.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.before_after import Question

if TYPE_CHECKING:
    from collections.abc import Iterator

NEIGHBOURS = pl.duration(days=60)
"""A trial lot's neighbours are packaged within so long of it."""
AROUND = pl.duration(days=120)
"""Beer before and after a change is packaged within so long of it."""


def questions(
    tasted: pl.DataFrame, lots: pl.DataFrame, changes: pl.DataFrame
) -> Iterator[Question]:
    """Yield every pair that the tables ask to compare, formats first, then trials and changes.

    Args:
        tasted: `glasses`.
        lots: lot, format, beer, line, packaged_on, trial.
        changes: changed_on, what, line, beer, format.
    """
    known = tasted.join(
        lots.select("lot", "format", "line", "packaged_on", "trial"),
        on=["lot", "format"],
        how="left",
        maintain_order="left",
    )
    yield from _formats(known)
    yield from _trials(known)
    yield from _changes(known, changes)


def _formats(known: pl.DataFrame) -> Iterator[Question]:
    usual = known.filter(pl.col("trial").is_null())
    for style in usual["style"].unique().sort():
        glasses = usual.filter(pl.col("style") == style)
        for first, second in combinations(glasses["format"].unique().sort(), 2):
            yield between("format", style, first, second, glasses)


def between(kind: str, subject: str, first: str, second: str, glasses: pl.DataFrame) -> Question:
    """Return the question of two lots, formats or beers.

    Args:
        kind: lot, format or beer: the column that holds both.
        subject: what the question is about.
        first: one of the column's values.
        second: another.
        glasses: `glasses`, those of neither side too.
    """
    pair = glasses.filter(pl.col(kind).is_in([first, second]))
    alike = {"lot": (), "format": ("style",), "beer": ("format",)}[kind]
    if kind == "lot" and _shared_format(pair):
        alike = ("format",)
    return Question(
        kind, subject, first, second, pair.with_columns(second=pl.col(kind) == second), alike
    )


def _shared_format(pair: pl.DataFrame) -> bool:
    return bool((pair.group_by("format").agg(pl.col("lot").n_unique())["lot"] > 1).any())


def _trials(known: pl.DataFrame) -> Iterator[Question]:
    tried = known.drop_nulls("trial").unique(["lot", "format"]).sort("packaged_on", "lot", "format")
    for lot in tried.rows(named=True):
        own = (pl.col("lot") == lot["lot"]) & (pl.col("format") == lot["format"])
        near = (pl.col("packaged_on") - pl.lit(lot["packaged_on"])).abs() <= NEIGHBOURS
        neighbour = (
            pl.col("trial").is_null()
            & (pl.col("beer") == lot["beer"])
            & (pl.col("format") == lot["format"])
            & near
        )
        glasses = known.filter(own | neighbour).with_columns(second=own)
        name = f"lot {lot['lot']} in {lot['format']}: {lot['trial']}"
        yield Question("trial", name, "its neighbours", f"lot {lot['lot']}", glasses)


def _changes(known: pl.DataFrame, changes: pl.DataFrame) -> Iterator[Question]:
    ordered = changes.select("changed_on", "what", "line", "beer", "format").unique().sort(pl.all())
    for change in ordered.rows(named=True):
        touched = pl.lit(value=True)
        for column in ("line", "beer", "format"):
            if change[column] is not None:
                touched &= pl.col(column) == change[column]
        day = pl.lit(change["changed_on"])
        near = (pl.col("packaged_on") - day).abs() <= AROUND
        glasses = known.filter(touched & near).with_columns(second=pl.col("packaged_on") >= day)
        where = ", ".join(change[c] for c in ("line", "beer", "format") if change[c] is not None)
        name = change["what"] + (f" ({where})" if where else "")
        alike = ("style", "format")
        yield Question("change", name, "before", "after", glasses, alike, change["changed_on"])
