"""Work out at publishing which date to print on which packaging day, for the packaging office."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.dating.label import RULES, Place, label
from analysis.dating.stock import Minimum
from pipelines.readers.names import did_you_mean
from pipelines.store.lots import market_dates
from pipelines.store.week import replace_week

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    import duckdb

    from pipelines.config import Config
    from pipelines.config.labels import LabelForm

DAYS_AHEAD = 60
"""Packaging days that the table of the packaging office looks ahead."""

_LABELS = {
    **dict.fromkeys(("beer", "format", "market"), pl.String),
    "packaged_on": pl.Date,
    "days": pl.Int32,
    "computed_on": pl.Date,
    "printed_on": pl.Date,
    **dict.fromkeys(("words", "printed", "reason", "notes"), pl.String),
    **dict.fromkeys(("rule", "rule_name", "form", "rounding"), pl.String),
}
_MINIMUMS = {
    **dict.fromkeys(("beer", "format", "market", "customer"), pl.String),
    **dict.fromkeys(("days", "takes_days", "leaves_days"), pl.Int32),
}


def write_labels(
    connection: duckdb.DuckDBPyConnection,
    config: Config,
    today: date,
    say: Callable[[str], None],
) -> None:
    """Work the labels out and put them in the place of what stood there.

    Args:
        connection: A migrated store opened for writing.
        config: The configuration.
        today: The day that it is.
        say: Takes a line on every market of the configuration that no date is for.

    Raises:
        StoreError: The store cannot be written.
    """
    dates = market_dates(connection)
    for line in _strangers(config, dates):
        say(line)
    dated = dates.filter(pl.col("days").is_not_null()).rows(named=True)
    days = [today + timedelta(days=ahead) for ahead in range(DAYS_AHEAD)]
    rows = [
        label_row(date, config.labels.of(date["market"]), day) for date in dated for day in days
    ]
    minimums = [row for date in dated for row in _minimums(date, config)]
    replace_week(
        connection,
        {
            "labels": pl.DataFrame(rows, schema=_LABELS, orient="row"),
            "customer_minimums": pl.DataFrame(minimums, schema=_MINIMUMS, orient="row"),
        },
    )


def label_row(date: Mapping[str, Any], form: LabelForm, packaged_on: date) -> dict[str, Any]:
    """Return what to print on a packaging day, as a row of `this_week.labels`.

    Args:
        date: A row of `published.market_dates` that has days.
        form: How its market prints a date.
        packaged_on: The packaging day.
    """
    place = Place(
        days=date["days"],
        rule=form.rule,
        form=form.form,
        to_month_end=date["rounding"] == "month",
        way_days=date["way_days"],
        temp_c=date["temp_c"],
        storage_text=date["storage_text"],
        abv_pct=date["abv_pct"],
    )
    found = label(packaged_on, place)
    return {
        **{name: date[name] for name in ("beer", "format", "market", "days", "rounding")},
        "packaged_on": packaged_on,
        "computed_on": found.computed_on,
        "printed_on": found.printed_on,
        "words": found.words or None,
        "printed": found.text or None,
        "reason": found.reason,
        "notes": "\n".join(found.notes) or None,
        "rule": form.rule,
        "rule_name": RULES[form.rule],
        "form": form.form,
    }


def _minimums(date: Mapping[str, Any], config: Config) -> list[tuple[object, ...]]:
    """Return what each customer who may get a beer asks of its days."""
    rows: list[tuple[object, ...]] = []
    for name, customer in config.customers.items():
        if customer.market in {None, date["market"]}:
            takes = Minimum(customer.minimum_days, customer.minimum_share).of(date["days"])
            place = (date["beer"], date["format"], date["market"], name)
            rows.append((*place, date["days"], takes, date["days"] - takes))
    return rows


def _strangers(config: Config, dates: pl.DataFrame) -> list[str]:
    """Say which markets of the configuration no route leads to: mostly a typing error."""
    known = dates["market"].unique().sort()
    named = {
        **dict.fromkeys(config.labels.markets, "labels.markets"),
        **{
            customer.market: f"customers.{name}"
            for name, customer in config.customers.items()
            if customer.market
        },
    }
    return [
        f"the configuration names {market} under {key}, but no route leads to such a market"
        f"{did_you_mean(market, known)}"
        for market, key in named.items()
        if dates.height and market not in known
    ]
