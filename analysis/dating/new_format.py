"""The date of a format that was never filled: lent by what the brewery's other formats taught.

    total of a lot = exp(m + τ · N),    m ~ N(mean of log readings, ω²/n + τ²)

The n readings are taken as packages of one lot: ω is how far packages of a lot differ and τ how far
lots of a format do, both from all the brewery's readings (`shrinkage`). Without a reading m is the
typical total of the format most like it, with an SD of 0.4 (assumed: a factor of two either way,
nine times in ten). Every draw of the fit takes an m of its own, so that few readings leave the date
wide and early.

Likeness is a plain sum (assumed, and no part of the date where oxygen was read): 2 for another
kind, 1 for another closure (½ where one of them names none), ½ for each doubling of the volume and
1 for each doubling of the oxygen dose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
from scipy import special

from analysis.dating.filling import SCAVENGING_PPB_PER_DAY
from analysis.dating.policy import LOW_ALCOHOL_REASON
from analysis.dating.shelf_life import Cell, date_of, limits_of
from analysis.dating.style_lives import lent_cells
from analysis.oxygen.dose import DOSE_DAYS
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.model import SEED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.oxygen.shrinkage import Spreads

UNREAD_SD = 0.4
"""SD of log ppb of a format's typical total where none was read (assumed)."""
UNREAD_PPB = 60.0
"""A format's typical total where nothing at all was read in the brewery, ppb (assumed)."""
_Z = float(special.ndtri(0.95))
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)

_DATES = {
    **dict.fromkeys(("style", "route", "market"), pl.String),
    **dict.fromkeys(("temp_c", "share_rejected", "confidence"), pl.Float64),
    **dict.fromkeys(("shelf_life_days", "shelf_life_days_lower"), pl.Float64),
    "shelf_life_days_upper": pl.Float64,
    "best_before_days": pl.Int32,
    **dict.fromkeys(("binding_cause", "basis", "reason"), pl.String),
}
_LIKENESS = {
    **dict.fromkeys(("format", "kind", "closure"), pl.String),
    **dict.fromkeys(("volume_ml", "dose_ppb", "distance"), pl.Float64),
}


@dataclass(frozen=True)
class NewFormat:
    """A package that is thought about.

    Attributes:
        name: as it would be called.
        kind: of the package.
        volume_ml: of the beer, mL.
        closure: None where it is not said.
        ingress: what the closure lets in at 20 °C, ppb a day; None where it is not said.
        oxygen: total package oxygen of the packages read so far, ppb.
    """

    name: str
    kind: str
    volume_ml: float
    closure: str | None = None
    ingress: float | None = None
    oxygen: tuple[float, ...] = ()


@dataclass(frozen=True)
class Oxygen:
    """What is taken of its oxygen at filling.

    Attributes:
        total_ppb: of the typical lot.
        level_sd: SD of its log, for it is not known.
        lot_sd: SD of log ppb between lots.
        like: the format whose typical total it was given; None where it was read.
        ingress: ppb a day at 20 °C.
        ingress_from: given, closure, scavenging, kind or nothing.
    """

    total_ppb: float
    level_sd: float
    lot_sd: float
    like: str | None
    ingress: float
    ingress_from: str

    @property
    def bounds(self) -> tuple[float, float]:
        """The bounds of 90 % on the typical total, two-sided, ppb."""
        reach = _Z * self.level_sd
        return self.total_ppb * math.exp(-reach), self.total_ppb * math.exp(reach)

    @property
    def dose_ppb(self) -> float:
        """The dose of the typical lot, ppb."""
        return self.total_ppb + DOSE_DAYS * self.ingress

    def log_doses(self, draws: int) -> tuple[np.ndarray, np.ndarray]:
        """Return log(dose / 60 ppb) of m future lots in each draw, (d, m), and their weights."""
        own = np.random.default_rng((SEED, 1))  # not the numbers that the format's effect is of
        level = self.level_sd * own.standard_normal(draws)
        lots = math.log(self.total_ppb) + level[:, None] + self.lot_sd * _NODES
        dose = np.exp(lots) + DOSE_DAYS * self.ingress
        return np.log(dose / REFERENCE_DOSE_PPB), _WEIGHTS / _WEIGHTS.sum()


def oxygen_of(asked: NewFormat, known: pl.DataFrame, spreads: Spreads) -> Oxygen:
    """Take what was read and said of a new format, and for the rest what is most like it.

    Args:
        asked: the format.
        known: the brewery's formats: format, kind, volume_ml, closure, ingress_ppb_per_day,
            ingress_given, total_oxygen_ppb.
        spreads: between packages and lots.
    """
    ingress, ingress_from = _ingress(asked, known)
    if asked.oxygen:
        logs = np.log(asked.oxygen)
        middle, like = float(np.exp(logs.mean())), None
        level_sd = math.hypot(spreads.package_sd / math.sqrt(len(logs)), spreads.lot_sd)
    else:
        measured = known.filter(pl.col("total_oxygen_ppb").is_not_null())
        nearest = next(likeness(asked, measured, None).iter_rows(named=True), None)
        like = nearest["format"] if nearest else None
        totals = dict(measured.select("format", "total_oxygen_ppb").iter_rows())
        middle = totals[like] if nearest else UNREAD_PPB
        level_sd = UNREAD_SD
    return Oxygen(middle, level_sd, spreads.lot_sd, like, ingress, ingress_from)


def _ingress(asked: NewFormat, known: pl.DataFrame) -> tuple[float, str]:
    """Take what the closure lets in: as said, else as the same closure, else as the same kind."""
    if asked.ingress is not None:
        return asked.ingress, "given"
    given = known.filter("ingress_given")
    if asked.closure is not None:
        same = pl.col("closure").str.to_lowercase() == asked.closure.lower()
        if (found := given.filter(same)["ingress_ppb_per_day"].to_numpy()).size:
            return float(np.median(found)), "closure"
        if "scaveng" in asked.closure.lower():
            return SCAVENGING_PPB_PER_DAY, "scavenging"
    found = given.filter(pl.col("kind") == asked.kind)["ingress_ppb_per_day"].to_numpy()
    return (float(np.median(found)), "kind") if found.size else (0.0, "nothing")


def likeness(asked: NewFormat, known: pl.DataFrame, dose_ppb: float | None) -> pl.DataFrame:
    """Tell how like the brewery's formats are to a new one, the most like first.

    Args:
        asked: the format.
        known: as `oxygen_of` takes them.
        dose_ppb: its oxygen dose; None: left out of the comparison.

    Returns:
        format, kind, closure, volume_ml, dose_ppb, distance.
    """
    closure = pl.lit(asked.closure, pl.String).str.to_lowercase()
    other_closure = (pl.col("closure").str.to_lowercase() != closure).cast(pl.Float64)
    dose = pl.col("total_oxygen_ppb") + DOSE_DAYS * pl.col("ingress_ppb_per_day")
    doublings = (dose / (dose_ppb or 1.0)).log(2.0).abs()
    return (
        known.with_columns(
            dose_ppb=dose,
            distance=2.0 * (pl.col("kind") != asked.kind).cast(pl.Float64)
            + other_closure.fill_null(0.5)
            + 0.5 * (pl.col("volume_ml") / asked.volume_ml).log(2.0).abs()
            + (doublings.fill_null(0.0) if dose_ppb is not None else 0.0),
        )
        .select(*_LIKENESS)
        .cast(pl.Schema(_LIKENESS))
        .sort("distance", "format")
    )


def lent_dates(
    asked: NewFormat,
    oxygen: Oxygen,
    lives: pl.DataFrame,
    dates: pl.DataFrame,
    *,
    routes: Sequence[Route],
    limits: pl.DataFrame,
    policy: Policy,
    unsafe: frozenset[str] = frozenset(),
) -> pl.DataFrame:
    """Date a new format: one row for each style and route that carries its kind.

    Args:
        asked: the format.
        oxygen: what is taken of its oxygen.
        lives: of the styles asked about, as `style_lives` returns them.
        dates: of the newest run, for the oldest beer tasted: style, route, oldest_tasted_days,
            basis.
        routes: the brewery's routes.
        limits: beer, style, format, cause, days.
        policy: the brewery's rule.
        unsafe: styles of which no beer may be dated.

    Returns:
        style, route, market, temp_c (at which the route ends), share_rejected, confidence,
        shelf_life_days with its bounds, best_before_days (null where there is no date, with the
        reason), binding_cause, basis (borrowed; prior where the style's own dates are mostly
        assumed there; none).
    """
    rows: list[dict[str, Any]] = []
    carried = [route for route in routes if route.carries(asked.kind)]
    for (style,), draws in lives.group_by("style", maintain_order=True):
        rules = {
            route.name: policy.of(str(style), format_=asked.name, market=route.market)
            for route in carried
        }
        log_dose, weights = oxygen.log_doses(draws.height)
        drawn = lent_cells(draws, log_dose, weights)
        shares = {rule.share_rejected for rule in rules.values()}
        cell = Cell(
            style=str(style),
            format=asked.name,
            kind=asked.kind,
            beers=0,
            lots=0,
            verdicts=0,
            rejected=0,
            total_oxygen_ppb=oxygen.total_ppb,
            oxygen_from="assumed" if oxygen.like else "measured",
            reason=None,
            drawn=drawn,
            ages={share: drawn.age_at(share) for share in sorted(shares)},
        )
        ends = limits_of(limits, style=str(style), format_=asked.name, beer=None)
        for route in carried:
            rule = rules[route.name]
            of_style = dates.filter(pl.col("style") == style)
            here = of_style.filter(pl.col("route").is_in(_as_warm(route, routes)))
            life = cell.life(route, rule.share_rejected, rule.confidence)
            date = date_of(cell, route, rule, here["oldest_tasted_days"].max(), ends)  # type: ignore[arg-type]
            safe = style not in unsafe
            rows.append(
                {
                    "style": style,
                    "route": route.name,
                    "market": route.market,
                    "temp_c": route.last_temp_c,
                    "share_rejected": rule.share_rejected,
                    "confidence": rule.confidence,
                    "shelf_life_days": life.days if life and safe else None,
                    "shelf_life_days_lower": life.lower if life and safe else None,
                    "shelf_life_days_upper": life.upper if life and safe else None,
                    "best_before_days": date.days if safe else None,
                    "binding_cause": date.binding_cause if safe else "safety",
                    "basis": _basis(here) if safe else "none",
                    "reason": date.reason if safe else LOW_ALCOHOL_REASON,
                }
            )
    return pl.DataFrame(rows, schema=_DATES, orient="row")


def _as_warm(route: Route, routes: Sequence[Route]) -> list[str]:
    """Name the routes that end as warm: what was tasted for one was tasted for all."""
    return [other.name for other in routes if other.last_temp_c == route.last_temp_c]


def _basis(dates: pl.DataFrame) -> str:
    bases = set(dates["basis"]) - {"none"}
    return "prior" if bases == {"prior"} else "borrowed"
