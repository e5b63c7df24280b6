"""Speed and recovery, measured side by side in one run: `make bench`.

Ratios are printed, not seconds alone: the machine is the same for both. Every figure is the median
of several runs.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import statistics
import subprocess
import sys
import time
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from lifelines import LogLogisticAFTFitter, LogNormalAFTFitter, WeibullAFTFitter
from pandas import DataFrame

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.explanation import explain
from analysis.dating.policy import Policy
from analysis.dating.shelf_life import cells_of
from analysis.staling.evidence import gather
from analysis.staling.model import fit_staling
from analysis.survival.aft import fit_aft
from analysis.survival.laws import LAWS, LOGLOGISTIC, LOGNORMAL, WEIBULL, Law
from analysis.survival.turnbull import turnbull
from data_demo.simulate import simulate
from tests.bench_oxygen import charting
from tests.bench_plan import planning
from tests.bench_sources import taking_apart
from tests.calibration import ROUTES, Brewery, Setting

if TYPE_CHECKING:
    from collections.abc import Callable

ROWS = 100_000
FITTERS = {
    WEIBULL: WeibullAFTFitter,
    LOGNORMAL: LogNormalAFTFitter,
    LOGLOGISTIC: LogLogisticAFTFitter,
}


def seconds(work: Callable[[], object], runs: int = 5) -> float:
    """Return the median duration of some runs."""
    taken = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began)
    return statistics.median(taken)


def intervals(law: Law, rows: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distinct intervals of times inspected on days of their own, with three covariates."""
    rng = np.random.default_rng(seed)
    x = np.column_stack([np.ones(rows), rng.normal(size=(rows, 3))])
    time_ = np.exp(x @ [4.0, 0.3, -0.2, 0.5] + 0.5 * law.quantile(rng.uniform(size=rows)))
    days = np.array([10.0, 20.0, 35.0, 50.0, 70.0, 100.0]) * rng.uniform(0.8, 1.2, (rows, 6))
    grid = np.column_stack([rng.uniform(0.5, 1.0, rows), np.sort(days), np.full(rows, np.inf)])
    place = np.clip((grid < time_[:, None]).sum(axis=1), 1, 7)
    return grid[np.arange(rows), place - 1], grid[np.arange(rows), place], x


def interleaved(first: Callable[[], object], second: Callable[[], object]) -> tuple[float, float]:
    """Return the median durations of five runs of each, taken in turn."""
    pairs = [(seconds(first, runs=1), seconds(second, runs=1)) for _ in range(5)]
    return statistics.median(a for a, _ in pairs), statistics.median(b for _, b in pairs)


def aft() -> None:
    """The same rows and law beside lifelines; lower ends are above 0, where lifelines can fit."""
    print(f"accelerated failure time, {ROWS:,} distinct intervals, 3 covariates")
    for law in LAWS:
        lower, upper, x = intervals(law, ROWS)
        named = zip(("lower", "upper", *"abc"), (lower, upper, *x.T[1:]), strict=True)
        frame = DataFrame(dict(named))
        fit = fit_aft(lower, upper, x, law)
        other = FITTERS[law]().fit_interval_censoring(frame, "lower", "upper")
        apart = abs(fit.log_likelihood / other.log_likelihood_ - 1.0)
        ours, theirs = interleaved(
            lambda law=law, a=lower, b=upper, x=x: fit_aft(a, b, x, law),
            lambda law=law, frame=frame: FITTERS[law]().fit_interval_censoring(
                frame, "lower", "upper"
            ),
        )
        print(
            f"  {law.name:12} {theirs / ours:5.1f} times as fast: {ours:.3f} s, {theirs:.3f} s"
            f"; log-likelihood {fit.log_likelihood:.3f}, apart by {apart:.0e}"
        )


def npmle() -> None:
    """Irregular intervals, every end its own: wide ones, and narrow ones that leave many masses."""
    rng = np.random.default_rng(2)
    time_ = rng.lognormal(4.0, 0.5, 2_000)
    lower = time_ * rng.uniform(0.3, 1.0, 2_000)
    upper = np.where(rng.random(2_000) < 0.2, np.inf, time_ * rng.uniform(1.0, 2.5, 2_000))
    between = rng.exponential(3.0, 2_000)
    earlier = time_ - between * rng.random(2_000)
    for kind, low, high in (("wide", lower, upper), ("narrow", earlier, earlier + between)):
        taken = seconds(lambda low=low, high=high: turnbull(low, high), runs=20)
        estimate = turnbull(low, high)
        print(
            f"Turnbull, 2,000 irregular {kind} intervals: {1e3 * taken:.1f} ms,"
            f" {len(estimate.mass)} masses, duality gap {estimate.duality_gap:.0e}"
        )


def staling() -> None:
    """A brewery of 36 lots: three laws, 2,000 draws, all routes; and one of ten times the lots."""
    for times in (1, 10):
        brewery = Brewery(1, Setting(0.03, "lognormal"), lots_per_cell=4 * times)
        tables = brewery.tables
        began = time.perf_counter()
        evidence = gather(
            *(tables[name] for name in ("beers", "lots", "samples", "tastings", "oxygen")),
            before_placing_c=4.0,
        )
        model = fit_staling(evidence)
        for cell in cells_of(evidence, model, tables["beers"], tables["formats"], Policy()):
            for route in ROUTES:
                cell.life(route, 0.25, 0.90)
        print(
            f"staling model, {tables['lots'].height} lots, {tables['tastings'].height:,} verdicts, "
            f"three laws, 2,000 draws, all routes: {time.perf_counter() - began:.1f} s"
        )


def whole_assessment() -> None:
    """One brewery like the demo's, from tables to dates, back-test and effects."""
    tables = simulate(1)

    def everything() -> None:
        found = assess(tables, Policy(), Assumptions())
        if found.model is not None:
            explain(found.model, tables, Policy(), {})

    taken = seconds(everything, runs=1)
    print(f"a brewery, {tables['tastings'].height:,} tastings, the whole analysis: {taken:.1f} s")


def command() -> None:
    """The help of the installed command, as a person waits for it."""
    program = Path(sys.executable).with_name("stalecurve")
    taken = seconds(
        lambda: subprocess.run([program, "--help"], check=True, capture_output=True), runs=10
    )
    print(f"stalecurve --help: {taken:.2f} s")


if __name__ == "__main__":
    warnings.simplefilter("ignore")  # lifelines warns about itself
    aft()
    npmle()
    staling()
    whole_assessment()
    charting()
    taking_apart()
    planning()
    command()
    subprocess.run([sys.executable, "-m", "tests.bench_intake"], check=True)  # its own memory
