"""What happens outside: shipments, complaints, and loggers in a lorry and in the warm cupboard."""

from __future__ import annotations

import datetime as dt

import numpy as np
import polars as pl

from data_demo import truth
from data_demo.simulate_cellar import LAST_DAY, QUARTERS, days_of

_CUSTOMERS = ("Northbank Wholesale", "Corner shops, own van", "Seventh Siding Taproom")
_EXPORTER = "Harbour Export"
_EXPORTED, _KEPT_COLD, _LOT_NAMED = 0.1, 0.35, 0.8
_OTHER_COMPLAINTS = (
    ("flat", "cap looked fine"),
    ("haze", "cloudy, tastes as ever"),
    ("short fill", "a finger low"),
    ("leaker", "tray wet below one"),
    ("other flavour", "buttery?"),
    ("stale;flat", "dull and no foam"),
    ("date illegible", ""),
    ("gushing", "half of it on the table"),
    ("injury", "cut a thumb on the rim, plaster needed"),
)


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


def complaints(rng: np.random.Generator, shipped: pl.DataFrame) -> pl.DataFrame:
    """Receive some twenty complaints, most for age; the last sort is no matter of freshness."""
    bottles = shipped.filter(
        pl.col("route") != "on-trade keg", pl.col("shipped_on") <= LAST_DAY - dt.timedelta(days=75)
    )
    stale = 11
    about = [("stale", "cardboard")] * stale + list(_OTHER_COMPLAINTS)
    n = len(about)
    picked: pl.DataFrame = bottles[rng.choice(len(bottles), n, replace=False).tolist()]
    since = (np.datetime64(LAST_DAY) - picked["shipped_on"].to_numpy()).astype(np.int64)
    first, last = np.where(np.arange(n) < stale, 60, 10), np.where(np.arange(n) < stale, 170, 70)
    waited = (first + rng.uniform(size=n) * (np.minimum(last, since) - first)).round()
    named = rng.uniform(size=n) < _LOT_NAMED
    return (
        picked.select(
            lot=pl.when(pl.Series(named)).then("lot"),
            format="format",
            printed_date="best_before",
            packages=pl.Series(rng.integers(1, 7, n), dtype=pl.Int32),
            outlet="customer",
            market=pl.lit("shops"),
            received_on=pl.col("shipped_on") + days_of(waited),
            category=pl.Series([category for category, _ in about]),
            returned=pl.Series(rng.choice(["unopened", "opened", "none"], n)),
            note=pl.Series([note or None for _, note in about]),
        )
        .sort("received_on", "lot", "category", nulls_last=True)
        .with_row_index("n", offset=1)
        .select(
            pl.exclude("n"), complaint=pl.format("K{}", pl.col("n").cast(pl.String).str.zfill(3))
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
