"""What the trade tells: complaints by kind, lot, month and outlet, and held against the fit.

The last twelve months and the month that it is are looked at. A complaint that touches safety is
counted apart and enters nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.cases.accounts import is_of_age
from analysis.cases.attributed import attributed, expected_shares
from analysis.cases.poisson import among_many, chance_of_as_few, chance_of_as_many, limits
from analysis.cases.rates import CONFIDENCE, ERROR, PER, rates
from analysis.cases.with_age import WithAge, complaint_weights, with_age

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

WEEK = 7
_KINDS = pl.Schema(
    {
        "category": pl.String,
        "safety": pl.Boolean,
        "complaints": pl.Int32,
        "packages": pl.Int64,
        **dict.fromkeys(("per_million", "lower", "upper"), pl.Float64),
    }
)
_CHECKS = pl.Schema(
    {
        **dict.fromkeys(("grouping", "name"), pl.String),
        **dict.fromkeys(("age_from", "age_to"), pl.Int32),
        "packages": pl.Float64,
        "complaints": pl.Int32,
        **dict.fromkeys(("expected", "chance", "corrected"), pl.Float64),
        "verdict": pl.String,
    }
)
_LISTED = (
    *("complaint", "received_on", "category", "safety", "taste", "named_lot", "named", "lot"),
    *("format", "odds", "beer", "age_days", "share_rejected", "outlet", "packages", "closed_on"),
)


@dataclass(frozen=True)
class Field:
    """What the trade tells.

    Attributes:
        complaints: each of them: complaint, received_on, category, safety, taste, named_lot (as
            written), named (whether it is ours), lot, format and odds (to which it is counted; null
            without one), beer, age_days when it was drunk, share_rejected (expected of such beer),
            outlet, packages, closed_on; the newest first.
        kinds: by category and safety: complaints, packages concerned, per_million packages drunk
            with its limits.
        rates: by month, quarter, lot, line and outlet, as `rates` gives them.
        looks: what was looked at, likewise.
        checks: taste complaints by age, style and format beside those expected from the fit:
            grouping, name, age_from and age_to (days, null where open or no age), packages,
            complaints, expected, chance of one so far off on either side, corrected, verdict (as
            expected, more, fewer).
        summary: one row: since, today, complaints, taste, safety, packages drunk, per_million of
            taste complaints with lower and upper limit, lot_known (of the taste complaints),
            compared (those with an expected share), with_age with its lower and upper bound.
    """

    complaints: pl.DataFrame
    kinds: pl.DataFrame
    rates: pl.DataFrame
    looks: pl.DataFrame
    checks: pl.DataFrame
    summary: pl.DataFrame


def first_day(today: date) -> date:
    """Return the first day that is looked at."""
    return today.replace(year=today.year - 1, day=1)


@dataclass(frozen=True)
class Counted:
    """Complaints of the last twelve months beside the packages drunk in them.

    Attributes:
        since: the first day.
        told: the complaints as `attributed` gives them, with whether they are about taste, the age
            at which the beer was drunk and the share then expected to be rejected.
        drunk: what was drunk from `since` on, as `exposure.drunk` returns it.
        age: how much of the complaints goes with the beer's age.
    """

    since: date
    told: pl.DataFrame
    drunk: pl.DataFrame
    age: WithAge

    @property
    def taste(self) -> pl.DataFrame:
        """The complaints that are about taste."""
        return self.told.filter("taste")

    @property
    def compared(self) -> pl.DataFrame:
        """Those of them whose share expected to be rejected is known."""
        return self.taste.drop_nulls("share_rejected")


def counted(
    complaints: pl.DataFrame,
    drunk: pl.DataFrame,
    lots: pl.DataFrame,
    shipments: pl.DataFrame,
    today: date,
) -> Counted:
    """Count the complaints of the last twelve months to lots; arguments as `field` takes them."""
    since = first_day(today)
    out = drunk.filter(pl.col("on") >= since)
    told = attributed(
        complaints.filter(pl.col("received_on").is_between(since, today)), lots, shipments
    )
    told = told.with_columns(
        taste=~pl.col("safety") & pl.col("category").map_elements(_about_taste, pl.Boolean),
        age_days=(pl.col("drunk_on") - pl.col("packaged_on")).dt.total_days(),
        share_rejected=expected_shares(told, drunk),
    )
    estimated = out.drop_nulls("share_rejected")
    age = with_age(
        told.filter("taste")["share_rejected"].drop_nulls().to_numpy(),
        estimated["packages"].to_numpy(),
        estimated["share_rejected"].to_numpy(),
    )
    return Counted(since, told, out, age)


def field(
    complaints: pl.DataFrame,
    drunk: pl.DataFrame,
    lots: pl.DataFrame,
    shipments: pl.DataFrame,
    today: date,
) -> Field:
    """Count the complaints of the last twelve months and hold them against what was expected.

    Args:
        complaints: complaint, received_on, drunk_on, category (joined by semicolons), lot, format,
            beer, printed_date, code_time, packages, outlet, closed_on, safety.
        drunk: as `exposure.drunk` returns it.
        lots: as `attributed` takes them.
        shipments: likewise.
        today: the day that it is.
    """
    found = counted(complaints, drunk, lots, shipments, today)
    told, out = found.told, found.drunk
    weights = complaint_weights(
        found.age.part, out["packages"].to_numpy(), out["share_rejected"].to_numpy()
    )
    weighed = out.with_columns(weight=pl.Series(weights, dtype=pl.Float64))
    by_group, looks = rates(found.taste, weighed)
    return Field(
        complaints=told.select(_LISTED).sort("received_on", "complaint", descending=[True, False]),
        kinds=_kinds(told, float(out["packages"].sum())),
        rates=by_group,
        looks=looks,
        checks=_checks(found.compared, weighed.drop_nulls("share_rejected")),
        summary=_summary(found, today),
    )


def _about_taste(category: str) -> bool:
    return is_of_age(tuple(category.split(";")))


def _kinds(told: pl.DataFrame, packages: float) -> pl.DataFrame:
    by_kind = (
        told.with_columns(pl.col("category").str.split(";"))
        .explode("category")
        .group_by("category", "safety")
        .agg(
            complaints=pl.len(),
            packages=pl.col("packages").sum().cast(pl.Int64),
        )
        .sort("safety", "complaints", "category", descending=[False, True, False])
    )
    lower, upper = limits(by_kind["complaints"].to_numpy(), CONFIDENCE)
    per = PER / packages if packages > 0.0 else float("nan")
    return (
        by_kind.with_columns(
            per_million=pl.col("complaints") * per,
            lower=pl.Series(lower * per, dtype=pl.Float64),
            upper=pl.Series(upper * per, dtype=pl.Float64),
        )
        .with_columns(pl.col("per_million", "lower", "upper").fill_nan(None))
        .select(_KINDS.names())
        .cast(_KINDS)
    )


def _summary(found: Counted, today: date) -> pl.DataFrame:
    told, taste, age = found.told, found.taste, found.age
    packages = float(found.drunk["packages"].sum())
    lower, upper = (float(limit) for limit in limits(taste.height, CONFIDENCE))
    rate: dict[str, float | None] = dict.fromkeys(("per_million", "lower", "upper"))
    if packages > 0.0:
        rate = {
            name: PER * count / packages
            for name, count in zip(rate, (taste.height, lower, upper), strict=True)
        }
    compared = found.compared.height
    return pl.DataFrame(
        [
            {
                "since": found.since,
                "today": today,
                "complaints": told.height,
                "taste": taste.height,
                "safety": int(told["safety"].sum()),
                "packages": packages,
                **rate,
                "lot_known": taste["lot"].count(),
                "compared": compared,
                "with_age": age.part if compared else None,
                "with_age_lower": age.lower if compared else None,
                "with_age_upper": age.upper if compared else None,
            }
        ],
        schema_overrides=dict.fromkeys(
            (*rate, "with_age", "with_age_lower", "with_age_upper"), pl.Float64
        ),
    )


def _checks(compared: pl.DataFrame, out: pl.DataFrame) -> pl.DataFrame:
    """Hold the complaints of each age, style and format against those expected."""
    edges = _age_edges(out)
    found = [pl.DataFrame(schema=_CHECKS)]
    if out.height and compared.height:
        found += [
            _checked("age", _aged(compared, edges), _aged(out, edges), edges),
            *(
                _checked(
                    grouping,
                    compared.with_columns(name=pl.col(grouping)),
                    out.with_columns(name=pl.col(grouping)),
                )
                for grouping in ("style", "format")
            ),
        ]
    return pl.concat(found)


def _age_edges(out: pl.DataFrame) -> list[int]:
    """Return whole weeks, in days, that part the expected complaints by age into quarters."""
    by_age = out.sort("age_days").with_columns(reached=pl.col("weight").cum_sum())
    whole = float(out["weight"].sum())
    found = (
        by_age.filter(pl.col("reached") >= part * whole)["age_days"].head(1)
        for part in (0.25, 0.5, 0.75)
    )
    return sorted({WEEK * round(float(age) / WEEK) for ages in found for age in ages} - {0})


def _aged(frame: pl.DataFrame, edges: Sequence[int]) -> pl.DataFrame:
    older = sum((pl.col("age_days") > edge).cast(pl.Int32) for edge in edges)
    return frame.with_columns(name=(pl.lit(0) + older).cast(pl.String))


def _checked(
    grouping: str, compared: pl.DataFrame, out: pl.DataFrame, edges: Sequence[int] = ()
) -> pl.DataFrame:
    # In order, so that sums come out the same to the last digit.
    groups = (
        out.group_by("name", maintain_order=True)
        .agg(pl.col("packages", "weight").sum())
        .join(compared.group_by("name").agg(complaints=pl.len()), on="name", how="left")
        .with_columns(pl.col("complaints").fill_null(0))
        .sort("name")
    )
    seen = groups["complaints"].to_numpy().astype(np.int64)
    share = groups["weight"].to_numpy()
    share = np.minimum(share / share.sum(), 1.0)
    total = int(seen.sum())
    more, fewer = chance_of_as_many(seen, total, share), chance_of_as_few(seen, total, share)
    chance = np.minimum(2.0 * np.minimum(more, fewer), 1.0)
    corrected = among_many(chance)
    ends: dict[str, Any] = {"name": pl.col("name"), "age_from": None, "age_to": None}
    if grouping == "age":
        open_ended = [None, *edges, None]
        at = [int(name) for name in groups["name"]]
        ends = {
            "name": pl.lit(""),
            "age_from": pl.Series([open_ended[n] for n in at], dtype=pl.Int32),
            "age_to": pl.Series([open_ended[n + 1] for n in at], dtype=pl.Int32),
        }
    return (
        groups.with_columns(
            **ends,
            grouping=pl.lit(grouping),
            expected=pl.Series(total * share),
            chance=pl.Series(chance),
            corrected=pl.Series(corrected),
            verdict=pl.Series(
                np.select(
                    [corrected > ERROR, more < fewer], ["as expected", "more"], "fewer"
                ).astype(str)
            ),
        )
        .select(_CHECKS.names())
        .cast(_CHECKS)
    )
