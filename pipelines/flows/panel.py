"""What a run says of the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.panel.assessors import assessor_report
from analysis.panel.glasses import attribute_scores, glasses
from analysis.panel.order_effects import order_effects
from analysis.panel.performance import score_performance
from pipelines.flows.panel_differences import comparison_frames, difference_frames

if TYPE_CHECKING:
    from collections.abc import Mapping

    import polars as pl

    from pipelines.config import Config


def panel_report(tables: Mapping[str, pl.DataFrame], config: Config) -> dict[str, pl.DataFrame]:
    """Tabulate how good an instrument the panel is, and what it has proved.

    Args:
        tables: the input tables assessors, beers, lots, samples, tastings, difference_tests and
            changes.
        config: the configuration; its attributes say what is scored.

    Returns:
        The result tables by name.
    """
    tasted = glasses(tables["tastings"], tables["samples"], tables["lots"], tables["beers"])
    attributes = config.site.attributes
    return {
        **assessor_report(tasted, tables["assessors"], attributes),
        **score_performance(attribute_scores(tasted, attributes), attributes),
        "order_effects": order_effects(tasted, attributes),
        **difference_frames(tables),
        **comparison_frames(tasted, tables, sorted(attributes)),
    }
