"""What is said of the beer in the trade whose printed date proved too long."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.flows.lot_words import day

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from analysis.dating.trade import InTrade

Cells = dict[str, Any]

NOT_FOR_SAFETY = (
    "This is about flavour alone. Where the reason could be safety (illness, injury, a foreign "
    "body, burst or gushing packages, chemicals, an allergen), it is not for this: hand over to "
    "the food-safety lead."
)
MAY_BE_SAFETY = ("infection", "refermentation", "law")
UNKNOWN = "customer not given"


def trade_lines(dated: Cells, out: InTrade, today: date) -> Iterator[str]:
    """Yield the answer line by line.

    Args:
        dated: beer, format, route, temp_c, printed_days, supported_days, binding_cause, reason, all
            of the main route; temps: °C in which each route ends.
        out: what is in the trade.
        today: the day that it is.
    """
    safety = dated["binding_cause"] == "safety"
    yield _dates(dated)
    if dated["binding_cause"] in MAY_BE_SAFETY:
        yield f"What ends it is {dated['binding_cause']}: ask the food-safety lead first."
    yield _in_all(out)
    yield from _lots(out)
    yield from _customers(dated, out, today)
    if safety:
        yield "This is no matter of a date: ask the food-safety lead before anything else."
    elif _too_long(out):
        yield "What can be done, and what each touches:"
        yield from (f"  {option}" for option in _options(dated, out))
        yield "Which of them is for the brewery to decide."
    yield NOT_FOR_SAFETY


def _too_long(out: InTrade) -> bool:
    """Tell whether a lot that is out has a printed date beyond what the data support."""
    beyond = (pl.col("printed_on") > pl.col("supported_on")).fill_null(value=True)
    return bool(out.lots.select(beyond.any()).item()) or out.too_long > 0


def _dates(dated: Cells) -> str:
    printed = "none printed on the newest lot"
    if dated["printed_days"] is not None:
        printed = f"printed {dated['printed_days']} days on the newest lot"
    named = f"{dated['beer']}, {dated['format']}: {printed}"
    if dated["supported_days"] is None:
        why = (dated["reason"] or "no run has dated it yet").removesuffix(".")
        return f"{named}; the data support no date: {why}."
    kept = f"kept as '{dated['route']}' says (about {dated['temp_c']:g} °C)"
    said = f"{named}; the data support {dated['supported_days']}, {kept}."
    if dated["printed_days"] is not None and dated["printed_days"] <= dated["supported_days"]:
        return f"{said} The printed date is not too long."
    return said


def _in_all(out: InTrade) -> str:
    if out.lots.is_empty():
        return "No lot of it is packaged and not past its printed date: nothing is out."
    lots, old = out.lots.height, len(out.past_lots)
    said = (
        f"Packaged and not past the printed date: {_count(lots, 'lot')}, "
        f"{_count(out.packages, 'package')} shipped"
    )
    if out.customers["earliest_on"].null_count() == out.customers.height and not old:
        return f"{said}."
    packages = _count(out.past, "package")
    return f"{said}; past what the data support: {_count(old, 'lot')}, {packages}."


def _lots(out: InTrade) -> Iterator[str]:
    for lot in out.lots.iter_rows(named=True):
        supported = f"supported {day(lot['supported_on'])}, " if lot["supported_on"] else ""
        house = "in house not known, its packages are not written down"
        if lot["left"] is not None:
            house = f"in house {lot['left']}"
        if lot["left"] is not None and lot["left"] < 0:
            house = f"{-lot['left']} more shipped than packed"
        yield (
            f"  {lot['lot']}: packaged {day(lot['packaged_on'])}, {supported}printed "
            f"{day(lot['printed_on'])}; shipped {lot['shipped']}, {house}"
        )


def _customers(dated: Cells, out: InTrade, today: date) -> Iterator[str]:
    if out.lots.is_empty():
        return
    if out.customers.is_empty():
        yield "With whom: no shipment of these lots is known; the table shipments would tell."
        return
    yield "With whom:"
    for row in out.customers.iter_rows(named=True):
        first = "" if row["too_long"] else ", their printed dates hold there"
        if row["too_long"] and row["earliest_on"] is None and row["route"] is not None:
            first = ", for which the data support no date there"
        if row["earliest_on"] is not None:
            on = day(row["earliest_on"])
            first = (
                f", the first past it since {on}"
                if row["earliest_on"] < today
                else (f", the first to be sold by {on}")
            )
        yield (
            f"  {row['customer'] or UNKNOWN}{_way(dated, row['route'])}: "
            f"{_count(row['packages'], 'package')} of {_count(row['lots'], 'lot')}{first}"
        )


def _way(dated: Cells, route: str | None) -> str:
    """Return by which route beer went, where that is not the main one."""
    if route is None or route == dated["route"]:
        return ""
    return f", by '{route}' (about {dated['temps'][route]:g} °C)"


def _options(dated: Cells, out: InTrade) -> Iterator[str]:
    last = day(max(out.lots["printed_on"]))
    yield f"leave it: touches nothing; until {last} beer is drunk older than the data support"
    concerned = out.customers.filter(pl.col("too_long") > 0)["customer"]
    names = [name or UNKNOWN for name in concerned.unique(maintain_order=True)]
    if names:
        yield (
            f"tell customers to sell sooner: touches {', '.join(names)}; "
            f"{_count(out.too_long, 'package')}"
        )
        if out.past:
            yield (
                f"take back what is past what the data support: touches "
                f"{_count(out.past, 'package')} of {', '.join(out.past_lots)}"
            )
        else:
            yield f"take back: touches up to {_count(out.too_long, 'package')}; none is past it yet"
    if dated["supported_days"] is not None:
        yield (
            f"shorten the next label to {dated['supported_days']} days: touches no beer that is "
            "packed, for packed beer is never re-dated"
        )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
