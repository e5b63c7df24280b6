"""Where the oxygen of a line comes from: variance components, run positions, what is left out."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
import statsmodels.formula.api as smf
from pandas import DataFrame

from analysis.line.crossed import Crossed
from analysis.line.sources import components, positions_of, source_report

if TYPE_CHECKING:
    from numpy.typing import NDArray


def balanced(rng: np.random.Generator, shape: tuple[int, int, int, int]) -> NDArray[np.float64]:
    """Draw log ppb of lots × positions × heads × packages, every cell filled."""
    lots, positions, heads, packages = shape
    return (
        rng.normal(0, 0.3, (lots, 1, 1, 1))
        + np.linspace(0.0, 0.7, positions)[None, :, None, None]
        + rng.normal(0, 0.15, (1, 1, heads, 1))
        + rng.normal(0, 0.2, (lots, positions, heads, packages))
    )


def crossed_of(y: NDArray[np.float64]) -> Crossed:
    """Number the cells of balanced data."""
    lot, position, head, _ = np.indices(y.shape).reshape(4, -1)
    return Crossed(y.ravel() - y.mean(), lot, (position, head))


def packages(rows: int = 240, **columns: object) -> pl.DataFrame:
    """Clean packages of six heads: 12 a lot, the first two from the start, which hold twice."""
    rng = np.random.default_rng(7)
    number = np.arange(rows)
    lot, place = number // 12, number % 12
    log_ppb = (
        np.log(60.0)
        + rng.normal(0, 0.2, rows // 12)[lot]
        + np.where(place < 2, np.log(2.0), 0.0)
        + rng.normal(0, 0.1, rows)
    )
    frame = pl.DataFrame(
        {
            "lot": [f"L{n:03}" for n in lot],
            "format": "can",
            "line": "canning",
            "packaged_on": [dt.date(2026, 1, 5) + dt.timedelta(days=int(n)) for n in lot],
            "head": [str(n % 6 + 1) for n in number + lot],
            "run_position": np.where(place < 2, "start", "middle"),
            "basis": "total",
            "lower_ppb": np.exp(log_ppb),
            "upper_ppb": np.exp(log_ppb),
        }
    )
    return frame.with_columns(**columns)


def test_balanced_components_are_those_of_the_analysis_of_variance() -> None:
    """Mean squares set equal to their expectations, worked out by hand (identity)."""
    shape = (9, 3, 4, 2)
    y = balanced(np.random.default_rng(1), shape)
    found = components(crossed_of(y))
    lots, positions, heads, _ = shape
    n, mean = y.size, y.mean()

    def squares(axis: int) -> float:
        others = tuple(a for a in range(4) if a != axis)
        return float(n / shape[axis] * ((y.mean(axis=others) - mean) ** 2).sum())

    by_axis = [squares(axis) for axis in range(3)]
    freedom = n - lots - positions - heads + 2
    rest = (((y - mean) ** 2).sum() - sum(by_axis)) / freedom
    assert found["rest"].variance == pytest.approx(rest, rel=1e-9)
    for name, axis in (("lot", 0), ("head", 2)):
        by_hand = (by_axis[axis] / (shape[axis] - 1) - rest) / (n / shape[axis])
        assert found[name].variance == pytest.approx(by_hand, rel=1e-9)
    by_hand = (by_axis[1] - (positions - 1) * rest) / n
    assert found["position"].variance == pytest.approx(by_hand, rel=1e-9)


def test_balanced_components_are_those_of_restricted_likelihood() -> None:
    """The same as statsmodels' mixed model with lots and heads crossed, where all are above 0."""
    y = 10.0 * balanced(np.random.default_rng(2), (8, 2, 5, 2))  # it warns of variances below 0.01
    lot, position, head, _ = np.indices(y.shape).reshape(4, -1)
    frame = DataFrame({"y": y.ravel(), "lot": lot, "position": position, "head": head})
    parts = {"lot": "0 + C(lot)", "head": "0 + C(head)"}
    together = np.ones(len(frame))
    mixed = smf.mixedlm("y ~ C(position)", frame, groups=together, vc_formula=parts).fit()
    head_variance, lot_variance = mixed.vcomp
    found = components(crossed_of(y))
    assert found["lot"].variance == pytest.approx(lot_variance, rel=1e-3)
    assert found["head"].variance == pytest.approx(head_variance, rel=1e-3)
    assert found["rest"].variance == pytest.approx(mixed.scale, rel=1e-3)


def test_unbalanced_components_are_right_on_the_average() -> None:
    """Over 200 sets, lots of one to twelve packages and heads at random, no component drifts."""
    rng = np.random.default_rng(3)
    found = []
    for _ in range(200):
        lot = np.repeat(np.arange(25), rng.integers(1, 13, 25))
        head, position = rng.integers(0, 8, len(lot)), rng.integers(0, 2, len(lot))
        y = (
            rng.normal(0, 0.3, 25)[lot]
            + 0.5 * position
            + rng.normal(0, 0.12, 8)[head]
            + rng.normal(0, 0.15, len(lot))
        )
        parts = components(Crossed(y - y.mean(), lot, (position, head)))
        found.append([parts[name].variance for name in ("lot", "position", "head", "rest")])
    mean, error = np.mean(found, axis=0), np.std(found, axis=0) / np.sqrt(200)
    truth = np.array([0.3**2, 0.25**2, 0.12**2, 0.15**2])
    assert (np.abs(mean - truth) < 3.0 * error).all()


def test_intervals_of_variances_hold_the_truth_as_often_as_they_say() -> None:
    """Nine in ten of 300 sets, give or take, for lots, heads and the rest."""
    rng = np.random.default_rng(4)
    truth = {"lot": 0.3**2, "head": 0.12**2, "rest": 0.15**2}
    inside = dict.fromkeys(truth, 0)
    for _ in range(300):
        lot = np.repeat(np.arange(15), rng.integers(3, 13, 15))
        head, position = rng.integers(0, 6, len(lot)), rng.integers(0, 2, len(lot))
        y = (
            rng.normal(0, 0.3, 15)[lot]
            + rng.normal(0, 0.12, 6)[head]
            + rng.normal(0, 0.15, len(lot))
        )
        parts = components(Crossed(y - y.mean(), lot, (position, head)))
        for name, value in truth.items():
            inside[name] += parts[name].variance_lower <= value <= parts[name].variance_upper
    assert all(0.85 <= count / 300 <= 0.95 for count in inside.values())


def test_shares_add_up_and_what_is_not_there_has_none() -> None:
    """Without heads or run positions the lots and the rest share everything between them."""
    rng = np.random.default_rng(5)
    lot = np.repeat(np.arange(10), 6)
    y = rng.normal(0, 0.3, 10)[lot] + rng.normal(0, 0.2, 60)
    parts = components(Crossed(y - y.mean(), lot, (np.zeros(60, dtype=np.int64),)))
    assert list(parts) == ["lot", "rest"]
    assert sum(part.share for part in parts.values()) == pytest.approx(1.0)


def test_the_first_packages_of_a_run_are_set_beside_its_middle() -> None:
    """They hold twice as much, and the interval holds 2."""
    found = source_report(packages())["run_positions"].rows_by_key("run_position", named=True)
    start = found["start"][0]
    assert start["beside"] == "middle"
    assert start["packages"] == 40
    assert start["ratio_lower"] < 2.0 < start["ratio_upper"]
    assert found["middle"][0]["ratio"] == 1.0


def test_positions_that_no_lot_shares_are_not_compared() -> None:
    """Start-ups of some lots and middles of others tell nothing apart from the lots."""
    apart = packages().with_columns(
        run_position=pl.when(pl.col("lot") < "L010").then(pl.lit("start")).otherwise(pl.lit("end"))
    )
    found = source_report(apart)["run_positions"]
    assert found["ratio"].to_list() == [1.0, None]
    assert "position" not in source_report(apart)["oxygen_sources"]["source"].to_list()


def test_bounds_are_left_out_and_counted() -> None:
    """A late package, one below the floor and one of which nothing is known change no number."""
    clean = packages()
    bounds = clean.head(3).with_columns(
        lower_ppb=pl.Series([40.0, 0.0, None]),
        upper_ppb=pl.Series([None, 10.0, None]),
        basis=pl.Series(["total", "total", "none"]),
    )
    with_bounds = source_report(pl.concat([clean, bounds]))
    plain = source_report(clean)
    assert with_bounds["oxygen_lines"]["bounds"].to_list() == [2]
    assert with_bounds["oxygen_sources"].equals(plain["oxygen_sources"])


def test_packages_without_their_head_are_left_out_where_most_name_it() -> None:
    """Nine in ten name it: the others are counted. One in ten does: heads are in the rest."""
    known = packages(head=pl.when(pl.int_range(pl.len()) % 10 > 0).then("head"))
    found = source_report(known)
    assert found["oxygen_lines"].select("without_head", "heads").row(0) == (24, 6)
    assert found["oxygen_sources"]["source"].to_list() == ["lot", "position", "head", "rest"]
    hardly = packages(head=pl.when(pl.int_range(pl.len()) % 10 == 0).then("head"))
    found = source_report(hardly)
    assert found["oxygen_lines"].select("without_head", "heads").row(0) == (0, 0)
    assert found["oxygen_sources"]["source"].to_list() == ["lot", "position", "rest"]


def test_too_few_packages_are_said_to_be() -> None:
    """One package a lot: nothing tells a lot from a package."""
    single = packages().filter(pl.int_range(pl.len()) % 12 == 5)
    found = source_report(single)
    assert found["oxygen_sources"].is_empty()
    assert found["oxygen_lines"]["reason"].to_list() == [
        "too few clean packages of the same lots to take apart"
    ]


def test_lines_formats_and_lots_without_a_line_stand_apart() -> None:
    """Each has a row of its own, and none where nothing was read."""
    both = pl.concat(
        [
            packages(),
            packages(line=pl.lit("bottling"), format=pl.lit("bottle")),
            packages(line=pl.lit(None, pl.String), format=pl.lit("keg")),
        ]
    )
    found = source_report(both)["oxygen_lines"]
    assert found.select("line", "format").rows() == [
        ("bottling", "bottle"),
        ("canning", "can"),
        (None, "keg"),
    ]
    assert all(frame.is_empty() for frame in source_report(packages().clear()).values())


def test_position_effects_are_those_of_least_squares() -> None:
    """Sweeping lots out changes no estimate: the same as solving for every lot."""
    rng = np.random.default_rng(6)
    lot, position, head = (rng.integers(0, size, 200) for size in (12, 3, 5))
    y = rng.normal(0, 1, 200)
    design = np.column_stack([np.eye(12)[lot], np.eye(3)[position][:, 1:], np.eye(5)[head][:, 1:]])
    solved, *_ = np.linalg.lstsq(design, y - y.mean())
    effect = positions_of(Crossed(y - y.mean(), lot, (position, head))).effect
    for one, other in itertools.pairwise(range(3)):
        by_all = np.array([0.0, *solved[12:14]])
        assert effect[other] - effect[one] == pytest.approx(by_all[other] - by_all[one])
