"""Checks of oxygen meters: what passes, what is in doubt, how far off a meter reads."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.control.meters import (
    bias_and_drift,
    check_standard,
    doubtful_spans,
    in_doubt,
    judged_checks,
)
from analysis.errors import NotEstimable

REFERENCE = Path(__file__).parents[2] / "reference"
CHECK = {
    "meter": pl.String,
    "checked_at": pl.Datetime("us"),
    "standard": pl.String,
    "expected": pl.Float64,
    "observed": pl.Float64,
    "unit": pl.String,
    "tolerance": pl.Float64,
    "state": pl.String,
}
START = datetime(2031, 3, 3, 7)  # noqa: DTZ001 - the tables hold local times


def day(number: float) -> datetime:
    """Return seven in the morning of a day, counted from 0."""
    return START + timedelta(days=number)


def checks(*rows: dict[str, Any]) -> pl.DataFrame:
    """Make checks: of meter M1 at 50 ppb with a tolerance of 5, unless a row says otherwise."""
    usual = {"meter": "M1", "standard": "reference", "expected": 50.0, "unit": "ppb"}
    return pl.DataFrame([{**usual, "tolerance": 5.0, **row} for row in rows], schema=CHECK)


def seen(*observed: float, state: str | None = None) -> pl.DataFrame:
    """Make a check a day that reads so much."""
    return checks(
        *(
            {"checked_at": day(n), "observed": value, "state": state}
            for n, value in enumerate(observed)
        )
    )


def spans(table: pl.DataFrame) -> list[tuple[Any, ...]]:
    """Return the spans in doubt as days: after, until, and how many visits failed."""
    found = doubtful_spans(judged_checks(table))
    at = [pl.col(name).sub(START).dt.total_days() for name in ("after", "until")]
    return found.select(*at, "failed").rows()


@pytest.mark.parametrize(
    ("row", "passed"),
    [
        ({"observed": 55.0}, True),
        ({"observed": 55.1}, False),
        ({"observed": 0.0551, "expected": 0.05, "unit": "mg/L", "tolerance": 0.005}, False),
        ({"observed": 52.5, "tolerance": None}, True),
        ({"observed": 52.6, "tolerance": None}, False),
        ({"standard": "zero", "expected": 0.0, "observed": 1.9, "tolerance": None}, True),
        ({"standard": "zero", "expected": 0.0, "observed": -2.1, "tolerance": None}, False),
        (
            {
                "standard": "air",
                "expected": 100.0,
                "observed": 96.0,
                "unit": "% saturation",
                "tolerance": None,
            },
            True,
        ),
        (
            {"standard": "zero", "expected": 0.0, "observed": 0.01, "unit": "% saturation"}
            | {"tolerance": None},
            True,
        ),
        (
            {"standard": "zero", "expected": 0.0, "observed": 0.03, "unit": "% saturation"}
            | {"tolerance": None},
            False,
        ),
        ({"observed": 50.0, "tolerance": 0.0}, True),
        ({"observed": 50.1, "tolerance": 0.0}, False),
    ],
)
def test_a_check_passes_within_its_tolerance(row: dict[str, Any], passed: bool) -> None:  # noqa: FBT001
    """Its own, in its own unit; else 5 % of what is expected, at least 2 ppb or 0.02 %."""
    judged = judged_checks(checks({"checked_at": START} | row))
    assert judged["passed"].to_list() == [passed]


def test_a_failed_check_casts_doubt_back_and_on_to_the_good_ones() -> None:
    """Good on days 0 and 3, failed on 1 and 2: one span between, the worst check in it."""
    table = seen(50.0, 57.0, 60.0, 51.0)
    assert spans(table) == [(0, 3, 2)]
    worst = doubtful_spans(judged_checks(table)).row(0, named=True)
    assert (worst["error"], worst["expected"], worst["tolerance"]) == (10.0, 50.0, 5.0)
    assert worst["first_failed"] < worst["last_failed"]


def test_without_a_good_check_the_doubt_has_no_end() -> None:
    """Failed first: every reading before. Failed last: every one since."""
    assert spans(seen(60.0, 50.0)) == [(None, 1, 1)]
    assert spans(seen(50.0, 60.0)) == [(0, None, 1)]
    assert spans(seen(60.0)) == [(None, None, 1)]
    assert spans(seen(50.0, 51.0)) == []


def test_trust_begins_again_where_the_meter_was_left_good() -> None:
    """Found bad at day 1, left good an hour later: in doubt until then."""
    table = pl.concat(
        [
            seen(50.0, 60.0),
            checks({"checked_at": day(1.25), "observed": 50.0, "state": "left"}),
            checks({"checked_at": day(5), "observed": 50.0}),
        ]
    )
    found = doubtful_spans(judged_checks(table)).row(0, named=True)
    assert (found["after"], found["until"]) == (day(0), day(1.25))


@pytest.mark.parametrize("minutes", [-5, 0, 5])
def test_a_good_zero_clears_no_bad_reference(minutes: float) -> None:
    """Whether it was read before, with or after the reference: in doubt from day 0 to day 2."""
    zero = {"standard": "zero", "expected": 0.0, "observed": 0.5}
    at = {"checked_at": day(1 + minutes / 1440)}
    assert spans(pl.concat([seen(50.0, 60.0, 50.0), checks(at | zero)])) == [(0, 2, 1)]


def test_an_adjustment_that_left_the_meter_off_is_a_failed_check() -> None:
    """Found good, left bad: in doubt from then on to the next good check."""
    left = checks({"checked_at": day(0.25), "observed": 60.0, "state": "left"})
    found = doubtful_spans(judged_checks(pl.concat([seen(50.0, 51.0), left]))).row(0, named=True)
    assert (found["after"], found["until"]) == (day(0), day(1))


def test_a_meter_off_on_two_standards_has_a_span_for_each() -> None:
    """The zero passes a day before the reference does."""
    zero = {"standard": "zero", "expected": 0.0}
    table = pl.concat(
        [
            seen(50.0, 60.0, 60.0, 50.0),
            checks(
                *({"checked_at": day(n), "observed": v} | zero for n, v in enumerate((0, 9, 0)))
            ),
        ]
    )
    found = doubtful_spans(judged_checks(table))
    assert found["standard"].to_list() == ["reference", "zero"]
    assert spans(table) == [(0, 3, 2), (0, 2, 1)]


def test_readings_between_are_in_doubt_and_no_others() -> None:
    """By meter and time; the checks' own times are outside; a reading without meter is not."""
    table = seen(50.0, 60.0, 50.0)
    readings = pl.DataFrame(
        {
            "meter": ["M1", "M1", "M1", "M1", "M2", None],
            "measured_at": [day(-1), day(0.5), day(1.5), day(2.5), day(0.5), day(0.5)],
        }
    )
    found = in_doubt(readings, doubtful_spans(judged_checks(table)))
    assert found.to_list() == [False, True, True, False, False, False]
    assert not in_doubt(readings, doubtful_spans(judged_checks(checks()))).any()
    assert in_doubt(readings.clear(), doubtful_spans(judged_checks(table))).is_empty()


def test_bias_and_drift_are_least_squares_with_t_intervals() -> None:
    """Within 1e-9 of scipy's linregress and t interval over the same days."""
    rng = np.random.default_rng(1)
    observed = 51.0 + 0.05 * np.arange(12) + rng.normal(0.0, 0.6, 12)
    row = bias_and_drift(judged_checks(seen(*observed))).row(0, named=True)
    line = stats.linregress(np.arange(12) / 30.0, observed - 50.0)
    half = stats.t.ppf(0.95, 10) * line.stderr
    assert row["checks"] == 12
    assert row["bias"] == pytest.approx(observed.mean() - 50.0)
    low, high = stats.t.interval(0.9, 11, observed.mean() - 50.0, stats.sem(observed))
    assert (row["bias_lower"], row["bias_upper"]) == pytest.approx((low, high))
    assert row["drift"] == pytest.approx(line.slope)
    assert (row["drift_lower"], row["drift_upper"]) == pytest.approx(
        (line.slope - half, line.slope + half)
    )


def test_only_what_says_how_a_meter_reads_now_counts() -> None:
    """Checks since it was last left adjusted and of the last 180 days; few give no number."""
    before = seen(*[60.0] * 10)
    left = checks({"checked_at": day(10), "observed": 50.0, "state": "left"})
    after = checks(*({"checked_at": day(11 + n), "observed": 49.0} for n in range(6)))
    row = bias_and_drift(judged_checks(pl.concat([before, left, after]))).row(0, named=True)
    assert (row["checks"], row["bias"]) == (6, pytest.approx(-1.0))
    old = pl.concat([before, checks({"checked_at": day(400), "observed": 50.0})])
    few = bias_and_drift(judged_checks(old)).row(0, named=True)
    assert (few["checks"], few["bias"], few["drift"]) == (1, None, None)
    assert bias_and_drift(judged_checks(checks())).is_empty()


def test_a_check_standard_is_that_of_the_handbook() -> None:
    """NIST e-Handbook 2.6.2: s₁ 0.06139 (125 df), s₂ 0.02680 (24 df), mean and limits as printed.

    The handbook prints each visit's mean and SD of six; six values of that mean and SD stand here.
    """
    table = pl.read_csv(REFERENCE / "nist_262_check_standard_137.csv")
    six = np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0]) * np.sqrt(5.0 / 6.0)
    values = (
        table["measurement_ohm_cm"].to_numpy()[:, None]
        + table["s_short_term"].to_numpy()[:, None] * six
    )
    found = check_standard(values.ravel(), np.repeat(np.arange(table.height), 6))
    assert (found.short_term_sd, found.short_term_df) == (pytest.approx(0.06139, abs=5e-6), 125)
    assert (found.between_sd, found.between_df) == (pytest.approx(0.02680, abs=5e-6), 24)
    assert found.mean == pytest.approx(97.0698, abs=5e-5)
    assert found.limits == pytest.approx((97.0162, 97.1234), abs=1e-4)


@pytest.mark.parametrize(
    ("values", "visits"), [([1.0, 1.1], [1, 1]), ([1.0, 1.1, 1.2], [1, 2, 3]), ([], [])]
)
def test_without_repeats_or_visits_there_is_no_repeatability(
    values: list[float], visits: list[int]
) -> None:
    """One visit, no visit twice, or nothing at all."""
    with pytest.raises(NotEstimable, match="repeatability"):
        check_standard(values, visits)
