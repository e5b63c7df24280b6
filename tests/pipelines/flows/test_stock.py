"""The stock, from files to what the pages may read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

TODAY = date(2026, 2, 10)
CUSTOMERS = """
[customers."Corner Shop"]
minimum_days = 30
[customers.Corner]
minimum_share = 0.5
"""
FILES = {
    "lots stock.csv": (
        "lot,format,beer,packaged_on,best_before,packages\n"
        "002,can 330,Fen Pale,2026-01-20,2026-04-20,100\n"
        "003,can 330,Fen Pale,2025-09-01,2025-12-30,50\n"
    ),
    "shipments.csv": (
        "shipment,lot,shipped_on,packages,route,customer\n"
        "W1,002,2026-02-01,60,shop,Corner Shop\nW2,002,2026-02-20,60,shop,Corner Shop\n"
        "W3,001,2026-02-01,5,,\n"
    ),
    "temperature_log.csv": (
        "logger,read_at,temp_c,route\nT1,2026-02-03 10:00,30,shop\nT1,2026-02-03 11:00,32,shop\n"
    ),
}


@pytest.fixture
def stocked(brewery: Config) -> Config:
    """The small brewery with shipments, and two customers of whom one is misspelt."""
    for name, text in FILES.items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    file = brewery.folder / "stalecurve.toml"
    file.write_text(file.read_text(encoding="utf-8") + CUSTOMERS, encoding="utf-8")
    ingest(brewery, [].append)
    return replace(load_config(file), as_of=TODAY)


def published(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask what the pages may read."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_publishing_works_the_stock_out_as_of_its_day(stocked: Config) -> None:
    """In house, shipped by today, past its date; without a run by the printed date alone."""
    said: list[str] = []
    publish(stocked, said.append)
    columns = "lot, place, packages, printed, printed_days, flavour_days, customers"
    assert published(stocked, f"SELECT {columns} FROM published.stock") == [
        ("002", "in house", 40, True, 69, None, None),
        ("002", "shipped", 60, True, 69, None, "Corner Shop"),
        ("001", "in house", None, False, 329, None, None),
        ("001", "shipped", 5, False, 329, None, "customer not given"),
    ]
    assert published(stocked, "SELECT * FROM published.stock_summary") == [(TODAY, 1, 3, 2)]
    strangers = [line for line in said if "under customers" in line]
    assert len(strangers) == 1
    assert strangers[0].startswith(
        "the configuration names Corner under customers, but no shipment"
    )
    page = (stocked.paths.pages / "stock.html").read_text(encoding="utf-8")
    assert "The printed date stands. This ranks stock; it extends nothing." in page


def test_last_days_follow_the_configuration(stocked: Config) -> None:
    """Thirty days before the printed date, and half of ninety printed days."""
    publish(stocked, [].append)
    assert published(
        stocked, "SELECT lot, customer, last_on, days FROM published.stock_customers"
    ) == [
        ("002", "Corner", date(2026, 3, 6), 24),
        ("002", "Corner Shop", date(2026, 3, 21), 39),
    ]


def test_the_stock_of_another_day_takes_the_place_of_the_last_one(stocked: Config) -> None:
    """Nothing is kept of yesterday, and publishing twice is publishing once."""
    publish(stocked, [].append)
    once = published(stocked, "FROM published.stock")
    publish(stocked, [].append)
    assert published(stocked, "FROM published.stock") == once
    publish(replace(stocked, as_of=date(2026, 2, 21)), [].append)
    later = published(stocked, "SELECT lot, place, packages FROM published.stock")
    assert ("002", "in house", -20) in later


def test_a_brewery_without_shipments_and_customers_has_a_page(brewery: Config) -> None:
    """All that was packed is in house, of packages that nobody wrote down."""
    ingest(brewery, [].append)
    said: list[str] = []
    publish(replace(brewery, as_of=TODAY), said.append)
    assert published(brewery, "SELECT lot, packages FROM published.stock") == [("001", None)]
    assert [line for line in said if "customers" in line] == []


@pytest.fixture(scope="module")
def fitted(make_brewery: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Config:
    """An invented brewery of a dozen lots with a run."""
    config = load_config(make_brewery(tmp_path_factory.mktemp("stock") / "b", "Quillmoor", 5))
    ingest(config, [].append)
    fit(config, [].append)
    return config


def test_with_a_run_every_lot_has_its_flavour_left_within_the_printed_date(
    fitted: Config,
) -> None:
    """Least first, never beyond the printed date; a rerun keeps the draws of one run alone."""
    fit(fitted, [].append)
    ((newest,),) = published(fitted, "SELECT max(packaged_on) FROM core.lots")
    assert isinstance(newest, date)
    publish(replace(fitted, as_of=newest), [].append)
    rows = published(
        fitted,
        "SELECT days_left, flavour_days, middle_days, printed_days FROM published.stock",
    )
    left = [row[0] for row in rows]
    assert left == sorted(left)  # type: ignore[type-var]
    known = [row for row in rows if row[1] is not None]
    assert len(known) > 2
    assert all(row[0] == row[1] <= row[2] <= row[3] for row in known)  # type: ignore[operator]
    assert published(fitted, "SELECT DISTINCT run_id FROM results.dose_lives") == [(2,)]
