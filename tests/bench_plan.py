"""How long a plan takes, and one of its simulated studies beside a fit; part of `make bench`."""

from __future__ import annotations

import os
import statistics
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.neighbours import additions, neighbours
from analysis.dating.plan import Target, plan
from analysis.dating.policy import Policy
from analysis.dating.routes import main_route
from analysis.dating.study import Arm, Study
from analysis.staling.foresight import foresee
from analysis.staling.model import fit_staling
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from analysis.staling.foresight import Foresight
    from analysis.staling.model import StalingModel

STUDIES = 200
RUNS = 3
STYLE, FORMAT, KIND = "stout", "bottle 500", "bottle"


def _took_fit(model: StalingModel) -> float:
    began = time.perf_counter()
    fit_staling(model.evidence, laws=(model.law,))
    return time.perf_counter() - began


def _took_study(study: Study, foresight: Foresight, target: Target) -> float:
    began = time.perf_counter()
    plan(study, foresight, target, 1)
    return time.perf_counter() - began


def planning() -> None:
    """A plan on the cores there are; and one simulated study beside one fit to everything."""
    found = assess(simulate(1), Policy(), Assumptions())
    model, route = found.model, main_route([r for r in found.routes if r.carries(KIND)])
    if model is None or route is None:
        message = "the simulated brewery has no fit or no route for a bottle"
        raise RuntimeError(message)
    *people, _, _ = everybody = model.layout.assessors
    spare = everybody[-2:]
    study = Study(
        style=STYLE,
        format=FORMAT,
        arms=(Arm(4.0, (30, 60, 90, 120, 180)), Arm(20.0, (28, 56, 84)), Arm(30.0, (7, 14, 28))),
        lots=3,
        assessors=tuple(people),
        attendance=0.7,
        begins=date(2027, 1, 11),
        before_temp_c=4.0,
        volume_ml=500.0,
    )
    cell = next(c for c in found.cells if (c.style, c.format) == (STYLE, FORMAT))
    lots = model.evidence.lots.filter((pl.col("style") == STYLE) & (pl.col("format") == FORMAT))
    rule = Policy().of(STYLE, format_=FORMAT)
    life = cell.life(route, rule.share_rejected, rule.confidence)
    target = Target(route, rule, lots["log_dose"].to_numpy(), life, oldest_days=90.0, limits={})
    foresight = foresee(model, STYLE, FORMAT, everybody)
    cores = os.cpu_count() or 1
    with ThreadPoolExecutor(cores) as pool:
        began = time.perf_counter()
        outlook = plan(study, foresight, target, STUDIES, pool.map)
        alone = time.perf_counter() - began
        larger = list(additions(study, route.last_temp_c, {38.0: (2, 4, 7, 10)}, spare))
        neighbours(outlook, larger, foresight, target, pool.map)
        whole = time.perf_counter() - began
    pairs = [(_took_fit(model), _took_study(study, foresight, target)) for _ in range(RUNS)]
    fit, one = (statistics.median(side) for side in zip(*pairs, strict=True))
    print(
        f"a plan, {STUDIES} simulated studies of {study.samples} samples, {len(people)} tasters: "
        f"{alone:.1f} s on {cores} cores, {int(outlook.settled.sum())} settled; with "
        f"{len(larger)} larger studies as often {whole:.1f} s; one study {fit / one:.0f} times as "
        f"fast as a fit of one law to everything: {one:.3f} s, {fit:.2f} s"
    )


if __name__ == "__main__":
    planning()
