"""Who drifts: whose answers move, over the quarters, against those of the rest on the same glasses.

A steady threshold of one's own is no drift, and what the whole panel does together is not seen.
An assessor's slope is held against the weighted mean slope of the rest. Who drifts is found one at
a time: the assessor whose slope is farthest out for its error leaves the rest, is looked at again
against those who stay, and `drifts` where a slope so far out had less than a chance of 5 % among
all who are not found yet (Holm); then the next. Of those who remain, whoever alone is beyond 5 %
`may drift`; of sound assessors one in twenty will be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
from scipy import stats

from analysis.panel.agreement import SURE
from analysis.panel.measure import FEWEST_OTHERS, VERDICT, Measured
from analysis.panel.score_shifts import score_shifts
from analysis.panel.shift import UNKNOWN, Shifts, clustered
from analysis.panel.verdict_shifts import verdict_shifts

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]

FEWEST_IN_QUARTER = 10
"""Glasses from which a quarter is told of."""

SLOPES = {
    "assessor": pl.String,
    **dict.fromkeys(("drift_a_year", "drift_a_year_lower", "drift_a_year_upper"), pl.Float64),
    "drift": pl.String,
}
QUARTERS = {
    "assessor": pl.String,
    "quarter": pl.Date,
    "glasses": pl.Int32,
    **dict.fromkeys(("shift", "shift_lower", "shift_upper"), pl.Float64),
}

_LEVEL = 0.90
_FEWEST_YEARS = 1.0 / 3.0
_FARTHEST = 5.0  # in logs: a bound beyond it is nowhere
_WIDEST = 0.5  # a bound that far from the slope says nothing


@dataclass(frozen=True)
class _Slopes:
    """Of each assessor, the slope against the reference, its bounds, and how likely by chance."""

    shifts: Shifts
    slope: Array
    lower: Array
    upper: Array
    chance: Array


def drift(measured: Measured, lost: Collection[str]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Tell who drifts, and how far from their usual level everybody was in each quarter.

    Args:
        measured: the glasses.
        lost: assessors who do not follow what the rest find: nobody is held against them, and they
            have no level that could drift.

    Returns:
        By assessor, in the order of `names`: assessor, drift (drifts, may drift, none shows; null
        where too few glasses tell), drift_a_year with _lower and _upper (90 %; of scores a share of
        the usual level, of verdicts a share of glasses; above 0 finds more age, rejects more).
        By assessor and quarter: assessor, quarter (its first day), glasses, shift with _lower and
        _upper (as drift_a_year, from the own usual level); quarters with ten glasses or more.
    """
    reference = np.array([name not in lost for name in measured.names])
    if reference.sum() <= FEWEST_OTHERS:
        return pl.DataFrame(schema=SLOPES), pl.DataFrame(schema=QUARTERS)
    slopes = _against(measured, reference)
    open_, found = reference & (slopes.chance < 1.0), []
    while open_.any() and reference.sum() > FEWEST_OTHERS + 1:
        farthest = int(np.argmin(np.where(open_, slopes.chance, np.inf)))
        without = reference.copy()
        without[farthest] = False
        if _against(measured, without).chance[farthest] > SURE / open_.sum():
            break
        found.append(farthest)
        reference, open_[farthest] = without, False
        slopes = _against(measured, reference)
    return _by_assessor(measured, slopes, found, lost), _by_quarter(measured, slopes.shifts)


def _against(measured: Measured, reference: Flags) -> _Slopes:
    fit = verdict_shifts if measured.measure == VERDICT else score_shifts
    shifts = fit(measured, reference)
    weight = np.where(reference, 1.0 / shifts.variance, 0.0)
    others = np.maximum(weight.sum() - weight, 1.0 / UNKNOWN)
    of_rest = (weight @ shifts.slope - weight * shifts.slope) / others
    error = np.sqrt(shifts.variance + 1.0 / others)
    apart = shifts.slope - of_rest
    freedom = np.array([_freedom(measured, i) for i in range(len(apart))])
    half = stats.t.isf((1.0 - _LEVEL) / 2.0, freedom) * error
    return _Slopes(
        shifts,
        slope=shifts.said * apart,
        lower=shifts.said * (apart - half),
        upper=shifts.said * (apart + half),
        chance=np.asarray(2.0 * stats.t.sf(np.abs(apart) / error, freedom)),
    )


def _freedom(measured: Measured, assessor: int) -> float:
    """Give the degrees of freedom of a slope: clusters, less the three numbers fitted."""
    mine = measured.who == assessor
    clusters = min(len(np.unique(of[mine])) for of in (measured.series, measured.session))
    return max(clusters - 3.0, 1.0)


def _by_assessor(
    measured: Measured, slopes: _Slopes, found: Collection[int], lost: Collection[str]
) -> pl.DataFrame:
    spans = [np.ptp(measured.years[measured.who == i]) for i in range(len(measured.names))]
    tells = (np.array(spans) >= _FEWEST_YEARS) & (slopes.upper - slopes.slope <= _WIDEST)
    tells &= ~np.isin(measured.names, list(lost))
    drifts = pl.Series(np.isin(np.arange(len(tells)), list(found)))
    return (
        pl.DataFrame(
            {
                "assessor": measured.names,
                "drift_a_year": _share(measured, slopes.slope),
                "drift_a_year_lower": _share(measured, slopes.lower),
                "drift_a_year_upper": _share(measured, slopes.upper),
                "drift": np.where(slopes.chance <= SURE, "may drift", "none shows"),
            },
            schema=SLOPES,
        )
        .with_columns(drift=pl.when(drifts).then(pl.lit("drifts")).otherwise("drift"))
        .with_columns(pl.when(pl.Series(tells)).then(pl.exclude("assessor")))
    )


def _by_quarter(measured: Measured, shifts: Shifts) -> pl.DataFrame:
    normal = stats.norm.isf((1.0 - _LEVEL) / 2.0)
    rows = []
    for i, name in enumerate(measured.names):
        for place, quarter in enumerate(measured.quarters):
            here = (measured.who == i) & (measured.quarter == place) & (shifts.weight > 0.0)
            glasses, weight = np.flatnonzero(here), shifts.weight[here].sum()
            if len(glasses) < FEWEST_IN_QUARTER:
                continue
            shift = shifts.moved[here].sum() / weight
            parts = (shifts.moved[here] - shift * shifts.weight[here]) / weight
            half = normal * np.sqrt(clustered(measured, glasses, parts))
            bounds = (float(_share(measured, x)) for x in (shift, shift - half, shift + half))
            rows.append((name, quarter, len(glasses), *bounds))
    return pl.DataFrame(rows, schema=QUARTERS, orient="row")


def _share(measured: Measured, shift: Array | float) -> Array:
    """Give a shift as a share: of the usual level for scores, of glasses for verdicts."""
    bounded = np.clip(shift, -_FARTHEST, _FARTHEST)
    return np.asarray(bounded if measured.measure == VERDICT else np.expm1(bounded))
