"""Complaints and their rates, from files to what the pages may read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from dashboards.pages import back_test_field, complaints
from dashboards.results import read_results
from dashboards.words import NBSP
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import prepare, publish
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

TODAY = date(2026, 6, 30)
NAME = "Quentin Harcastle"
FILES = {
    "shipments.csv": (
        "shipment,lot,shipped_on,packages,route,customer\n"
        "W1,001,2026-01-20,50000,shop,Corner Shop\nW2,001,2026-02-01,50000,shop,Mill\n"
    ),
    "complaints.csv": (
        "complaint,received_on,category,lot,outlet,finding,note\n"
        f"K1,2026-03-01,stale,001,Corner Shop,,told by {NAME}\n"
        f"K2,2026-04-01,flat;stale,,mill,as {NAME} says,\n"
        f"K3,2026-04-02,stale,001,corner shop,,{NAME} felt sick after it\n"
        "K4,2026-04-03,gushing,001,Mill,,\n"
        "K5,2025-04-03,stale,001,Mill,,\n"
        "K6,2026-07-03,stale,001,Mill,,\n"
    ),
}


def put(config: Config, *names: str) -> Config:
    """Put these files into the inbox, take it in, and set the day."""
    for name in names:
        (config.paths.inbox / name).write_text(FILES[name], encoding="utf-8")
    ingest(config, [].append)
    return replace(config, as_of=TODAY)


def published(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask what the pages may read."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_publishing_counts_the_complaints_as_of_its_day(brewery: Config) -> None:
    """Those of twelve months and by the day; safety by category and by words in the note, apart."""
    config = put(brewery, *FILES)
    prepare(config, [].append)
    assert published(
        config, "SELECT since, today, complaints, taste, safety FROM published.field_summary"
    ) == [(date(2025, 6, 1), TODAY, 4, 2, 2)]
    assert published(config, "SELECT complaint, safety, lot FROM published.field_complaints") == [
        ("K4", True, "001"),
        ("K3", True, "001"),
        ("K2", False, None),
        ("K1", False, "001"),
    ]
    rates = "SELECT name, taste, round(expected, 3), verdict FROM published.field_rates"
    assert published(config, f'{rates} WHERE "grouping" = $$outlet$$') == [
        ("Corner Shop", 1, 1.0, "as expected"),
        ("Mill", 1, 1.0, "as expected"),
    ]
    assert published(config, f'{rates} WHERE "grouping" = $$lot$$') == [
        ("001", 1, 1.0, "as expected")
    ]


def test_a_run_lends_its_shares_to_what_is_expected(brewery: Config) -> None:
    """Before the first run nothing is compared with the fit, after it complaints on lots are."""
    config = put(brewery, *FILES)
    prepare(config, [].append)
    compared = "SELECT compared, with_age IS NOT NULL FROM published.field_summary"
    assert published(config, compared) == [(0, False)]
    fit(config, [].append)
    prepare(config, [].append)
    assert published(config, compared) == [(1, True)]
    checks = 'SELECT "grouping", name, complaints FROM published.field_checks'
    assert ("style", "pale ale", 1) in published(config, checks)


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ((), "No complaint since 1 Jun 2025."),
        (("shipments.csv",), "No complaint since 1 Jun 2025."),
        (("complaints.csv",), "Without shipments nobody can say how many packages were drunk"),
    ],
)
def test_what_is_missing_is_said(brewery: Config, files: tuple[str, ...], said: str) -> None:
    """No complaints, no shipments, neither: the page names the table that fills it."""
    config = put(brewery, *files)
    prepare(config, [].append)
    results = read_results(config.paths.database)
    lead = complaints.page(results).context["lead"].replace(NBSP, " ")
    assert said in lead
    missing = {"shipments.csv": "table shipments", "complaints.csv": "table complaints"}
    for name, table in missing.items():
        assert (name in files) != (table in lead)
    assert "The tables complaints and shipments fill this." in back_test_field.sentence(results)


def test_no_note_and_no_finding_leaves_the_store(brewery: Config) -> None:
    """They may hold names: neither stands on a page, in a file, or where pages could read it.

    The same store gives the same files, and the lists take the place of the last ones.
    """
    config = put(brewery, *FILES)
    publish(config, [].append)
    files = sorted(config.paths.pages.rglob("*complaints*"))
    before = [path.read_bytes() for path in files]
    publish(config, [].append)
    assert [path.read_bytes() for path in files] == before
    assert len(files) == 7
    written = [path for path in config.paths.pages.rglob("*") if path.is_file()]
    assert len(written) > 40
    for path in written:
        assert b"Harcastle" not in path.read_bytes(), path.name
    for view in ("summary", "complaints", "kinds", "rates", "looks", "checks"):
        rows = published(config, f"FROM published.field_{view}")
        assert rows or view == "checks"
        assert "Harcastle" not in repr(rows)
