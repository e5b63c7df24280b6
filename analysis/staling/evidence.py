"""What the tastings say, joined with what is known of each beer, lot and sample.

Ages count from packaging. An aged sample first stood `before_days` at `before_temp_c` and then
`stored_days` at its storage temperature. Servings of fresh beer (role `fresh`, or of no age at all)
measure false alarms and never bracket an age.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
import scipy

from analysis.intervals import widest_brackets
from analysis.oxygen.dose import DOSE_DAYS
from analysis.staling.verdicts import MOST_WRONG

ANSWERED = pl.col("verdict") != "not sure"
AGED = pl.col("aged") & ANSWERED
"""Servings that tell something of age: accepts and rejects of aged beer."""

REFERENCE_DOSE_PPB = 60.0
_FRESH = (pl.col("role") == "fresh") & ANSWERED
_SURE = 0.05
_SERIES = [
    "style",
    "format",
    "beer",
    "lot",
    "batch",
    "assessor",
    "storage_temp_c",
    "before_days",
    "before_temp_c",
]


@dataclass(frozen=True)
class Evidence:
    """Everything that the model is fitted to.

    Attributes:
        samples: one row a sample, tasted or not: sample, lot, format, style, beer, batch, role,
            storage_temp_c, before_days, before_temp_c, stored_days, age_days, aged.
        servings: one row a glass with a verdict: style, beer, format, lot, batch, session,
            tasted_on, assessor, sample, role, verdict, storage_temp_c, before_days,
            before_temp_c, stored_days, age_days, aged (Boolean: it can bracket an age).
        series: one row a series (assessor, lot, format, storage; servings of fresh beer apart) for
            the likelihood: the columns of the series, aged, stored_days and rejected (lists, by
            age), log_dose = log(dose / 60 ppb).
        brackets: one row a series (assessor, lot, format, storage) that says something: the columns
            of the series, lower and upper in days of storage (upper null where open), glasses,
            rejections, dose_ppb, log_dose = log(dose / 60 ppb).
        uninformative: series rejected first and accepted last, by style: style, series.
        lots: one row a lot and format: style, beer, lot, format, batch, packaged_on, best_before,
            line, trial, total_oxygen_ppb, ingress_ppb_per_day and dose_ppb (never missing),
            oxygen_from (measured, cell, format, assumed), log_dose = log(dose / 60 ppb).
        astray: assessors left out, who reject fresh beer more often than any false alarm explains.
        impossible: samples left out, placed before packaging or pulled before they were placed.
    """

    samples: pl.DataFrame
    servings: pl.DataFrame
    series: pl.DataFrame
    brackets: pl.DataFrame
    uninformative: pl.DataFrame
    lots: pl.DataFrame
    astray: int = 0
    impossible: int = 0


def gather(
    beers: pl.DataFrame,
    lots: pl.DataFrame,
    samples: pl.DataFrame,
    tastings: pl.DataFrame,
    oxygen: pl.DataFrame,
    *,
    before_placing_c: float,
) -> Evidence:
    """Join the tables and bracket every series of verdicts.

    Args:
        beers: beer, style, …
        lots: lot, format, beer, packaged_on, batch, best_before, …
        samples: sample, lot, format, storage_temp_c, placed_on, pulled_on,
            before_placing_temp_c, role.
        tastings: session, tasted_on, assessor, sample, verdict (accept, reject, not sure or null).
        oxygen: one row a lot and format: packages (with a usable reading), total_oxygen_ppb,
            ingress_ppb_per_day, dose_ppb.
        before_placing_c: temperature before a sample was placed, where it does not say, °C.
    """
    dosed = _doses(
        lots.join(beers.select("beer", "style"), on="beer").join(
            oxygen.select(
                "lot",
                "format",
                "total_oxygen_ppb",
                "ingress_ppb_per_day",
                "dose_ppb",
                packages_read="packages",
            ),
            on=["lot", "format"],
            how="left",
        )
    )
    known = _samples(samples, dosed, before_placing_c)
    possible = known.filter((pl.col("before_days") >= 0) & (pl.col("stored_days") >= 0))
    servings = (
        tastings.filter(pl.col("verdict").is_not_null())
        .select("session", "tasted_on", "assessor", "sample", "verdict")
        .join(possible, on="sample")
        .sort("style", "format", "lot", "sample", "session", "assessor", "verdict")
    )
    astray = _astray(servings)
    servings = servings.filter(~pl.col("assessor").is_in(astray))
    answers = servings.filter(pl.col("role").is_in(["aged", "fresh"]) & ANSWERED).with_columns(
        rejected=pl.col("verdict") == "reject"
    )
    brackets = widest_brackets(answers.filter("aged"), by=_SERIES, age="stored_days")
    says_nothing = (pl.col("lower") == 0.0) & pl.col("upper").is_null()
    doses = dosed.select("lot", "format", "dose_ppb", "log_dose")
    return Evidence(
        samples=possible,
        servings=servings,
        series=_series(answers).join(doses, on=["lot", "format"]).sort("aged", *_SERIES),
        brackets=brackets.filter(~says_nothing).join(doses, on=["lot", "format"]).sort(_SERIES),
        uninformative=brackets.filter(says_nothing).group_by("style").len("series").sort("style"),
        lots=dosed,
        astray=len(astray),
        impossible=known.height - possible.height,
    )


def _samples(samples: pl.DataFrame, dosed: pl.DataFrame, before_placing_c: float) -> pl.DataFrame:
    """Join samples with their lots and tell their ages.

    Beer pulled on the day it was placed has stood in its earlier storage alone: that is where its
    days count.
    """
    placed_now = pl.col("stored_days") == 0
    return (
        samples.select(
            "sample",
            "lot",
            "format",
            "storage_temp_c",
            "placed_on",
            "pulled_on",
            before_temp_c=pl.col("before_placing_temp_c").fill_null(before_placing_c),
            role=pl.col("role").fill_null("aged"),
        )
        .join(
            dosed.select("lot", "format", "style", "beer", "batch", "packaged_on"),
            on=["lot", "format"],
        )
        .with_columns(
            before_days=_days_between("packaged_on", "placed_on"),
            stored_days=_days_between("placed_on", "pulled_on"),
        )
        .with_columns(age_days=pl.col("before_days") + pl.col("stored_days"))
        .with_columns(
            storage_temp_c=pl.when(placed_now).then("before_temp_c").otherwise("storage_temp_c"),
            stored_days=pl.when(placed_now).then("before_days").otherwise("stored_days"),
            before_days=pl.when(placed_now).then(0.0).otherwise("before_days"),
        )
        .with_columns(aged=(pl.col("role") == "aged") & (pl.col("stored_days") > 0))
        .sort("sample")
    )


def _days_between(first: str, second: str) -> pl.Expr:
    return (pl.col(second) - pl.col(first)).dt.total_days().cast(pl.Float64)


def _astray(servings: pl.DataFrame) -> list[str]:
    """Name assessors who reject blind fresh beer so often that no false alarm explains it.

    The likelihood takes at most 0.45 of an assessor's answers to be wrong; whoever is surely above
    that answers another question. Where more than half of those who had fresh beer are, the beer is
    suspect, not the people.
    """
    fresh = (
        servings.filter(_FRESH)
        .group_by("assessor")
        .agg(glasses=pl.len(), rejected=(pl.col("verdict") == "reject").sum())
        .cast({"glasses": pl.Int64, "rejected": pl.Int64})
        .sort("assessor")
    )
    glasses, rejected = (fresh[name].to_numpy() for name in ("glasses", "rejected"))
    chance = np.asarray(scipy.stats.binom.sf(rejected - 1, glasses, MOST_WRONG))
    found = fresh.filter(pl.Series(chance) < _SURE)["assessor"].to_list()
    return found if 2 * len(found) <= fresh.height else []


def _series(answers: pl.DataFrame) -> pl.DataFrame:
    """Gather answers into series; fresh beer has no storage to tell series apart by."""
    stored = ["storage_temp_c", "before_days", "before_temp_c", "stored_days"]
    return (
        answers.with_columns(pl.when("aged").then(pl.col(stored)).otherwise(1.0))
        .sort("stored_days", "sample", "rejected")
        .group_by("aged", *_SERIES, maintain_order=True)
        .agg("stored_days", "rejected")
    )


def _doses(lots: pl.DataFrame) -> pl.DataFrame:
    """Give every lot a dose: its own, else the mean of its style and format, its format, or 60."""
    own = pl.col("total_oxygen_ppb")
    read = pl.col("packages_read").fill_null(0) > 0
    cell = own.log().mean().over("style", "format").exp()
    of_format = own.log().mean().over("format").exp()
    return (
        lots.sort("style", "format", "packaged_on", "lot")  # a mean's last digit depends on it
        .with_columns(
            pl.col("ingress_ppb_per_day").fill_null(0.0),
            batch=pl.col("batch").fill_null(pl.col("lot")),
            filled=pl.coalesce(own, cell, of_format, pl.lit(REFERENCE_DOSE_PPB)),
            oxygen_from=pl.when(read)
            .then(pl.lit("measured"))
            .when(read.any().over("style", "format"))
            .then(pl.lit("cell"))
            .when(read.any().over("format"))
            .then(pl.lit("format"))
            .otherwise(pl.lit("assumed")),
        )
        .with_columns(
            dose_ppb=pl.coalesce(
                "dose_ppb",
                pl.col("filled") + DOSE_DAYS * pl.col("ingress_ppb_per_day"),
            ),
            total_oxygen_ppb=pl.col("filled"),
        )
        .with_columns(log_dose=(pl.col("dose_ppb") / REFERENCE_DOSE_PPB).log())
        .select(
            "style",
            "beer",
            "lot",
            "format",
            "batch",
            "packaged_on",
            "best_before",
            "total_oxygen_ppb",
            "ingress_ppb_per_day",
            "dose_ppb",
            "log_dose",
            "oxygen_from",
            "line",
            "trial",
        )
    )
