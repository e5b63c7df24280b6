"""The part of the panel's page on its sessions and the order of the glasses."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards.page import Page, environment, frame
from dashboards.pages import panel_sessions
from dashboards.results import Results, read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture
def results(store: Path) -> Results:
    """What the store with one good run publishes."""
    return read_results(store)


def shown(results: Results) -> str:
    """Draw the part within the frame of a page; give its HTML."""
    templates = environment()
    templates.globals.update(frame=frame(results))
    page = Page("panel.html", "Panel", "", {}, panel_sessions.tables(results))
    parts = ("panel_sessions.html", "panel_sessions_statistics.html")
    included = "".join(f"{{% include '{part}' %}}" for part in parts)
    whole = f"{{% extends 'frame.html' %}}{{% block content %}}{included}{{% endblock %}}"
    return templates.from_string(whole).render(
        page=page, panel_sessions=panel_sessions.context(results)
    )


def text(results: Results) -> str:
    """Give the words of the part with common spaces."""
    words = re.sub(r"<[^>]+>", " ", shown(results)).replace("&nbsp;", " ")
    return re.sub(r"\s+", " ", words.replace("\N{NO-BREAK SPACE}", " "))


def lead(results: Results, which: str = "lead") -> str:
    """Give a sentence of the part with common spaces."""
    return str(panel_sessions.context(results)[which]).replace("\N{NO-BREAK SPACE}", " ")


def test_the_sentence_names_the_failed_control_and_what_to_suspect(results: Results) -> None:
    """How many of how many, how many would be usual, and the sample before the panel."""
    assert lead(results) == (
        "The control failed in one of 2 sessions with a blind fresh control since 5 Mar 2026: "
        "session S-2026-12 (19 Mar 2026), where 5 of 8 rejected the fresh beer and 0.8 would be "
        "usual."
    )
    assert "Suspect the sample first: it was 84 days old, kept at 4 °C." in text(results)


@pytest.mark.parametrize(
    ("suspect", "said"),
    [
        ("kept warm", "it was kept at 4 °C, which is not cold."),
        ("waited", "it waited 2 days after its pull from 4 °C."),
        (
            "the panel that day",
            "and if it is sound, look at what the panel had that day.",
        ),
    ],
)
def test_each_cause_has_its_sentence(results: Results, suspect: str, said: str) -> None:
    """With the number that it rests on, and never without the temperature."""
    sessions = results.panel_sessions.with_columns(
        suspect=pl.when("fresh_failed").then(pl.lit(suspect))
    )
    assert said in text(replace(results, panel_sessions=sessions))


def test_sound_sessions_are_said_to_be(results: Results) -> None:
    """Where no control failed, and where none was served, the sentence says which."""
    sessions = results.panel_sessions
    sound = replace(results, panel_sessions=sessions.filter(~pl.col("fresh_failed")))
    assert lead(sound) == (
        "The control failed in none of 1 session with a blind fresh control since 5 Mar 2026."
    )
    bare = replace(results, panel_sessions=sessions.filter("no_fresh"))
    assert lead(bare).startswith("None of 1 session since 12 Mar 2026 had a blind fresh control")


def test_what_sessions_lacked_and_what_waited_is_listed(results: Results) -> None:
    """In words, with the storage temperature of what waited."""
    said = text(results)
    assert "a fresh control, a fourth taster and rest: more than six glasses tire" in said
    assert "P0311, aged Fennimore Pils, can 30 °C 5 Mar 2026 21" in said


def test_an_effect_of_the_order_is_said_with_its_bounds(results: Results) -> None:
    """What shows is said, what does not is in the table, what is too few says how few."""
    assert lead(results, "order_lead") == (
        "The first glass of a sitting is rejected 8 % more often (3 to 13 %) than the same beer "
        "later."
    )
    said = text(results)
    assert "rejections, % of glasses 8 (3 to 13) 640" in said
    assert "hop aroma, points – 44" in said
    assert "Too few to say (n = 44 glasses in 6 sessions)." in said


def test_no_effect_is_never_said_to_be_none(results: Results) -> None:
    """What may be there all the same is quoted; too few is said to be too few."""
    effects = results.order_effects
    quiet = replace(results, order_effects=effects.filter(pl.col("effect") != "first"))
    assert lead(quiet, "order_lead") == (
        "Neither place nor the glass before shows in the verdicts; what may be there all the same "
        "is at most 6 % of glasses."
    )
    few = effects.with_columns(
        estimate=None, reason=pl.lit("too few to say (n = 9 glasses in 2 sessions)")
    )
    assert lead(replace(results, order_effects=few), "order_lead") == (
        "Whether the order matters cannot be said: too few to say (n = 9 glasses in 2 sessions)."
    )


def test_an_empty_store_says_what_fills_it(make_store: Callable[..., Path]) -> None:
    """Neither sessions nor places yet."""
    said = text(read_results(make_store()))
    assert "No session yet: the tables samples and tastings fill this." in said
    assert "is not written down: the column position of the table tastings fills this" in said


def test_words_before_the_fold_are_a_brewers(results: Results) -> None:
    """No statistician's word stands in the part itself, and no name anywhere."""
    said = text(results).partition("A fresh control failed where")[0]
    assert not re.search(r"signific|p-value|model|regression|interval", said)


def test_hostile_names_are_shown_and_never_run(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Markup in a session's name, a beer and an attribute."""
    markup = "<img src=x onerror=alert(1)>"
    made = make_store(
        brewery,
        f"UPDATE results.panel_sessions SET session = '{markup}' WHERE fresh_failed",
        f"UPDATE results.waited_samples SET beer = '{markup}'",
        f"UPDATE results.order_effects SET outcome = '{markup}' WHERE outcome = 'hop_aroma'",
    )
    html = shown(read_results(made))
    assert "<img" not in html
    assert html.count("&lt;img") >= 3
