"""The study that is asked for: what was said on the command, else the configuration, else usual."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.dating.plan import Target
from analysis.dating.policy import LOW_ALCOHOL_REASON
from analysis.dating.pressure import Package, StoredAt, stored_at
from analysis.dating.routes import main_route
from analysis.dating.shelf_life import limits_of, oldest_tasted
from analysis.dating.study import Arm, Study
from analysis.units import co2_volumes
from pipelines.errors import StoreError
from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from analysis.dating.assessment import Assessment
    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.staling.evidence import Evidence
    from pipelines.config import Config

    Tables = Mapping[str, pl.DataFrame]

USUAL_PULLS = {
    4.0: (30, 60, 90, 120, 180),
    20.0: (14, 28, 56, 84, 120),
    30.0: (7, 14, 21, 28, 42),
    38.0: (2, 4, 7, 10),
}
"""Days of pulls where neither the command nor the configuration says any, by the nearest °C."""

_NEAR_C = 3.0
_USUAL_ATTENDANCE = 0.7
_USUAL_PANEL = 8
_LAST = timedelta(days=365)
_SPARE = 2
_DOSES = 12
_WORDS = {"style": "beers", "format": "formats", "route": "routes"}


@dataclass(frozen=True)
class Asked:
    """What a person asks for; what is None is as usual.

    Attributes:
        style: as the table beers has it.
        format: as the table formats has it.
        temperatures: storages, °C.
        pulls: days of pulls by °C; those under None hold in every other storage.
        lots: number of lots.
        named: lots that are packed already, at most that many.
        assessors: number of tasters.
        attendance: share of them that comes, above 0 to 1.
        pour_ml: beer in a glass, mL.
        wish_days: the date that is wished for.
        route: as the table routes has it.
        begins: first day in storage.
        studies: how many simulated studies.
        calendar: the workbook of pulls to write; None: none.
    """

    style: str
    format: str
    temperatures: tuple[float, ...] | None = None
    pulls: Mapping[float | None, tuple[int, ...]] = field(default_factory=dict)
    lots: int = 3
    named: tuple[str, ...] = ()
    assessors: int | None = None
    attendance: float | None = None
    pour_ml: float = 80.0
    wish_days: int | None = None
    route: str | None = None
    begins: date | None = None
    studies: int = 200
    calendar: Path | None = None


@dataclass(frozen=True)
class Panel:
    """Who could taste, those who tasted most first, and the share of them that usually comes."""

    assessors: tuple[str, ...]
    attendance: float


def checked(asked: Asked, tables: Tables, policy: Policy) -> None:
    """Refuse names that the tables do not have, and beer that gets no date for want of alcohol.

    Raises:
        StoreError: There is no such style, format, route or lot; the message gives the nearest. Or
            no beer of it may have a date without a recorded validation.
    """
    for column, name in (("style", asked.style), ("format", asked.format), ("route", asked.route)):
        known = tables[_WORDS[column]][column].unique().sort()
        if name is not None and name not in known:
            message = (
                f"the table {_WORDS[column]} has no {column} {name}{did_you_mean(name, known)}"
            )
            raise StoreError(message)
    packed = _lots(asked, tables)["lot"].unique().sort()
    for lot in asked.named:
        if lot not in packed:
            message = (
                f"there is no lot {lot} of {asked.style} in {asked.format}"
                f"{did_you_mean(lot, packed)}"
            )
            raise StoreError(message)
    if len(set(asked.named)) > asked.lots or len(set(asked.named)) < len(asked.named):
        message = f"{len(asked.named)} lots are named and {asked.lots} asked for: name each once"
        raise StoreError(message)
    beers = _beers(asked, tables).select("beer", "abv_pct").iter_rows()
    if all(policy.needs_validation(beer, abv_pct) for beer, abv_pct in beers):
        raise StoreError(LOW_ALCOHOL_REASON)


def _lots(asked: Asked, tables: Tables) -> pl.DataFrame:
    """The lots of the style in the format."""
    beers = tables["beers"].filter(pl.col("style") == asked.style)
    lots = tables["lots"].filter(pl.col("format") == asked.format)
    return lots.join(beers, on="beer", how="semi")


def _beers(asked: Asked, tables: Tables) -> pl.DataFrame:
    """Those of the style that were filled into the format; where none was, all of the style."""
    beers = tables["beers"].filter(pl.col("style") == asked.style)
    filled = beers.join(_lots(asked, tables), on="beer", how="semi")
    return filled if filled.height else beers


def package_of(asked: Asked, tables: Tables) -> Package:
    """Gather what is known of the package and the beer; of several lots the highest CO2."""
    row = _format(asked, tables)
    lots, every = _lots(asked, tables), tables["beers"].filter(pl.col("style") == asked.style)
    filled = lots if lots.height else tables["lots"].join(every, on="beer", how="semi")
    by_volumes = filled["co2_volumes"].drop_nulls().to_list()
    by_weight = co2_volumes(filled["co2_g_per_l"].drop_nulls().to_numpy()).tolist()
    alive = every["live_yeast_or_sugar"]
    return Package(
        kind=row["kind"],
        limit_bar=row["pressure_limit_bar"],
        co2_volumes=max([*by_volumes, *by_weight], default=None),
        at_rest=None if alive.has_nulls() and not alive.any() else not alive.any(),
    )


def _format(asked: Asked, tables: Tables) -> dict[str, Any]:
    return tables["formats"].filter(pl.col("format") == asked.format).row(0, named=True)


def storages(
    asked: Asked, config: Config, package: Package, *, more: bool = False
) -> list[tuple[Arm, StoredAt]]:
    """Give each storage that is asked for with the pressure there, by temperature.

    Args:
        asked: The study.
        config: The configuration, for the days of pulls.
        package: The package.
        more: Give instead the usual ones that are not near to any that is asked for.

    Raises:
        StoreError: Days of pulls are asked for in a storage that the study does not have.
    """
    planned = {
        temp_c: days
        for temp_c, pulls in config.pulls.of_style(asked.style).items()
        if (days := tuple(day for day in pulls if day > 0))
    }
    temps = asked.temperatures or tuple(planned) or tuple(USUAL_PULLS)[:3]
    if stray := [temp_c for temp_c in asked.pulls if temp_c not in (None, *temps)]:
        message = (
            f"--pulls names {stray[0]:g} °C, which is no storage of this study "
            f"({', '.join(f'{temp_c:g}' for temp_c in sorted(temps))} °C): name it under "
            "--temperatures too"
        )
        raise StoreError(message)
    pulls = {**USUAL_PULLS, **planned}
    if more:
        temps = tuple(c for c in USUAL_PULLS if all(abs(c - t) > _NEAR_C for t in temps))
    found = []
    for temp_c in sorted(set(temps)):
        nearest = min(pulls, key=lambda there: (abs(there - temp_c), there not in planned))
        named = None if more else asked.pulls.get(temp_c, asked.pulls.get(None))
        days = named or pulls[nearest]
        found.append((Arm(temp_c, days), stored_at(package, temp_c)))
    return found


def panel_of(tables: Tables, evidence: Evidence, today: date) -> Panel:
    """Give the panel as it is: on the list for shelf life and not gone, or who tasted of late."""
    glasses = Counter(evidence.servings["assessor"].to_list())
    listed = tables["assessors"].filter(
        pl.col("shelf_life_panel").fill_null(value=True)
        & (pl.col("left_on").is_null() | (pl.col("left_on") > today))
    )
    recent = evidence.servings.filter(pl.col("tasted_on") > today - _LAST)
    known = listed["assessor"].to_list() or recent["assessor"].unique().to_list()
    people = sorted(set(known), key=lambda name: (-glasses[name], name))
    came = (
        recent.filter(pl.col("assessor").is_in(people))
        .group_by("session")
        .agg(pl.col("assessor").n_unique())
    )
    shares = came["assessor"].to_numpy() / max(len(people), 1)
    return Panel(
        tuple(people), round(float(shares.mean()), 2) if shares.size else _USUAL_ATTENDANCE
    )


def study_of(
    asked: Asked,
    config: Config,
    stored: list[tuple[Arm, StoredAt]],
    panel: Panel,
    tables: Tables,
    today: date,
) -> tuple[Study, tuple[str, ...]]:
    """Make the study, and name two more who could taste.

    Raises:
        StoreError: Every storage is left out.
        InputError: The study makes no sense.
    """
    arms = tuple(arm for arm, at in stored if at.left_out is None)
    if not arms:
        why = "; ".join(f"{at.temp_c:g} °C: {at.left_out}" for _, at in stored)
        message = f"nothing is left to store {asked.format} at ({why}): name other --temperatures"
        raise StoreError(message)
    number = asked.assessors or len(panel.assessors) or _USUAL_PANEL
    missing = number + _SPARE - len(panel.assessors)
    people = (*panel.assessors, *(f"taster to come {n + 1}" for n in range(missing)))
    study = Study(
        style=asked.style,
        format=asked.format,
        arms=arms,
        lots=asked.lots,
        assessors=people[:number],
        attendance=asked.attendance or panel.attendance,
        begins=asked.begins or today + timedelta(days=1),
        before_temp_c=config.storage.before_placing_c,
        volume_ml=_format(asked, tables)["volume_ml"],
        pour_ml=asked.pour_ml,
    )
    return study, people[number : number + _SPARE]


def target_of(asked: Asked, found: Assessment, tables: Tables, policy: Policy) -> Target:
    """Say which date the study is for, and what is known of it today.

    Raises:
        StoreError: No route takes such packages.
    """
    cell = next(
        (c for c in found.cells if (c.style, c.format) == (asked.style, asked.format)), None
    )
    route = _route(asked, found, _format(asked, tables)["kind"])
    lots = found.evidence.lots.filter(pl.col("format") == asked.format)
    own = lots.filter(pl.col("style") == asked.style)
    dose = np.sort((own if own.height else lots)["log_dose"].to_numpy())
    if dose.size > _DOSES:  # as many as stand for all of them
        dose = np.quantile(dose, (np.arange(_DOSES) + 0.5) / _DOSES)
    beers = own["beer"].unique()
    rule = policy.of(asked.style, format_=asked.format, market=route.market)
    return Target(
        route=route,
        rule=rule,
        log_dose=dose if dose.size else np.zeros(1),
        life=None if cell is None else cell.life(route, rule.share_rejected, rule.confidence),
        oldest_days=oldest_tasted(found.evidence, asked.style, route.last_temp_c),
        limits=limits_of(
            tables["limits"],
            style=asked.style,
            format_=asked.format,
            beer=beers[0] if len(beers) == 1 else None,
        ),
    )


def _route(asked: Asked, found: Assessment, kind: str) -> Route:
    carried = [route for route in found.routes if route.carries(kind)]
    if asked.route is not None:
        carried = [route for route in carried if route.name == asked.route]
    route = main_route(carried)
    if route is None:
        message = (
            f"no route with all its stages takes a {kind}: routes and route_stages would fill this"
            if asked.route is None
            else f"the route {asked.route} does not take a {kind}, or lacks a stage"
        )
        raise StoreError(message)
    return route
