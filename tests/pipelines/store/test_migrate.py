"""A store is brought to the shape that the code knows, step by recorded step."""

from __future__ import annotations

import shutil
from pathlib import Path

import duckdb
import pytest

from pipelines.errors import StoreError
from pipelines.store.migrate import SCHEMA, migrate


@pytest.fixture
def schema(tmp_path: Path) -> Path:
    """Give a copy of the schema files that a test may change."""
    return Path(shutil.copytree(SCHEMA, tmp_path / "schema"))


def recorded(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """Give the recorded files with the time of their applying."""
    return dict(
        connection.sql("SELECT name, CAST(applied_at AS VARCHAR) FROM intake.migrations").fetchall()
    )


def test_the_numbers_have_no_gap() -> None:
    """Migrations are numbered 0001, 0002, … with each number once."""
    numbers = sorted(int(path.name[:4]) for path in SCHEMA.glob("[0-9]*.sql"))
    assert numbers == list(range(1, len(numbers) + 1))


def test_no_schema_file_is_over_400_lines() -> None:
    """A schema file can be read in one sitting."""
    lengths = {path.name: len(path.read_text("utf-8").splitlines()) for path in SCHEMA.iterdir()}
    assert {name: length for name, length in lengths.items() if length > 400} == {}


def test_an_empty_store_gets_every_file(store: duckdb.DuckDBPyConnection) -> None:
    """Each schema file is recorded, the published views among them."""
    assert recorded(store).keys() == {path.name for path in SCHEMA.iterdir()}


def test_migrating_twice_changes_nothing(store: duckdb.DuckDBPyConnection) -> None:
    """What was applied is not applied again, not even the published views."""
    before = recorded(store)
    migrate(store)
    assert recorded(store) == before


def test_a_new_migration_is_applied_and_the_views_made_anew(
    store: duckdb.DuckDBPyConnection, schema: Path
) -> None:
    """A later file is applied once, and the published views see what it made."""
    before = recorded(store)
    (schema / "0099_towns.sql").write_text("CREATE TABLE intake.towns (town VARCHAR);")
    migrate(store, schema)
    after = recorded(store)
    assert after.keys() - before.keys() == {"0099_towns.sql"}
    assert after["published.sql"] > before["published.sql"]
    assert store.sql("FROM intake.towns").columns == ["town"]


def test_changed_views_are_made_anew(store: duckdb.DuckDBPyConnection, schema: Path) -> None:
    """The published views follow their files without a migration; those taken out of them go."""
    (schema / "published_complaints.sql").unlink()
    (schema / "published_answers.sql").unlink()
    (schema / "published_dates.sql").unlink()
    (schema / "published_decisions.sql").unlink()
    (schema / "published_line.sql").unlink()
    (schema / "published_panel.sql").unlink()
    (schema / "published_reviews.sql").unlink()
    (schema / "published_routes.sql").unlink()
    (schema / "published_new_format.sql").unlink()
    (schema / "published.sql").write_text(
        """
        DROP SCHEMA IF EXISTS published CASCADE;
        CREATE SCHEMA published;
        CREATE VIEW published.loads AS SELECT load_id FROM intake.loads;
        """
    )
    migrate(store, schema)
    views = store.sql("SELECT view_name FROM duckdb_views() WHERE schema_name = 'published'")
    assert views.fetchall() == [("loads",)]
    assert store.sql(
        "SELECT comment FROM duckdb_columns() WHERE schema_name = 'published'"
    ).fetchall() == [("Number of the load, counted from 1.",)]


def test_a_changed_migration_is_refused(store: duckdb.DuckDBPyConnection, schema: Path) -> None:
    """A file changed after it was applied stops everything, in words."""
    with (schema / "0001_intake.sql").open("a") as file:
        file.write("\n-- an afterthought\n")
    with pytest.raises(StoreError, match=r"0001_intake\.sql was changed after it was applied"):
        migrate(store, schema)


def test_a_newer_store_is_refused(store: duckdb.DuckDBPyConnection, schema: Path) -> None:
    """Older code does not touch a store that newer code has made."""
    (schema / "0099_towns.sql").write_text("CREATE TABLE intake.towns (town VARCHAR);")
    migrate(store, schema)
    with pytest.raises(StoreError, match=r"newer stalecurve.* does not know 0099_towns\.sql"):
        migrate(store)


def test_a_failed_migration_leaves_neither_tables_nor_a_record(
    store: duckdb.DuckDBPyConnection, schema: Path
) -> None:
    """A migration and its record are kept together or not at all, and can be mended."""
    before = recorded(store)
    faulty = schema / "0099_towns.sql"
    faulty.write_text(
        "CREATE TABLE intake.towns (town VARCHAR); CREATE TABLE nowhere.at_all (a INT);"
    )
    with pytest.raises(duckdb.CatalogException):
        migrate(store, schema)
    assert recorded(store) == before
    faulty.write_text("CREATE TABLE intake.towns (town VARCHAR);")
    migrate(store, schema)
    assert store.sql("FROM intake.towns").columns == ["town"]


def test_line_ends_are_no_change(store: duckdb.DuckDBPyConnection, schema: Path) -> None:
    """A checkout that ends its lines otherwise holds the same migrations."""
    before = recorded(store)
    for path in schema.iterdir():
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    migrate(store, schema)
    assert recorded(store) == before
