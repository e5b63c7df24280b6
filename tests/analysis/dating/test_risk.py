"""The share of glasses rejected by a day, from what a fit leaves behind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.risk import at_risk, risk_draws
from analysis.errors import InputError
from analysis.kinetics.history import equivalent_age

if TYPE_CHECKING:
    from tests.analysis.dating.conftest import Fitted


def of_place(frame: pl.DataFrame, style: str, format_: str) -> pl.DataFrame:
    """Return the rows of a style in a format."""
    return frame.filter(pl.col("style") == style, pl.col("format") == format_)


def test_the_share_at_the_shelf_life_is_the_policys(fitted: Fitted) -> None:
    """Identity: by the day at which a quarter is reached at the median, a quarter is rejected."""
    kept = risk_draws(fitted.model, fitted.cells)
    assert len(fitted.cells) > 3
    for cell in fitted.cells:
        draws, doses = (of_place(frame, cell.style, cell.format) for frame in kept.values())
        for route in (route for route in fitted.routes if route.carries(cell.kind)):
            for share in (0.10, 0.25, 0.50):
                life = cell.life(route, share, 0.9)
                assert life is not None
                risk = at_risk(draws, doses, route.stages, life.days, 0.9)
                assert risk.lower < risk.share < risk.upper
                # A quantile of draws is one of them: what is asked lies between two neighbours.
                more = at_risk(draws, doses, route.stages, life.days, 0.51)
                assert risk.share - 1e-9 <= share <= more.upper + 1e-9
                early = at_risk(draws, doses, route.stages, life.lower, 0.9)
                more = at_risk(draws, doses, route.stages, life.lower, 0.91)
                assert early.upper - 1e-9 <= share <= more.upper + 1e-9


def test_lots_differ_less_than_lots_and_assessors(fitted: Fitted) -> None:
    """The spread of lots is a part of the spread of both, in every draw."""
    draws = risk_draws(fitted.model, fitted.cells)["risk_draws"]
    assert draws["between_lots"].min() > 0.0
    assert (draws["between_lots"] < draws["between"]).all()


def test_any_day_is_answered_as_by_the_fit_itself(fitted: Fitted) -> None:
    """Identity: predicting the cell's own lots anew gives the same share to nine digits."""
    cell, route = fitted.cells[0], fitted.routes[0]
    assert cell.drawn is not None
    draws, doses = (
        of_place(frame, cell.style, cell.format)
        for frame in risk_draws(fitted.model, fitted.cells).values()
    )
    for day in (1, 30, 126, 400):
        aged = np.log(equivalent_age(route.stages, day, cell.drawn.activation_energy))
        share = np.quantile(cell.drawn.share_rejected(aged), 0.5, method="inverted_cdf")
        risk = at_risk(draws, doses, route.stages, day, 0.9)
        assert risk.share == pytest.approx(share, rel=1e-9)


def test_the_order_of_the_rows_changes_no_digit(fitted: Fitted) -> None:
    """A store may give rows back in any order."""
    cell, route = fitted.cells[0], fitted.routes[0]
    draws, doses = (
        of_place(frame, cell.style, cell.format)
        for frame in risk_draws(fitted.model, fitted.cells).values()
    )
    mixed = draws.sample(fraction=1.0, shuffle=True, seed=1), doses.reverse()
    assert at_risk(*mixed, route.stages, 90, 0.9) == at_risk(draws, doses, route.stages, 90, 0.9)


def test_a_day_that_is_none_and_a_cell_without_an_estimate_are_refused(fitted: Fitted) -> None:
    """Neither has a share."""
    cell, route = fitted.cells[0], fitted.routes[0]
    draws, doses = (
        of_place(frame, cell.style, cell.format)
        for frame in risk_draws(fitted.model, fitted.cells).values()
    )
    for some, day in ((draws, 0), (draws.clear(), 90)):
        with pytest.raises(InputError, match="no share of glasses rejected by day"):
            at_risk(some, doses, route.stages, day, 0.9)
    assert all(frame.is_empty() for frame in risk_draws(None, fitted.cells).values())
