"""What follows from the stated truth agrees with draws from it, and a brewer would believe it."""

from __future__ import annotations

import math

import numpy as np
import polars as pl
import pytest

from data_demo import truth
from data_demo.simulate import simulate

CELLS = [
    (style, package, route)
    for style, stated in truth.STYLES.items()
    for package in stated.printed_days
    for route in truth.routes_of(package)
]


@pytest.mark.parametrize(("style", "package", "route"), CELLS)
def test_shelf_life_inverts_the_share(style: str, package: str, route: str) -> None:
    """Identity: at the true shelf life the share rejected is the share that was asked for."""
    for share in (0.10, 0.25, 0.50):
        days = truth.true_shelf_life(style, package, route, share)
        age = truth.equivalent_age(truth.ROUTES[route], days, truth.STYLES[style].activation_energy)
        assert truth.share_rejected(style, package, age) == pytest.approx(share, abs=1e-9)


def test_share_is_that_of_drawn_glasses() -> None:
    """A million drawn glasses of bottled lager are rejected as often as the integral says."""
    rng = np.random.default_rng(1)
    style, package = truth.STYLES["pale lager"], truth.FORMATS["bottle 500"]
    n = 1_000_000
    dose = package.median_tpo_ppb * package.tpo_gsd ** rng.normal(size=n) + 90 * package.ingress
    log_life = (
        math.log(style.median_days)
        - style.oxygen_exponent * np.log(dose / 60)
        + 0.15 * rng.normal(size=n)
        + 0.35 * rng.normal(size=n)
        + 0.35 * rng.normal(size=n)
    )
    age = np.array([60.0, 120.0, 240.0])
    drawn = (np.exp(log_life) <= age[:, None]).mean(axis=1)
    assert truth.share_rejected("pale lager", "bottle 500", age) == pytest.approx(drawn, abs=0.002)


def test_simulated_verdicts_follow_the_stated_curve() -> None:
    """Over many breweries, honest tasters reject as the curve, false alarms and misses say."""
    glasses = pl.concat(_aged_glasses(seed) for seed in range(32))
    false_alarm, miss = np.mean(truth.FALSE_ALARMS), np.mean(truth.MISSES)
    share = np.empty(len(glasses))
    for (style, package), cell in glasses.with_row_index("i").group_by("style", "format"):
        share[cell["i"]] = truth.share_rejected(str(style), str(package), cell["age"].to_numpy())
    expected = false_alarm + (1 - false_alarm - miss) * share
    rejected = (glasses["verdict"] == "reject").to_numpy()
    for low, high in ((0.0, 0.1), (0.1, 0.3), (0.3, 0.6), (0.6, 1.0)):
        band = (share >= low) & (share < high)
        assert rejected[band].mean() == pytest.approx(expected[band].mean(), abs=0.03)


def _aged_glasses(seed: int) -> pl.DataFrame:
    """Give each aged glass of the honest tasters its style, format and age as days at 20 °C."""
    tables = simulate(seed)
    honest = tables["assessors"]["assessor"].sort().head(-2)
    kelvin = 1 / (pl.col("storage_temp_c") + 273.15) - 1 / 293.15
    before = (pl.col("placed_on") - pl.col("packaged_on")).dt.total_days()
    stored = (pl.col("pulled_on") - pl.col("placed_on")).dt.total_days()
    energy = pl.col("style").replace_strict(
        {name: style.activation_energy for name, style in truth.STYLES.items()}
    )
    rate = energy / 0.008314462618
    return (
        tables["tastings"]
        .filter(pl.col("assessor").is_in(honest.implode()), pl.col("verdict") != "not sure")
        .select("sample", "verdict")
        .join(tables["samples"].drop("void"), on="sample")
        .filter(pl.col("role") == "aged", stored > 0)
        .join(tables["lots"].select("lot", "format", "beer", "packaged_on"), on=["lot", "format"])
        .join(tables["beers"].select("beer", "style"), on="beer")
        .select(
            "style",
            "format",
            "verdict",
            age=before * (-rate * (1 / 277.15 - 1 / 293.15)).exp()
            + stored * (-rate * kelvin).exp(),
        )
    )


def test_a_brewer_would_believe_it() -> None:
    """Canned lager lasts five months on a warm shelf; hazy ale lasts weeks there, months cold."""
    assert truth.true_shelf_life("pale lager", "can 440", "ambient", 0.25) > 150
    assert truth.true_shelf_life("pale lager", "bottle 500", "ambient", 0.25) > 120
    assert 35 < truth.true_shelf_life("hazy ale", "can 440", "ambient", 0.25) < 60
    assert 90 < truth.true_shelf_life("hazy ale", "can 440", "cold chain", 0.25) < 150


def test_some_printed_dates_hold_and_some_do_not() -> None:
    """On the route that most of a format takes, neither all printed dates are true nor none."""
    holds = [
        truth.true_shelf_life(style, package, _main_route(package), 0.25) >= printed
        for style, stated in truth.STYLES.items()
        for package, printed in stated.printed_days.items()
    ]
    assert 3 <= sum(holds) <= len(holds) - 3


def _main_route(package: str) -> str:
    return "on-trade keg" if truth.FORMATS[package].kind == "keg" else "ambient"


def test_ingress_in_millilitres_is_ppb_of_the_bottle() -> None:
    """Identity: 0.001 mL of oxygen a day in 1.331 L are 1 ppb a day."""
    base = truth.FORMATS["bottle 750"]
    litre = truth.Format(**{**vars(base), "volume_ml": 1331.0, "ingress_ml_per_day": 0.001})
    assert litre.ingress == pytest.approx(1.0)
