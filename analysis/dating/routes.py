"""Storage routes: the stages a package goes through from the line to the glass.

Every date is quoted with its route; a date without a temperature means nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import polars as pl

from analysis.kinetics.history import Stages

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

WARM_C = 15.0
"""From here on a route ends warm, and its last stage follows the seasons (assumed), °C."""

SUMMER = "summer"


@dataclass(frozen=True)
class Route:
    """A route.

    Attributes:
        name: as the brewery calls it.
        kinds: package kinds that go this way; empty means all.
        volume_share: part of its market's volume, 0 to 1; 0 where not said.
        stages: days and °C of each stage.
        market: where it leads; a route that names none is a market by itself.
        storage_text: what the package says about storage.
    """

    name: str
    kinds: frozenset[str]
    volume_share: float
    stages: Stages
    market: str = ""
    storage_text: str | None = None

    def __post_init__(self) -> None:
        """Let a route without a market be one by itself."""
        if not self.market:
            object.__setattr__(self, "market", self.name)

    def carries(self, kind: str) -> bool:
        """Tell whether packages of that kind go this way."""
        return not self.kinds or kind in self.kinds

    @property
    def last_temp_c(self) -> float:
        """Temperature at which the beer waits to be drunk, °C."""
        return self.stages.temp_c[-1]


def main_route(carried: Iterable[Route]) -> Route | None:
    """Return the route that takes most of the volume; at a tie the one whose name comes first."""
    return min(carried, key=lambda route: (-route.volume_share, route.name), default=None)


def routes_of(routes: pl.DataFrame, stages: pl.DataFrame) -> tuple[Route, ...]:
    """Build the routes whose stages are all there, by name.

    Args:
        routes: route, market, kinds (separated by ; or ,), share, storage_text.
        stages: route, stage_no, temp_c, days. The last stage lasts until the beer is drunk,
            whatever its days say: a life must not end where a plan does.
    """
    legs = stages.sort("route", "stage_no").with_columns(pl.col("days").fill_null(float("inf")))
    broken = incomplete_routes(routes, stages)
    return tuple(
        Route(
            name=row["route"],
            kinds=frozenset(_split(row["kinds"])),
            volume_share=row["share"] or 0.0,
            stages=Stages((*leg["days"][:-1], float("inf")), tuple(leg["temp_c"])),
            market=row["market"] or "",
            storage_text=row["storage_text"],
        )
        for row in routes.sort("route").iter_rows(named=True)
        if row["route"] not in broken
        and not (leg := legs.filter(pl.col("route") == row["route"])).is_empty()
    )


def incomplete_routes(routes: pl.DataFrame, stages: pl.DataFrame) -> tuple[str, ...]:
    """Name the routes that no date can be given for: a stage is missing, or lasts nobody knows.

    A stage set aside would otherwise be left out of the history as if it had never been.

    Args:
        routes: route.
        stages: route, stage_no (counted from 1), days.
    """
    counted = (
        stages.sort("route", "stage_no")
        .group_by("route", maintain_order=True)
        .agg(
            whole=(pl.col("stage_no").min() == 1) & (pl.col("stage_no").max() == pl.len()),
            lasting=pl.col("days").slice(0, pl.len() - 1).is_not_null().all(),
        )
        .filter(pl.col("whole") & pl.col("lasting"))
    )
    return tuple(routes.join(counted, on="route", how="anti")["route"].sort())


def summer_of(route: Route, routes: Sequence[Route], warmer_c: float) -> Route | None:
    """Return a warm route with its last stage as in summer: assumed, never what a date rests on.

    Args:
        route: the route.
        routes: all routes; one to the same market whose name has "summer" in it is the brewery's
            own word, and nothing is assumed beside it.
        warmer_c: by how much its last stage is warmer then, °C; 0 for no summer.

    Returns:
        It, or None where the route ends cold, or nothing is to be assumed.
    """
    told = any(SUMMER in other.name.casefold() and other.market == route.market for other in routes)
    if told or not warmer_c > 0.0 or route.last_temp_c < WARM_C:
        return None
    *way, last = route.stages.temp_c
    return replace(route, stages=Stages(route.stages.days, (*way, last + warmer_c)))


def _split(kinds: str | None) -> Iterable[str]:
    return (kind for kind in re.split(r"\s*[;,]\s*", (kinds or "").strip()) if kind)
