"""What is in the trade of a beer in a format whose printed date proved too long.

A shipment is held against what the data support on its own route: beer that went cold may keep a
date that is too long on a warm shelf.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date


@dataclass(frozen=True)
class InTrade:
    """Lots packaged and not yet past their printed date.

    Attributes:
        lots: lot, packaged_on, printed_on, supported_on (null where no days are supported),
            packages, shipped and left (null where packages are not known), the oldest first.
        customers: by customer (null where not given) and route (null for the main one): packages,
            lots, too_long (packages whose printed date is beyond what the data support there, or
            for which they support none), past (those of them that are past it), earliest_on (the
            first day on which one of those lots is); the most packages first.
        past_lots: lots of which packages are past what the data support.
    """

    lots: pl.DataFrame
    customers: pl.DataFrame
    past_lots: tuple[str, ...]

    @property
    def packages(self) -> int:
        """Packages shipped of these lots."""
        return int(self.lots["shipped"].sum())

    @property
    def too_long(self) -> int:
        """Packages shipped whose printed date is longer than the data support on their route."""
        return int(self.customers["too_long"].sum())

    @property
    def past(self) -> int:
        """Those of them that are past what the data support."""
        return int(self.customers["past"].sum())


def in_trade(
    lots: pl.DataFrame,
    shipments: pl.DataFrame,
    supported_days: int | None,
    today: date,
    by_route: Mapping[str, int | None] | None = None,
) -> InTrade:
    """Gather what is out of a beer in a format.

    Args:
        lots: its lots: lot, packaged_on, best_before, packages.
        shipments: lot, shipped_on, packages, customer, route, of that format.
        supported_days: days from packaging that the data support on the main route; None where
            there is no date.
        today: the day that it is.
        by_route: the same of every route that has a date or was refused one; a shipment by another
            route, or none, counts as gone by the main one.
    """
    routes = by_route or {}
    out = lots.filter(pl.col("packaged_on") <= today, pl.col("best_before") >= today).select(
        "lot",
        "packaged_on",
        "packages",
        printed_on="best_before",
        supported_on=pl.col("packaged_on") + pl.duration(days=pl.lit(supported_days, pl.Int64)),
    )
    known = pl.DataFrame(
        {"route": list(routes), "route_days": list(routes.values())},
        schema={"route": pl.String, "route_days": pl.Int64},
    )
    on_route = pl.col("packaged_on") + pl.duration(days="route_days")
    is_known = pl.col("route").is_in(list(routes)).fill_null(value=False)
    shipped = (
        shipments.filter(pl.col("shipped_on") <= today)
        .join(out.select("lot", "packaged_on", "printed_on", "supported_on"), on="lot")
        .join(known, on="route", how="left", maintain_order="left")
        .with_columns(
            route=pl.when(is_known).then("route"),
            supported_on=pl.when(is_known).then(on_route).otherwise("supported_on"),
        )
        .with_columns(
            too_long=(pl.col("printed_on") > pl.col("supported_on")).fill_null(value=True)
        )
        .with_columns(
            is_past=pl.col("too_long") & (pl.col("supported_on") < today).fill_null(value=False)
        )
    )
    by_lot = shipped.group_by("lot").agg(shipped=pl.col("packages").sum().cast(pl.Int64))
    return InTrade(
        lots=out.join(by_lot, on="lot", how="left")
        .with_columns(pl.col("shipped").fill_null(0), pl.col("packages").cast(pl.Int64))
        .with_columns(left=pl.col("packages") - pl.col("shipped"))
        .select("lot", "packaged_on", "printed_on", "supported_on", "packages", "shipped", "left")
        .sort("packaged_on", "lot"),
        customers=shipped.group_by("customer", "route")
        .agg(
            packages=pl.col("packages").sum().cast(pl.Int64),
            lots=pl.col("lot").n_unique().cast(pl.Int32),
            too_long=pl.col("packages").filter("too_long").sum().cast(pl.Int64),
            past=pl.col("packages").filter("is_past").sum().cast(pl.Int64),
            earliest_on=pl.col("supported_on").filter("too_long").min(),
        )
        .sort("packages", "customer", "route", descending=[True, False, False], nulls_last=True),
        past_lots=tuple(shipped.filter("is_past")["lot"].unique().sort()),
    )
