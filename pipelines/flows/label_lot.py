"""Answer what to print on a lot: the date, why, and how it is to be kept; or why none."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.dating.label import CHECK, RULES
from analysis.dating.policy import LOW_ALCOHOL_REASON
from pipelines.errors import StoreError
from pipelines.flows.labels import label_row
from pipelines.flows.lot_today import wanted_lots
from pipelines.flows.lot_words import day
from pipelines.flows.lots import judged
from pipelines.flows.week import day_of_brewery
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.lots import known_lots, market_dates
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pipelines.config import Config

Cells = dict[str, Any]

NOT_RE_DATED = "Packed beer is never re-dated."
_ENDED = {"cap": "the cap you set", "oldest tasted": "the oldest beer tasted"}
_BASIS = {
    "borrowed": "The date is lent by other formats: treat it as a trial.",
    "prior": "The date is partly assumed.",
}


def answer_label(
    lot: str,
    format_: str | None,
    market: str | None,
    config: Config,
    say: Callable[[str], None],
) -> bool:
    """Say what to print on a lot, a line for each of its formats and markets.

    Args:
        lot: The lot.
        format_: One of its formats; None for all of them.
        market: One of the markets; None for all of them.
        config: The configuration.
        say: Takes each line.

    Returns:
        Whether there is something to print on at least one of them.

    Raises:
        StoreError: There is no such lot, format or market, or there is no store; the message gives
            the nearest.
    """
    need_store(config.paths.database)
    today = config.as_of or day_of_brewery(config)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        wanted = wanted_lots(lot, format_, known_lots(connection))
        dates = market_dates(connection)
        frames = judged(connection, config, wanted, today)
    if market is not None and market not in dates["market"]:
        known = dates["market"].unique().sort()
        message = f"no route leads to a market {market}{did_you_mean(market, known)}"
        raise StoreError(message)
    printable = False
    judged_lots = {row["format"]: row for row in frames["lots"].rows(named=True)}
    for row in wanted.rows(named=True):
        if format_ not in {None, row["format"]}:
            continue
        for place, said, prints in _said(row, judged_lots[row["format"]], dates, market, config):
            say(f"{_whose(row, place)}: {said}")
            printable |= prints
        if row["best_before"] is not None:
            say(f"It carries {day(row['best_before'])} already. {NOT_RE_DATED}")
    return printable


def _said(
    row: Cells, beside: Cells, dates: pl.DataFrame, market: str | None, config: Config
) -> Iterator[tuple[str | None, str, bool]]:
    """Yield each market of a lot in a format, what is said, and whether it is a date to print."""
    of_beer = dates.filter(pl.col("beer") == row["beer"], pl.col("format") == row["format"])
    found = [date for date in of_beer.rows(named=True) if market in {None, date["market"]}]
    if not found:
        yield market, "nothing to print. Nothing dates it there: run stalecurve run", False
    for date in found:
        reason = _refusal(date, beside)
        if reason is None:
            form = config.labels.of(date["market"])
            printed = label_row(_shortened(date, beside), form, row["packaged_on"])
            reason = printed["reason"]
        if reason is None:
            yield date["market"], _answer(date, printed), True
        else:
            yield date["market"], f"nothing to print. {_sentence(reason)}", False


def _refusal(date: Cells, beside: Cells) -> str | None:
    """Return why nothing may be printed for a market; None where something may."""
    if date["days"] is None:
        return str(date["reason"] or "nothing is estimated for it yet")
    if beside["verdict"] == "no validation":
        return LOW_ALCOHOL_REASON
    if beside["verdict"] == "shorten" and (
        beside["shorten_days"] is None or beside["route"] != date["route"]
    ):
        return (
            f"Its oxygen does not allow the usual date: stalecurve lot {beside['lot']} says what "
            "it allows"
        )
    return None


def _shortened(date: Cells, beside: Cells) -> Cells:
    """Return the date with the days that the lot's own oxygen leaves, where that shortens it."""
    if beside["verdict"] != "shorten":
        return dict(date)
    return {**date, "days": min(date["days"], beside["shorten_days"])}


def _answer(date: Cells, printed: Cells) -> str:
    cause = _ENDED.get(date["binding_cause"], date["binding_cause"])
    if printed["days"] < date["days"]:
        cause = "this lot's own oxygen"
    kept = f"kept as '{date['route']}' says, which ends at {date['temp_c']:g} °C"
    what = f"print “{printed['words']} {printed['printed']}”: {printed['days']} days"
    parts = [f"{what}, ended by {cause}, {kept}."]
    if printed["printed_on"] != printed["computed_on"]:
        parts.append(f"The days end on {day(printed['computed_on'])}.")
    if date["cold"]:
        shelf = date["shelf_days"]
        warm = "no date" if shelf is None else f"{shelf} days"
        parts.append(
            f"Put “{date['storage_text']}” on the package: on a shelf at 21 °C it has {warm}."
        )
    if date["unfit"]:
        parts.append(f"Not to go by {date['unfit']}: there is no date for that.")
    parts.append(_BASIS.get(date["basis"], ""))
    parts.append(f"{_rule(printed)}. {CHECK}")
    parts += (printed["notes"] or "").splitlines()
    return " ".join(part for part in parts if part)


def _rule(printed: Cells) -> str:
    return f"By {RULES[printed['rule']]}" if printed["rule"] != "usa" else RULES["usa"]


def _whose(row: Cells, market: str | None) -> str:
    packed = f"{row['beer']}, packaged {day(row['packaged_on'])}"
    return f"{row['lot']}, {row['format']} ({packed}){f', for {market}' if market else ''}"


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:].removesuffix('.')}."
