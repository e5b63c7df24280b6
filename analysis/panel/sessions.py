r"""Sessions to doubt: whose fresh control failed, who was there, what had waited too long.

A fresh control failed where the panel's usual false alarms do not explain its rejections. Taster i,
who has rejected r of n blind fresh glasses in all other sessions, does so with the chance

    p_i = (r + w p) / (n + w),    p = (R + 1) / (N + 10),    w = 10

with R of N those of all tasters: a guess of one in ten worth ten glasses to begin with, and each
taster drawn to the panel's share by ten glasses more. So a session with two tasters who guess is
held against what these two do, and the first sessions of a brewery against one in ten. The number
of rejections is a sum of such chances (Poisson binomial), and a control failed where so many or
more would come up in fewer than one sound session in a hundred, and a third or more rejected it.

A third alone doubts every fourth sound session of three tasters and every twenty-sixth of eight, at
one false alarm in ten. Of 140 simulated sessions a year, false alarms 5 to 12 %, one taster who
guesses, 70 % there, this doubts 0.6 sound ones; a third alone doubts 6 (12 tasters) to 21 (6).
Of controls that 60 % reject it finds 78 % with 12 tasters and 50 % with 8. One in fifty would find
84 and 58 %, and doubt twice as many sound sessions. Those that failed are no part of what is usual,
so the finding is repeated until none is added.
"""

from __future__ import annotations

from functools import reduce

import numpy as np
import polars as pl

KEPT_COLD_C = 8.0
"""A fresh control stored warmer than this, °C, was not kept cold."""
OLDEST_FRESH_DAYS = 60
"""A fresh control older than this from packaging, days, is not young."""
FEWEST_ASSESSORS = 4
MOST_GLASSES = 6

_FAILED_SHARE = 1 / 3
_RARE = 0.01
_PRIOR_GLASSES, _PRIOR_REJECTED = 10.0, 1.0
_DRAWN_GLASSES = 10.0
_TASTED_ROLES = ("aged", "fresh")
_FRESH = pl.col("role") == "fresh"


def session_report(glasses: pl.DataFrame, *, within_days: int) -> dict[str, pl.DataFrame]:
    """Tell of every session of aged or fresh beer what bears on whether it can be believed.

    Args:
        glasses: as `analysis.panel.glasses.glasses` returns them.
        within_days: a sample is to be tasted within so many days of its pull.

    Returns:
        `panel_sessions`, one row a session, by day: session, tasted_on, assessors, samples,
        most_glasses (of one taster), fresh_tasted and fresh_rejected (verdicts on the blind fresh
        control, not sure left out), fresh_expected (rejections usual for those who sat there),
        fresh_chance (of so many or more), fresh_age_days (from packaging to the tasting),
        fresh_storage_temp_c and fresh_waited_days, the highest of its controls (null without one),
        fresh_failed, suspect (of a failed control, what to suspect first: kept warm, old, waited,
        or the panel that day; else null), no_fresh, few_assessors, many_glasses.
        `waited_samples`, one row a session and sample that had waited longer: session, tasted_on,
        sample, role, beer, format, lot, storage_temp_c, pulled_on, waited_days.
    """
    tasted = glasses.filter(pl.col("role").is_in(_TASTED_ROLES))
    of_assessor = pl.len().over("session", "assessor")
    sessions = (
        tasted.with_columns(of_assessor=of_assessor)
        .group_by("session")
        .agg(
            tasted_on=pl.col("tasted_on").min(),
            assessors=pl.col("assessor").n_unique().cast(pl.Int32),
            samples=pl.col("sample").n_unique().cast(pl.Int32),
            most_glasses=pl.col("of_assessor").max().cast(pl.Int32),
            fresh_age_days=_highest(pl.col("age_days") + pl.col("waited_days")).cast(pl.Int32),
            fresh_storage_temp_c=_highest(pl.col("storage_temp_c")),
            fresh_waited_days=_highest(pl.col("waited_days")).cast(pl.Int32),
            no_fresh=~_FRESH.any(),
        )
        .join(_controls(tasted.filter(_FRESH, pl.col("rejected").is_not_null())), "session", "left")
        .with_columns(
            pl.col("fresh_tasted", "fresh_rejected").fill_null(0),
            pl.col("fresh_failed").fill_null(value=False),
            few_assessors=pl.col("assessors") < FEWEST_ASSESSORS,
            many_glasses=pl.col("most_glasses") > MOST_GLASSES,
        )
        .with_columns(suspect=pl.when("fresh_failed").then(_suspect(within_days)))
        .sort("tasted_on", "session")
    )
    waited = (
        tasted.filter(pl.col("waited_days") > within_days)
        .select(
            *("session", "tasted_on", "sample", "role", "beer", "format", "lot"),
            *("storage_temp_c", "pulled_on", pl.col("waited_days").cast(pl.Int32)),
        )
        .unique()
        .sort("tasted_on", "session", "sample")
    )
    return {"panel_sessions": sessions, "waited_samples": waited}


def _highest(of_fresh: pl.Expr) -> pl.Expr:
    return of_fresh.filter(_FRESH).max()


def _suspect(within_days: int) -> pl.Expr:
    """Name what to suspect first: the sample, as far as anything is known against it."""
    return (
        pl.when(pl.col("fresh_storage_temp_c") > KEPT_COLD_C)
        .then(pl.lit("kept warm"))
        .when(pl.col("fresh_age_days") > OLDEST_FRESH_DAYS)
        .then(pl.lit("old"))
        .when(pl.col("fresh_waited_days") > within_days)
        .then(pl.lit("waited"))
        .otherwise(pl.lit("the panel that day"))
    )


def _controls(fresh: pl.DataFrame) -> pl.DataFrame:
    """Judge each session's control by what is usual in the others: session, fresh_…."""
    failed: set[str] = set()
    while True:
        judged = _judged(fresh, sorted(failed))
        now = set(judged.filter("fresh_failed")["session"])
        if now <= failed:
            return judged.with_columns(fresh_failed=pl.col("session").is_in(sorted(failed)))
        failed |= now


def _judged(fresh: pl.DataFrame, failed: list[str]) -> pl.DataFrame:
    counted = ~pl.col("session").is_in(failed)
    glasses, rejected = counted.cast(pl.Float64), (counted & pl.col("rejected")).cast(pl.Float64)
    panel = (_elsewhere(rejected) + _PRIOR_REJECTED) / (_elsewhere(glasses) + _PRIOR_GLASSES)
    own = (_elsewhere(rejected, "assessor") + _DRAWN_GLASSES * panel) / (
        _elsewhere(glasses, "assessor") + _DRAWN_GLASSES
    )
    sessions = (
        fresh.sort("session", "assessor", "sample", "code", "rejected")
        .select("session", "rejected", chance=own)
        .group_by("session", maintain_order=True)
        .agg(
            "chance",
            fresh_tasted=pl.len().cast(pl.Int32),
            fresh_rejected=pl.col("rejected").sum().cast(pl.Int32),
            fresh_expected=pl.col("chance").sum(),
        )
    )
    tails = [
        at_least(rejected, np.array(chances))
        for rejected, chances in sessions.select("fresh_rejected", "chance").iter_rows()
    ]
    share = pl.col("fresh_rejected") / pl.col("fresh_tasted")
    return sessions.drop("chance").with_columns(
        fresh_chance=pl.Series(tails, dtype=pl.Float64),
        fresh_failed=pl.Series(tails, dtype=pl.Float64).lt(_RARE) & (share >= _FAILED_SHARE),
    )


def _elsewhere(number: pl.Expr, *of: str) -> pl.Expr:
    """Sum over all other sessions, of the same taster where one is asked for."""
    whole = number.sum().over(*of) if of else number.sum()
    return whole - number.sum().over("session", *of)


def at_least(number: int, chances: np.ndarray) -> float:
    """Give the chance that so many or more of independent events come up.

    Args:
        number: how many.
        chances: of each event, from 0 to 1.
    """
    counts = reduce(np.convolve, ([1.0 - p, p] for p in chances), np.ones(1))
    return min(1.0, float(counts[number:].sum()))
