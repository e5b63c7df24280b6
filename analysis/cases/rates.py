"""Taste complaints per million packages by month, lot, line and outlet, beside those expected.

Packages are those drunk, for a complaint follows the glass and not the lorry. Expected is what a
group would have of the complaints there were, if its packages had the brewery's own rate at their
age: so it adds up to what was observed, and says nothing of whether all of them are too many.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.attributed import spellings
from analysis.cases.candidates import fold
from analysis.cases.poisson import (
    among_many,
    by_luck,
    by_luck_alone,
    chance_of_as_few,
    chance_of_as_many,
    limits,
    told_from,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

ERROR = 0.05
"""The chance of telling of any group of a table where all have the same rate."""

CONFIDENCE = 0.9
"""Of both limits of a rate together."""

GROUPINGS = ("quarter", "month", "lot", "line", "outlet")
PER = 1e6

_RATES = pl.Schema(
    {
        **dict.fromkeys(("grouping", "name", "format"), pl.String),
        "packages": pl.Float64,
        "taste": pl.Int32,
        **dict.fromkeys(
            ("expected", "luck_lower", "luck_upper", "per_million", "lower", "upper"), pl.Float64
        ),
        **dict.fromkeys(("chance", "corrected"), pl.Float64),
        "told_from": pl.Int32,
        "verdict": pl.String,
    }
)
_LOOKS = pl.Schema(
    {
        "grouping": pl.String,
        **dict.fromkeys(("counted", "groups"), pl.Int32),
        "by_luck": pl.Float64,
        **dict.fromkeys(("alone", "told"), pl.Int32),
    }
)


def rates(taste: pl.DataFrame, drunk: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Hold the taste complaints of each group against those expected.

    Args:
        taste: the complaints about taste: received_on, lot, format, line (null where the lot is
            not known), outlet.
        drunk: lot, format, line, customer, on, packages, weight (the share of all complaints that
            these packages should have).

    Returns:
        By grouping (quarter, month, lot, line, outlet) and name (2026-Q3, 2026-07, a lot with its
        format, a line, an outlet; empty where none is given): packages drunk, taste complaints,
        expected of them, luck_lower and luck_upper (between which counts luck alone leaves nine
        such groups in ten), per_million with lower and upper limit (null without packages), chance
        of so many or more by luck, corrected for all groups of its kind, told_from (complaints from
        which it would be told), verdict (cannot say, more, perhaps more, fewer, as expected).

        And what was looked at: by grouping, complaints counted (those whose group is known and
        has packages), groups, by_luck (how many luck alone brings to a chance of 5 %), alone (how
        many have one), told (how many are, after the correction).
    """
    names = spellings(taste["outlet"]) | spellings(drunk["customer"])
    found = [
        _grouped(grouping, _named(grouping, taste, names), _named(grouping, drunk, names))
        for grouping in GROUPINGS
    ]
    return (
        pl.concat([rows for rows, _ in found]),
        pl.DataFrame([look for _, look in found], schema=_LOOKS),
    )


def _named(grouping: str, frame: pl.DataFrame, names: Mapping[str, str]) -> pl.DataFrame:
    """Put complaints or packages under the names of a grouping; what has none is left out.

    Packages of a lot without a line, or without a customer, are a group with an empty name.
    """
    is_taste = "received_on" in frame.columns
    on = pl.col("received_on" if is_taste else "on").dt
    outlet = pl.col("outlet" if is_taste else "customer")
    name = {
        "quarter": pl.format("{}-Q{}", on.year(), on.quarter()),
        "month": on.to_string("%Y-%m"),
        "lot": pl.col("lot"),
        "line": pl.col("line").fill_null(""),
        "outlet": outlet.map_elements(fold, return_dtype=pl.String)
        .replace_strict(names, default=None, return_dtype=pl.String)
        .fill_null(""),
    }[grouping]
    format_ = pl.col("format") if grouping == "lot" else pl.lit("")
    if is_taste:
        needed = {"lot": "lot", "line": "lot", "outlet": "outlet"}
        frame = frame.drop_nulls(needed.get(grouping, "received_on"))
    return frame.with_columns(name=name, format=format_)


def _grouped(
    grouping: str, taste: pl.DataFrame, drunk: pl.DataFrame
) -> tuple[pl.DataFrame, dict[str, object]]:
    by = ("name", "format")
    # In order, so that sums come out the same to the last digit.
    groups = (
        drunk.group_by(by, maintain_order=True)
        .agg(pl.col("packages", "weight").sum())
        .join(taste.group_by(by).agg(taste=pl.len()), on=by, how="full", coalesce=True)
        .with_columns(pl.col("packages", "weight", "taste").fill_null(0))
        .sort(by)
    )
    has = (groups["packages"] > 0.0).to_numpy()
    seen = groups["taste"].to_numpy().astype(np.int64)
    counted = int(seen[has].sum())
    share = np.where(has, groups["weight"].to_numpy(), 0.0)
    share = np.minimum(share / (share.sum() or 1.0), 1.0)
    more, fewer = chance_of_as_many(seen, counted, share), chance_of_as_few(seen, counted, share)
    corrected, too_few = np.ones(len(has)), np.ones(len(has))
    corrected[has], too_few[has] = among_many(more[has]), among_many(fewer[has])
    packages = np.where(has, groups["packages"].to_numpy(), np.nan)
    lower, upper = limits(seen, CONFIDENCE)
    luck_lower, luck_upper = by_luck_alone(counted, share, CONFIDENCE)
    rows = groups.select(
        *by,
        "packages",
        "taste",
        grouping=pl.lit(grouping),
        expected=pl.Series(counted * share),
        luck_lower=pl.Series(luck_lower),
        luck_upper=pl.Series(luck_upper),
        per_million=pl.Series(PER * seen / packages),
        lower=pl.Series(PER * lower / packages),
        upper=pl.Series(PER * upper / packages),
        chance=pl.Series(np.where(has, more, np.nan)),
        corrected=pl.Series(np.where(has, corrected, np.nan)),
        told_from=pl.Series(told_from(counted, share, ERROR / max(has.sum(), 1))),
        verdict=pl.Series(
            np.select(
                [~has, corrected <= ERROR, more <= ERROR, too_few <= ERROR],
                ["cannot say", "more", "perhaps more", "fewer"],
                "as expected",
            ).astype(str)
        ),
    ).with_columns(pl.col("per_million", "lower", "upper", "chance", "corrected").fill_nan(None))
    look = {
        "grouping": grouping,
        "counted": counted,
        "groups": int(has.sum()),
        "by_luck": by_luck(counted, share[has], ERROR),
        "alone": int((more[has] <= ERROR).sum()),
        "told": int((corrected[has] <= ERROR).sum()),
    }
    return rows.select(_RATES.names()).cast(_RATES), look
