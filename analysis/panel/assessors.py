"""Everything that is told of the assessors, one row each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.panel.agreement import AGREEMENT, agreement
from analysis.panel.attendance import attendance
from analysis.panel.drift import QUARTERS, SLOPES, drift
from analysis.panel.measure import measured
from analysis.panel.names import alike_names
from analysis.panel.verdict_errors import verdict_errors

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.panel.glasses import Scale


def assessor_report(
    poured: pl.DataFrame, assessors: pl.DataFrame, attributes: Mapping[str, Scale]
) -> dict[str, pl.DataFrame]:
    """Tabulate attendance, errors, agreement and drift of everyone who tasted.

    Args:
        poured: as `analysis.panel.glasses` gives them, names as `known_names` leaves them.
        assessors: the table assessors.
        attributes: by name, those that the brewery scores.

    Returns:
        By name: `assessors` (one row each), `assessor_quarters` (shift from the own usual level),
        `alike_names` (names that may be one person).
    """
    glasses = poured.group_by("assessor").agg(glasses=pl.len().cast(pl.Int32))
    found = (
        attendance(poured, assessors)
        .join(glasses, on="assessor")
        .join(verdict_errors(poured), on="assessor")
    )
    compared = measured(poured, attributes)
    if compared is None:
        follows, slopes, quarters = map(pl.DataFrame, ([], [], []), (AGREEMENT, SLOPES, QUARTERS))
    else:
        follows = agreement(compared).with_columns(measure=pl.lit(compared.measure))
        lost = follows.filter(pl.col("follows").ne_missing(pl.lit(value=True)))["assessor"]
        slopes, quarters = drift(compared, lost)
    return {
        "assessors": found.join(follows, on="assessor", how="left")
        .join(slopes, on="assessor", how="left")
        .sort("assessor"),
        "assessor_quarters": quarters,
        "alike_names": alike_names(poured, assessors),
    }
