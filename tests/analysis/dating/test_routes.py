"""Routes as the tables give them."""

from __future__ import annotations

import math

import polars as pl
import pytest

from analysis.dating.routes import Route, routes_of


def _route(*days: float | None, market: str | None = "home") -> Route:
    routes = pl.DataFrame(
        {
            "route": ["shop"],
            "market": [market],
            "kinds": ["can; keg"],
            "share": [0.4],
            "storage_text": ["Keep cool"],
        }
    )
    stages = pl.DataFrame(
        {
            "route": "shop",
            "stage_no": range(1, len(days) + 1),
            "temp_c": [12.0, 21.0][: len(days)],
            "days": pl.Series(days, dtype=pl.Float64),
        }
    )
    (route,) = routes_of(routes, stages)
    return route


@pytest.mark.parametrize("last", [30.0, 0.0])
def test_the_last_stage_lasts_until_the_beer_is_drunk(last: float) -> None:
    """Days planned for it do not end a life: it is the route whose last stage has none."""
    assert _route(14.0, last) == _route(14.0, None)
    assert _route(14.0, last).stages.days == (14.0, math.inf)
    assert _route(last).stages.days == (math.inf,)


def test_kinds_may_be_parted_by_either_sign() -> None:
    """Those named go this way and no others."""
    route = _route(14.0, None)
    assert [route.carries(kind) for kind in ("can", "keg", "bottle")] == [True, True, False]
    assert route.last_temp_c == 21.0


def test_a_route_without_a_market_is_one_by_itself() -> None:
    """What the table names counts, else the route's own name."""
    assert _route(14.0, None).market == "home"
    assert _route(14.0, None, market=None).market == "shop"
    assert _route(14.0, None).storage_text == "Keep cool"
