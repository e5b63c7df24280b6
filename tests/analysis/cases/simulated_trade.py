"""A brewery whose beer is drunk and complained about package by package, for tests of the field.

Complaints are drawn from the packages drunk, by a rate of their own for each lot, week and
customer; the analysis is never asked how many there should be.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl

from analysis.dating.routes import Route
from analysis.kinetics.history import Stages

TODAY = date(2026, 12, 20)
CUSTOMERS = ("Harbour", "Corner shops", "Taproom")
ROUTE = Route("ambient", frozenset(), 1.0, Stages((14.0, float("inf")), (12.0, 21.0)))


def lots(count: int = 24) -> pl.DataFrame:
    """Return lots of two styles, two weeks apart, on two lines."""
    packaged = [date(2025, 12, 20) + timedelta(days=14 * i) for i in range(count)]
    return pl.DataFrame(
        {
            "lot": [f"L{i:02}" for i in range(count)],
            "format": "can",
            "kind": "can",
            "beer": [("Fen Pale", "Fen Stout")[i % 2] for i in range(count)],
            "style": [("pale ale", "stout")[i % 2] for i in range(count)],
            "line": [("old line", "new line")[i // 2 % 2] for i in range(count)],
            "packaged_on": packaged,
            "best_before": [day + timedelta(days=180) for day in packaged],
            "printed_code": None,
            "started_at": None,
            "ended_at": None,
            "packages": 30_000,
            "status": "released",
            "dose_ppb": np.geomspace(40.0, 160.0, count).tolist(),
        },
        schema_overrides={
            "printed_code": pl.String,
            "started_at": pl.Datetime,
            "ended_at": pl.Datetime,
        },
    )


def shipments(of: pl.DataFrame) -> pl.DataFrame:
    """Return three shipments of each lot, one for each customer."""
    return pl.concat(
        of.select(
            "lot",
            "format",
            shipped_on=pl.col("packaged_on") + timedelta(days=10 * n + 4),
            packages=pl.lit(10_000),
            route=pl.lit(None, pl.String),
            customer=pl.lit(name),
            best_before=pl.lit(None, pl.Date),
        )
        for n, name in enumerate(CUSTOMERS)
    )


def risk_draws(days: dict[str, float] | None = None) -> pl.DataFrame:
    """Return draws of the two styles in cans: middle days at 20 °C and 60 ppb."""
    rng = np.random.default_rng(1)
    return pl.concat(
        pl.DataFrame(
            {
                "style": style,
                "format": "can",
                "draw": np.arange(30),
                "distribution": "lognormal",
                "location": rng.normal(np.log(middle), 0.05, 30),
                "oxygen_exponent": 0.35,
                "scale": 0.35,
                "between": 0.35,
                "activation_energy_kj_mol": 65.0,
            }
        )
        for style, middle in (days or {"pale ale": 90.0, "stout": 160.0}).items()
    )


def complaints(rng: np.random.Generator, out: pl.DataFrame, mean: np.ndarray) -> pl.DataFrame:
    """Draw complaints from packages drunk, so many of each row on average, in any order."""
    seen = np.repeat(np.arange(out.height), rng.poisson(mean))
    rng.shuffle(seen)
    return out[seen.tolist()].select(
        complaint=pl.Series([f"K{n:05}" for n in range(len(seen))], dtype=pl.String),
        received_on="on",
        drunk_on="on",
        category=pl.lit("stale"),
        lot="lot",
        format="format",
        beer=pl.lit(None, pl.String),
        printed_date=pl.lit(None, pl.Date),
        code_time=pl.lit(None, pl.String),
        packages=pl.lit(1, pl.Int32),
        outlet="customer",
        closed_on=pl.lit(None, pl.Date),
        safety=pl.lit(value=False),
    )
