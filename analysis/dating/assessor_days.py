"""What each assessor does to the dates: everything as it was, but for the glasses of one.

The likeliest law is fitted anew, its spreads too, to what the others said in the sessions that they
came to; effects are drawn at the spreads found. The left-out assessor keeps a place among the
parameters, with nothing but the prior there, so that the same draws serve with and without, and
what differs is the assessor and not the drawing.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from analysis.dating.doubt import effect_in_days
from analysis.dating.shelf_life import cells_of
from analysis.dating.tables import dates_table
from analysis.errors import NotConverged
from analysis.staling.evidence import AGED
from analysis.staling.law_fit import LawFit, LawToFit, try_law
from analysis.staling.model import redraw

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from analysis.dating.policy import Policy
    from analysis.dating.routes import Route
    from analysis.each import Each
    from analysis.staling.evidence import Evidence
    from analysis.staling.model import StalingModel

FEWEST_VERDICTS = 20  # on aged beer; with fewer there is nothing to take away
_DRAWS = 1_000


def assessor_days(
    model: StalingModel,
    tables: Mapping[str, pl.DataFrame],
    routes: Sequence[Route],
    policy: Policy,
    each: Each = map,
) -> pl.DataFrame:
    """Date everything with all assessors, and without each of them in turn.

    Args:
        model: the fit.
        tables: the input tables beers, formats and limits.
        routes: the routes that dates are given for.
        policy: the brewery's rule for its dates.
        each: spreads the assessors.

    Returns:
        assessor, style, format, route, days_with, days_without (shelf life at the policy's share;
        null where there is none), difference_days (without less with), date_with, date_without
        (best-before days); sorted by them. Assessors with fewer than 20 verdicts on aged beer are
        not tried. Under the likeliest law alone, so that days_with differs a little from a date
        that averages over laws.
    """
    evidence, layout = model.evidence, model.layout
    tasted = evidence.servings.filter(AGED).group_by("assessor").len()
    tried = sorted(tasted.filter(pl.col("len") >= FEWEST_VERDICTS)["assessor"])
    if len(tried) < 2:  # noqa: PLR2004 - without the only one there is nobody
        tried = []
    series = evidence.series.filter(pl.col("style").is_in(layout.styles))
    start = model.best.log_spreads
    parts = [
        LawToFit(series.filter(pl.col("assessor") != name), layout, model.law, start)
        for name in tried
    ]
    fits = each(try_law, parts)

    def dated(fit: LawFit, seen: Evidence) -> pl.DataFrame:
        refitted = replace(model, best=fit, evidence=seen)
        _, drawn = redraw(refitted, fit.laplace, _DRAWS)
        refitted = replace(refitted, draws=(drawn,))
        cells = cells_of(seen, refitted, tables["beers"], tables["formats"], policy)
        return dates_table(cells, routes, seen, policy, tables["limits"])

    def compared() -> Iterator[pl.DataFrame]:
        with_all = dated(model.best, evidence)
        for name, fit in zip(tried, fits, strict=True):
            others = evidence.servings.filter(pl.col("assessor") != name)
            without = (
                with_all.with_columns(shelf_life_days=None, best_before_days=None)
                if isinstance(fit, NotConverged)
                else dated(fit, replace(evidence, servings=others))
            )
            yield effect_in_days(with_all, without).select(pl.lit(name).alias("assessor"), pl.all())

    rows = list(compared()) if tried else []
    return pl.concat([pl.DataFrame(schema=_SCHEMA), *rows]).sort(
        "assessor", "style", "format", "route"
    )


_SCHEMA = {
    **dict.fromkeys(("assessor", "style", "format", "route"), pl.String),
    **dict.fromkeys(("days_with", "days_without"), pl.Float64),
    **dict.fromkeys(("date_with", "date_without"), pl.Int32),
    "difference_days": pl.Float64,
}
