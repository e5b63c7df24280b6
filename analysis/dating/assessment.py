"""From a brewery's tables to its dates and the counts behind them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.choices import choices_table, rules_table
from analysis.dating.dose_lives import dose_lives
from analysis.dating.printed import attention, beer_dates, cautions
from analysis.dating.risk import risk_draws
from analysis.dating.routes import incomplete_routes, routes_of
from analysis.dating.shelf_life import cells_of
from analysis.dating.style_lives import style_lives
from analysis.dating.tables import dates_table, shelf_lives_table
from analysis.errors import NotEstimable
from analysis.oxygen.dose import DOSE_DAYS, lot_oxygen
from analysis.oxygen.entered import entered_as_total
from analysis.oxygen.packages import package_oxygen
from analysis.panel.glasses import glasses
from analysis.panel.sessions import session_report
from analysis.staling import summary
from analysis.staling.evidence import Evidence, gather
from analysis.staling.model import StalingModel, fit_staling

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.dating.shelf_life import Cell
    from analysis.each import Each

_FLAGGED = ("session", "tasted_on", "fresh_tasted", "fresh_rejected")


@dataclass(frozen=True)
class Assumptions:
    """What holds where the tables do not say.

    Attributes:
        before_placing_c: temperature of a sample before it was placed, °C.
        shaken_temperature_c: temperature of a shaken package, °C.
        late_after_minutes: age of a package up to which an oxygen reading counts, minutes.
        asked_since: first day on which the panel's question was asked as it is now; None: always.
        taste_within_days: days from a sample's pull within which it is to be tasted.
    """

    before_placing_c: float = 4.0
    shaken_temperature_c: float = 20.0
    late_after_minutes: float = 120.0
    asked_since: date | None = None
    taste_within_days: int = 14


@dataclass(frozen=True)
class Assessment:
    """What came of it.

    Attributes:
        evidence: what the dates rest on.
        model: the fit; None where there is none.
        reason: why there is no fit; None where there is one.
        frames: the result tables by name.
        packages: the packages that were read, as `package_oxygen` returns them.
        cells: every style and format with a lot.
        routes: the routes that dates are given for.
    """

    evidence: Evidence
    model: StalingModel | None
    reason: str | None
    frames: Mapping[str, pl.DataFrame]
    packages: pl.DataFrame
    cells: tuple[Cell, ...] = field(repr=False)
    routes: tuple[Route, ...]


def assess(
    tables: Mapping[str, pl.DataFrame],
    policy: Policy,
    assumptions: Assumptions,
    each: Each = map,
) -> Assessment:
    """Fit the staling model and date every beer in every format on every route.

    Args:
        tables: the input tables beers, formats, lots, oxygen, samples, tastings, routes,
            route_stages and limits.
        policy: the brewery's rule for its dates.
        assumptions: what holds where the tables do not say.
        each: spreads the laws of the fit.

    Returns:
        The assessment. Data that give no estimate are no error: its reason says why, and every
        date has the basis `none`.

    Raises:
        InputError: the tables break what their contract promises.
    """
    beers, formats, every = tables["beers"], tables["formats"], tables["lots"]
    lots = every.join(formats, on="format", how="semi").join(beers, on="beer", how="semi")
    packages = package_oxygen(
        tables["oxygen"],
        lots,
        formats,
        shaken_temperature_c=assumptions.shaken_temperature_c,
        late_after_minutes=assumptions.late_after_minutes,
    )
    oxygen = lot_oxygen(
        packages, lots, formats, shaken_temperature_c=assumptions.shaken_temperature_c
    )
    evidence = gather(
        beers,
        lots,
        tables["samples"],
        tables["tastings"],
        drawn_to_line(oxygen),
        before_placing_c=assumptions.before_placing_c,
    )
    model, reason = _fitted(evidence, each)
    routes = routes_of(tables["routes"], tables["route_stages"])
    limits = tables["limits"]
    cells = cells_of(evidence, model, beers, formats, policy, failure=reason)
    sessions = session_report(
        glasses(tables["tastings"], tables["samples"], lots, beers),
        within_days=assumptions.taste_within_days,
    )
    flagged = sessions["panel_sessions"].filter("fresh_failed")
    dates = dates_table(cells, routes, evidence, policy, limits)
    printed = beer_dates(cells, routes, evidence, beers, policy, limits)
    pulled = summary.pulls(evidence, model)
    frames = {
        "dates": dates,
        "date_rules": rules_table(cells, routes, evidence, policy, limits, printed),
        "policy_choices": choices_table(cells, routes, evidence, policy, limits),
        "dose_lives": dose_lives(model, cells, policy.shares),
        "style_lives": style_lives(model),
        **risk_draws(model, cells),
        "beer_dates": printed,
        "shelf_lives": shelf_lives_table(cells, routes, policy),
        "styles": summary.style_counts(evidence, model, reason),
        "pulls": pulled,
        "arms": summary.arms(pulled),
        "lot_oxygen": lots.select("lot", "format", "beer", "packaged_on")
        .join(beers.select("beer", "style"), on="beer")
        .join(oxygen, on=["lot", "format"]),
        "entered_as_total": entered_as_total(
            packages, lots, formats, shaken_temperature_c=assumptions.shaken_temperature_c
        ),
        "flagged_sessions": flagged.select(_FLAGGED),
        **sessions,
        "cautions": cautions(cells, routes, evidence, dates, assumptions.asked_since),
        "attention": attention(
            printed,
            flagged,
            incomplete_routes(tables["routes"], tables["route_stages"]),
            every.join(lots, on=["lot", "format"], how="anti"),
        ),
    }
    return Assessment(evidence, model, reason, frames, packages, cells, routes)


def drawn_to_line(oxygen: pl.DataFrame) -> pl.DataFrame:
    """Put the totals drawn towards their line's in place, which corrects what noise takes of b.

    Args:
        oxygen: one row a lot and format, as `lot_oxygen` returns them.

    Returns:
        The same rows; total_oxygen_ppb and dose_ppb drawn, and given to lots without a reading
        whose line in that format has some.
    """
    total = pl.col("line_oxygen_ppb")
    return oxygen.with_columns(
        total_oxygen_ppb=total, dose_ppb=total + DOSE_DAYS * pl.col("ingress_ppb_per_day")
    )


def _fitted(evidence: Evidence, each: Each) -> tuple[StalingModel | None, str | None]:
    try:
        return fit_staling(evidence, each=each), None
    except NotEstimable as error:
        return None, str(error)
