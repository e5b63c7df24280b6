"""Who is who: from the tables to the fit, the terminal and the panel leader's key."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.errors import StoreError
from pipelines.flows.assessors import key_lines
from pipelines.flows.fit import fit, gather
from pipelines.flows.forget import forget
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config
    from tests.pipelines.flows.conftest import Desk

WRITTEN = (
    "session,tasted_on,assessor,sample,verdict",
    "T2,2026-02-10,anna b,S1,accept",
    "T2,2026-02-10,A. Berg,S2,reject",
    "T2,2026-02-10,Jo Marsh,S2,reject",
    "T2,2026-02-10,jo  marsh,S1,accept",
)
PANEL = ("assessor,also_written", "Anna Berg,Anna B; A.Berg", "Jo Marsh,")


@pytest.fixture
def panel(desk: Desk) -> Desk:
    """The brewery with four ways of writing two people, two of which are settled."""
    desk.put("assessors.csv", *PANEL)
    desk.put("tastings-2.csv", *WRITTEN)
    desk.load()
    return desk


def test_what_also_written_settles_is_one_person_to_dates_and_panel(panel: Desk) -> None:
    """The tastings that a fit gets name the assessor of the table, and the run's rows too."""
    gathered = gather(panel.config, panel.said.append)
    names = gathered.tables["tastings"].filter(pl.col("session") == "T2")["assessor"].sort()
    assert names.to_list() == ["Anna Berg", "Anna Berg", "Jo Marsh", "jo  marsh"]
    fit(panel.config, panel.said.append)
    assert panel.ask("SELECT assessor, glasses FROM results.assessors ORDER BY assessor") == [
        ("A1", 2),
        ("Anna Berg", 2),
        ("Jo Marsh", 1),
        ("jo  marsh", 1),
    ]


def test_names_that_may_be_one_person_are_said_at_the_fit_and_kept_apart(panel: Desk) -> None:
    """With what to write where; nothing is joined until somebody does."""
    panel.said.clear()
    fit(panel.config, panel.said.append)
    assert (
        '"jo  marsh" and "Jo Marsh" may be one taster (they differ in capitals, spaces or signs '
        'alone): if so, write "jo  marsh" under also_written of "Jo Marsh" in the table '
        "assessors; until then they count as two"
    ) in panel.said
    assert panel.ask("SELECT why, pairs FROM published.alike_names") == [("case", 1)]


def test_the_key_names_everybody_by_code_with_what_was_found(panel: Desk) -> None:
    """Code, name and findings in a line each, in the order of the codes; not for the wall."""
    fit(panel.config, panel.said.append)
    key = key_lines(panel.config)
    assert key[0] == "The panel leader's key as of run 1: who goes by which code on the pages."
    assert key[1] == "For training, and not for the wall."
    codes = dict(panel.ask("SELECT assessor, code FROM results.assessor_codes"))
    people = key[2:6]
    assert people == sorted(people)
    assert (
        f"{codes['Anna Berg']}  Anna Berg: came to 1 of 1 sessions; false alarms: too few to say "
        "(n = 0); misses: too few to say (n = 0); agreement and drift: too few to say (n = 2)"
    ) in people
    assert any(": not in the table assessors; came to 1 of 1 sessions" in line for line in people)
    assert key[6].startswith('"jo  marsh" and "Jo Marsh" may be one taster')


def test_codes_last_from_run_to_run(panel: Desk) -> None:
    """Another fit gives nobody another code."""
    fit(panel.config, panel.said.append)
    asked = "SELECT * FROM results.assessor_codes ORDER BY ALL"
    before = panel.ask(asked)
    fit(panel.config, panel.said.append)
    assert panel.ask(asked) == before
    assert panel.ask("SELECT count(*) FROM published.assessors") == [(4,)]


def test_there_is_no_key_before_the_first_load_or_run(brewery: Config, desk: Desk) -> None:
    """Each is said with the command that comes first."""
    with pytest.raises(StoreError, match="no run yet, so no assessor has a code: run stalecurve"):
        key_lines(desk.config)
    desk.config.paths.database.unlink()
    with pytest.raises(StoreError, match="run stalecurve run first"):
        key_lines(brewery)


def test_a_brewery_without_tastings_has_a_key_that_says_so(desk: Desk) -> None:
    """Nobody is in the run once all that was tasted has been taken back."""
    forget("tastings.csv", desk.config, desk.said.append)
    fit(desk.config, desk.said.append)
    assert key_lines(desk.config) == ["run 1: nobody tasted yet; the table tastings fills this"]


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ("follows = true, drift = 'drifts', drift_a_year = 0.48", "drifts: finds more age than"),
        ("follows = true, drift = 'may drift', drift_a_year = -0.2", "may drift: finds less age"),
        ("follows = true, drift = 'none shows', drift_a_year = 0.1", "rest; no drift shows"),
        ("follows = true", "follows the rest; drift: too few to say"),
        ("follows = false", "would gain from a few sessions of fresh and aged side by side"),
        (
            "false_alarms = 0.083, false_alarms_lower = 0.033, false_alarms_upper = 0.167",
            "false alarms 0 of 0 (3 to 17 %)",
        ),
    ],
)
def test_every_finding_has_its_words(panel: Desk, found: str, said: str) -> None:
    """Who drifts, may drift, does not follow, or cannot be told about yet, in a plain line."""
    fit(panel.config, panel.said.append)
    with open_store(panel.config.paths.database) as connection:
        connection.execute(f"UPDATE results.assessors SET {found} WHERE assessor = 'Anna Berg'")
    (line,) = (line for line in key_lines(panel.config) if "Anna Berg: came" in line)
    assert said in line
