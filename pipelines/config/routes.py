"""`[routes]`: what is assumed of the storage routes where the tables do not say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipelines.config.section import Section


@dataclass(frozen=True)
class Routes:
    """By how much the last stage of a warm route is taken to be warmer in summer, °C; 0: none."""

    summer_warmer_c: float


def routes_of(section: Section) -> Routes:
    """Read and check `[routes]`."""
    routes = Routes(summer_warmer_c=section.number("summer_warmer_c", 4.0, 0.0, 20.0))
    section.close()
    return routes
