"""The one bad head: when it is named, with which odds, and when nothing can be said."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.line.crossed import Crossed
from analysis.line.heads import (
    FACTOR,
    FACTOR_SD,
    HEAD_SD_WEIGHTS,
    HEAD_SDS,
    PACKAGE_SD,
    PACKAGES,
    PRIOR_BAD,
    compare_heads,
    head_report,
    surely_bad,
)
from analysis.oxygen.packages import package_oxygen
from data_demo import truth
from data_demo.simulate import simulate
from data_demo.simulate_oxygen import FLOOR_PPB, METERS

if TYPE_CHECKING:
    from numpy.typing import NDArray

HEADS = 12
EACH = 6
BAD = 2
WITHIN_LOT_SD = 0.10
NO_CHANGES = pl.DataFrame(
    schema={"changed_on": pl.Date, **dict.fromkeys(("line", "beer", "format"), pl.String)}
)


def month(
    rng: np.random.Generator,
    bad: float = 1.0,
    *,
    spread: float = WITHIN_LOT_SD,
    heads: int = HEADS,
) -> Crossed:
    """Read packages as the demo's meters do, six of each head and six of each lot.

    Args:
        rng: where the draws come from.
        bad: what one head reads over the rest; 1: none is bad.
        spread: SD of log ppb of packages of one head and lot, without the meter.
        heads: how many there are.
    """
    number = heads * EACH
    head, lot = np.tile(np.arange(heads), EACH), np.repeat(np.arange(heads), EACH)
    tendency = rng.normal(0.0, truth.HEAD_SD, heads)
    if bad > 1.0:
        tendency[BAD] = math.log(bad)
    start = rng.uniform(size=number) < 0.05
    ppb = 60.0 * np.exp(
        rng.normal(0, 0.35, heads)[lot]
        + tendency[head]
        + rng.normal(0, spread, number)
        + math.log(truth.START_UP) * start
    )
    noise = np.where(rng.uniform(size=number) < 0.75, METERS["M1"], METERS["M2"])
    read = ppb * (1 + noise * rng.normal(size=number)) + rng.uniform(-FLOOR_PPB, FLOOR_PPB, number)
    y = np.log(np.maximum(read, 1.0))
    return Crossed(y - y.mean(), lot, (head, start.astype(np.int64)))


def test_a_bad_head_is_named_and_sound_ones_are_not() -> None:
    """1.8 times the rest, six readings a head: in 95 % of 200 months, and 5 % where none is bad."""
    rng = np.random.default_rng(20)
    found = [compare_heads(month(rng, truth.BAD_HEAD)).named for _ in range(200)]
    assert found.count(BAD) >= 190
    alarms = [compare_heads(month(rng)).named for _ in range(200)]
    assert sum(named is not None for named in alarms) <= 10


def test_where_packages_scatter_widely_a_sound_head_is_hardly_ever_named() -> None:
    """Packages of one head 35 % apart: a bad one is often missed, but no more is made up."""
    rng = np.random.default_rng(21)
    wide = math.sqrt(math.log1p(0.35**2))
    alarms = [compare_heads(month(rng, spread=wide)).named for _ in range(200)]
    assert sum(named is not None for named in alarms) <= 14
    found = [compare_heads(month(rng, truth.BAD_HEAD, spread=wide)).named for _ in range(200)]
    assert found.count(BAD) >= 110


def test_its_ratio_is_told_with_an_interval_that_holds() -> None:
    """Nine in ten of 200 intervals hold 1.8, and their middle is not off."""
    rng = np.random.default_rng(22)
    ratios = np.array([compare_heads(month(rng, truth.BAD_HEAD)).ratio[:, BAD] for _ in range(200)])
    assert np.median(ratios[:, 0]) == pytest.approx(1.8, rel=0.03)
    held = (ratios[:, 1] <= truth.BAD_HEAD) & (ratios[:, 2] >= truth.BAD_HEAD)
    assert 0.84 <= held.mean() <= 0.97


def by_brute_force(
    y: NDArray[np.float64], head: NDArray[np.int64], lot: NDArray[np.int64], variance: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the chances of each case by densities of whole months, and of mean ratios.

    Lots swept out by least squares are lots with a flat prior: here one so wide that it is flat.
    """
    heads, cases, weights, means = HEADS, [], [], []
    at_head, at_lot = np.eye(heads)[head], np.eye(lot.max() + 1)[lot]
    against = (np.eye(heads) * heads - 1.0) / (heads - 1.0)
    for head_sd, weight in zip(HEAD_SDS, HEAD_SD_WEIGHTS, strict=True):
        for bad in range(-1, heads):
            mean = FACTOR * (np.arange(heads) == bad)
            prior = head_sd**2 * np.eye(heads)
            if bad >= 0:
                prior[bad, bad] += FACTOR_SD**2
            noise = variance * np.eye(len(y)) + 1e4 * at_lot @ at_lot.T
            covariance = noise + at_head @ prior @ at_head.T
            density = stats.multivariate_normal.logpdf(y, at_head @ mean, covariance)
            share = 1.0 - PRIOR_BAD if bad < 0 else PRIOR_BAD / heads
            cases.append(bad)
            weights.append(density + math.log(weight * share))
            gain = prior @ at_head.T @ np.linalg.inv(covariance)
            means.append(against @ (mean + gain @ (y - at_head @ mean)))
    chance = np.exp(np.array(weights) - max(weights))
    chance /= chance.sum()
    by_case = np.array([chance[np.array(cases) == bad].sum() for bad in range(-1, heads)])
    return by_case, chance @ np.array(means)


def test_the_odds_are_those_of_the_whole_likelihood() -> None:
    """The same as normal densities of all readings at once, and the same mean ratios (identity)."""
    rng = np.random.default_rng(23)
    readings = month(rng, 1.4)
    head, lot = readings.columns[0], readings.lot
    alone = Crossed(readings.y, lot, (head,))
    squares, freedom = alone.residual
    variance = (squares + PACKAGES * PACKAGE_SD**2) / (freedom + PACKAGES)
    chance, ratio = by_brute_force(readings.y, head, lot, variance)
    found = compare_heads(alone)
    np.testing.assert_allclose([found.none, *found.chance], chance, rtol=1e-4, atol=1e-9)
    np.testing.assert_allclose(np.log(found.ratio[0]), ratio, atol=0.01)


def test_looking_at_more_heads_makes_no_more_false_alarms() -> None:
    """Sixty sound heads instead of twelve: still at most one month in twenty names one."""
    rng = np.random.default_rng(25)
    alarms = [compare_heads(month(rng, heads=60)).named for _ in range(100)]
    assert sum(named is not None for named in alarms) <= 5


def packages(days: int = 20, **columns: Any) -> pl.DataFrame:  # noqa: ANN401 - any expression
    """A lot a week of eight clean packages of four heads, of which head 3 reads 1.8 times."""
    rng = np.random.default_rng(24)
    lot, head = np.divmod(np.arange(8 * days), 8)
    head %= 4
    log_ppb = 4.0 + rng.normal(0, 0.3, days)[lot] + rng.normal(0, 0.1, 8 * days)
    ppb = np.exp(log_ppb + np.where(head == 2, FACTOR, 0.0))
    frame = pl.DataFrame(
        {
            "lot": [f"L{n:03}" for n in lot],
            "format": "can",
            "line": "canning",
            "packaged_on": [dt.date(2026, 1, 5) + dt.timedelta(days=7 * int(n)) for n in lot],
            "head": [str(n + 1) for n in head],
            "run_position": pl.Series([None] * len(lot), dtype=pl.String),
            "basis": "total",
            "lower_ppb": ppb,
            "upper_ppb": ppb,
        }
    )
    return frame.with_columns(**columns)


def finding(frame: pl.DataFrame, changes: pl.DataFrame = NO_CHANGES) -> dict[str, Any]:
    """Return the one finding of a report."""
    return head_report(frame, changes)["head_findings"].row(0, named=True)


def test_the_head_is_named_with_its_line_its_odds_and_what_it_rests_on() -> None:
    """Head 3 of canning, nearly sure, about 1.8 times; the last 90 days are thirteen lots."""
    found = finding(packages())
    assert (found["line"], found["format"], found["finding"]) == ("canning", None, "named")
    assert found["head"] == "3"
    assert found["chance"] > 0.95
    assert found["ratio_lower"] < 1.8 < found["ratio_upper"]
    assert (found["lots"], found["packages"], found["heads"]) == (13, 104, 4)
    table = head_report(packages(), NO_CHANGES)["heads"]
    assert table["head"].to_list() == ["1", "2", "3", "4"]
    assert table["chance"].sum() + found["chance_none"] == pytest.approx(1.0)
    assert table["told"].all()


def test_the_bad_head_of_the_demo_is_found_in_its_readings() -> None:
    """Through shaken, late and missing values: head 3 of canning, in ten breweries of ten."""
    for seed in range(10):
        tables = simulate(seed, assessors=2)
        read = package_oxygen(
            tables["oxygen"],
            tables["lots"],
            tables["formats"],
            shaken_temperature_c=20.0,
            late_after_minutes=120.0,
        )
        found = head_report(read, NO_CHANGES)["head_findings"].filter(
            pl.col("line") == truth.BAD_HEAD_OF[0]
        )
        assert found.select("finding", "head").row(0) == ("named", str(truth.BAD_HEAD_OF[1]))


def test_heads_that_nobody_wrote_down_are_said_not_to_be() -> None:
    """Nothing is named, and what was read is counted."""
    found = finding(packages(head=pl.lit(None, pl.String)))
    assert found["finding"] == "not recorded"
    assert (found["packages"], found["without_head"]) == (0, 104)
    assert found["chance"] is None


def test_too_few_packages_are_said_to_be_too_few() -> None:
    """Two packages of each head, or a line with one head: nothing can be said of any."""
    few = packages(1)
    assert finding(few)["finding"] == "too few"
    assert not head_report(few, NO_CHANGES)["heads"]["told"].any()
    assert finding(packages(head=pl.lit("1")))["finding"] == "too few"


def test_heads_that_go_with_their_lots_tell_nothing() -> None:
    """Each lot read on one head alone: what differs may be the lot's."""
    apart = packages(head=pl.col("lot").str.slice(-1))
    assert finding(apart)["finding"] == "too few"


def test_twelve_lots_count_where_few_were_packaged_of_late() -> None:
    """A lot a month: the last twelve lots, a year of them."""
    monthly = packages(packaged_on=pl.col("packaged_on").dt.offset_by("0d")).with_columns(
        packaged_on=pl.date(2024, 1, 1)
        + pl.duration(days=30 * pl.col("lot").str.slice(1).cast(pl.Int32))
    )
    found = finding(monthly)
    assert found["lots"] == 12
    assert found["last_on"] - found["first_on"] == dt.timedelta(days=330)


def test_a_change_to_the_line_begins_anew() -> None:
    """A seamer that was reset is judged by the lots since; a change to a beer or format is not."""
    reset = dt.date(2026, 4, 27)
    change = NO_CHANGES.vstack(
        pl.DataFrame([(reset, "canning", None, None)], schema=NO_CHANGES.schema, orient="row")
    )
    assert finding(packages(), change)["first_on"] == reset
    other = change.with_columns(format=pl.lit("can"))
    assert finding(packages(), other)["first_on"] < reset
    elsewhere = change.with_columns(line=pl.lit("bottling"))
    assert finding(packages(), elsewhere)["first_on"] < reset
    to_come = change.with_columns(changed_on=pl.lit(dt.date(2030, 1, 1)))
    assert finding(packages(), to_come)["first_on"] < reset


def test_bounds_are_left_out_and_counted() -> None:
    """Late packages of head 1, at least 500 ppb, do not make it the bad one."""
    late = packages().tail(4).with_columns(head=pl.lit("1"), lower_ppb=500.0, upper_ppb=None)
    found = finding(pl.concat([packages(), late]))
    assert found["head"] == "3"
    assert found["bounds"] == 4


def test_lots_without_a_line_are_looked_at_by_format() -> None:
    """A finding with the format in the place of the line; a line's formats share one."""
    found = head_report(
        pl.concat(
            [
                packages(line=pl.lit(None, pl.String)),
                packages(lot="b" + pl.col("lot")),
                packages(lot="c" + pl.col("lot"), format=pl.lit("slim can")),
            ]
        ),
        NO_CHANGES,
    )["head_findings"]
    assert found.select("line", "format", "lots").rows() == [
        ("canning", None, 26),
        (None, "can", 13),
    ]


def test_only_heads_that_are_surely_bad_count_in_days() -> None:
    """Head 3 of canning with its ratio; not where it is only suspected, nor without a line."""
    sure = head_report(packages(), NO_CHANGES)["head_findings"]
    assert surely_bad(sure).select("line", "heads").rows() == [("canning", 4)]
    assert surely_bad(sure)["ratio"].to_list() == sure["ratio"].to_list()
    assert surely_bad(sure.with_columns(chance=0.89)).is_empty()
    assert surely_bad(sure.with_columns(finding=pl.lit("none"))).is_empty()
    assert surely_bad(sure.with_columns(line=pl.lit(None, pl.String))).is_empty()


def test_nothing_read_gives_empty_tables() -> None:
    """A brewery without readings has no finding."""
    found = head_report(packages().clear(), NO_CHANGES)
    assert all(frame.is_empty() for frame in found.values())
