"""Sessions to doubt, and why."""

from __future__ import annotations

import datetime as dt
from itertools import product

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.panel.sessions import at_least, session_report

DAY = dt.date(2026, 4, 7)
GLASS = {
    "sample": "F1",
    "code": "417",
    "rejected": False,
    "role": "fresh",
    "beer": "Fen Pale",
    "format": "can 330",
    "lot": "001",
    "storage_temp_c": 4.0,
    "pulled_on": DAY,
    "age_days": 20,
    "waited_days": 0,
}


def table(*glasses: dict[str, object]) -> pl.DataFrame:
    """Lay glasses out that differ from a usual one as said."""
    return pl.DataFrame([{**GLASS, "tasted_on": DAY, **glass} for glass in glasses])


def control(session: str, tasters: int, rejected: int, **other: object) -> list[dict[str, object]]:
    """Pour a blind fresh control to so many, of whom so many reject it."""
    return [
        {"session": session, "assessor": f"A{i:02d}", "rejected": i < rejected, **other}
        for i in range(tasters)
    ]


def report(*glasses: dict[str, object]) -> pl.DataFrame:
    """Report the sessions of these glasses."""
    return session_report(table(*glasses), within_days=14)["panel_sessions"]


def usual(sessions: int = 20) -> list[dict[str, object]]:
    """Sessions in which one of ten rejects the fresh control, each of them in turn."""
    return [
        {"session": f"U{s:02d}", "assessor": f"A{a:02d}", "rejected": a == s % 10}
        for s, a in product(range(sessions), range(10))
    ]


@pytest.mark.parametrize(
    ("tasters", "rejected", "failed"),
    [
        (3, 1, False),
        (3, 2, False),
        (3, 3, True),
        (4, 2, False),
        (5, 3, True),
        (8, 3, False),
        (8, 4, True),
        (9, 4, True),
        (10, 4, False),
        (10, 5, True),
    ],
)
def test_a_control_fails_where_false_alarms_do_not_explain_it(
    tasters: int, rejected: int, *, failed: bool
) -> None:
    """At one false alarm in ten: 4 of 10 come up once in 78 sessions, 4 of 9 once in 120."""
    found = report(*usual(), *control("S", tasters, rejected)).filter(session="S").to_dicts()[0]
    assert (found["fresh_tasted"], found["fresh_rejected"]) == (tasters, rejected)
    assert found["fresh_expected"] == pytest.approx(tasters / 10, abs=0.02)
    assert found["fresh_chance"] == pytest.approx(
        stats.binom.sf(rejected - 1, tasters, 0.1), rel=0.15
    )
    assert found["fresh_failed"] is failed


def test_a_taster_who_guesses_fails_no_control() -> None:
    """What two tasters do everywhere says nothing of one session."""
    guessing = [
        {"session": f"U{s:02d}", "assessor": f"A{a:02d}", "rejected": a < 2 and s % 2 == 0}
        for s, a in product(range(40), range(6))
    ]
    steady = control("S", 6, 3)
    found = report(*guessing, *steady).filter(session="S").to_dicts()[0]
    assert found["fresh_expected"] == pytest.approx(1.0, abs=0.15)
    assert not found["fresh_failed"]


def test_sessions_that_failed_do_not_hide_each_other() -> None:
    """Three bad controls of eight sessions are found although they are much of what is known."""
    bad = [glass for s in "XYZ" for glass in control(s, 8, 6)]
    few = [glass for s in "ABCDE" for glass in control(s, 8, 1)]
    assert report(*bad, *few).filter("fresh_failed")["session"].to_list() == ["X", "Y", "Z"]


@pytest.mark.parametrize(
    ("known", "suspect"),
    [
        ({"storage_temp_c": 20.0, "age_days": 90}, "kept warm"),
        ({"age_days": 61}, "old"),
        ({"age_days": 50, "waited_days": 11}, "old"),
        ({"age_days": 20, "waited_days": 15}, "waited"),
        ({"age_days": 46, "waited_days": 14}, "the panel that day"),
    ],
)
def test_the_sample_is_suspected_before_the_panel(known: dict[str, object], suspect: str) -> None:
    """Warm, older than 60 days when tasted, longer than 14 days from its pull: else the panel."""
    found = report(*usual(), *control("S", 8, 6, **known)).filter(session="S")
    assert found["suspect"].to_list() == [suspect]
    assert report(*usual(), *control("S", 8, 1, **known))["suspect"].null_count() == 21


def test_what_a_session_lacks_is_told() -> None:
    """No blind fresh beer, three tasters, seven glasses for one of them."""
    aged = {"role": "aged", "rejected": True}
    lacking = [
        {"session": "S", "assessor": f"A{a}", "sample": f"P{g}", **aged}
        for a, g in product(range(3), range(7))
    ]
    found = report(*usual(1), *lacking).sort("session")
    flags = ("no_fresh", "few_assessors", "many_glasses")
    assert found.select(flags).rows() == [(True, True, True), (False, False, False)]
    assert found.filter(session="S").select("fresh_tasted", "fresh_chance").row(0) == (0, None)


def test_an_unsure_taster_has_had_the_control() -> None:
    """The control was there, and says neither way."""
    found = report(*({**glass, "rejected": None} for glass in control("S", 4, 0)))
    assert found.select("no_fresh", "fresh_tasted", "fresh_failed").row(0) == (False, 0, False)


def test_samples_that_waited_are_listed_once() -> None:
    """More days than allowed between pull and tasting, of what was tasted for its age."""
    waiting = [
        {"session": "S", "assessor": a, "sample": s, "role": role, "waited_days": days}
        for a in ("A1", "A2")
        for s, role, days in (
            ("P1", "aged", 15),
            ("P2", "aged", 14),
            ("F1", "fresh", 20),
            ("R1", "returned", 90),
        )
    ]
    waited = session_report(table(*waiting), within_days=14)["waited_samples"]
    assert waited.select("sample", "waited_days").rows() == [("F1", 20), ("P1", 15)]


def test_no_glass_is_no_session() -> None:
    """A brewery without tastings has empty tables of the same shape."""
    full, none = table(*usual(1)), table(*usual(1)).head(0)
    for name, frame in session_report(none, within_days=14).items():
        assert frame.is_empty()
        assert frame.schema == session_report(full, within_days=14)[name].schema


def test_the_chance_of_so_many_is_exact() -> None:
    """Identity: alike chances are binomial; unlike ones as written out by hand."""
    alike = [at_least(r, np.full(9, 0.1)) for r in range(10)]
    assert alike == pytest.approx(stats.binom.sf(np.arange(-1, 9), 9, 0.1))
    assert at_least(1, np.array([0.2, 0.5])) == pytest.approx(1 - 0.8 * 0.5)
    assert at_least(2, np.array([0.2, 0.5])) == pytest.approx(0.2 * 0.5)


def test_simulated_sound_sessions_are_seldom_doubted() -> None:
    """Of 20 years with 140 sessions, not one sound session a year; bad controls are found."""
    rng = np.random.default_rng(5)
    doubted, found = 0, 0
    for _ in range(20):
        alarms = np.append(rng.uniform(0.05, 0.12, 11), 0.34)
        there = rng.uniform(size=(140, 12)) < 0.7
        chance = np.broadcast_to(alarms, (140, 12)).copy()
        chance[:3] = 0.7
        rejects = rng.uniform(size=(140, 12)) < chance
        session, assessor = np.nonzero(there)
        glasses = [
            {"session": f"S{s:03d}", "assessor": f"A{a:02d}", "rejected": bool(rejects[s, a])}
            for s, a in zip(session, assessor, strict=True)
        ]
        failed = report(*glasses).filter("fresh_failed")["session"].to_list()
        found += len({"S000", "S001", "S002"} & set(failed))
        doubted += len(set(failed) - {"S000", "S001", "S002"})
    assert doubted <= 20
    assert found >= 0.9 * 60
