"""What the cellar writes down: beers, formats, lots, routes, limits; and what lots hide."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from data_demo import truth

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import ArrayLike

QUARTERS = (
    dt.date(2025, 10, 20),
    dt.date(2026, 1, 14),
    dt.date(2026, 4, 13),
    dt.date(2026, 7, 6),
)
NEW_FORMAT_FROM = dt.date(2026, 6, 15)
LAST_DAY = dt.date(2026, 10, 23)
_EXTRA_BEERS = {"Small Lager No. 5": "can 440", "Siding Pale": "can 440"}
_NEW_FORMAT_LOTS = {"stout": 2, "kettle sour": 1}
_PACKAGES = {"bottle": 5200, "can": 11800, "keg": 140}


def fill(rng: np.random.Generator, lots_per_cell: int) -> pl.DataFrame:
    """Draw the lots of a year, one row a lot and format, with what the brewery cannot see.

    Every other brew of a style is filled from one tank into all its formats under one lot code.

    Args:
        rng: where the draws come from.
        lots_per_cell: lots of each style in each of its usual formats.

    Returns:
        style, beer, format, lot, batch, packaged_on, position (0 for a cell's first lot), and the
        truth: ea, tpo_ppb, dose_ppb and log_life, the mean of log T over assessors.
    """
    fills = pl.DataFrame(
        list(_brews(rng, lots_per_cell)),
        schema=["style", "beer", "format", "lot", "batch", "packaged_on", "position"],
        orient="row",
    )
    styles = [truth.STYLES[s] for s in fills["style"]]
    formats = [truth.FORMATS[f] for f in fills["format"]]
    batches, batch_of = np.unique(fills["batch"].to_numpy(), return_inverse=True)
    own, shared = rng.normal(size=len(fills)), rng.normal(size=len(batches))
    effect = truth.LOT_SD * (
        math.sqrt(1.0 - truth.BATCH_SHARE) * own + math.sqrt(truth.BATCH_SHARE) * shared[batch_of]
    )
    tpo = np.array([f.median_tpo_ppb for f in formats]) * np.array(
        [f.tpo_gsd for f in formats]
    ) ** rng.normal(size=len(fills))
    dose = tpo + truth.INGRESS_DAYS * np.array([f.ingress for f in formats])
    exponent = np.array([s.oxygen_exponent for s in styles])
    return fills.with_columns(
        ea=pl.Series([s.activation_energy for s in styles], dtype=pl.Float64),
        tpo_ppb=tpo,
        dose_ppb=dose,
        log_life=np.log([s.median_days for s in styles])
        - exponent * np.log(dose / truth.REFERENCE_DOSE_PPB)
        + effect,
    ).sort("packaged_on", "lot", "format")


def _brews(
    rng: np.random.Generator, lots_per_cell: int
) -> Iterator[tuple[str, str, str, str, str, dt.date, int]]:
    number = 0
    for s, (style, stated) in enumerate(truth.STYLES.items()):
        ours = [b for b in truth.BEERS if b.style == style]
        usual = [f for f in stated.printed_days if f != truth.NEW_FORMAT]
        for brew in range(lots_per_cell):
            start = QUARTERS[brew % len(QUARTERS)] + dt.timedelta(
                days=9 * s + 4 * (brew // len(QUARTERS))
            )
            together = brew % 2 == 0
            for i, package in enumerate(usual):
                number += together is False or i == 0
                apart = 0 if together else 8 * i + int(rng.integers(0, 4))
                day = _working_day(start, apart)
                yield _lot(ours[0], package, day, number, brew, letters=not together)
        for beer in ours[1:]:
            package = _EXTRA_BEERS[beer.beer]
            for brew in range(2):
                number += 1
                day = _working_day(QUARTERS[2 * brew], 30 + s)
                yield _lot(beer, package, day, number, brew)
        for brew in range(_NEW_FORMAT_LOTS.get(style, 0)):
            number += 1
            day = _working_day(NEW_FORMAT_FROM, 42 * brew + 10 * s)
            yield _lot(ours[0], truth.NEW_FORMAT, day, number, brew)


def _lot(
    beer: truth.Beer,
    package: str,
    day: dt.date,
    number: int,
    position: int,
    *,
    letters: bool = True,
) -> tuple[str, str, str, str, str, dt.date, int]:
    """Name a lot by year, day of the year and beer; filled alone, also by its format's letters."""
    filled = package[0].upper() + package.rsplit(" ", maxsplit=1)[1][0] if letters else ""
    lot = f"{day:%y%j}-{beer.number:02d}{filled}"
    return beer.style, beer.beer, package, lot, f"T{number:03d}", day, position


def _working_day(start: dt.date, days: int) -> dt.date:
    day = start + dt.timedelta(days=days)
    return day - dt.timedelta(days=max(0, day.weekday() - 4))


def cellar_tables(rng: np.random.Generator, fills: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """Write the cellar's tables down from the lots filled."""
    return {
        "beers": _beers(),
        "formats": _formats(),
        "lots": _lots(rng, fills),
        "lot_results": _lot_results(rng, fills),
        **_routes(),
        "limits": _limits(),
        "changes": _changes(),
    }


def _beers() -> pl.DataFrame:
    return pl.DataFrame(
        [
            {
                "beer": b.beer,
                "style": b.style,
                "abv_pct": b.abv_pct,
                "owner": b.owner or None,
                "pasteurised": False,
                "live_yeast_or_sugar": b.live,
            }
            for b in truth.BEERS
        ]
    )


def _formats() -> pl.DataFrame:
    return pl.DataFrame(
        [
            {
                "format": name,
                "kind": f.kind,
                "volume_ml": float(f.volume_ml),
                "headspace_ml": float(f.headspace_ml),
                "ingress_ppb_per_day": f.ingress_ppb_per_day,
                "ingress_ml_o2_per_day": f.ingress_ml_per_day,
                "closure": f.closure,
                "light": f.light,
                "pressure_limit_bar": f.pressure_limit_bar,
            }
            for name, f in truth.FORMATS.items()
        ],
        infer_schema_length=None,
    )


def _lots(rng: np.random.Generator, fills: pl.DataFrame) -> pl.DataFrame:
    formats = [truth.FORMATS[f] for f in fills["format"]]
    printed = [
        truth.STYLES[s].printed_days[f]
        for s, f in zip(fills["style"], fills["format"], strict=True)
    ]
    usual = np.array([_PACKAGES[f.kind] for f in formats])
    n = len(fills)
    start = pl.col("packaged_on").cast(pl.Datetime("us")) + _minutes(
        rng.integers(7 * 60, 9 * 60, n)
    )
    return fills.select(
        "lot",
        "format",
        "beer",
        "packaged_on",
        "batch",
        line=pl.Series([f.line for f in formats]),
        packaged_by=pl.lit("us"),
        started_at=start,
        ended_at=start + _minutes(rng.integers(150, 330, n)),
        closure=pl.Series([f.closure for f in formats]),
        best_before=pl.col("packaged_on") + days_of(printed),
        printed_code=pl.lit("L") + pl.col("lot"),
        packages=pl.Series((usual * rng.uniform(0.6, 1.2, n)).round()).cast(pl.Int32),
        co2_volumes=pl.Series(rng.normal(2.5, 0.05, n).round(2)),
        status=pl.lit("released"),
        trial=pl.when(pl.col("format") == truth.NEW_FORMAT).then(pl.lit("scavenging liner")),
    )


def days_of(days: ArrayLike) -> pl.Expr:
    """Make whole days, one a row, that can be added to a date."""
    return pl.lit(pl.Series(np.asarray(days, dtype=np.int64) * 86_400_000_000)).cast(
        pl.Duration("us")
    )


def _minutes(minutes: ArrayLike) -> pl.Expr:
    return pl.lit(pl.Series(np.asarray(minutes, dtype=np.int64) * 60_000_000)).cast(
        pl.Duration("us")
    )


def _lot_results(rng: np.random.Generator, fills: pl.DataFrame) -> pl.DataFrame:
    n = len(fills)
    at = pl.col("packaged_on").cast(pl.Datetime("us")) + pl.duration(hours=15)
    lots = fills.select("lot", "format", measured_at=at)
    measured = [
        ("co2", "g/L", rng.normal(5.0, 0.1, n).round(2)),
        ("ph", "", (rng.normal(4.3, 0.08, n) - (fills["style"] == "kettle sour") * 0.95).round(2)),
        (
            "haze",
            "EBC",
            (np.where(fills["style"] == "hazy ale", 60, 1.2) * rng.lognormal(0, 0.1, n)).round(1),
        ),
    ]
    return pl.concat(
        lots.with_columns(
            quantity=pl.lit(quantity),
            value=pl.Series(value),
            unit=pl.lit(unit or None, dtype=pl.String),
        )
        for quantity, unit, value in measured
    )


def _routes() -> dict[str, pl.DataFrame]:
    routes = [
        {
            "route": name,
            "market": r.market,
            "kinds": ";".join(r.kinds),
            "share": r.share,
            "storage_text": r.storage_text,
        }
        for name, r in truth.ROUTES.items()
    ]
    stages = [
        {
            "route": name,
            "stage_no": i,
            "stage": stage.stage,
            "temp_c": float(stage.temp_c),
            "days": None if math.isinf(stage.days) else float(stage.days),
        }
        for name, r in truth.ROUTES.items()
        for i, stage in enumerate(r.stages, 1)
    ]
    return {"routes": pl.DataFrame(routes), "route_stages": pl.DataFrame(stages)}


def _limits() -> pl.DataFrame:
    return pl.DataFrame(
        [
            {
                "beer": "Haze No. 8",
                "style": None,
                "format": "can 440",
                "cause": "haze",
                "days": 75,
                "source": "bright ring at the bottom from week 11, seen in three lots",
            },
            {
                "beer": None,
                "style": "kettle sour",
                "format": "bottle 500",
                "cause": "customer",
                "days": 150,
                "source": "a wholesaler takes nothing longer",
            },
        ],
        infer_schema_length=None,
    )


def _changes() -> pl.DataFrame:
    return pl.DataFrame(
        [
            {
                "changed_on": dt.date(2026, 3, 16),
                "what": "new end supplier",
                "line": "canning",
                "format": "can 440",
            },
            {
                "changed_on": dt.date(2026, 6, 10),
                "what": "first crowns with a scavenging liner",
                "line": "bottling",
                "format": truth.NEW_FORMAT,
            },
        ]
    )
