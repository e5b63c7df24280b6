"""Decisions about dates in words: the rule behind one, and whether it has been overtaken since."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

Cells = dict[str, Any]

FIRST_ESTIMATE = "First estimate, unchecked: do not change a label on this alone."
MANY_DAYS, MANY_SHARE = 28, 0.2
"""A date that could be longer is told from so many days on, and from such a share of it on."""

_ROUNDED = {"day": "whole days", "week": "whole weeks", "month": "the end of a month"}


def rule(row: Mapping[str, Any]) -> str:
    """Return the rule behind a date in words, from a row of `published.date_rules`."""
    oldest = ", and at the oldest beer tasted so" if row["cap_at_oldest_tasted"] else ""
    kept = [words.days(row["margin_days"])] if row["margin_days"] else []
    kept += [f"{words.percent(row['margin_share'])} of the life"] if row["margin_share"] else []
    margin = f", less {' or '.join(kept)} kept back" if kept else ""
    return (
        f"life ends where {words.glasses(row['share_rejected'])} would be rejected for age, "
        f"{words.percent(row['confidence'])} sure{margin}; cut at {words.days(row['cap_days'])}"
        f"{oldest}; down to {_ROUNDED.get(row['rounding'], row['rounding'])}"
    ).replace(words.NBSP, " ")  # it is stored, and compared with


def place(row: Mapping[str, Any]) -> str:
    """Return for whom a decision holds: `all markets`, `export`, `home, by 'ambient' alone`."""
    if row["market"] is None:
        return "all markets"
    return f"{row['market']}, by '{row['route']}' alone" if row["route"] else str(row["market"])


def kept(route: str | None, temp_c: float | None) -> str:
    """Return how beer is kept: `kept as 'ambient' says, which ends at 21 °C`."""
    return f"kept as '{route}' says, which ends at {words.temperature(temp_c)}"


def above(days: int, supported: int | None) -> str:
    """Return how a decided date stands to what the data support: `28 days above …`."""
    if supported is None:
        return "without a date that the data support"
    if days == supported:
        return "just what the data support"
    side = "above" if days > supported else "below"
    return f"{words.days(abs(days - supported))} {side} what the data support"


def supported(days: int, found: Mapping[str, Any]) -> str:
    """Return how a decided date stands to what the data support, in a sentence.

    Args:
        days: Days decided.
        found: What they support: days, route and temp_c of the shortest route; days None for none.
    """
    if found["days"] is None:
        return "The data support no date there."
    at = "" if days == found["days"] else f", which is {words.days(found['days'])}"
    return (
        f"{words.count(days, 'day')} {'is' if days == 1 else 'are'} {above(days, found['days'])}"
        f"{at}, {kept(found['route'], found['temp_c'])}."
    )


def undated(route: Mapping[str, Any]) -> str:
    """Return why a route has no date, in a sentence."""
    why = route["reason"] or "nothing is estimated"
    return words.sentence(
        f"No date for '{route['route']}', which ends at {words.temperature(route['temp_c'])}: {why}"
    )


def at_risk(risk: Mapping[str, float]) -> str:
    """Return the share rejected by a day with its bounds, in per cent: `42 (30 to 56)`."""
    share, lower, upper = (round(100 * risk[name], 6) for name in ("share", "lower", "upper"))
    return words.bounded(share, lower, upper)


def overtaken(row: Mapping[str, Any]) -> str:
    """Return how a decision was overtaken, empty where it was not.

    It was where the newest run supports fewer days than were decided and fewer than then, or many
    more than were decided and more than then: what was known when it was decided overtakes nothing.

    Args:
        row: A row of `published.decisions`.
    """
    then, now, days = row["supported_days"], row["supported_now"], row["days"]
    if now is None:
        return "" if then is None else "the data support no date there any more"
    if now < days and (then is None or now < then):
        return f"the data support {words.days(days - now)} fewer than decided"
    many = now - days >= MANY_DAYS and now - days >= MANY_SHARE * days
    if many and (then is None or now > then):
        return f"the data support {words.days(now - days)} more than decided"
    return ""


def holding(results: Results) -> pl.DataFrame:
    """Return the decisions whose place none has taken, by beer, format and market."""
    return results.decisions.filter(pl.col("superseded_by").is_null()).sort(
        "beer", "format", "market", "route", nulls_last=False
    )


def attention(results: Results) -> str:
    """Return the one line of the first page on decisions overtaken; empty where none was."""
    found = [row for row in holding(results).rows(named=True) if overtaken(row)]
    if not found:
        return ""
    first, more = found[0], len(found) - 1
    others = f", and {words.counted(more, 'other', 'is', 'are')} overtaken too" if more else ""
    return words.sentence(
        f"{first['beer']}, {first['format']}: the {words.days(first['days'])} decided for "
        f"{place(first)} have been overtaken, {overtaken(first)}{others}; see Decided dates"
    )


def first_estimate(results: Results, style: str, format_: str) -> bool:
    """Tell whether no retained sample of a style and format has reached its date yet."""
    found = results.cautions.filter(
        pl.col("caution") == "first estimate",
        pl.col("style") == style,
        pl.col("format").is_null() | (pl.col("format") == format_),
    )
    return not found.is_empty()
