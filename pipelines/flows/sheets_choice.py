"""Who and what is at a tasting session: samples that wait, who is there, a fresh control."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import StoreError
from pipelines.flows.safety import unsafe_complaints
from pipelines.readers.names import did_you_mean, listed
from pipelines.store.fetch import fetch
from pipelines.store.waiting import (
    fresh_lots,
    is_tasted,
    known_assessors,
    panel_there,
    samples_to_taste,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    import duckdb

    from pipelines.config import Config

_TASTED_ROLES = ("aged", "fresh")
_LONGEST_NAME = 50  # the name of a fresh sample is made of it
_FACTS = (
    *("sample", "lot", "format", "beer", "style", "role", "place", "packaged_on", "placed_on"),
    *("pulled_on", "storage_temp_c", "volume_ml", "status"),
)


@dataclass(frozen=True)
class Wanted:
    """What the leader asks for.

    Attributes:
        on: The day of the session; None for today.
        session: Its name; empty for its day.
        samples: Those to taste; none for all that wait.
        assessors: Those who taste; none for the shelf-life panel.
        seats: How many taste whose names are written in by hand; None where they are known.
        pour_ml: Beer in a glass.
        twice: Whether one sample of a session is served twice.
    """

    on: date | None = None
    session: str = ""
    samples: tuple[str, ...] = ()
    assessors: tuple[str, ...] = ()
    seats: int | None = None
    pour_ml: float = 60.0
    twice: bool = True


@dataclass(frozen=True)
class Choice:
    """What sessions are made of.

    Attributes:
        aged: The samples to taste, the longest waiting first: sample, lot, format, beer, style,
            role, place, packaged_on, placed_on, pulled_on, storage_temp_c, volume_ml, status.
        fresh: What a blind fresh control can be, likewise; sample, place, placed_on, pulled_on and
            status are null for a lot that it would have to be pulled from.
        tasters: Who tastes; an empty name for each that is to be written in by hand.
    """

    aged: pl.DataFrame
    fresh: pl.DataFrame
    tasters: tuple[str, ...]


def choose(
    connection: duckdb.DuckDBPyConnection,
    wanted: Wanted,
    on: date,
    config: Config,
    say: Callable[[str], None],
) -> Choice:
    """Find out what sessions on a day are made of.

    Args:
        connection: A migrated store.
        wanted: What the leader asks for.
        on: The day.
        config: The configuration.
        say: Takes a line for everything that is left out.

    Raises:
        StoreError: A sample or taster is not known, or there are none.
    """
    unsafe = unsafe_complaints(fetch(connection, "complaints"), config)
    samples = samples_to_taste(connection, on, unsafe)
    chosen = (
        _named(samples, wanted.samples, on)
        if wanted.samples
        else _waiting(samples, on, config, say)
    )
    for row in chosen.drop_nulls("complaint").iter_rows(named=True):
        say(
            f"{row['sample']} is left out: complaint {row['complaint']} on lot {row['lot']} is the "
            "food-safety lead's, and nobody tastes that beer"
        )
    chosen = chosen.filter(pl.col("complaint").is_null())
    fresh = pl.col("role") == "fresh"
    if chosen.filter(~fresh).is_empty():
        message = (
            "no sample that was pulled waits to be tasted: name some with --sample, or enter pulls "
            "in the table samples"
        )
        raise StoreError(message)
    lots = fresh_lots(connection, on, unsafe).with_columns(
        role=pl.lit("fresh"), storage_temp_c=pl.lit(config.storage.before_placing_c)
    )
    return Choice(
        aged=chosen.filter(~fresh).select(_FACTS),
        fresh=pl.concat([chosen.filter(fresh).select(_FACTS), lots], how="diagonal_relaxed"),
        tasters=_tasters(connection, wanted, on),
    )


def refuse_names(connection: duckdb.DuckDBPyConnection, sessions: Sequence[str]) -> None:
    """Refuse a name that no session can have.

    Raises:
        StoreError: It would be read as a remark or is too long, or a session of that name was
            tasted, so that new verdicts would pass for corrections.
    """
    for session in sessions:
        if session.startswith("#") or len(session) > _LONGEST_NAME:
            message = (
                f"{session} is no name of a session: at most {_LONGEST_NAME} characters, and no # "
                "in front"
            )
            raise StoreError(message)
        if is_tasted(connection, session):
            message = f"session {session} was tasted already: give this one a name with --session"
            raise StoreError(message)


def _waiting(
    samples: pl.DataFrame, on: date, config: Config, say: Callable[[str], None]
) -> pl.DataFrame:
    """Return what was pulled and not tasted; what the week counts as missed is counted here too."""
    days = config.panel.taste_within_days + config.pulls.missed_after_days
    waiting = samples.filter(
        ~pl.col("tasted"), pl.col("pulled_on") <= on, pl.col("role").is_in(_TASTED_ROLES)
    )
    missed = (pl.col("role") == "aged") & (pl.col("pulled_on") < on - timedelta(days))
    number = waiting.filter(missed).height
    if number:
        say(
            f"left out, because pulled more than {days} days ago: {number} "
            f"sample{'' if number == 1 else 's'}; --sample takes them in all the same"
        )
    return waiting.filter(~missed)


def _named(samples: pl.DataFrame, named: Sequence[str], on: date) -> pl.DataFrame:
    known = samples["sample"].to_list()
    for sample in named:
        if sample not in known:
            message = f"there is no sample {sample}{did_you_mean(sample, known)}"
            raise StoreError(message)
    chosen = samples.filter(pl.col("sample").is_in(list(named)))
    ahead = chosen.filter(pl.col("pulled_on") > on)["sample"].to_list()
    if ahead:
        message = f"not pulled yet on {on}: {listed(ahead)}; name a later day with --on"
        raise StoreError(message)
    return chosen


def _tasters(connection: duckdb.DuckDBPyConnection, wanted: Wanted, on: date) -> tuple[str, ...]:
    if wanted.seats is not None:
        return ("",) * wanted.seats
    known = known_assessors(connection)
    for name in wanted.assessors:
        if known and name not in known:
            hint = did_you_mean(name, known) or "; enter new ones in the table assessors first"
            message = f"there is no assessor {name}{hint}"
            raise StoreError(message)
    tasters = sorted(set(wanted.assessors)) or panel_there(connection, on)
    if not tasters:
        message = (
            "nobody is known to be on the shelf-life panel: name tasters with --assessor, or say "
            "how many there are with --seats"
        )
        raise StoreError(message)
    return tuple(tasters)
