"""A run is written once, by name, whole or not at all."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import duckdb
import polars as pl
import pytest

from pipelines.errors import StoreError
from pipelines.store.results import newest_run, next_run_id, record_run

if TYPE_CHECKING:
    from collections.abc import Mapping


def runs(**changed: object) -> pl.DataFrame:
    """Give the one row of a run that gave no estimate."""
    row = {
        "verdicts": 0,
        "rejected": 0,
        "lots": 0,
        "assessors": 0,
        "started_at": datetime(2026, 4, 7, 6, 2),  # noqa: DTZ001
        "finished_at": datetime(2026, 4, 7, 6, 3),  # noqa: DTZ001
        "code_version": "0.1.0",
        "seed": 1,
        "settings": "{}",
        "load_id": None,
        "brewery": "A brewery",
        "question": "Would this still be served?",
        "share_rejected": 0.25,
        "confidence": 0.9,
        "rounding": "week",
        "outcome": "not estimated",
        "reason": "There are no tastings.",
        "distribution": None,
        "activation_energy_kj_mol": None,
        "oxygen_exponent": None,
    }
    return pl.DataFrame([row | changed])


def laws(*names: str) -> pl.DataFrame:
    """Give rows of the laws compared."""
    return pl.DataFrame(
        {
            "chosen": [False] * len(names),
            "distribution": list(names),
            "reason": ["It did not converge."] * len(names),
            "log_likelihood": [None] * len(names),
            "weight": 0.0,
        }
    )


def test_runs_are_counted_from_one(store: duckdb.DuckDBPyConnection) -> None:
    """Each run gets the next number, and the newest is the last."""
    assert newest_run(store) is None
    assert next_run_id(store) == 1
    assert record_run(store, {"runs": runs()}) == 1
    assert record_run(store, {"runs": runs()}) == 2
    assert newest_run(store) == 2


def test_columns_are_written_by_name(store: duckdb.DuckDBPyConnection) -> None:
    """A frame's order of columns does not matter, and every row carries its run."""
    record_run(store, {"runs": runs(), "laws": laws("weibull", "lognormal")})
    assert store.sql("FROM results.laws ORDER BY distribution").fetchall() == [
        (1, "lognormal", None, False, "It did not converge.", 0.0),
        (1, "weibull", None, False, "It did not converge.", 0.0),
    ]
    assert store.sql("SELECT brewery, lots FROM published.run").fetchall() == [("A brewery", 0)]


def test_pages_see_the_newest_run_only(store: duckdb.DuckDBPyConnection) -> None:
    """Rows of an older run stay in the results and leave the published views."""
    record_run(store, {"runs": runs(), "laws": laws("weibull")})
    record_run(store, {"runs": runs(), "laws": laws("lognormal")})
    assert store.sql("SELECT distribution FROM published.laws").fetchall() == [("lognormal",)]
    assert store.sql("SELECT count(*) FROM results.laws").fetchall() == [(2,)]


@pytest.mark.parametrize(
    ("frames", "message"),
    [
        ({"runs": runs(), "lawz": laws()}, r"no table results\.lawz"),
        ({"runs": runs(), "laws": laws().drop("chosen", "reason")}, "laws lacks chosen, reason"),
        ({"runs": runs(), "laws": laws().with_columns(age=1)}, "laws has the unknown age"),
        ({"runs": runs().with_columns(run_id=7)}, "runs has the unknown run_id"),
        ({"laws": laws()}, "one row of runs"),
        ({"runs": pl.concat([runs(), runs()])}, "one row of runs"),
    ],
)
def test_frames_of_another_shape_are_refused(
    store: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame], message: str
) -> None:
    """An unknown table and a missing or unknown column are named, and nothing is written."""
    with pytest.raises(StoreError, match=message):
        record_run(store, frames)
    assert newest_run(store) is None


def test_a_run_that_fails_half_way_leaves_nothing(store: duckdb.DuckDBPyConnection) -> None:
    """A row that a later table refuses takes the whole run with it."""
    with pytest.raises(duckdb.ConstraintException):
        record_run(store, {"runs": runs(), "laws": laws("weibull", "weibull")})
    assert newest_run(store) is None
    assert record_run(store, {"runs": runs(), "laws": laws("weibull")}) == 1
