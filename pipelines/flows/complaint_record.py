"""Everything about a complaint in one record, which holds nothing but texts, numbers and lists."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.cases.averaged import averaged
from analysis.cases.candidates import Told, candidates
from pipelines.flows.complaint_asked import Asked
from pipelines.flows.complaint_case import Draws, look_at
from pipelines.flows.complaint_facts import Store, facts_of
from pipelines.flows.lots import judged
from pipelines.flows.safety import touches_of
from pipelines.flows.version import code_version
from pipelines.store.complaints import newest_run_and_load
from pipelines.store.lots import known_lots

if TYPE_CHECKING:
    import duckdb

    from analysis.cases.safety import Touch
    from pipelines.config import Config
    from pipelines.flows.complaint_case import Looked

Cells = dict[str, Any]

MOST_LOTS = 4
"""So many of the likeliest lots are looked at,"""

ENOUGH_ODDS = 0.5
"""where they hold at least this share of the odds; else it cannot be said which lot it is."""

_SHOWN = 6
_WENT = ("known", "shipped_on", "shipped", "customers")


@dataclass(frozen=True)
class At:
    """When an answer is given: the number it will have, the time, and the day taken for today."""

    number: int
    time: datetime
    today: date


def record_of(asked: Asked, at: At, connection: duckdb.DuckDBPyConnection, config: Config) -> Cells:
    """Gather the record of an answer.

    Args:
        asked: The complaint.
        at: The answer's number, time and day.
        connection: The store.
        config: The configuration.
    """
    store = Store.of(connection, config, at.today)
    touched = touches_of({"category": ";".join(asked.categories), "note": asked.note}, config)
    found = candidates(_told(asked), store.lots, store.shipments)
    around = {
        "answer": at.number,
        "name": asked.page_name(at.number),
        "answered_at": at.time.isoformat(timespec="seconds"),
        "today": at.today.isoformat(),
        "brewery": config.brewery.name,
        "code_version": code_version(),
        **_plain(newest_run_and_load(connection)),
        "asked": _asked(asked, config),
        "lot_is_ours": asked.lot is None or _is_ours(asked.lot, store),
        "candidates": _plain(found.head(_SHOWN).to_dicts()),
        "more_candidates": max(found.height - _SHOWN, 0),
    }
    if touched:
        return {**around, "safety": True, "stop": _stop(asked, touched, store)}
    looked = _looked(asked, found, store)
    return {**around, "safety": False, **_weighed(looked)}


def _told(asked: Asked) -> Told:
    day = asked.bought_on or asked.opened_on or asked.received_on
    names = [field.name for field in fields(Told) if field.name != "day"]
    return Told(day=day, **{name: getattr(asked, name) for name in names})


def _is_ours(lot: str, store: Store) -> bool:
    return lot in store.lots["lot"].to_list()


def _asked(asked: Asked, config: Config) -> Cells:
    """Return the complaint; its note, which may hold names, only where notes may be shown."""
    told = {field.name: getattr(asked, field.name) for field in fields(Asked)}
    if not config.complaints.show_notes:
        told["note"] = None
    return dict(_plain({**told, "categories": list(asked.categories)}))


def _stop(asked: Asked, touched: tuple[Touch, ...], store: Store) -> Cells:
    """Return why it stops, and what the food-safety lead must know of the lot."""
    lots = store.lots.filter(pl.col("lot") == (asked.lot or ""))
    if asked.format is not None:
        lots = lots.filter(pl.col("format") == asked.format)
    mine = store.shipments.join(lots.select("lot", "format"), on=["lot", "format"], how="semi")
    rows = store.complaints.filter(
        pl.col("lot") == (asked.lot or ""), pl.col("complaint").ne_missing(asked.complaint)
    )
    others = [row for row in rows.iter_rows(named=True) if touches_of(row, store.config)]
    told = ("complaint", "received_on", "category", "format", "outlet")
    return dict(
        _plain(
            {
                "touched": [vars(touch) for touch in touched],
                "lots": lots.select(
                    "lot", "format", "beer", "packaged_on", "best_before", "packages", "status"
                ).to_dicts(),
                "shipped": int(mine["packages"].sum()),
                "customers": mine["customer"].n_unique(),
                "others": [{name: row[name] for name in told} for row in others],
            }
        )
    )


def _looked(asked: Asked, found: pl.DataFrame, store: Store) -> list[tuple[float, Looked]]:
    """Look at the lots that it may be about; none where too many may be."""
    likeliest = found.head(MOST_LOTS)
    if likeliest.is_empty() or likeliest["odds"].sum() < ENOUGH_ODDS:
        return []
    drawn = Draws.of(store.connection)
    wanted = known_lots(store.connection).join(likeliest, on=["lot", "format"], how="semi")
    oxygen = judged(store.connection, store.config, wanted, store.today)["lots"]
    rows: list[tuple[float, Looked]] = []
    for place in likeliest.iter_rows(named=True):
        own = (pl.col("lot") == place["lot"]) & (pl.col("format") == place["format"])
        lot, read = (frame.row(by_predicate=own, named=True) for frame in (store.lots, oxygen))
        facts = facts_of(asked, lot, read, store)
        # What to ask for next is told of the likeliest lot alone.
        looked = look_at(asked, facts, drawn, store.config, ask=not rows)
        rows.append((place["odds"], looked))
        if rows[0][1].why_not:  # no odds are told then
            break
    return rows


def _weighed(looked: list[tuple[float, Looked]]) -> Cells:
    """Return what is known of the likeliest lot, and the odds averaged over all looked at."""
    nothing: Cells = {"odds": [], "items": [], "decided": None, "explains": [], "steps": []}
    if not looked:
        return {"known": None, **nothing, "why_not": ""}
    _, first = looked[0]
    if first.why_not:
        return {"known": _known(first), **nothing, "why_not": first.why_not}
    weighed = [(odds, one.weighed) for odds, one in looked if one.weighed is not None]
    odds, decided = averaged(weighed)
    own = weighed[0][1]
    return {
        "known": _known(first),
        "odds": odds.to_dicts(),
        "items": own.items.to_dicts(),
        "decided": decided,
        "explains": own.explains.to_dicts(),
        "steps": own.next_steps.to_dicts(),
        "why_not": "",
    }


def _known(looked: Looked) -> Cells:
    facts, route = looked.facts, looked.facts.route
    told = None
    if route is not None:
        told = {
            "name": route.name,
            "stages": facts.went["stages"],
            "last_temp_c": route.last_temp_c,
            "days": list(route.stages.days[:-1]),
            "temp_c": list(route.stages.temp_c),
        }
    return dict(
        _plain(
            {
                "lot": facts.lot,
                "day": facts.day,
                "route": told,
                "went": {name: facts.went[name] for name in _WENT},
                "share": looked.share,
                "pieces": [{"name": piece.name, "said": piece.said} for piece in looked.pieces],
                "on_lot": facts.others["on_lot"],
                "at_outlet": facts.others["at_outlet"],
            }
        )
    )


def _plain(value: Any) -> Any:  # noqa: ANN401 - any JSON
    """Return days and times as texts, tuples as lists, all else as it is."""
    if isinstance(value, dict):
        return {name: _plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value
