"""A store that any older version left, with rows in all of its tables, comes to today's shape."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from hashlib import sha256
from typing import TYPE_CHECKING

import duckdb
import pytest

from pipelines.errors import StoreError
from pipelines.store.backup import export_tables, rebuild
from pipelines.store.manifest import Manifest, kept
from pipelines.store.migrate import SCHEMA, migrate, recorded_migrations, refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

MIGRATIONS = sorted(path.name for path in SCHEMA.glob("[0-9]*.sql"))
# Stores were made with these; what they say is never edited, not even a comment.
RELEASED = {
    "0001_intake.sql": "5f4b732c08ba",
    "0002_results.sql": "a42cfc09e249",
    "0003_filling.sql": "ae6c88629973",
    "0004_panel.sql": "54f71f79ec90",
    "0005_trade.sql": "b6a767167392",
    "0006_attention.sql": "3d58b976eea1",
    "0007_depth.sql": "abcc156734d3",
    "0008_corrections.sql": "bf9154906906",
    "0009_this_week.sql": "daa494562b6e",
    "0010_settled_by.sql": "78f076d6524f",
    "0011_no_digests.sql": "1f00a3b8d1c7",
    "0012_bounds.sql": "0a04ab549faa",
    "0013_charts.sql": "69491685b668",
    "0014_sources.sql": "70e7d71a546c",
    "0015_meters.sql": "4a8251b36999",
    "0016_formats.sql": "53767e4e0e69",
    "0017_lots.sql": "8a365b4d9a3d",
    "0018_panel.sql": "463b7c5b1a89",
    "0019_assessors.sql": "2fe96e6d1859",
    "0020_panel_scores.sql": "7551b4a904ce",
    "0021_differences.sql": "50e2677461ae",
    "0022_sessions.sql": "0ffbc8ac3d2e",
    "0023_policy.sql": "0073422f4a15",
    "0024_decisions.sql": "cd476eaa2694",
    "0025_new_format.sql": "61b653ebb7ab",
    "0026_routes.sql": "65ffd84c4ea0",
}
Rows = dict[str, list[dict[str, object]]]
TAKEN_AWAY = {"values_hash"}  # worked out where it is needed, since 0011


@pytest.fixture(params=range(1, len(MIGRATIONS) + 1), ids=lambda count: MIGRATIONS[count - 1])
def older(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    fill: Callable[[duckdb.DuckDBPyConnection], None],
) -> duckdb.DuckDBPyConnection:
    """A store as it was when this migration was the newest, three rows in every table."""
    schema = tmp_path / "schema"
    schema.mkdir()
    for name in MIGRATIONS[: request.param]:
        shutil.copy(SCHEMA / name, schema / name)
    (schema / "published.sql").write_text("CREATE SCHEMA published;", encoding="utf-8")
    connection = duckdb.connect()
    migrate(connection, schema)
    fill(connection)
    return connection


def assert_kept(before: Rows, connection: duckdb.DuckDBPyConnection, after: Rows) -> None:
    """Hold every old value against the new store, and open every view of it."""
    for table, old in before.items():
        kept_columns = set(old[0]) - TAKEN_AWAY
        assert [{name: row[name] for name in kept_columns} for row in old] == [
            {name: row[name] for name in kept_columns} for row in after[table]
        ], table
    assert recorded_migrations(connection).keys() == {path.name for path in SCHEMA.iterdir()}
    views = connection.sql(
        "SELECT schema_name || '.' || view_name FROM duckdb_views() WHERE NOT internal"
    ).fetchall()
    assert views
    for (view,) in views:
        connection.sql(f"FROM {view}").fetchall()


def test_an_older_store_and_its_backup_come_to_the_same(
    older: duckdb.DuckDBPyConnection,
    tmp_path: Path,
    held: Callable[[duckdb.DuckDBPyConnection], Rows],
) -> None:
    """Every row is there and every view opens, after migrating and after restoring alike."""
    backup = tmp_path / "backup [1]"
    backup.mkdir()
    rows = export_tables(older, backup)
    manifest = Manifest(
        "Quillmoor",
        datetime(2026, 4, 7, tzinfo=UTC),
        "0.0.1",
        recorded_migrations(older),
        {name: kept(backup / name, count) for name, count in rows.items()},
    )
    before = held(older)
    assert all(len(rows) == 3 for rows in before.values())
    restored = duckdb.connect()
    rebuild(restored, backup, manifest)
    migrate(older)
    assert_kept(before, older, held(older))
    assert held(restored) == held(older)
    assert recorded_migrations(restored) == recorded_migrations(older)
    applied = "SELECT name, applied_at FROM intake.migrations WHERE list_contains($names, name)"
    names = {"names": sorted(name for name in manifest.migrations if name[0].isdigit())}
    times = older.sql(applied, params=names).fetchall()
    assert restored.sql(applied, params=names).fetchall() == times


def test_what_stores_were_made_with_stays_as_it_was() -> None:
    """Every released migration is the file that older stores have the checksum of."""
    checksums = {
        name: sha256((SCHEMA / name).read_bytes().replace(b"\r\n", b"\n")).hexdigest()[:12]
        for name in RELEASED
    }
    assert checksums == RELEASED


def test_only_a_store_of_todays_shape_is_read(tmp_path: Path) -> None:
    """What only reads does not migrate: of an older store it says what to do."""
    shutil.copy(SCHEMA / MIGRATIONS[0], tmp_path / MIGRATIONS[0])
    (tmp_path / "published.sql").write_text("CREATE SCHEMA published;", encoding="utf-8")
    connection = duckdb.connect()
    migrate(connection, tmp_path)
    with pytest.raises(StoreError, match="older stalecurve: run stalecurve load first"):
        refuse_other_shapes(connection)
    migrate(connection)
    refuse_other_shapes(connection)
