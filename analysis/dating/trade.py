"""What is in the trade of a beer in a format whose printed date proved too long."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from datetime import date


@dataclass(frozen=True)
class InTrade:
    """Lots packaged and not yet past their printed date.

    Attributes:
        lots: lot, packaged_on, printed_on, supported_on (null where no days are supported),
            packages, shipped and left (null where packages are not known), the oldest first.
        customers: customer (null where not given), packages, lots, earliest_on (the first day on
            which one of their lots is past what the data support), the most packages first.
    """

    lots: pl.DataFrame
    customers: pl.DataFrame

    @property
    def packages(self) -> int:
        """Packages shipped of these lots."""
        return int(self.lots["shipped"].sum())


def in_trade(
    lots: pl.DataFrame, shipments: pl.DataFrame, supported_days: int | None, today: date
) -> InTrade:
    """Gather what is out of a beer in a format.

    Args:
        lots: its lots: lot, packaged_on, best_before, packages.
        shipments: lot, shipped_on, packages, customer, of that format.
        supported_days: days from packaging that the data support; None where there is no date.
        today: the day that it is.
    """
    out = lots.filter(pl.col("packaged_on") <= today, pl.col("best_before") >= today).select(
        "lot",
        "packaged_on",
        "packages",
        printed_on="best_before",
        supported_on=pl.col("packaged_on") + pl.duration(days=pl.lit(supported_days, pl.Int64)),
    )
    shipped = shipments.filter(pl.col("shipped_on") <= today).join(
        out.select("lot", "supported_on"), on="lot"
    )
    by_lot = shipped.group_by("lot").agg(shipped=pl.col("packages").sum().cast(pl.Int64))
    return InTrade(
        lots=out.join(by_lot, on="lot", how="left")
        .with_columns(pl.col("shipped").fill_null(0), pl.col("packages").cast(pl.Int64))
        .with_columns(left=pl.col("packages") - pl.col("shipped"))
        .select("lot", "packaged_on", "printed_on", "supported_on", "packages", "shipped", "left")
        .sort("packaged_on", "lot"),
        customers=shipped.group_by("customer")
        .agg(
            packages=pl.col("packages").sum().cast(pl.Int64),
            lots=pl.col("lot").n_unique().cast(pl.Int32),
            earliest_on=pl.col("supported_on").min(),
        )
        .sort("packages", "customer", descending=[True, False], nulls_last=True),
    )
