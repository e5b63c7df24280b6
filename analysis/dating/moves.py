"""What moves the date, on a grid: oxygen, closure, the last stage's warmth, and the policy.

    age(f) = age · f^(−b),    f = (O + change + 90 · g) / (O + 90 · g₀)

O is what the middle lot holds at filling, ppb; g₀ what its closure lets in and g what another
would, ppb a day at 20 °C. Every lot's dose changes by the same factor f, so that lots stay as
unlike as they are. A draw's age goes with the dose to the power −b, and its days follow from its
own activation energy: each point of the grid is as exact as the fit itself, and the point where
nothing is changed is the date of the run.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.choices import CONFIDENCES
from analysis.dating.dose_lives import exponents
from analysis.dating.filling import SCAVENGING_PPB_PER_DAY, filled_cells
from analysis.dating.levers import LEAST_PPB
from analysis.dating.rounding import best_before
from analysis.dating.routes import main_route
from analysis.dating.shelf_life import SHARES, limits_for, oldest_tasted
from analysis.kinetics.history import Stages, day_at
from analysis.oxygen.dose import DOSE_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.dating.filling import Filled
    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.staling.evidence import Evidence
    from analysis.staling.model import StalingModel

OXYGEN_PPB = (-40.0, -20.0, 0.0, 20.0, 40.0)
"""Changes of what the middle lot holds at filling, ppb."""

WARMER_C = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0)
"""Changes of the temperature of the last stage, °C; none goes below 0 °C."""

AS_IT_IS, SCAVENGING, CROWN = "as it is", "scavenging liner", "ordinary crown"
CROWN_PPB_PER_DAY = 5.5
"""What an ordinary crown without a barrier lets in at 20 °C (assumed)."""

_SCHEMA = {
    **dict.fromkeys(("style", "format", "route"), pl.String),
    "oxygen_change_ppb": pl.Float64,
    "oxygen_ppb": pl.Float64,
    "closure": pl.String,
    "ingress_ppb_per_day": pl.Float64,
    "warmer_c": pl.Float64,
    "temp_c": pl.Float64,
    "share_rejected": pl.Float64,
    "confidence": pl.Float64,
    "shelf_life_days": pl.Float64,
    "shelf_life_days_lower": pl.Float64,
    "best_before_days": pl.Int32,
    "binding_cause": pl.String,
    "in_force": pl.Boolean,
}


def moves(
    model: StalingModel,
    cells: Sequence[Cell],
    routes: Sequence[Route],
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
) -> pl.DataFrame:
    """Tabulate the date of every style and format on its main route over the grid.

    Args:
        model: the fit.
        cells: every style and format; those without an estimate are left out.
        routes: the routes.
        evidence: for the oldest beer tasted where the route ends now, which caps every point alike.
        policy: the brewery's rule; margins, caps and rounding stay as it says.
        limits: beer, style, format, cause, days.

    Returns:
        style, format, route, oxygen_change_ppb and what the middle lot then holds, closure (as it
        is; where it lets in anything, also scavenging liner and ordinary crown) and its ingress,
        warmer_c and the temperature of the last stage, share_rejected, confidence,
        shelf_life_days, its lower bound, best_before_days (null where there would be none),
        binding_cause, in_force (nothing changed).
    """
    asked = {rule["confidence"] for rule in _rules(policy) if "confidence" in rule}
    sure = sorted({*CONFIDENCES, policy.confidence, *asked})
    rows = [
        row
        for filled in filled_cells(cells)
        if (route := main_route(r for r in routes if r.carries(filled.cell.kind))) is not None
        for row in _of_cell(model, filled, route, evidence, policy, limits, sure)
    ]
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row")


def _rules(policy: Policy) -> Iterator[Any]:
    for own in (policy.beers, policy.styles, policy.formats, policy.markets):
        yield from own.values()


def _of_cell(
    model: StalingModel,
    filled: Filled,
    route: Route,
    evidence: Evidence,
    policy: Policy,
    limits: pl.DataFrame,
    sure: Sequence[float],
) -> Iterator[tuple[object, ...]]:
    cell, filling = filled.cell, filled.filling
    rule = policy.of(cell.style, format_=cell.format, market=route.market)
    ends = limits_for(limits, cell, evidence)
    exponent = exponents(model, cell.style, cell.format)
    now = filling.median_ppb + DOSE_DAYS * filling.ingress
    ways = [
        (warmer, _warmer(route.stages, warmer))
        for warmer in WARMER_C
        if warmer >= 0.0 or route.last_temp_c + warmer >= 0.0
    ]
    oldest = oldest_tasted(evidence, cell.style, route.last_temp_c)
    shares = sorted({*SHARES, *policy.shares})
    for change in OXYGEN_PPB:
        total = filling.median_ppb + change
        if change < 0.0 and total < LEAST_PPB:
            continue
        for closure, ingress in _closures(filling.ingress):
            factor = (total + DOSE_DAYS * ingress) / now
            unchanged = change == 0.0 and closure == AS_IT_IS
            by_dose = 1.0 if unchanged else factor**-exponent
            for warmer, stages in ways:
                for share in shares:
                    days = day_at(stages, cell.ages[share] * by_dose, filled.energy)
                    quantiles = np.quantile(
                        days, [0.5, *(1.0 - s for s in sure)], method="inverted_cdf"
                    )
                    for confidence, lower in zip(sure, quantiles[1:], strict=True):
                        date = best_before(
                            float(lower),
                            rule=replace(rule, share_rejected=share, confidence=confidence),
                            oldest_tasted_days=oldest,
                            limits=ends,
                            distribution_days=stages.distribution_days,
                        )
                        yield (
                            *(cell.style, cell.format, route.name),
                            *(change, total, closure, ingress),
                            *(warmer, stages.temp_c[-1], share, confidence),
                            *(float(quantiles[0]), float(lower), date.days, date.binding_cause),
                            unchanged
                            and warmer == 0.0
                            and share == rule.share_rejected
                            and confidence == rule.confidence,
                        )


def _closures(ingress: float) -> list[tuple[str, float]]:
    """Return what may close the package: a seam lets in nothing and has no other closure."""
    others = [(SCAVENGING, SCAVENGING_PPB_PER_DAY), (CROWN, CROWN_PPB_PER_DAY)]
    return [(AS_IT_IS, ingress), *(others if ingress > 0.0 else [])]


def _warmer(stages: Stages, warmer_c: float) -> Stages:
    *way, last = stages.temp_c
    return Stages(stages.days, (*way, last + warmer_c))
