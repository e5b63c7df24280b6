"""Record what a review agreed on, and what became of it; say what is open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import polars as pl

from analysis.cases.quarter import quarter_named, quarter_of
from dashboards.words import NBSP, day
from pipelines.errors import AnswerError
from pipelines.flows.lock import writers_lock
from pipelines.flows.week import day_of_brewery
from pipelines.store.connect import need_store, open_store
from pipelines.store.insert import next_number
from pipelines.store.migrate import migrate
from pipelines.store.reviews import all_actions, record_entry

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipelines.config import Config

Cells = dict[str, Any]

_STATES = {"agreed": "not done", "done": "done", "dropped": "dropped"}


@dataclass(frozen=True)
class Word:
    """What somebody says of an action: that it was agreed on, is done, or is dropped.

    Attributes:
        quarter: The quarter whose review agreed on it; None for a word about an older one.
        what: What is to be done; None likewise.
        who: Who is to do it; empty where nobody was named.
        due_on: By when.
        done: The number of an action that is done.
        dropped: The number of an action that is dropped.
        because: What was found, or why it was dropped.
        by: Who records it.
    """

    quarter: str | None
    what: str | None
    who: str
    due_on: date | None
    done: int | None
    dropped: int | None
    because: str
    by: str


def record_action(word: Word, config: Config, say: Callable[[str], None]) -> None:
    """Keep an entry about an action.

    Raises:
        AnswerError: Something is missing, the quarter is none or lies ahead, or there is no such
            action, or it is done or dropped already.
        StoreError: There is no store, or it cannot be written.
    """
    _check(word, config)
    need_store(config.paths.database)
    with (
        writers_lock(config.paths.database, "action"),
        open_store(config.paths.database) as connection,
    ):
        migrate(connection)
        actions = all_actions(connection)
        entry = _agreed(word, actions) if word.what is not None else _ended(word, actions)
        entry |= {
            "entry_id": next_number(connection, "actions", "entry_id"),
            "because": _clean(word.because) or None,
            "recorded_at": datetime.now(ZoneInfo(config.brewery.timezone)).replace(
                tzinfo=None, microsecond=0
            ),
            "recorded_by": _clean(word.by),
        }
        kinds = {"due_on": pl.Date, "who": pl.String, "because": pl.String}
        record_entry(connection, pl.DataFrame([entry], schema_overrides=kinds))
        (kept,) = (
            row
            for row in all_actions(connection).rows(named=True)
            if row["action_id"] == entry["action_id"]
        )
    say(_line(kept))


def list_actions(quarter: str | None, config: Config, say: Callable[[str], None]) -> None:
    """Say every action in a line, those of one quarter or all, the newest quarter first.

    Raises:
        AnswerError: The name is no quarter.
        StoreError: There is no store.
    """
    wanted = None if quarter is None else _named(quarter, config)
    need_store(config.paths.database)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        actions = all_actions(connection)
    if wanted is not None:
        actions = actions.filter(pl.col("quarter") == wanted)
    if actions.is_empty():
        of = f" for {wanted}" if wanted else ""
        say(f'No action is recorded{of}: stalecurve action QUARTER "…" --by NAME records one.')
    for row in actions.rows(named=True):
        say(_line(row))


def _check(word: Word, config: Config) -> None:
    given = [value is not None for value in (word.what, word.done, word.dropped)]
    fault = ""
    if sum(given) != 1:
        fault = "one word at a time: a new action, --done N or --dropped N"
    elif word.what is not None and not _clean(word.what):
        fault = 'an action says what is to be done: stalecurve action QUARTER "…" --by NAME'
    elif not _clean(word.by):
        fault = "who records it? Name them with --by NAME"
    elif word.dropped is not None and not _clean(word.because):
        fault = "an action is dropped for a reason: --because REASON"
    if fault:
        raise AnswerError(fault)
    if word.what is not None:
        _named(word.quarter or "", config)


def _named(name: str, config: Config) -> str:
    quarter = quarter_named(name)
    today = config.as_of or day_of_brewery(config)
    if quarter is None:
        message = (
            f"{name!r} is no quarter: expected a year and Q1 to Q4, such as {quarter_of(today)}"
        )
        raise AnswerError(message)
    if quarter.first > today:
        message = f"{quarter} has not begun: no review of it can have agreed on anything"
        raise AnswerError(message)
    return str(quarter)


def _agreed(word: Word, actions: pl.DataFrame) -> Cells:
    return {
        "action_id": (actions["action_id"].max() or 0) + 1,  # type: ignore[operator]
        "quarter": str(quarter_named(word.quarter or "")),
        "state": "agreed",
        "what": _clean(word.what or ""),
        "who": _clean(word.who) or None,
        "due_on": word.due_on,
    }


def _ended(word: Word, actions: pl.DataFrame) -> Cells:
    number = word.done if word.done is not None else word.dropped
    found = actions.filter(pl.col("action_id") == number)
    if found.is_empty():
        known = actions["action_id"].sort().to_list()
        there = f"there are 1 to {known[-1]}" if known else "none is recorded yet"
        message = f"there is no action {number}: {there}"
        raise AnswerError(message)
    row = found.row(0, named=True)
    state = "done" if word.done is not None else "dropped"
    if row["state"] == state:
        message = f"action {number} is {state} already, since {_day(row['recorded_at'])}"
        raise AnswerError(message)
    return {
        **{name: row[name] for name in ("action_id", "quarter", "what", "who", "due_on")},
        "state": state,
    }


def _line(row: Cells) -> str:
    who = f", {row['who']}" if row["who"] else ""
    due = f", due on {_day(row['due_on'])}" if row["due_on"] else ""
    state = _STATES[row["state"]]
    if row["state"] != "agreed":
        state += f", {_day(row['recorded_at'])}, by {row['recorded_by']}"
    because = f"; {row['because']}" if row["because"] else ""
    return f"action {row['action_id']}, {row['quarter']}: {row['what']}{who}{due}: {state}{because}"


def _clean(text: str) -> str:
    """Take out what a terminal or a page would act on, and join lines."""
    kept = "".join(sign for sign in text if sign.isprintable() or sign.isspace())
    return " ".join(kept.split())


def _day(value: date) -> str:
    return day(value).replace(NBSP, " ")
