"""Lot means freed of their packages' noise, against theory, statsmodels and known truths."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.regression.mixed_linear_model import MixedLM

from analysis.errors import InputError
from analysis.oxygen.shrinkage import (
    ASSUMED,
    PriorSpreads,
    attenuation,
    shrink_lot_means,
    spreads,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NO_PRIOR = PriorSpreads(packages=1e-9, lots=1e-9)
ONE_LINE = {"A": "line 1", "B": "line 1", "C": "line 1"}


def frames(
    values: Mapping[str, Sequence[float]], lines: Mapping[str, str | None]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Make packages (log ppb by lot) and lots (line by lot), all of them cans."""
    packages = pl.DataFrame(
        [(lot, "can", float(x)) for lot, read in values.items() for x in read],
        schema={"lot": pl.String, "format": pl.String, "log_lower": pl.Float64},
        orient="row",
    ).with_columns(log_upper="log_lower")
    lots = pl.DataFrame(
        [(lot, "can", line) for lot, line in lines.items()],
        schema={"lot": pl.String, "format": pl.String, "line": pl.String},
        orient="row",
    )
    return packages, lots


def brewery(
    rng: np.random.Generator, counts: Sequence[int], lot_sd: float, package_sd: float
) -> tuple[pl.DataFrame, pl.DataFrame, Array]:
    """Simulate lots of three lines with so many packages each; the third value is the truth."""
    line = np.arange(len(counts)) % 3
    truth = 4.0 + 0.3 * line + rng.normal(0.0, lot_sd, len(counts))
    names = [f"L{i:04d}" for i in range(len(counts))]
    values = {
        name: mean + rng.normal(0.0, package_sd, n)
        for name, mean, n in zip(names, truth, counts, strict=True)
    }
    lines = {name: f"line {i}" for name, i in zip(names, line, strict=True)}
    return *frames(values, lines), truth


def slope_within_lines(x: Array, y: Array) -> float:
    """Return the least-squares slope with a level for each of the three lines."""
    levels = np.eye(3)[np.arange(len(x)) % 3]
    return float(np.linalg.lstsq(np.column_stack([x, levels]), y)[0][0])


@pytest.mark.parametrize(
    "counts", [[4] * 30, [2, 3, 6, 12, 1] * 8], ids=["balanced", "from 1 to 12"]
)
def test_without_a_prior_it_is_restricted_likelihood(counts: list[int]) -> None:
    """Variances within 0.01 % of statsmodels' MixedLM, lot means within 0.00001 in log ppb."""
    packages, lots, _ = brewery(np.random.default_rng(3), counts, 0.3, 0.34)
    rows = packages.join(lots, on=["lot", "format"])
    levels = rows["line"].to_dummies().to_numpy().astype(float)
    reference = MixedLM(rows["log_lower"].to_numpy(), levels, groups=rows["lot"].to_numpy()).fit(
        reml=True, gtol=1e-9
    )
    found = spreads(packages, lots, prior=NO_PRIOR)
    assert found.lot_sd**2 == pytest.approx(float(reference.cov_re[0, 0]), rel=1e-4)
    assert found.package_sd**2 == pytest.approx(reference.scale, rel=1e-4)
    assert (found.packages, found.lots) == (sum(counts) - len(counts), len(counts) - 3)
    table = shrink_lot_means(packages, lots, prior=NO_PRIOR)
    expected = [
        float(reference.fe_params[i % 3]) + float(np.asarray(reference.random_effects[lot])[0])
        for i, lot in enumerate(table["lot"])
    ]
    assert table["log_ppb_shrunk"].to_list() == pytest.approx(expected, abs=1e-5)


def test_balanced_data_without_a_prior_give_the_mean_squares() -> None:
    """With n packages a lot, ω² is the mean square within lots and ω² + nτ² that between them."""
    packages, lots, _ = brewery(np.random.default_rng(5), [4] * 30, 0.3, 0.34)
    read = packages["log_lower"].to_numpy().reshape(30, 4)
    within = read.var(axis=1, ddof=1).mean()
    means = read.mean(axis=1).reshape(10, 3)
    between = 4.0 * means.var(axis=0, ddof=1).mean()
    found = spreads(packages, lots, prior=NO_PRIOR)
    assert found.package_sd**2 == pytest.approx(within, rel=1e-6)
    assert found.package_sd**2 + 4.0 * found.lot_sd**2 == pytest.approx(between, rel=1e-6)


def test_the_sd_is_the_mixed_models_prediction_variance() -> None:
    """Equal, to 1e-9, to the prediction variance from the full covariance matrix of a group."""
    packages, lots = frames({"A": [4.0, 4.5], "B": [3.9], "C": [4.4, 4.1, 4.9]}, ONE_LINE)
    found = spreads(packages, lots)
    lot = np.repeat(np.eye(3), [2, 1, 3], axis=0)
    inverse = np.linalg.inv(found.lot_sd**2 * lot @ lot.T + found.package_sd**2 * np.eye(6))
    ones = np.ones(6)
    of_mean = 1.0 / (ones @ inverse @ ones)
    toward = found.lot_sd**2 * lot.T @ inverse  # the lots' means given the group's
    rest = 1.0 - toward @ ones
    variance = found.lot_sd**2 - found.lot_sd**2 * np.diag(toward @ lot) + rest**2 * of_mean
    assert shrink_lot_means(packages, lots)["sd"].to_list() == pytest.approx(
        list(np.sqrt(variance)), abs=1e-9
    )


def test_the_attenuation_is_that_of_least_squares_with_a_level_for_each_line() -> None:
    """True over raw expected sum of squares about the lines' levels; a lone lot has no say."""
    values = {"A": [4.0, 4.5], "B": [3.9] * 6, "C": [4.4], "D": [4.1, 4.0], "E": [4.9] * 3}
    lines = dict.fromkeys("AB", "line 1") | dict.fromkeys("CDE", "line 2")
    packages, lots = frames(values | {"F": [5.0]}, lines | {"F": "line 3"})
    found = spreads(packages, lots)
    levels = np.repeat(np.eye(3), [2, 3, 1], axis=0)
    residual = np.diag(np.eye(6) - levels @ np.linalg.pinv(levels))
    true = found.lot_sd**2 * residual
    raw = true + found.package_sd**2 / np.array([2, 6, 1, 2, 3, 1]) * residual
    assert attenuation(packages, lots) == pytest.approx(true.sum() / raw.sum(), rel=1e-9)


@pytest.mark.parametrize("package_sd", [0.34, 0.20])
def test_the_slope_is_right_on_shrunk_means_and_too_small_on_raw_ones(package_sd: float) -> None:
    """Over 150 breweries of 36 lots: b, and b times the attenuation, within 2.5 standard errors."""
    rng = np.random.default_rng(11)
    raw, shrunk, ratio = [], [], []
    for _ in range(150):
        packages, lots, truth = brewery(rng, list(rng.integers(2, 6, 36)), 0.3, package_sd)
        log_life = 5.0 - 0.3 * truth + rng.normal(0.0, 0.15, 36)
        table = shrink_lot_means(packages, lots)
        raw.append(-slope_within_lines(table["log_ppb"].to_numpy(), log_life))
        shrunk.append(-slope_within_lines(table["log_ppb_shrunk"].to_numpy(), log_life))
        ratio.append(attenuation(packages, lots))
    assert np.mean(shrunk) == pytest.approx(0.3, abs=2.5 * np.std(shrunk) / 150**0.5)
    stated = 0.3 * np.mean(ratio)
    assert np.mean(raw) == pytest.approx(stated, abs=2.5 * np.std(raw) / 150**0.5)
    assert np.mean(raw) < 0.3 - 5.0 * np.std(raw) / 150**0.5


def test_three_lots_of_three_packages_are_not_overconfident() -> None:
    """Intervals of 90 % hold the true mean in 85 to 95 % of 900 lots, with no lot spread of 0."""
    rng = np.random.default_rng(17)
    inside = []
    for _ in range(100):
        packages, lots, truth = brewery(rng, [3] * 9, ASSUMED.lot_sd, ASSUMED.package_sd)
        table = shrink_lot_means(packages, lots)
        off = np.abs(table["log_ppb_shrunk"].to_numpy() - truth) / table["sd"].to_numpy()
        inside.append(off < 1.645)
        assert spreads(packages, lots).lot_sd > 0.08
    assert 0.85 <= np.mean(inside) <= 0.95


def test_without_any_packages_the_spreads_are_the_assumed_ones() -> None:
    """Nothing to shrink: no means, no SDs, weights of 0 and no attenuation."""
    packages, lots = frames({}, ONE_LINE)
    found = spreads(packages, lots)
    assert (found.package_sd, found.lot_sd) == pytest.approx((ASSUMED.package_sd, ASSUMED.lot_sd))
    assert (found.packages, found.lots) == (0, 0)
    table = shrink_lot_means(packages, lots)
    assert table["lot"].to_list() == ["A", "B", "C"]
    assert table.select("log_ppb", "log_ppb_shrunk", "sd").null_count().row(0) == (3, 3, 3)
    assert table["weight"].to_list() == [0.0, 0.0, 0.0]
    assert attenuation(packages, lots) is None
    assert shrink_lot_means(packages, lots.clear()).is_empty()


def test_the_only_lot_of_a_group_keeps_its_mean() -> None:
    """There is no other to shrink it to: its SD is that of its own packages."""
    packages, lots = frames({"A": [4.0, 4.2, 4.7]}, {"A": None})
    row = shrink_lot_means(packages, lots).row(0, named=True)
    assert row["log_ppb_shrunk"] == pytest.approx(4.3)
    assert row["sd"] == pytest.approx(spreads(packages, lots).package_sd / math.sqrt(3.0))
    assert (row["group"], row["packages"]) == ("can", 3)
    assert attenuation(packages, lots) is None


def test_a_lot_without_packages_is_given_its_groups_mean_and_spread() -> None:
    """Its variance is that of the lots and of the group's mean, so above any measured lot's."""
    packages, lots = frames({"A": [4.0, 4.2], "B": [4.6, 4.8]}, ONE_LINE)
    table = shrink_lot_means(packages, lots)
    found = spreads(packages, lots)
    of_mean = (found.lot_sd**2 + found.package_sd**2 / 2.0) / 2.0
    assert table["log_ppb_shrunk"][2] == pytest.approx(4.4)
    assert table["sd"][2] == pytest.approx(math.sqrt(found.lot_sd**2 + of_mean))
    assert (table["weight"][2], table["packages"][2], table["log_ppb"][2]) == (0.0, 0, None)


def test_one_package_a_lot_is_answered_from_the_assumed_package_spread() -> None:
    """Without a second package in any lot, the prior tells noise from lots."""
    packages, lots = frames({"A": [3.6], "B": [4.2], "C": [4.5]}, ONE_LINE)
    found = spreads(packages, lots)
    assert (found.packages, found.lots) == (0, 2)
    assert found.package_sd == pytest.approx(ASSUMED.package_sd, rel=0.2)
    table = shrink_lot_means(packages, lots)
    assert table["weight"].is_between(0.1, 0.7).all()
    assert table["log_ppb_shrunk"].mean() == pytest.approx(4.1)


def test_groups_are_shrunk_to_their_own_means() -> None:
    """Lines, formats and lots without a line are kept apart; the spreads are shared."""
    values = {"A": [3.0, 3.2], "B": [3.4, 3.5], "C": [5.0, 5.3], "D": [5.4, 5.6], "E": [7.0, 7.1]}
    packages, lots = frames(
        values, {"A": "line 1", "B": "line 1", "C": None, "D": None, "E": "can"}
    )
    kegs = pl.DataFrame({"lot": ["A"], "format": ["keg"], "line": ["line 1"]})
    table = shrink_lot_means(packages, pl.concat([lots, kegs]))
    assert table["group"].to_list() == [
        "line 1, can",
        "line 1, keg",
        "line 1, can",
        "can",
        "can",
        "can, can",
    ]
    shrunk = dict(zip(table["group"] + table["lot"], table["log_ppb_shrunk"], strict=True))
    assert 3.1 < shrunk["line 1, canA"] < shrunk["line 1, canB"] < 3.45
    assert 5.15 < shrunk["canC"] < shrunk["canD"] < 5.5
    assert shrunk["can, canE"] == pytest.approx(7.05)
    assert shrunk["line 1, kegA"] is None
    assert table["weight"].n_unique() == 2


def test_with_many_packages_or_none_of_their_noise_a_lot_counts_in_full() -> None:
    """The weight tends to 1, the mean to the raw one and the attenuation to none."""
    rng = np.random.default_rng(23)
    for counts, package_sd, prior in (
        ([20_000] * 6, 0.34, ASSUMED),
        ([3] * 6, 1e-4, PriorSpreads(package_sd=1e-4)),
        ([3] * 6, 1e-4, NO_PRIOR),
    ):
        packages, lots, truth = brewery(rng, counts, 0.3, package_sd)
        table = shrink_lot_means(packages, lots, prior=prior)
        assert table["weight"].min() > 0.9995
        assert table["log_ppb_shrunk"].to_list() == pytest.approx(truth.tolist(), abs=0.01)
        assert table["sd"].max() < 0.003
        assert attenuation(packages, lots, prior=prior) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("value", [math.nan, math.inf, None])
def test_a_package_without_a_value_is_refused(value: float | None) -> None:
    """A missing or infinite logarithm is an error, not a lot without a mean."""
    packages, lots = frames({"A": [4.0]}, ONE_LINE)
    broken = packages.with_columns(
        pl.lit(value, dtype=pl.Float64).alias(name) for name in ("log_lower", "log_upper")
    )
    with pytest.raises(InputError, match="not finite"):
        shrink_lot_means(broken, lots)


def test_a_lot_that_comes_twice_and_an_empty_prior_are_refused() -> None:
    """Both would give an answer that looks like one."""
    packages, lots = frames({"A": [4.0]}, ONE_LINE)
    with pytest.raises(InputError, match="twice"):
        spreads(packages, pl.concat([lots, lots]))
    with pytest.raises(InputError, match="above 0"):
        PriorSpreads(packages=0.0)


def test_a_bound_moves_a_mean_the_right_way_and_counts_for_less() -> None:
    """At least 4.6 beside 4.0 and 4.2 pulls up, worth less than a clean 4.6; spreads stay."""
    packages, lots = frames({"A": [4.0, 4.2], "B": [4.1, 4.3]}, ONE_LINE)
    late = pl.DataFrame({"lot": "A", "format": "can", "log_lower": 4.6, "log_upper": math.inf})
    with_bound = shrink_lot_means(pl.concat([packages, late]), lots)
    without = shrink_lot_means(packages, lots)
    clean = shrink_lot_means(
        pl.concat([packages, late.with_columns(log_upper=pl.col("log_lower"))]), lots
    )
    assert with_bound["log_ppb"][0] > without["log_ppb"][0]
    assert without["weight"][0] < with_bound["weight"][0] < clean["weight"][0] + 0.05
    assert with_bound["standard_error"][0] < without["standard_error"][0]
    assert spreads(pl.concat([packages, late]), lots) == spreads(packages, lots)


def test_a_lot_of_lower_bounds_alone_has_no_mean_of_its_own() -> None:
    """It is given its line's, and its packages are counted all the same."""
    packages, lots = frames({"A": [4.0, 4.2], "B": [4.6, 5.0]}, ONE_LINE)
    bounds = packages.with_columns(
        log_upper=pl.when(pl.col("lot") == "B").then(math.inf).otherwise("log_upper")
    )
    row = shrink_lot_means(bounds, lots).row(1, named=True)
    assert (row["packages"], row["log_ppb"], row["standard_error"]) == (2, None, None)
    assert (row["weight"], row["log_ppb_shrunk"]) == (0.0, pytest.approx(4.1))


LOG_PPB = st.floats(0.0, 8.0)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.lists(LOG_PPB, max_size=6), st.sampled_from([None, "line 1", "line 2"])),
        min_size=1,
        max_size=8,
    ),
    st.integers(0, 1000),
    st.floats(-3.0, 3.0),
)
def test_what_holds_of_any_readings(
    drawn: list[tuple[list[float], str | None]], seed: int, shift: float
) -> None:
    """Between own and group's range, never wider than the packages alone, in any order the same."""
    packages, lots = frames(
        {f"L{i}": read for i, (read, _) in enumerate(drawn)},
        {f"L{i}": line for i, (_, line) in enumerate(drawn)},
    )
    table = shrink_lot_means(packages, lots)
    assert shrink_lot_means(
        packages.sample(fraction=1.0, shuffle=True, seed=seed),
        lots.sample(fraction=1.0, shuffle=True, seed=seed),
    ).equals(table)
    found = spreads(packages, lots)
    measured = table.filter(pl.col("packages") > 0)
    alone = found.package_sd / measured["packages"].sqrt()
    assert (measured["sd"] <= alone * (1.0 + 1e-9)).all()
    ranges = table.with_columns(
        least=pl.col("log_ppb").min().over("group"), most=pl.col("log_ppb").max().over("group")
    ).drop_nulls("log_ppb_shrunk")
    inside = pl.col("log_ppb_shrunk").is_between(pl.col("least") - 1e-9, pl.col("most") + 1e-9)
    assert ranges.select(inside.all()).item()
    assert table["weight"].is_between(0.0, 1.0).all()
    assert table.sort("packages")["weight"].is_sorted()
    ratio = attenuation(packages, lots)
    assert ratio is None or measured["weight"].min() - 1e-9 <= ratio
    assert ratio is None or ratio <= measured["weight"].max() + 1e-9
    moved = shrink_lot_means(packages.with_columns(pl.col("log_lower", "log_upper") + shift), lots)
    assert moved["log_ppb_shrunk"].drop_nulls().to_list() == pytest.approx(
        (table["log_ppb_shrunk"].drop_nulls() + shift).to_list(), abs=1e-4
    )
