"""No damage to a backup goes unnoticed, and what is damaged is named."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.errors import StoreError
from pipelines.store.backup import export_tables, rebuild
from pipelines.store.manifest import (
    MANIFEST,
    Manifest,
    check_files,
    kept,
    read_manifest,
    write_manifest,
)
from pipelines.store.migrate import migrate, recorded_migrations

MADE_AT = datetime(2026, 4, 7, 3, 15, tzinfo=UTC)


def back_up(folder: Path) -> Manifest:
    """Write a backup of an empty store with a configuration into a folder."""
    folder.mkdir()
    with duckdb.connect() as connection:
        migrate(connection)
        files = {
            name: kept(folder / name, rows)
            for name, rows in export_tables(connection, folder).items()
        }
        (folder / "stalecurve.toml").write_text("[brewery]\n", encoding="utf-8")
        files["stalecurve.toml"] = kept(folder / "stalecurve.toml")
        manifest = Manifest(
            "Brauhaus Ötz", MADE_AT, "0.1.0", recorded_migrations(connection), files
        )
    write_manifest(folder, manifest)
    return manifest


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound backup that a test leaves as it found it."""
    folder = tmp_path_factory.mktemp("sound") / "backup"
    back_up(folder)
    return folder


@pytest.fixture
def backup(sound: Path, tmp_path: Path) -> Path:
    """A sound backup of this test's own."""
    return Path(shutil.copytree(sound, tmp_path / "backup"))


def test_a_manifest_is_read_as_it_was_written(tmp_path: Path) -> None:
    """Nothing of it is lost, and the backup it speaks of is sound."""
    manifest = back_up(tmp_path / "backup")
    assert read_manifest(tmp_path / "backup") == manifest
    check_files(tmp_path / "backup", manifest)


@given(data=st.data())
def test_any_changed_byte_is_noticed(sound: Path, data: st.DataObject) -> None:
    """A file other than its manifest says is never restored from, and it is named."""
    manifest = read_manifest(sound)
    path = sound / data.draw(st.sampled_from(sorted(manifest.files)))
    before = path.read_bytes()
    at = data.draw(st.integers(0, len(before) - 1))
    other = data.draw(st.integers(1, 255))
    try:
        path.write_bytes(before[:at] + bytes([before[at] ^ other]) + before[at + 1 :])
        with pytest.raises(StoreError, match=f"damaged and was not used:\n  {path.name} has"):
            check_files(sound, manifest)
    finally:
        path.write_bytes(before)


def test_every_damaged_file_is_named(backup: Path) -> None:
    """One that is missing and one that is cut off are told together."""
    (backup / "history.lots.parquet").unlink()
    (backup / "history.beers.parquet").write_bytes(b"PAR1")
    with pytest.raises(StoreError) as told:
        check_files(backup, read_manifest(backup))
    lines = str(told.value).splitlines()
    assert lines[1].startswith("  history.beers.parquet has 4 bytes instead of ")
    assert lines[2:] == ["  history.lots.parquet is missing", "  Take another backup."]


def test_rows_are_counted(backup: Path) -> None:
    """A table whose rows are not those of the manifest is refused although its bytes agree."""
    change(backup, lambda values: values["files"]["history.lots.parquet"].update(rows=7))
    with pytest.raises(StoreError, match=r"history\.lots\.parquet has 0 rows instead of 7"):
        check_files(backup, read_manifest(backup))


def change(backup: Path, what: Any) -> None:  # noqa: ANN401 - any change of any value
    """Change the values of a manifest in place."""
    values = json.loads((backup / MANIFEST).read_text("utf-8"))
    what(values)
    (backup / MANIFEST).write_text(json.dumps(values), encoding="utf-8")


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "7", '{"layout": 1}', '{"layout": "x"}', '{"files": 3}', "\x00"],
)
def test_a_garbled_manifest_is_refused(backup: Path, text: str) -> None:
    """In one sentence, whatever stands there."""
    (backup / MANIFEST).write_text(text, encoding="utf-8")
    with pytest.raises(StoreError, match=r"manifest\.json is damaged"):
        read_manifest(backup)


@given(text=st.text())
def test_any_text_for_a_manifest_is_refused(sound: Path, text: str) -> None:
    """No text that happens to stand there is taken for a manifest, and none gives a traceback."""
    before = (sound / MANIFEST).read_bytes()
    try:
        (sound / MANIFEST).write_text(text, encoding="utf-8", errors="surrogatepass")
        with pytest.raises(StoreError, match=r"manifest\.json is damaged"):
            read_manifest(sound)
    finally:
        (sound / MANIFEST).write_bytes(before)


@pytest.mark.parametrize("name", ["../beers.csv", "/etc/x", "inbox/../../x", "c:x", "inbox\\x"])
def test_a_manifest_names_files_of_its_own_folder_only(backup: Path, name: str) -> None:
    """A path that leads out of the backup, and of the inbox, is no path of a backup."""
    change(
        backup,
        lambda values: values["files"].update(
            {name: {"sha256": "", "size_bytes": 0, "rows": None}}
        ),
    )
    with pytest.raises(StoreError, match="damaged"):
        read_manifest(backup)


def test_a_newer_layout_is_refused(backup: Path) -> None:
    """What a later version writes otherwise is not guessed at."""
    change(backup, lambda values: values.update(layout=2))
    with pytest.raises(StoreError, match=r"made by a newer stalecurve: install that one"):
        read_manifest(backup)


def test_a_newer_backup_is_refused(backup: Path) -> None:
    """A migration that this code does not know means that a newer one made the backup."""
    change(backup, lambda values: values["migrations"].update({"9999_towns.sql": "0"}))
    with (
        duckdb.connect() as connection,
        pytest.raises(StoreError, match=r"backup was made by a newer.*does not know 9999_towns"),
    ):
        rebuild(connection, backup, read_manifest(backup))


def test_a_backup_made_with_another_migration_is_refused(backup: Path) -> None:
    """The checksum of every migration must agree with that of this code."""
    change(backup, lambda values: values["migrations"].update({"0003_filling.sql": "0"}))
    with (
        duckdb.connect() as connection,
        pytest.raises(StoreError, match=r"0003_filling\.sql was changed after"),
    ):
        rebuild(connection, backup, read_manifest(backup))


def test_a_table_left_out_is_refused(backup: Path) -> None:
    """A manifest without one of the tables does not pass for a whole backup."""
    change(backup, lambda values: values["files"].pop("history.lots.parquet"))
    with (
        duckdb.connect() as connection,
        pytest.raises(StoreError, match=r"disagree about history\.lots\.parquet"),
    ):
        rebuild(connection, backup, read_manifest(backup))
