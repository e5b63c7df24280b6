"""What happens outside: shipments, and loggers in a lorry and in the warm cupboard."""

from __future__ import annotations

import datetime as dt

import numpy as np
import polars as pl

from data_demo import truth
from data_demo.simulate_cellar import LAST_DAY, QUARTERS, days_of

_CUSTOMERS = ("Northbank Wholesale", "Corner shops, own van", "Seventh Siding Taproom")
_EXPORTER = "Harbour Export"
_EXPORTED, _KEPT_COLD = 0.1, 0.35
SUNNY_OUTLET = "Lockside Garden"
"""Open in summer; its beer stands outside."""
_SUNNY = (dt.date(2026, 4, 20), dt.date(2026, 8, 9))


def shipments(rng: np.random.Generator, lots: pl.DataFrame) -> pl.DataFrame:
    """Send each lot out in three loads over about five weeks, each by a route of its kind."""
    n = len(lots)
    three = lots.sort("packaged_on", "lot", "format").select(
        "lot", "format", "packaged_on", "packages", "best_before"
    )
    kegs = np.array([truth.FORMATS[f].kind == "keg" for f in three["format"]])
    loads = []
    for load, after in enumerate((3, 14, 30)):
        u = rng.uniform(size=n)
        route = np.select(
            [kegs, u < _EXPORTED, u < _EXPORTED + _KEPT_COLD],
            ["on-trade keg", "export", "cold chain"],
            "ambient",
        )
        customer = np.where(route == "export", _EXPORTER, rng.choice(_CUSTOMERS, size=n))
        left = three["packaged_on"].to_numpy() + after * np.timedelta64(1, "D")
        summer = (np.array(_SUNNY[0], "M8[D]") <= left) & (left <= np.array(_SUNNY[1], "M8[D]"))
        customer = np.where(
            summer & (route == "ambient") & (customer == _CUSTOMERS[1]), SUNNY_OUTLET, customer
        )
        loads.append(
            three.with_columns(
                shipped_on=pl.col("packaged_on") + days_of(after + rng.integers(0, 6, n)),
                packages=(pl.col("packages") * (0.30 + 0.01 * load)).round().cast(pl.Int32),
                route=pl.Series(route),
                customer=pl.Series(customer),
            )
        )
    return (
        pl.concat(loads)
        .filter(pl.col("shipped_on") <= LAST_DAY)
        .sort("shipped_on", "lot", "format")
        .with_row_index("n", offset=1)
        .select(
            "lot",
            "format",
            "shipped_on",
            "packages",
            "route",
            "customer",
            "best_before",
            shipment=pl.format("W{}", pl.col("n").cast(pl.String).str.zfill(4)),
        )
    )


def temperature_log(rng: np.random.Generator) -> pl.DataFrame:
    """Log the warm cupboard once a week and one lorry for two summer days, every hour."""
    weeks = (LAST_DAY - QUARTERS[0]).days // 7
    start = dt.datetime.combine(QUARTERS[0], dt.time(7))
    cupboard = pl.DataFrame(
        {
            "logger": "TL1",
            "read_at": [start + dt.timedelta(days=7 * i) for i in range(weeks)],
            "temp_c": rng.normal(30.0, 0.3, weeks).round(1),
            "route": None,
            "place": "warm cupboard 30",
        },
        schema_overrides={"route": pl.String},
    )
    hours = np.arange(48)
    leave = dt.datetime(2026, 7, 14, 6)  # noqa: DTZ001 - clocks are local
    lorry = pl.DataFrame(
        {
            "logger": "TL2",
            "read_at": [leave + dt.timedelta(hours=int(h)) for h in hours],
            "temp_c": (
                22 + 5 * np.sin((hours - 3) * np.pi / 12) + rng.normal(0, 0.4, len(hours))
            ).round(1),
            "route": "ambient",
            "place": None,
        },
        schema_overrides={"place": pl.String},
    )
    return pl.concat([cupboard, lorry])
