"""Which lots a complaint may be about that names none, or names one that is not ours.

    odds of a lot ∝ packages of it that could be drunk about that day
                    × how well its printed date, its time of filling and its code fit what was told

Packages count from their shipment on, at the pace at which beer is drunk. Where the outlet is one
of our customers, what went elsewhere counts a twentieth, for beer is sold on; so does what no
shipment accounts for. Beer and format are taken at their word: the drinker holds the package. All
factors below are assumed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from analysis.cases.drunk import PAST_DATE, mean_days, share_drunk

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ABOUT_DAYS = 7
"""The day of a purchase is known to about so many days."""

ELSEWHERE = 0.05
"""What went to another customer, or out without a shipment, counts so much."""

DATE_FITS = {"yes": 1.0, "swapped": 0.02, "month": 0.002, "no": 0.0001, "unknown": 0.002}
"""How likely a told date is by what is printed: that day, day and month swapped, another day of its
month, another month; and where no printed date of the lot is known."""

TIME_RIGHT = 0.9
"""A told time of filling lies within the lot's run so often, else anywhere in the day."""

WORKING_MINUTES = 600
"""A lot whose run is not known was filled some time in so many minutes."""

CODE_FITS = {"yes": 1.0, "near": 0.1, "no": 0.001}
"""The same of a told lot: its code as printed, a code that differs by a sign or two, another."""

_NEAR = 0.8  # one sign of seven differs: 6/7; two of ten
_CONTAINED = 4  # a code of so many signs is known again within what else was written down
_SLACK_MINUTES = 5
_DAY_MINUTES = 24 * 60
_TIME = re.compile(r"(?<!\d)([01]?\d|2[0-3])(?:\s*[:.h]\s*([0-5]\d)|([0-5]\d))(?!\d)")
_LOT = ("lot", "format")
Cells = dict[str, Any]

_CANDIDATES = pl.Schema(
    {
        **dict.fromkeys(("lot", "format", "beer"), pl.String),
        "packaged_on": pl.Date,
        "printed_on": pl.Date,
        "packages": pl.Float64,
        "at_outlet": pl.Float64,
        **dict.fromkeys(("date_fits", "time_fits", "code_fits"), pl.String),
        "odds": pl.Float64,
    }
)


@dataclass(frozen=True)
class Told:
    """What a complaint says of its package; None where it does not say.

    Attributes:
        day: day by which it was bought, else opened, else told of.
        lot: lot as written; it need not be one of ours.
        beer: beer.
        format: package format.
        printed_date: date printed on the package.
        code_time: time of filling as printed, or whatever else was read off the code.
        outlet: where it was bought.
    """

    day: date
    lot: str | None = None
    beer: str | None = None
    format: str | None = None
    printed_date: date | None = None
    code_time: str | None = None
    outlet: str | None = None


def candidates(told: Told, lots: pl.DataFrame, shipments: pl.DataFrame) -> pl.DataFrame:
    """Return the lots that a complaint may be about, with their odds.

    Args:
        told: what the complaint says.
        lots: lot, format, kind, beer, packaged_on, best_before, printed_code, started_at, ended_at,
            packages, status; all but the first five may be null.
        shipments: lot, format, shipped_on, packages, customer, best_before; the last two may be
            null.

    Returns:
        lot, format, beer, packaged_on, printed_on, packages (of it that could be drunk about that
        day), at_outlet (those that went to that outlet; null where it is not told or none of our
        customers), date_fits (yes, swapped, month, no, unknown; null where no date is told),
        time_fits and code_fits (yes, near, no, unknown; null likewise), odds (adding to 1); the
        likeliest first. No rows where nothing can have been in the trade by then. A lot of ours,
        named as it is written or printed, leaves its own formats alone.
    """
    filled = _named(told, lots).filter(pl.col("packaged_on") <= told.day)
    out = _in_trade(told, filled, shipments)
    if out.is_empty():
        return pl.DataFrame(schema=_CANDIDATES)
    fits = pl.DataFrame(
        [_fits(told, row) for row in out.iter_rows(named=True)],
        schema={
            **dict.fromkeys(("date_fits", "time_fits", "code_fits"), pl.String),
            "time_factor": pl.Float64,
        },
        orient="row",
    )
    weighed = out.hstack(fits).with_columns(
        odds=pl.col("weight")
        * _factor("date_fits", DATE_FITS)
        * pl.col("time_factor")
        * _factor("code_fits", CODE_FITS)
    )
    summed = ("packages", "at_outlet", "odds")
    return (
        weighed.filter(pl.col("odds") > 0.0)
        .group_by(_LOT, maintain_order=True)
        .agg(
            pl.exclude(summed).sort_by("odds", "printed_on", descending=True).first(),
            pl.when(pl.col(summed).is_not_null().any()).then(pl.col(summed).sum()),
        )
        .with_columns(pl.col("odds") / pl.col("odds").sum())
        .sort("odds", *_LOT, descending=[True, False, False])
        .select(_CANDIDATES.names())
    )


def fold(text: str | None) -> str:
    """Return a text without case, spaces and signs: how two ways to write a name are compared."""
    return re.sub(r"[\W_]+", "", text or "").lower()


def folded(name: str) -> pl.Expr:
    """Fold a column of texts."""
    return pl.col(name).map_elements(fold, return_dtype=pl.String)


def _named(told: Told, lots: pl.DataFrame) -> pl.DataFrame:
    """Keep the lots of that beer and format; of a lot of ours, that lot alone."""
    for name, value in (("beer", told.beer), ("format", told.format)):
        if fold(value):
            lots = lots.filter(folded(name) == fold(value))
    own = lots.filter(
        (folded("lot") == fold(told.lot)) | (folded("printed_code") == fold(told.lot))
    )
    return lots if own.is_empty() or not fold(told.lot) else own


def _in_trade(told: Told, lots: pl.DataFrame, shipments: pl.DataFrame) -> pl.DataFrame:
    """Return the packages of each lot and printed date that could be drunk about that day."""
    kept = lots.select(
        *_LOT, "kind", "packaged_on", "best_before", "status", packed=pl.col("packages")
    )
    sent = shipments.join(kept, on=_LOT)
    gone = sent.group_by(_LOT).agg(gone=pl.col("packages").sum().cast(pl.Float64))
    unaccounted = (
        kept.join(gone, on=_LOT, how="left")
        .filter(pl.col("status").is_in(["held", "scrapped"]).ne_missing(other=True))
        .select(
            *(*_LOT, "kind"),
            since="packaged_on",
            printed_on="best_before",
            count=(
                pl.col("packed").cast(pl.Float64).fill_null(lots["packages"].median() or 1.0)
                - pl.col("gone").fill_null(0.0)
            ).clip(lower_bound=0.0),
            customer=pl.lit(None, pl.String),
            weight=pl.lit(ELSEWHERE),
        )
    )
    customers = {fold(name) for name in shipments["customer"].drop_nulls().unique()}
    known = fold(told.outlet) in customers
    there = folded("customer").eq_missing(fold(told.outlet)) if known else pl.lit(value=False)
    shipped = sent.filter(pl.col("shipped_on") <= told.day).select(
        *(*_LOT, "kind"),
        since="shipped_on",
        printed_on=pl.coalesce("best_before", "best_before_right"),
        count=pl.col("packages").cast(pl.Float64),
        customer="customer",
        weight=pl.when(there).then(1.0).otherwise(ELSEWHERE if known else 1.0),
    )
    # Sorted, so that sums come out the same to the last digit.
    out = pl.concat([shipped, unaccounted]).sort(*_LOT, "since", "printed_on", "customer", "count")
    could = pl.col("count") * pl.Series(_pace(out, told.day), dtype=pl.Float64)
    return (
        out.with_columns(could=could)
        .with_columns(weight=pl.col("weight") * pl.col("could"))
        .group_by(*_LOT, "printed_on", maintain_order=True)
        .agg(
            pl.col("weight").sum(),
            packages=pl.col("could").sum(),
            at_outlet=pl.col("could").filter(there).sum() if known else pl.lit(None, pl.Float64),
        )
        .join(lots.drop("packages"), on=_LOT, maintain_order="left")
    )


def _pace(out: pl.DataFrame, day: date) -> Array:
    """Return the share of each row's packages that is drunk about that day."""
    waited, past = (
        out.select(days=(pl.lit(day) - pl.col(name)).dt.total_days())["days"]
        for name in ("since", "printed_on")
    )
    mean = np.array([mean_days(kind) for kind in out["kind"]])
    since = waited.to_numpy()
    share = share_drunk(since + ABOUT_DAYS, mean) - share_drunk(since - ABOUT_DAYS, mean)
    return np.where((past > 0).fill_null(value=False), PAST_DATE, 1.0) * share


def _factor(name: str, factors: dict[str, float]) -> pl.Expr:
    return pl.col(name).replace_strict(factors, default=1.0, return_dtype=pl.Float64)


def _fits(told: Told, row: Cells) -> tuple[str | None, str | None, str | None, float]:
    """Tell how what was told of date, time and code fits a lot, and how likely the time is by it.

    None where it was not told.
    """
    time_fits, time_factor = _time_fits(_minute(told.code_time), row["started_at"], row["ended_at"])
    own = [fold(row[name]) for name in ("lot", "printed_code")]
    return (
        None if told.printed_date is None else _date_fits(told.printed_date, row["printed_on"]),
        time_fits,
        _code_fits(fold(told.lot), fold(told.code_time), [code for code in own if code]),
        time_factor,
    )


def _date_fits(told: date, printed: date | None) -> str:
    if printed is None:
        return "unknown"
    if told == printed:
        return "yes"
    if (told.year, told.month, told.day) == (printed.year, printed.day, printed.month):
        return "swapped"
    return "month" if (told.year, told.month) == (printed.year, printed.month) else "no"


def _minute(code: str | None) -> int | None:
    """Return the minute of the day that stands in a printed code, the last one if several do."""
    found = _TIME.findall(code or "")
    if not found:
        return None
    hour, *minutes = found[-1]
    return 60 * int(hour) + int("".join(minutes))


def _time_fits(
    minute: int | None, started: datetime | None, ended: datetime | None
) -> tuple[str | None, float]:
    if minute is None:
        return None, 1.0
    if started is None or ended is None:
        return "unknown", 1.0 / WORKING_MINUTES
    begun = 60 * started.hour + started.minute - _SLACK_MINUTES
    lasted = max((ended - started).total_seconds() / 60, 0.0) + 2 * _SLACK_MINUTES
    if (minute - begun) % _DAY_MINUTES <= lasted:
        return "yes", TIME_RIGHT / min(lasted, _DAY_MINUTES)
    return "no", (1.0 - TIME_RIGHT) / _DAY_MINUTES


def _code_fits(lot: str, code: str, own: Iterable[str]) -> str | None:
    """Tell how a told lot, and whatever was read off the code, fit the codes of a lot."""
    if any(len(known) >= _CONTAINED and known in code for known in own):
        return "yes"
    if not lot:
        return None
    alike = max(_alike(lot, known) for known in own)
    return "yes" if alike >= 1.0 else "near" if alike >= _NEAR else "no"


def _alike(told: str, known: str) -> float:
    if len(known) >= _CONTAINED and known in told:
        return 1.0
    return SequenceMatcher(None, told, known, autojunk=False).ratio()
