"""What a run says of the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.panel.assessors import assessor_report
from analysis.panel.glasses import glasses

if TYPE_CHECKING:
    from collections.abc import Mapping

    import polars as pl

    from pipelines.config import Config


def panel_report(tables: Mapping[str, pl.DataFrame], config: Config) -> dict[str, pl.DataFrame]:
    """Tabulate how good an instrument the panel is, and what it has proved.

    Args:
        tables: the input tables assessors, beers, lots, samples, tastings and difference_tests.
        config: the configuration; its attributes say what is scored.

    Returns:
        The result tables by name.
    """
    tasted = glasses(tables["tastings"], tables["samples"], tables["lots"], tables["beers"])
    return {**assessor_report(tasted, tables["assessors"], config.site.attributes)}
