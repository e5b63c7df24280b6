"""The table of dates at the end of a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipelines.flows.dates import dates_table
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

RUN = """
    INSERT INTO results.runs BY NAME
    SELECT 1 AS run_id, TIMESTAMP '2026-04-01' AS started_at, TIMESTAMP '2026-04-01' AS finished_at,
           '0' AS code_version, 1 AS seed, '{}' AS settings, 'Quillmoor' AS brewery,
           '?' AS question, 0.25 AS share_rejected, 0.9 AS confidence, 'week' AS rounding,
           'estimated' AS outcome, 9 AS verdicts, 3 AS rejected, 1 AS lots, 1 AS assessors
"""
DATES = """
    INSERT INTO results.dates BY NAME
    SELECT 1 AS run_id, 'pale ale' AS style, format, route, 0.25 AS share_rejected,
           0.9 AS confidence, middle AS shelf_life_days, lower AS shelf_life_days_lower,
           upper AS shelf_life_days_upper, days AS best_before_days, cause AS binding_cause, basis,
           1 AS beers, 1 AS lots, 9 AS verdicts, 3 AS rejected, reason
    FROM (VALUES
        ('can 330', 'shop', 62.4, 45.9, 83.2, 42, 'flavour', 'fitted', NULL),
        ('can 330', 'ship', 50.0, 40.0, 60.0, NULL, 'route', 'fitted', 'too long under way'),
        ('keg 30', 'shop', 300.0, 200.0, NULL, 133, 'oldest tasted', 'borrowed', NULL),
        ('keg 20', 'shop', NULL, NULL, NULL, NULL, NULL, 'none', 'nobody tasted it')
    ) AS given(format, route, middle, lower, upper, days, cause, basis, reason)
"""


def test_every_date_stands_with_its_temperature_and_its_basis_in_words(brewery: Config) -> None:
    """Bounds are rounded outwards, an unbounded one says so, and no date has its reason."""
    ingest(brewery, [].append)
    with open_store(brewery.paths.database) as connection:
        connection.execute(RUN)
        connection.execute(DATES)
    lines = [" ".join(line.split()) for line in dates_table(brewery.paths.database)]
    assert lines[0] == "Style Format Kept as Best before, days Shelf life, days Rests on"
    lent = "lent by other formats: treat as a trial; no older beer tasted"
    assert lines[2:] == [
        "pale ale can 330 ship none 50 (40 to 60) not fit for this route",
        "pale ale can 330 shop, 19 °C 42 62 (45 to 84) its own tastings",
        "pale ale keg 20 shop, 19 °C none nobody tasted it",
        f"pale ale keg 30 shop, 19 °C 133 300 (200 to no bound) {lent}",
    ]


def test_without_dates_it_says_what_is_missing(brewery: Config) -> None:
    """A store with loads and no run has no table."""
    ingest(brewery, [].append)
    lines = dates_table(brewery.paths.database)
    assert lines == ["No dates yet: no beer with a format, a lot and a route has come in."]
