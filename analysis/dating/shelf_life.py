"""Shelf life and best-before days of every style and format on every route its packages go.

The shelf life is the age from packaging at which the expected share of glasses rejected for age
reaches the policy's share. It is quoted at the median of what is not known, its bounds are
one-sided quantiles, and a date starts from the lower bound. The shortest cause of an end counts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.dating.policy import LOW_ALCOHOL_REASON
from analysis.dating.rounding import BestBefore, best_before
from analysis.kinetics.history import day_at
from analysis.staling.evidence import AGED
from analysis.staling.predict import Cells, cells

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.dating.policy import Policy, Rule
    from analysis.dating.routes import Route
    from analysis.staling.evidence import Evidence
    from analysis.staling.model import StalingModel

SHARES = (0.10, 0.25, 0.50)
ABOUT_THE_TEMPERATURE_C = 5.0
_A_TENTH = 0.10  # of the days, in logs


@dataclass(frozen=True)
class Life:
    """Days from packaging at which a share is rejected; `upper` is None where unbounded."""

    share_rejected: float
    days: float
    lower: float
    upper: float | None


@dataclass(frozen=True)
class Cell:
    """A style in a format, with everything its dates on any route need.

    Attributes:
        style: of the beer.
        format: of the package.
        kind: of the package.
        beers: beers with verdicts in this cell.
        lots: lots with verdicts in this cell.
        verdicts: accepts and rejects on aged beer of this cell.
        rejected: rejections among them.
        total_oxygen_ppb: median total package oxygen at filling over its lots, ppb.
        oxygen_from: measured, format or assumed.
        energy_known: whether the data have halved what the prior leaves open of Ea.
        style_known: the same of the style's own effect.
        reason: why there is no estimate; None where there is one.
        energy: activation energy used, kJ/mol; None without an estimate.
        distribution: law used; None without an estimate.
        filled: its lots that are dated: total_oxygen_ppb, ingress_ppb_per_day, line; None without
            an estimate.
        drawn: these lots ready for prediction; None without an estimate.
        ages: shares to days at 20 °C for every draw.
    """

    style: str
    format: str
    kind: str
    beers: int
    lots: int
    verdicts: int
    rejected: int
    total_oxygen_ppb: float
    oxygen_from: str
    reason: str | None
    energy_known: bool = False
    style_known: bool = False
    energy: float | None = None
    distribution: str | None = None
    filled: pl.DataFrame | None = field(default=None, repr=False)
    drawn: Cells | None = field(default=None, repr=False)
    ages: Mapping[float, np.ndarray] = field(default_factory=dict, repr=False)

    def life(self, route: Route, share: float, confidence: float) -> Life | None:
        """Return the shelf life on a route, or None where there is no estimate."""
        if self.drawn is None:
            return None
        days = day_at(route.stages, self.ages[share], self.drawn.activation_energy)
        asked = (1.0 - confidence, 0.5, confidence)
        lower, middle, upper = np.quantile(days, asked, method="inverted_cdf")  # days may be ∞
        return Life(
            share, float(middle), float(lower), float(upper) if np.isfinite(upper) else None
        )

    def basis(self, route: Route, share: float) -> str:
        """Say what the estimate on a route rests on: the first that holds of the four.

        `none`: there is none. `prior`: the style's own life is mostly assumed, or Ea is and it
        alone leaves the days on this route uncertain by more than a tenth. `borrowed`: the cell has
        no verdicts of its own. `fitted`: it has.
        """
        if self.drawn is None:
            return "none"
        energy = self.drawn.activation_energy
        days = day_at(route.stages, self.ages[share], energy)
        reached = np.isfinite(days)
        if not self.style_known:
            return "prior"
        if not self.energy_known and reached.sum() > 1 and np.ptp(energy[reached]) > 0.0:
            log_days = np.log(days[reached])
            together = abs(np.corrcoef(log_days, energy[reached])[0, 1])
            if together * log_days.std() > _A_TENTH:
                return "prior"
        return "fitted" if self.verdicts else "borrowed"


def cells_of(
    evidence: Evidence,
    model: StalingModel | None,
    beers: pl.DataFrame,
    formats: pl.DataFrame,
    policy: Policy,
    *,
    failure: str | None = None,
) -> tuple[Cell, ...]:
    """Gather every style and format with at least one lot.

    Args:
        evidence: servings and lots.
        model: the fit, or None where it failed.
        beers: beer, abv_pct.
        formats: format, kind.
        policy: for the shares wanted and the low-alcohol rule.
        failure: why there is no model.
    """
    unsafe = {
        row["beer"]
        for row in beers.iter_rows(named=True)
        if policy.needs_validation(row["beer"], row["abv_pct"])
    }
    kinds = dict(formats.select("format", "kind").iter_rows())
    asked = sorted({*SHARES, *policy.shares})
    counted = evidence.servings.filter(AGED)
    made = []
    for (style, format_), lots in evidence.lots.group_by(["style", "format"], maintain_order=True):
        tasted = counted.filter((pl.col("style") == style) & (pl.col("format") == format_))
        common = {
            "style": str(style),
            "format": str(format_),
            "kind": kinds[str(format_)],
            "beers": tasted["beer"].n_unique(),
            "lots": tasted["lot"].n_unique(),
            "verdicts": tasted.height,
            "rejected": tasted.filter(pl.col("verdict") == "reject").height,
            "total_oxygen_ppb": float(np.median(lots["total_oxygen_ppb"].to_numpy())),
            "oxygen_from": _oxygen_from(lots),
        }
        reason = failure
        if model is not None and style not in model.layout.styles:
            reason = f"no verdicts on aged {style}: the samples and tastings tables would fill this"
        if set(lots["beer"]) <= unsafe:
            reason = LOW_ALCOHOL_REASON
        if model is None or reason is not None:
            made.append(Cell(**common, reason=reason))
            continue
        safe = lots.filter(~pl.col("beer").is_in(list(unsafe)))
        drawn = cells(model, str(style), safe["format"].to_list(), safe["log_dose"].to_numpy())
        made.append(
            Cell(
                **common,
                reason=None,
                energy_known=model.known(
                    model.layout.energy,
                    model.layout.energy + 1 + model.layout.style(str(style)),
                ),
                style_known=model.source(model.layout.style(str(style))) == "fitted",
                energy=float(np.median(drawn.activation_energy)),
                distribution=model.law.name,
                filled=safe.select("total_oxygen_ppb", "ingress_ppb_per_day", "line"),
                drawn=drawn,
                ages={share: drawn.age_at(share) for share in asked},
            )
        )
    return tuple(made)


def _oxygen_from(lots: pl.DataFrame) -> str:
    sources = set(lots["oxygen_from"])
    return next(
        name
        for name, found in (
            ("measured", {"measured", "cell"}),
            ("format", {"format"}),
            ("assumed", {"assumed"}),
        )
        if sources & found
    )


def oldest_tasted(evidence: Evidence, style: str, temp_c: float) -> float | None:
    """Return the age of the oldest beer of a style tasted from storage at about `temp_c`, days."""
    near = evidence.servings.filter(
        AGED
        & (pl.col("style") == style)
        & ((pl.col("storage_temp_c") - temp_c).abs() <= ABOUT_THE_TEMPERATURE_C)
    )
    return None if near.is_empty() else float(near["age_days"].to_numpy().max())


def date_of(
    cell: Cell,
    route: Route,
    rule: Rule,
    oldest: float | None,
    limits: Mapping[str, float],
) -> BestBefore:
    """Apply a rule to a cell on a route.

    Args:
        cell: a cell with or without an estimate.
        route: a route that carries its kind.
        rule: what holds there.
        oldest: oldest beer of the style tasted at about the route's last temperature, days.
        limits: cause to days, of whatever else may end the beer's life.
    """
    life = cell.life(route, rule.share_rejected, rule.confidence)
    if life is None:
        return BestBefore(None, "safety" if cell.reason == LOW_ALCOHOL_REASON else "", cell.reason)
    return best_before(
        life.lower,
        rule=rule,
        oldest_tasted_days=oldest,
        limits=limits,
        distribution_days=route.stages.distribution_days,
    )


def limits_for(limits: pl.DataFrame, cell: Cell, evidence: Evidence) -> dict[str, float]:
    """Collect the limits of a cell: its style's, and its beer's where it holds one beer only."""
    in_cell = evidence.lots.filter(
        (pl.col("style") == cell.style) & (pl.col("format") == cell.format)
    )["beer"].unique()
    beer = in_cell[0] if len(in_cell) == 1 else None
    return limits_of(limits, style=cell.style, format_=cell.format, beer=beer)


def limits_of(
    limits: pl.DataFrame, *, style: str, format_: str, beer: str | None
) -> dict[str, float]:
    """Collect the shortest days by cause that hold for a style and, where given, a beer.

    Args:
        limits: beer, style, format (empty: every format), cause, days.
        style: of the beer.
        format_: of the package.
        beer: the beer, or None for limits of the style alone.
    """
    whose = (pl.col("style") == style) & pl.col("beer").is_null()
    if beer is not None:
        whose |= pl.col("beer") == beer
    found = (
        limits.filter(whose & (pl.col("format").is_null() | (pl.col("format") == format_)))
        .group_by("cause")
        .agg(pl.col("days").min())
        .sort("cause")
    )
    return dict(found.iter_rows())
