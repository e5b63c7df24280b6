r"""Whether an oxygen meter can be believed: its checks, bias and drift, and when it is in doubt.

A check reads a standard of known oxygen. It fails where observed and expected differ by more than
the tolerance. A failed check puts the meter's readings in doubt back to when it last passed on that
standard, as found or as left after an adjustment, and on to when it next does: a good zero clears
no bad reference.

For a standard that is checked several times a visit, with J repeats in each of K visits,

    short-term s₁    pooled over visits, K(J − 1) degrees of freedom
    between days s₂  of the visits' means, K − 1 degrees of freedom
    limits           mean ± 2·s₂

of observed − expected, so that a new bottle of gas moves nothing.

Reference: NIST/SEMATECH e-Handbook of Statistical Methods, doi:10.18434/M32189, 2.2.2 and 2.6.2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.errors import NotEstimable
from analysis.units import OXYGEN_PPB

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

TOLERANCE_SHARE = 0.05
"""Of the expected value, where a check states no tolerance (assumed)."""
TOLERANCE_PPB = 2.0
"""At least, where a check states no tolerance: a meter's floor (assumed)."""
TOLERANCE_SATURATION = 0.02
"""The same in % saturation: 2 of the 9090 ppb that water at 20 °C holds under air."""
RECENT_DAYS = 180
"""Days before a meter's last check whose checks say how it reads now."""
LEAST_CHECKS = 5
LEAST_VISITS = 3
_DAYS_A_MONTH = 30.0


def judged_checks(checks: pl.DataFrame) -> pl.DataFrame:
    """Say of each check whether the meter passed.

    Args:
        checks: meter, checked_at, standard, expected, observed, unit, tolerance (in `unit`; empty:
            5 % of what is expected, never less than 2 ppb or 0.02 % saturation), state (found,
            left; empty: found).

    Returns:
        meter, checked_at, standard, expected, observed, unit (ppb or % saturation), error
        (observed − expected), tolerance, state and passed; sorted by meter and time.
    """
    factor = pl.col("unit").replace_strict(OXYGEN_PPB, default=None, return_dtype=pl.Float64)
    in_ppb = factor.is_not_null()
    expected, observed, stated = (
        pl.col(name).cast(pl.Float64) * factor.fill_null(1.0)
        for name in ("expected", "observed", "tolerance")
    )
    least = pl.when(in_ppb).then(TOLERANCE_PPB).otherwise(TOLERANCE_SATURATION)
    return (
        checks.select(
            "meter",
            "checked_at",
            "standard",
            expected=expected,
            observed=observed,
            unit=pl.when(in_ppb).then(pl.lit("ppb")).otherwise("unit"),
            error=observed - expected,
            tolerance=pl.coalesce(
                stated, pl.max_horizontal((TOLERANCE_SHARE * expected).abs(), least)
            ),
            state=pl.col("state").fill_null("found"),
        )
        .with_columns(passed=pl.col("error").abs() <= pl.col("tolerance") * (1.0 + 1e-9))
        .sort("meter", "checked_at", "state", "standard")
    )


def doubtful_spans(judged: pl.DataFrame) -> pl.DataFrame:
    """Give the spans in which a meter's readings are in doubt.

    Args:
        judged: as `judged_checks` returns them.

    Returns:
        meter, after (when that standard was last good, null where it never was), first_failed,
        last_failed, until (when it was good next, null where it was not since), failed (checks),
        and of the check that was furthest off in tolerances: standard, unit, expected, error,
        tolerance; sorted by meter, time and standard. Spans of two standards may overlap.
    """
    good_at = pl.when("passed").then("checked_at")
    by_standard = ("meter", "standard")
    off = pl.col("error").abs() / pl.col("tolerance").clip(lower_bound=1e-9)
    return (
        judged.sort(*by_standard, "checked_at")
        .with_columns(
            after=good_at.forward_fill().over(by_standard),
            until=good_at.backward_fill().over(by_standard),
        )
        .filter(~pl.col("passed"))
        .sort(off, "checked_at", descending=[True, False])
        .group_by(*by_standard, "after", "until", maintain_order=True)
        .agg(
            first_failed=pl.col("checked_at").min(),
            last_failed=pl.col("checked_at").max(),
            failed=pl.len().cast(pl.Int32),
            **{name: pl.col(name).first() for name in ("unit", "expected", "error", "tolerance")},
        )
        .sort("meter", "first_failed", "standard")
    )


def in_doubt(readings: pl.DataFrame, spans: pl.DataFrame) -> pl.Series:
    """Tell which readings were taken in a span in doubt.

    Args:
        readings: meter, measured_at.
        spans: as `doubtful_spans` returns them.

    Returns:
        Boolean, in the order of the readings; a reading that names no meter is not in doubt.
    """
    numbered = readings.select("meter", "measured_at").with_row_index("row")
    at = pl.col("measured_at")
    hit = numbered.join(spans.select("meter", "after", "until"), on="meter").filter(
        pl.col("after").is_null() | (at > pl.col("after")),
        pl.col("until").is_null() | (at < pl.col("until")),
    )
    return numbered["row"].is_in(hit["row"].unique().implode()).alias("in_doubt")


def bias_and_drift(judged: pl.DataFrame, confidence: float = 0.90) -> pl.DataFrame:
    """Estimate how far a meter reads off now, and how fast that changes.

    Args:
        judged: as `judged_checks` returns them; the recent ones count.
        confidence: of the two-sided intervals.

    Returns:
        meter, standard, unit, checks, bias, bias_lower, bias_upper (mean of observed − expected)
        and drift, drift_lower, drift_upper (change in 30 days, by least squares on the days);
        numbers are null with fewer than five checks; sorted by meter, standard and unit.
    """
    from statsmodels.regression.linear_model import OLS

    rows = []
    for key, part in recent_checks(judged).group_by(
        "meter", "standard", "unit", maintain_order=True
    ):
        numbers: list[float | None] = [None] * 6
        if part.height >= LEAST_CHECKS:
            since = part["checked_at"] - part["checked_at"].min()
            months = since.dt.total_seconds().to_numpy() / 86_400.0 / _DAYS_A_MONTH
            error = part["error"].to_numpy()
            mean = OLS(error, np.ones_like(error)).fit()
            numbers[:3] = mean.params[0], *mean.conf_int(1.0 - confidence)[0]
            if np.ptp(months) > 0.0:
                line = OLS(error, np.column_stack([np.ones_like(months), months])).fit()
                numbers[3:] = line.params[1], *line.conf_int(1.0 - confidence)[1]
        rows.append((*key, part.height, *numbers))
    names = ("bias", "bias_lower", "bias_upper", "drift", "drift_lower", "drift_upper")
    schema = {
        **dict.fromkeys(("meter", "standard", "unit"), pl.String),
        "checks": pl.Int32,
        **dict.fromkeys(names, pl.Float64),
    }
    return pl.DataFrame(rows, schema=schema, orient="row").sort("meter", "standard", "unit")


def recent_checks(judged: pl.DataFrame) -> pl.DataFrame:
    """Keep the checks that say how a meter reads now.

    Those as found, of the last 180 days before the meter's newest, since it was last left adjusted:
    what it read before an adjustment says nothing of it now.

    Args:
        judged: as `judged_checks` returns them.
    """
    at, left = pl.col("checked_at"), pl.col("state") == "left"
    adjusted = at.filter(left).max().over("meter")
    newest = at.max().over("meter")
    return judged.filter(
        ~left,
        at > newest - pl.duration(days=RECENT_DAYS),
        adjusted.is_null() | (at > adjusted),
    )


@dataclass(frozen=True)
class CheckStandard:
    """How a standard that is read several times a visit repeats.

    Attributes:
        mean: of the visits' means.
        short_term_sd: s₁, within visits.
        short_term_df: its degrees of freedom.
        between_sd: s₂, of the visits' means.
        between_df: its degrees of freedom.
    """

    mean: float
    short_term_sd: float
    short_term_df: int
    between_sd: float
    between_df: int

    @property
    def limits(self) -> tuple[float, float]:
        """Where a visit's mean lies while nothing changes, mean ± 2·s₂."""
        return self.mean - 2.0 * self.between_sd, self.mean + 2.0 * self.between_sd


def check_standard(values: ArrayLike, visit: ArrayLike) -> CheckStandard:
    """Take repeated checks apart into what differs within a visit and between visits.

    Args:
        values: what was read, or how far off that was, shape (n,).
        visit: which visit each belongs to, any values, shape (n,).

    Raises:
        NotEstimable: fewer than three visits, or none with a second reading.
    """
    observed = np.asarray(values, dtype=np.float64)
    _, place = np.unique(np.asarray(visit), return_inverse=True)
    count = np.bincount(place)
    if len(count) < LEAST_VISITS or count.max(initial=0) < 2:  # noqa: PLR2004 - a repeat is two
        message = f"{len(count)} visits with {len(observed)} checks show no repeatability"
        raise NotEstimable(message)
    means = np.bincount(place, observed) / count
    within = int(count.sum() - len(count))
    return CheckStandard(
        mean=float(means.mean()),
        short_term_sd=math.sqrt(float(((observed - means[place]) ** 2).sum()) / within),
        short_term_df=within,
        between_sd=float(means.std(ddof=1)),
        between_df=len(count) - 1,
    )
