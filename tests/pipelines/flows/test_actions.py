"""What a review agreed on, and what became of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from pipelines.errors import AnswerError, StoreError
from pipelines.flows.actions import Word, list_actions, record_action

if TYPE_CHECKING:
    from conftest import Desk

    from pipelines.config import Config

AGREED = Word("2026-Q1", "Mend head 3", "line lead", date(2026, 5, 4), None, None, "", "Ada Quill")
DONE = Word(None, None, "", None, 1, None, "it leaked", "Bo Hale")


def told(word: Word, config: Config) -> str:
    """Record a word, and return the line that was said."""
    said: list[str] = []
    record_action(word, config, said.append)
    (line,) = said
    return line


def listed(quarter: str | None, config: Config) -> list[str]:
    """List the actions."""
    said: list[str] = []
    list_actions(quarter, config, said.append)
    return said


def test_an_action_is_agreed_on_done_and_never_overwritten(desk: Desk) -> None:
    """Each word about it is an entry of its own; the list shows what was last said."""
    config = desk.config
    assert listed(None, config)[0].startswith("No action is recorded: stalecurve action QUARTER")
    agreed = "action 1, 2026-Q1: Mend head 3, line lead, due on 4 May 2026: "
    assert told(AGREED, config) == f"{agreed}not done"
    assert told(replace(AGREED, what="Taste again", who="", due_on=None), config) == (
        "action 2, 2026-Q1: Taste again: not done"
    )
    assert told(DONE, config).startswith(f"{agreed}done, ")
    assert listed("2026q1", config)[0].endswith(", by Bo Hale; it leaked")
    assert listed("2025-Q4", config) == [
        'No action is recorded for 2025-Q4: stalecurve action QUARTER "…" --by NAME records one.'
    ]
    told(Word(None, None, "", None, None, 2, "no beer left", "Ada"), config)
    assert desk.ask("SELECT action_id, state FROM records.actions ORDER BY entry_id") == [
        (1, "agreed"),
        (2, "agreed"),
        (1, "done"),
        (2, "dropped"),
    ]


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        (replace(AGREED, by=" "), "who records it"),
        (replace(AGREED, what="\u202e \x1b"), "an action says what is to be done"),
        (replace(AGREED, done=1), "one word at a time"),
        (replace(AGREED, quarter="Q1"), "'Q1' is no quarter"),
        (replace(AGREED, quarter=None), "'' is no quarter"),
        (replace(AGREED, quarter="2998-Q1"), "2998-Q1 has not begun"),
        (DONE, "there is no action 1: none is recorded yet"),
        (replace(DONE, done=None, dropped=1, because=""), "dropped for a reason: --because"),
    ],
)
def test_what_is_missing_is_said(desk: Desk, word: Word, fault: str) -> None:
    """In one sentence, and nothing is kept."""
    with pytest.raises(AnswerError, match=fault):
        record_action(word, desk.config, [].append)
    assert desk.ask("SELECT count(*) FROM records.actions") == [(0,)]


def test_what_is_done_is_not_done_again(desk: Desk) -> None:
    """It says since when; what was dropped may be done all the same."""
    told(AGREED, desk.config)
    told(replace(DONE, done=None, dropped=1), desk.config)
    assert ": done, " in told(DONE, desk.config)
    with pytest.raises(AnswerError, match="action 1 is done already, since "):
        told(DONE, desk.config)


def test_no_text_acts_on_the_terminal(desk: Desk) -> None:
    """Signs that would move the cursor, colour or turn the line are left out; lines are joined."""
    line = told(replace(AGREED, what="Mend\nhead \x1b[31m3\u202e", because="\x07"), desk.config)
    assert line.startswith("action 1, 2026-Q1: Mend head [31m3, line lead")


def test_actions_need_a_store(brewery: Config) -> None:
    """Before the first load there is nothing that a review could have been of."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        record_action(AGREED, brewery, [].append)
