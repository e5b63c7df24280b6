"""Simulated breweries whose truth is known, and how often the bounds hold in them.

`make calibration` runs 200 of them under each setting, about half an hour on two cores; a version
with twenty runs in the tests.

Three styles in three formats, four lots a cell, ten assessors of whom 80 % attend, pulls at 4, 20,
30 and 38 °C. Log age has SD 0.15 between lots, 0.30 between assessors and 0.35 for what is left. A
share of the verdicts is wrong. One cell has lots but no tastings. Every brewery has styles of its
own: median life 70 to 250 days at 20 °C, activation energy 73 (SD 8) kJ/mol, oxygen exponent 0.30
(SD 0.10), style by format 0 (SD 0.05). Oxygen is read on 3 to 12 packages with a noise of 0.30 in
logs.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from multiprocessing import get_context

import numpy as np
import polars as pl
from scipy import special

from analysis.dating.policy import Policy
from analysis.dating.routes import Route
from analysis.dating.shelf_life import cells_of
from analysis.errors import NotEstimable
from analysis.kinetics.history import Stages, day_at
from analysis.staling.evidence import gather
from analysis.staling.model import fit_staling

STYLES = ("lager", "ale", "stout")
FORMATS = ("bottle", "can", "keg")
UNSEEN = ("stout", "keg")
OXYGEN = {"bottle": (80.0, 1.3, 1.0), "can": (60.0, 1.4, 0.0), "keg": (35.0, 1.4, 0.0)}
PULLS = {
    4.0: (30, 60, 90, 120, 180),
    20.0: (14, 28, 56, 84, 120, 180),
    30.0: (7, 14, 21, 28, 42),
    38.0: (2, 4, 7, 10, 14),
}
ROUTES = (
    Route("cold", frozenset(), 0.5, Stages((20.0, np.inf), (4.0, 8.0))),
    Route("ambient", frozenset(), 0.5, Stages((14.0, 2.0, np.inf), (12.0, 20.0, 21.0))),
)
SHARES = (0.10, 0.25)
PACKAGED_ON = date(2031, 3, 4)
LOT_SD, ASSESSOR_SD, RESIDUAL_SD = 0.15, 0.30, 0.35
_GAS_CONSTANT = 8.314462618e-3


@dataclass(frozen=True)
class Setting:
    """What one batch of breweries is like: share of wrong verdicts, law, and glass-to-glass SD."""

    wrong: float
    law: str
    glass_sd: float = 0.0


SETTINGS = (
    Setting(0.03, "lognormal"),
    Setting(0.08, "lognormal"),
    Setting(0.03, "weibull"),
    Setting(0.08, "weibull"),
    Setting(0.03, "lognormal", glass_sd=0.2),
)


def slope(temp_c: float) -> float:
    """Arrhenius slope beside 20 °C, mol/kJ; written again here so that the check stands apart."""
    return -(1.0 / (temp_c + 273.15) - 1.0 / 293.15) / _GAS_CONSTANT


def residual(setting: Setting, rng: np.random.Generator, size: int | tuple[int, ...]) -> np.ndarray:
    """Draw what is left of log age, with SD 0.35 and median 0 under either law."""
    if setting.law == "lognormal":
        return rng.normal(0.0, RESIDUAL_SD, size)
    scale = RESIDUAL_SD * np.sqrt(6.0) / np.pi
    return scale * (np.log(rng.exponential(size=size)) - np.log(np.log(2.0)))


@cache
def spread_of_glasses(setting: Setting) -> np.ndarray:
    """Draw lot, assessor, what is left and glass together, in no order, shape (100 000,)."""
    rng = np.random.default_rng(5)
    others = rng.normal(0.0, np.hypot(LOT_SD, ASSESSOR_SD), 100_000)
    others += residual(setting, rng, 100_000)
    return others + rng.normal(0.0, 1.0, 100_000) * setting.glass_sd


class Brewery:
    """One simulated brewery: its truth and its tables."""

    def __init__(self, seed: int, setting: Setting, *, lots_per_cell: int = 4) -> None:
        """Draw the truth, then the tables."""
        self.lots_per_cell = lots_per_cell
        rng = np.random.default_rng([seed, 77])
        self.setting = setting
        self.median = dict(
            zip(STYLES, np.exp(rng.uniform(np.log(70), np.log(250), 3)), strict=True)
        )
        self.energy = dict(zip(STYLES, rng.normal(73.0, 8.0, 3).clip(50.0, 105.0), strict=True))
        self.exponent = dict(zip(STYLES, rng.normal(0.30, 0.10, 3).clip(0.0), strict=True))
        self.crossed = {(s, f): rng.normal(0.0, 0.05) for s in STYLES for f in FORMATS}
        self.tables = self._tables(rng)

    def location(self, style: str, format_: str, dose: np.ndarray) -> np.ndarray:
        """Return log days at 20 °C of a typical lot, assessor and glass."""
        base = np.log(self.median[style]) + self.crossed[style, format_]
        return base - self.exponent[style] * np.log(dose / 60.0)

    def truth(self, style: str, format_: str, route: Route, share: float) -> float:
        """Return the days on a route at which the share of all glasses is rejected for age."""
        median, spread, ingress = OXYGEN[format_]
        nodes = (np.arange(400) + 0.5) / 400
        dose = median * spread ** special.ndtri(nodes) + 90.0 * ingress
        others = spread_of_glasses(self.setting)
        log_age = np.resize(self.location(style, format_, dose), len(others)) + others
        age = np.exp(np.quantile(log_age, share))
        return float(day_at(route.stages, np.array([age]), np.array([self.energy[style]]))[0])

    def _tables(self, rng: np.random.Generator) -> dict[str, pl.DataFrame]:
        assessor = rng.normal(0.0, ASSESSOR_SD, 10)
        lots, oxygen, samples, tastings = [], [], [], []
        for style in STYLES:
            for format_ in FORMATS:
                for number in range(self.lots_per_cell):
                    lot = f"{style} {format_} {number}"
                    median, spread, ingress = OXYGEN[format_]
                    total = median * spread ** rng.standard_normal()
                    read = total * np.exp(rng.normal(0.0, 0.30, rng.integers(3, 13)).mean())
                    lots.append((lot, format_, style, PACKAGED_ON))
                    oxygen.append((lot, format_, read, ingress, read + 90.0 * ingress))
                    if (style, format_) == UNSEEN:
                        continue
                    dose = np.array([total + 90.0 * ingress])
                    own = self.location(style, format_, dose)[0] + rng.normal(0.0, LOT_SD)
                    self._taste(rng, style, lot, format_, own + assessor, samples, tastings)
        return {
            "beers": pl.DataFrame({"beer": STYLES, "style": STYLES, "abv_pct": 5.0}),
            "formats": pl.DataFrame({"format": FORMATS, "kind": FORMATS}),
            "lots": pl.DataFrame(
                lots, schema=["lot", "format", "beer", "packaged_on"], orient="row"
            ).with_columns(
                batch=pl.lit(None, pl.String),
                best_before=pl.lit(None, pl.Date),
                line=pl.lit(None, pl.String),
                trial=pl.lit(None, pl.String),
            ),
            "oxygen": pl.DataFrame(
                oxygen,
                schema=["lot", "format", "total_oxygen_ppb", "ingress_ppb_per_day", "dose_ppb"],
                orient="row",
            ).with_columns(packages=pl.lit(6)),
            "samples": pl.DataFrame(
                samples,
                schema=["sample", "lot", "format", "storage_temp_c", "pulled_on", "role"],
                orient="row",
            ).with_columns(
                placed_on=pl.lit(PACKAGED_ON), before_placing_temp_c=pl.lit(None, pl.Float64)
            ),
            "tastings": pl.DataFrame(
                tastings,
                schema=["session", "tasted_on", "assessor", "sample", "verdict"],
                orient="row",
            ),
        }

    def _taste(
        self,
        rng: np.random.Generator,
        style: str,
        lot: str,
        format_: str,
        log_life: np.ndarray,
        samples: list[tuple[object, ...]],
        tastings: list[tuple[object, ...]],
    ) -> None:
        """Pull every storage of a lot, and one fresh glass a storage beside it."""
        for temp_c, days in PULLS.items():
            turns = log_life + residual(self.setting, rng, 10)
            for day in (0, *days):
                sample = f"{lot} {temp_c:g} {day}"
                pulled = PACKAGED_ON + timedelta(days=day)
                role = "aged" if day else "fresh"
                samples.append((sample, lot, format_, temp_c, pulled, role))
                glass = self.setting.glass_sd * rng.standard_normal(10)
                age = np.log(max(day, 1e-9)) + self.energy[style] * slope(temp_c)
                stale = age > turns + glass
                wrong = rng.random(10) < self.setting.wrong
                for who in np.flatnonzero(rng.random(10) < 0.8):
                    verdict = "reject" if stale[who] != wrong[who] else "accept"
                    tastings.append((f"{pulled}", pulled, f"taster {who}", sample, verdict))


def recover(seed: int, setting: Setting) -> pl.DataFrame:
    """Fit one brewery and set its bounds beside the truth.

    Returns:
        brewery, style, format, route, share, seen, truth, days, lower, upper; one row a cell, route
        and share; empty where there was no estimate.
    """
    brewery = Brewery(seed, setting)
    tables = brewery.tables
    evidence = gather(
        *(tables[name] for name in ("beers", "lots", "samples", "tastings", "oxygen")),
        before_placing_c=4.0,
    )
    rows = []
    try:
        model = fit_staling(evidence)
    except NotEstimable:
        model = None
    for cell in cells_of(evidence, model, tables["beers"], tables["formats"], Policy()):
        for route in ROUTES:
            for share in SHARES:
                life = cell.life(route, share, 0.90)
                if life is None:
                    continue
                rows.append(
                    (
                        seed,
                        cell.style,
                        cell.format,
                        route.name,
                        share,
                        (cell.style, cell.format) != UNSEEN,
                        brewery.truth(cell.style, cell.format, route, share),
                        life.days,
                        life.lower,
                        life.upper if life.upper is not None else np.inf,
                    )
                )
    names = ["brewery", "style", "format", "route", "share", "seen"]
    return pl.DataFrame(rows, schema=[*names, "truth", "days", "lower", "upper"], orient="row")


def calibration(found: pl.DataFrame) -> pl.DataFrame:
    """Summarise by seen, route and share.

    Returns:
        seen, route, share, lower_right and upper_right (shares of cells) with standard errors
        clustered by brewery, median_error (|days / truth − 1|), lower_over_truth (median).
    """
    held = found.with_columns(
        low=(pl.col("truth") >= pl.col("lower")).cast(pl.Float64),
        high=(pl.col("truth") <= pl.col("upper")).cast(pl.Float64),
        error=(pl.col("days") / pl.col("truth") - 1.0).abs(),
        kept=pl.col("lower") / pl.col("truth"),
    )
    by = ["seen", "route", "share"]
    by_brewery = held.group_by(*by, "brewery").agg(pl.col("low", "high").mean())
    errors = by_brewery.group_by(by).agg(
        lower_se=pl.col("low").std() / pl.len().sqrt(),
        upper_se=pl.col("high").std() / pl.len().sqrt(),
    )
    return (
        held.group_by(by)
        .agg(
            lower_right=pl.col("low").mean(),
            upper_right=pl.col("high").mean(),
            median_error=pl.col("error").median(),
            lower_over_truth=pl.col("kept").median(),
        )
        .join(errors, on=by)
        .sort(by)
    )


def recover_all(breweries: int, setting: Setting) -> pl.DataFrame:
    """Fit breweries side by side on all cores; a fork would copy other threads' locks, closed."""
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        found = pool.map(recover, range(breweries), [setting] * breweries, chunksize=2)
        return pl.concat(part for part in found if part.height)


if __name__ == "__main__":
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    pl.Config(tbl_cols=-1, tbl_rows=-1, tbl_width_chars=140, float_precision=3)
    for each in SETTINGS:
        print(f"{number} breweries, {each}")
        print(calibration(recover_all(number, each)), flush=True)
