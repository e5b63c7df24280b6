"""What comes back from the trade: complaints for age, drawn from the truth, and each other kind.

A package is drunk some weeks after it left, most before the printed date. Who drinks it finds it
stale as the truth says, by its lot, its oxygen, its way and the days; of those, few complain. So
complaints for age have a cause each: a printed date too long, a lot whose seam failed at one head,
or one outlet that kept its beer in the sun all summer.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl
from scipy import special, stats

from data_demo import truth
from data_demo.simulate_cellar import LAST_DAY, days_of
from data_demo.simulate_trade import SUNNY_OUTLET

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

COMPLAIN = 8e-4  # of packages that are stale to whoever drinks them
SUMMER, SUMMER_C = (dt.date(2026, 6, 8), dt.date(2026, 9, 6)), 32.0
_LONGEST = 260  # days from shipping that a package may stand
_DRUNK_AFTER = stats.gamma(2.0, scale=22.0)  # days from shipping
_PAST_DATE = 0.15  # of what would be drunk after the printed date still is
_LOT_NAMED, _CODE_READ, _BOUGHT_KNOWN, _OPENED_KNOWN, _STORAGE_TOLD = 0.75, 0.4, 0.7, 0.6, 0.3
_STALE_NOTES = ("cardboard", "papery, dull", "like wet paper", "no hops left", "sherry?", "old")
_NOT_OURS = "B4417"  # a lot code that somebody read off another brewery's label
_FRESH_FOR = 90  # days within which a complaint that is not for age comes in

# Category, kinds of package it can be of, note.
_OTHERS: tuple[tuple[str, str, str], ...] = (
    ("flat", "bottle can", "cap looked fine"),
    ("flat", "keg", "no head by the second day"),
    ("haze", "bottle can", "cloudy, tastes as ever"),
    ("lightstruck", "bottle", "stood in the shop's window"),
    ("sour", "keg", "sharp, first pint of the day"),
    ("other flavour", "bottle can", "buttery?"),
    ("other flavour", "can", "tasted of plastic, felt sick an hour later"),
    ("stale;flat", "bottle can", "dull and no foam"),
    ("short fill", "bottle", "a finger low"),
    ("leaker", "can", "tray wet below one"),
    ("damage", "can", "dented corner of the tray"),
    ("date illegible", "can", ""),
    ("gushing", "bottle can", "half of it on the table"),
    ("burst", "bottle", "went off in the crate, nobody near"),
    ("foreign body", "can", "something like a seal at the bottom"),
    ("chemical", "keg", "smelt of line cleaner"),
    ("allergen", "bottle can", "asks whether there is wheat in it"),
    ("illness", "bottle can", "unwell the day after, has seen a doctor"),
    ("injury", "can", "cut a thumb on the rim, plaster needed"),
    ("other", "bottle can", "label upside down"),
)
_FINDINGS = {
    "leaker": "seam cut open: good; tray pierced by a nail of the pallet",
    "short fill": "filler valve 6 changed",
    "damage": "passed on to the carrier",
    "date illegible": "print head cleaned",
    "chemical": "line had been cleaned that morning; food-safety lead closed it",
}


def complaints(
    rng: np.random.Generator, fills: pl.DataFrame, shipped: pl.DataFrame
) -> pl.DataFrame:
    """Receive a year's complaints.

    Args:
        rng: where the draws come from.
        fills: as `simulate_cellar.fill` draws them.
        shipped: as `simulate_trade.shipments` draws them.
    """
    loads = shipped.join(
        fills.select(
            *("lot", "format", "beer", "style", "packaged_on", "ea", "log_life", "seam_failed")
        ),
        on=["lot", "format"],
    ).sort("shipment")
    stale, others = _for_age(rng, loads), _for_else(rng, loads)
    return (
        pl.concat([stale, others])
        .filter(pl.col("received_on") <= LAST_DAY)
        .sort("received_on", "category", "shipment")
        .with_row_index("n", offset=1)
        .with_columns(complaint=pl.format("K{}", pl.col("n").cast(pl.String).str.zfill(3)))
        .drop("n", "shipment")
    )


def _for_age(rng: np.random.Generator, loads: pl.DataFrame) -> pl.DataFrame:
    expected = loads["packages"].to_numpy()[:, None] * COMPLAIN * drunk(loads) * stale(loads)
    load, day = np.nonzero(rng.poisson(expected))
    opened = loads[load.tolist()].with_columns(
        opened_on=pl.col("shipped_on") + days_of(day + 1), category=pl.lit("stale")
    )
    notes = rng.choice(_STALE_NOTES, size=len(opened))
    return _written(rng, opened.with_columns(note=pl.Series(notes, dtype=pl.String)))


def drunk(loads: pl.DataFrame) -> Array:
    """Share of each load's packages that is drunk on each day after shipping, from the first.

    Args:
        loads: shipments with packaged_on.

    Returns:
        Shape (loads, days); a row adds to 1 but for what is never drunk: past its date, mostly.
    """
    day = np.arange(1, _LONGEST + 1)
    shares = np.diff(_DRUNK_AFTER.cdf(np.append(0, day)))
    left = (loads["best_before"] - loads["shipped_on"]).dt.total_days().to_numpy()
    return np.asarray(shares * np.where(day > left[:, None], _PAST_DATE, 1.0))


def stale(loads: pl.DataFrame) -> Array:
    """Share of drinkers who would find a package of each load stale, by day after shipping.

    Args:
        loads: shipments with packaged_on and what `simulate_cellar.fill` knows of the lot.

    Returns:
        Shape (loads, days).
    """
    spread = math.hypot(truth.ASSESSOR_SD, truth.RESIDUAL_SD)
    rows = []
    for load in loads.iter_rows(named=True):
        standard = (np.log(_ages(load)) - load["log_life"]) / spread
        share = special.ndtr(standard)
        if load["seam_failed"]:
            package = truth.FORMATS[load["format"]]
            more = truth.STYLES[load["style"]].oxygen_exponent * math.log(truth.FAILED_SEAM)
            failed = special.ndtr(standard + more / spread)
            share = share + (failed - share) / package.heads
        rows.append(share)
    return np.array(rows)


def _ages(load: dict[str, Any]) -> Array:
    """Age at 20 °C of a load's packages on each day after shipping, with the summer it had."""
    route, energy, shipped = truth.ROUTES[load["route"]], load["ea"], load["shipped_on"]
    before = (shipped - load["packaged_on"]).days
    age = np.array([truth.equivalent_age(route, before + d, energy) for d in range(_LONGEST + 1)])
    a_day = np.diff(age)
    if load["customer"] == SUNNY_OUTLET:
        days = [shipped + dt.timedelta(days=d) for d in range(1, _LONGEST + 1)]
        in_the_sun = np.array([SUMMER[0] <= day <= SUMMER[1] for day in days])
        a_day = np.where(in_the_sun, truth.acceleration(SUMMER_C, energy), a_day)
    return np.asarray(age[0] + np.cumsum(a_day))


def _for_else(rng: np.random.Generator, loads: pl.DataFrame) -> pl.DataFrame:
    """Draw one of each other kind, some days after a load of such a package left."""
    kinds = np.array([truth.FORMATS[f].kind for f in loads["format"]])
    early = (loads["shipped_on"] <= LAST_DAY - dt.timedelta(days=_FRESH_FOR)).to_numpy()
    picked = [
        int(rng.choice(np.flatnonzero(early & np.isin(kinds, of.split())))) for _, of, _ in _OTHERS
    ]
    opened = loads[picked].with_columns(
        opened_on=pl.col("shipped_on") + days_of(rng.integers(10, _FRESH_FOR, len(picked))),
        category=pl.Series([category for category, _, _ in _OTHERS]),
        note=pl.Series([note or None for _, _, note in _OTHERS]),
    )
    return _written(rng, opened)


def _written(rng: np.random.Generator, opened: pl.DataFrame) -> pl.DataFrame:
    """Write down what whoever took the call was told: not all of it."""
    n = len(opened)

    def told(share: float) -> pl.Expr:
        return pl.lit(pl.Series(rng.uniform(size=n) < share))

    named, hours = told(_LOT_NAMED), rng.uniform(8, 13, n)
    codes = [f"{int(h):02d}:{int(h % 1 * 60):02d}" for h in hours]
    sunny = (pl.col("customer") == SUNNY_OUTLET) & (pl.col("category") == "stale")
    kept = pl.Series(np.array([6.0, 18.0, 21.0, 24.0])[rng.integers(0, 4, n)])
    closed_after = rng.integers(3, 30, n)
    in_days = pl.col("opened_on") + days_of(rng.integers(1, 9, n))
    return (
        opened.with_columns(
            packages=pl.Series(rng.integers(1, 7, n), dtype=pl.Int32),
            received_on=in_days,
            code_time=pl.when(told(_CODE_READ)).then(pl.Series(codes, dtype=pl.String)),
            bought_on=pl.when(told(_BOUGHT_KNOWN)).then(
                pl.max_horizontal(
                    "shipped_on", pl.col("opened_on") - days_of(rng.integers(0, 15, n))
                )
            ),
            returned=pl.Series(rng.choice(["unopened", "opened", "none"], n), dtype=pl.String),
            finding=pl.col("category").replace_strict(
                _FINDINGS, default=None, return_dtype=pl.String
            ),
            told=told(_STORAGE_TOLD),
            opened_known=told(_OPENED_KNOWN),
        )
        .with_columns(
            storage_temp_c=pl.when("told").then(pl.when(sunny).then(30.0).otherwise(kept)),
            storage_days=pl.when("told").then(
                (pl.col("opened_on") - pl.coalesce("bought_on", "shipped_on")).dt.total_days()
            ),
            closed_on=pl.when(
                pl.col("received_on") + days_of(closed_after) <= LAST_DAY - dt.timedelta(days=30)
            ).then(pl.col("received_on") + days_of(closed_after)),
        )
        .select(
            lot=pl.when(pl.col("category") == "other")
            .then(pl.lit(_NOT_OURS))
            .otherwise(pl.when(named).then("lot")),
            beer="beer",
            format="format",
            printed_date="best_before",
            code_time="code_time",
            packages="packages",
            outlet="customer",
            market=pl.col("route").replace_strict({n: r.market for n, r in truth.ROUTES.items()}),
            bought_on="bought_on",
            opened_on=pl.when("opened_known").then("opened_on"),
            storage_temp_c="storage_temp_c",
            storage_days=pl.col("storage_days").cast(pl.Int32),
            returned="returned",
            received_on="received_on",
            closed_on="closed_on",
            finding=pl.when(pl.col("closed_on").is_not_null()).then("finding"),
            category="category",
            note="note",
            shipment="shipment",
        )
    )
