"""How many packages were drunk, when, how old, and how many of them would be rejected for age.

A shipment is drunk week by week at the pace of its kind of package. The share of its glasses that
would be rejected is that of a lot with its oxygen dose, kept as its route says and shipped on its
day, by an assessor drawn from those the panel stands for: the mean over the draws of the staling
fit, a few of them, for a mean needs no more.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analysis.cases.drunk import PAST_DATE, mean_days, share_drunk
from analysis.dating.routes import main_route
from analysis.dating.stock import travelled
from analysis.kinetics.history import equivalent_age
from analysis.staling.evidence import REFERENCE_DOSE_PPB
from analysis.staling.predict import LawPart
from analysis.survival.laws import law_named

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from analysis.dating.routes import Route

    Array = NDArray[np.float64]

WEEK = 7
_MEANS = 6.0  # by so many mean times all but a ten-thousandth of a shipment is drunk
_DRAWS = 60
_AGES = 9  # the share rejected is worked out at so many ages of a shipment, the rest lies between
_PLACE = ("style", "format")
_LOT = ("lot", "format")

_DRUNK = pl.Schema(
    {
        **dict.fromkeys(("lot", "format", "style", "line", "customer"), pl.String),
        "on": pl.Date,
        **dict.fromkeys(("age_days", "packages", "share_rejected"), pl.Float64),
    }
)


@dataclass(frozen=True)
class _Draws:
    """A few draws of a style in a format: by law, and the activation energy, kJ/mol, shape (d,)."""

    parts: tuple[tuple[LawPart, Array], ...] = field(repr=False)
    energy: Array = field(repr=False)

    def share(self, log_age: Array, log_dose: Array) -> Array:
        """Return the mean share rejected (s, a) at log days at 20 °C (d, s, a) of doses (s,)."""
        begin, summed = 0, np.zeros(log_age.shape[1:])
        for part, exponent in self.parts:
            end = begin + len(exponent)
            at_dose = part.location[:, None] - exponent[:, None] * log_dose
            summed += part.expected(log_age[begin:end] - at_dose[:, :, None])[0].sum(axis=0)
            begin = end
        return summed / len(self.energy)


def drunk(
    lots: pl.DataFrame,
    shipments: pl.DataFrame,
    routes: Sequence[Route],
    draws: pl.DataFrame,
    today: date,
) -> pl.DataFrame:
    """Tell how many packages of each shipment were drunk in each week up to a day.

    Args:
        lots: lot, format, kind, style, line, packaged_on, best_before, dose_ppb; all but the first
            four and packaged_on may be null.
        shipments: lot, format, shipped_on, packages, route, customer, best_before; the last three
            may be null.
        routes: the brewery's.
        draws: the rows of `risk_draws`; none without an estimate.
        today: the day that it is.

    Returns:
        lot, format, style, line, customer, on (the middle of the week), age_days then, packages
        drunk, share_rejected (of their glasses for age, 0 to 1; null without an estimate, an oxygen
        dose or a route); sorted.
    """
    sent = (
        shipments.filter(pl.col("shipped_on") <= today, pl.col("packages") > 0)
        .join(lots, on=_LOT)
        .sort(*_LOT, "shipped_on", "customer", "route", "packages")
        .with_row_index("number")
    )
    if sent.is_empty():
        return pl.DataFrame(schema=_DRUNK)
    mean = pl.Series("mean", [mean_days(kind) for kind in sent["kind"]], dtype=pl.Float64)
    lag = (pl.col("shipped_on") - pl.col("packaged_on")).dt.total_days().clip(lower_bound=0)
    sent = sent.with_columns(mean, lag=lag)
    weeks = _weeks(sent, today)
    begun, lasted = weeks["begun"].to_numpy(), weeks["lasted"].to_numpy()
    means = weeks["mean"].to_numpy()
    of_shipment = share_drunk(begun + lasted, means) - share_drunk(begun, means)
    past = (pl.col("on") > pl.coalesce("best_before", "best_before_right")).fill_null(value=False)
    return (
        weeks.with_columns(
            age_days=pl.col("lag") + pl.col("begun") + 0.5 * pl.col("lasted"),
            packages=pl.col("packages")
            * pl.Series(of_shipment)
            * pl.when(past).then(PAST_DATE).otherwise(1.0),
        )
        .with_columns(share_rejected=_shares(sent, weeks, routes, draws))
        .select(_DRUNK.names())
        .cast(_DRUNK)
    )


def _weeks(sent: pl.DataFrame, today: date) -> pl.DataFrame:
    """Return the weeks of each shipment that have begun, the last one as far as it has gone."""
    longest = max(ceil(_MEANS * float(mean) / WEEK) for mean in sent["mean"])
    begun = pl.DataFrame({"begun": np.arange(longest, dtype=np.float64) * WEEK})
    left = (pl.lit(today) - pl.col("shipped_on")).dt.total_days() + 1 - pl.col("begun")
    return (
        sent.join(begun, how="cross")
        .with_columns(lasted=left.clip(upper_bound=WEEK).cast(pl.Float64))
        .filter(pl.col("lasted") > 0, pl.col("begun") < _MEANS * pl.col("mean"))
        .sort("number", "begun")
        .with_columns(
            on=pl.col("shipped_on")
            + pl.duration(days=(pl.col("begun") + 0.5 * (pl.col("lasted") - 1)).floor())
        )
    )


def _shares(
    sent: pl.DataFrame, weeks: pl.DataFrame, routes: Sequence[Route], draws: pl.DataFrame
) -> pl.Series:
    """Return the share rejected in each week of each shipment; null where it cannot be told."""
    named = {route.name: route for route in routes}
    by_place = {(str(s), str(f)): _draws_of(part) for (s, f), part in draws.group_by(_PLACE)}
    at = {
        int(number): np.asarray(part["age"])
        for (number,), part in weeks.select(
            "number", age=pl.col("lag") + pl.col("begun") + 0.5 * pl.col("lasted")
        ).group_by("number", maintain_order=True)
    }
    told: dict[int, Array] = {}
    for (style, format_), rows in sent.filter(pl.col("dose_ppb") > 0.0).group_by(
        _PLACE, maintain_order=True
    ):
        few = by_place.get((str(style), str(format_)))
        if few is not None:
            told |= _place_shares(few, rows, named, at)
    return pl.Series(
        "share_rejected",
        np.concatenate([told.get(n, np.full(len(ages), np.nan)) for n, ages in at.items()]),
    ).fill_nan(None)


def _place_shares(
    few: _Draws, rows: pl.DataFrame, named: Mapping[str, Route], at: Mapping[int, Array]
) -> dict[int, Array]:
    """Return the shares of the shipments of a style in a format, by shipment."""
    kept = [
        (row["number"], route, row["lag"], row["dose_ppb"])
        for row in rows.iter_rows(named=True)
        if (route := _route(row["route"], row["kind"], named)) is not None
    ]
    if not kept:
        return {}
    grid = {n: np.linspace(at[n][0], at[n][-1], _AGES) for n, *_ in kept}
    log_age = np.stack(
        [
            np.log(
                equivalent_age(travelled(route, lag, lag, {}), grid[n], few.energy[:, None]).clip(
                    min=1e-6
                )
            )
            for n, route, lag, _ in kept
        ],
        axis=1,
    )
    log_dose = np.log(np.array([dose for *_, dose in kept]) / REFERENCE_DOSE_PPB)
    shares = few.share(log_age, log_dose)
    return {
        n: np.interp(at[n], grid[n], share) for (n, *_), share in zip(kept, shares, strict=True)
    }


def _route(name: str | None, kind: str, named: Mapping[str, Route]) -> Route | None:
    if name is not None:
        return named.get(name)
    return main_route(route for route in named.values() if route.carries(kind))


def _draws_of(part: pl.DataFrame) -> _Draws:
    """Return every so many of the draws of a style in a format, so that a few are left."""
    ordered = part.sort("draw").gather_every(max(1, part.height // _DRAWS))
    parts = tuple(
        (
            LawPart(
                law_named(str(name)),
                rows["location"].to_numpy(),
                rows["scale"].to_numpy(),
                rows["between"].to_numpy(),
            ),
            rows["oxygen_exponent"].to_numpy(),
        )
        for (name,), rows in ordered.group_by("distribution", maintain_order=True)
    )
    energy = np.concatenate(
        [
            rows["activation_energy_kj_mol"].to_numpy()
            for _, rows in ordered.group_by("distribution", maintain_order=True)
        ]
    )
    return _Draws(parts, energy)
