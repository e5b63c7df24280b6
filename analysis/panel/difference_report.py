"""What the table of difference tests says: each test, tests of one pair together, sizes needed."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.difference import (
    Plan,
    judge_difference,
    judge_similarity,
    power_of,
    similarity_size,
    smallest_size,
)
from analysis.panel.discrimination import METHODS, correct_of
from analysis.panel.replicated import FEWEST_TESTS, judge_replicated

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analysis.panel.difference import Difference, Interval, Similarity
    from analysis.panel.replicated import Replicated

SHARES = (0.1, 0.2, 0.3, 0.4, 0.5)
"""Of people who notice, for which sizes are told."""
ONE_OF_EACH = ("triangle", "duo-trio")
"""Of methods with the same lucky guesses one: a tetrad takes as many as a triangle."""
FOUR_WEEKS = 28

_BEER = {
    "beer": pl.String,
    "format": pl.String,
    "lot": pl.String,
    "storage_temp_c": pl.Float64,
    "stored_days": pl.Int32,
}
_JUDGED = {
    "assessments": pl.Int32,
    "correct": pl.Int32,
    "p": pl.Float64,
    "found": pl.Boolean,
    "share": pl.Float64,
    "share_lower": pl.Float64,
    "share_upper": pl.Float64,
    "d_prime": pl.Float64,
    "d_prime_lower": pl.Float64,
    "d_prime_upper": pl.Float64,
}
TESTS = (
    {"session": pl.String, "tasted_on": pl.Date, "method": pl.String}
    | {"sample": pl.String, "control": pl.String}
    | {f"{side}_{name}": kind for side in ("sample", "control") for name, kind in _BEER.items()}
    | _JUDGED
    | {
        "critical": pl.Int32,
        "power": pl.Float64,
        "first_size": pl.Int32,
        "always_size": pl.Int32,
        "share_at_most": pl.Float64,
        "shown_similar": pl.Boolean,
    }
)
"""One row a test; bounds at 90 %, an unbounded d' has no upper one; see `Difference`."""
_OF_PAIR = ("beer", "format", "storage_temp_c", "weeks")
PAIRS = (
    {"method": pl.String}
    | {
        f"{side}_{name}": kind
        for side in ("sample", "control")
        for name, kind in (
            ("beer", pl.String),
            ("format", pl.String),
            ("storage_temp_c", pl.Float64),
            ("weeks", pl.Int32),
        )
    }
    | {"tests": pl.Int32}
    | _JUDGED
    | {
        "added_lower": pl.Float64,
        "added_upper": pl.Float64,
        "overdispersion": pl.Float64,
        "p_alike": pl.Float64,
    }
)
"""One row a pair tested more than once; weeks in storage are in steps of four."""
SIZES = {
    "method": pl.String,
    "assessments": pl.Int32,
    "share": pl.Float64,
    "power": pl.Float64,
    "first_size": pl.Int32,
    "always_size": pl.Int32,
    "similar_size": pl.Int32,
}
"""One row a method and share; `assessments` the panel's usual number, null without tests."""


def difference_report(
    tests: pl.DataFrame, samples: pl.DataFrame, lots: pl.DataFrame
) -> tuple[pl.DataFrame, list[tuple[Difference, Similarity]], pl.DataFrame, list[Replicated]]:
    """Judge every test, and tests of one pair together.

    A pair is told by the method and by beer, format, storage and age of both sides, not by sample
    or lot: what differs from lot to lot shows as overdispersion.

    Args:
        tests: session, tasted_on, method, sample, control, assessments, correct.
        samples: sample, lot, format, storage_temp_c, placed_on, pulled_on.
        lots: lot, format, beer.

    Returns:
        `TESTS`, and the judgement of each; `PAIRS`, and the judgement of each.
    """
    known = _with_beers(tests, samples, lots)
    rows, judged = [], []
    for test in known.iter_rows(named=True):
        counts = (Plan(METHODS[test["method"]]), test["assessments"], test["correct"])
        judgement = (judge_difference(*counts), judge_similarity(*counts))
        judged.append(judgement)
        rows.append(test | _test(*judgement))
    pairs, together = _pairs(known)
    return pl.DataFrame(rows, schema=TESTS), judged, pairs, together


def _with_beers(tests: pl.DataFrame, samples: pl.DataFrame, lots: pl.DataFrame) -> pl.DataFrame:
    beers = samples.join(lots.select("lot", "format", "beer"), on=["lot", "format"]).select(
        "sample",
        "beer",
        "format",
        "lot",
        "storage_temp_c",
        stored_days=(pl.col("pulled_on") - pl.col("placed_on")).dt.total_days().cast(pl.Int32),
    )
    named = [
        beers.rename({name: f"{side}_{name}" for name in _BEER} | {"sample": side})
        for side in ("sample", "control")
    ]
    asked = tests.select(
        "session", "tasted_on", "method", "sample", "control", "assessments", "correct"
    )
    return (
        asked.join(named[0], on="sample")
        .join(named[1], on="control")
        .sort("tasted_on", "session", "method", "sample", "control")
    )


def _judged(difference: Difference, share: Interval, d_prime: Interval) -> dict[str, object]:
    return {
        "assessments": difference.assessments,
        "correct": difference.correct,
        "p": difference.p,
        "found": difference.found,
        "share": share.value,
        "share_lower": share.lower,
        "share_upper": share.upper,
        "d_prime": _bounded(d_prime.value),
        "d_prime_lower": _bounded(d_prime.lower),
        "d_prime_upper": _bounded(d_prime.upper),
    }


def _bounded(d_prime: float) -> float | None:
    return None if d_prime == inf else d_prime


def _test(difference: Difference, similarity: Similarity) -> dict[str, object]:
    size = smallest_size(difference.plan)
    return _judged(difference, difference.share, difference.d_prime) | {
        "critical": difference.critical,
        "power": difference.power,
        "first_size": size.first,
        "always_size": size.always,
        "share_at_most": similarity.upper,
        "shown_similar": similarity.shown,
    }


def _pairs(known: pl.DataFrame) -> tuple[pl.DataFrame, list[Replicated]]:
    weeks = [
        (pl.col(f"{side}_stored_days") // FOUR_WEEKS * 4).cast(pl.Int32).alias(f"{side}_weeks")
        for side in ("sample", "control")
    ]
    rows, together = [], []
    sides = [f"{side}_{name}" for side in ("sample", "control") for name in _OF_PAIR]
    grouped = known.with_columns(weeks).group_by("method", *sides, maintain_order=True)
    for key, part in sorted(grouped, key=lambda group: str(group[0])):
        if part.height < FEWEST_TESTS:
            continue
        plan = Plan(METHODS[str(key[0])])
        found = judge_replicated(plan, part["assessments"].to_numpy(), part["correct"].to_numpy())
        together.append(found)
        rows.append(
            dict(zip(("method", *sides), key, strict=True))
            | _judged(found.added, found.share, found.d_prime)
            | {
                "tests": found.tests,
                "added_lower": found.added.share.lower,
                "added_upper": found.added.share.upper,
                "overdispersion": found.overdispersion,
                "p_alike": found.p_alike,
            }
        )
    return pl.DataFrame(rows, schema=PAIRS), together


def sizes(tests: pl.DataFrame, methods: Iterable[str] = ONE_OF_EACH) -> pl.DataFrame:
    """Tell what the panel's usual number of answers can prove, and how many other shares take.

    Args:
        tests: method, assessments.
        methods: those to tell of.

    Returns:
        `SIZES`.
    """
    usual = tests["assessments"].median()
    number = None if usual is None else int(usual)  # type: ignore[arg-type]
    rows = []
    for name in methods:
        for share in SHARES:
            plan = Plan(METHODS[name], share=share)
            chance = correct_of(plan.method, share)
            size = smallest_size(plan)
            rows.append(
                {
                    "method": name,
                    "assessments": number,
                    "share": share,
                    "power": None if number is None else float(power_of(plan, number, chance)),
                    "first_size": size.first,
                    "always_size": size.always,
                    "similar_size": similarity_size(plan).first,
                }
            )
    return pl.DataFrame(rows, schema=SIZES)
