"""A brewery is kept somewhere else, and taken back from there."""

from __future__ import annotations

import filecmp
import os
import shutil
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.errors import ConfigError, StoreError
from pipelines.flows.backup import back_up
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from pipelines.flows.restore import restore
from pipelines.store.connect import open_store
from pipelines.store.manifest import MANIFEST, read_manifest

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

WRITER = """
import sys, time
from pathlib import Path
from pipelines.store.connect import open_store
with open_store(Path(sys.argv[1])) as connection:
    print("open", flush=True)
    time.sleep(1)
    connection.execute("CREATE TABLE intake.written_last (a INTEGER)")
"""


class Said(list[str]):
    """What was said, line by line."""

    def __call__(self, line: str) -> None:
        """Take a line."""
        self.append(line)


@pytest.fixture
def loaded(brewery: Config) -> Config:
    """The brewery with its inbox taken in."""
    ingest(brewery, Said())
    return brewery


def keep(config: Config, folder: Path, *, with_inbox: bool = False) -> Path:
    """Make a backup."""
    return back_up(config, config.folder / "stalecurve.toml", folder, Said(), with_inbox=with_inbox)


def rows_of(config: Config) -> dict[str, list[tuple[object, ...]]]:
    """Give every row that a view of the store shows, in an order that does not depend on its."""
    with open_store(config.paths.database, read_only=True) as connection:
        views = connection.sql(
            "SELECT schema_name || '.' || view_name FROM duckdb_views() WHERE NOT internal"
        ).fetchall()
        return {view: connection.sql(f"FROM {view} ORDER BY ALL").fetchall() for (view,) in views}


def test_a_restored_brewery_is_the_same_to_the_byte(brewery: Config, tmp_path: Path) -> None:
    """In a new folder it has its configuration, inbox, views, and the same pages."""
    ingest(brewery, Said())
    fit(brewery, Said())
    publish(brewery, Said())
    kept_in = tmp_path / "kept"
    backup = keep(brewery, kept_in, with_inbox=True)
    said = Said()
    restore(tmp_path / "new" / "stalecurve.toml", kept_in, said)
    assert said[0].startswith(f"taking the backup {backup}, made 20")
    new = load_config(tmp_path / "new" / "stalecurve.toml")
    assert new.settings() == brewery.settings()
    assert rows_of(new) == rows_of(brewery)
    publish(new, Said())
    pages = sorted(p.relative_to(brewery.paths.pages) for p in brewery.paths.pages.rglob("*.*"))
    _, mismatch, errors = filecmp.cmpfiles(
        brewery.paths.pages, new.paths.pages, map(str, pages), shallow=False
    )
    assert len(pages) > 5
    assert (mismatch, errors) == ([], [])
    assert ingest(new, Said()).load_id is None
    assert not list((tmp_path / "new").glob("*restoring*"))


def test_a_backup_never_takes_the_place_of_an_older_one(loaded: Config, tmp_path: Path) -> None:
    """Two within a second stand beside each other, and each is whole."""
    names = {keep(loaded, tmp_path / "kept").name for _ in range(3)}
    assert len(names) == 3
    assert names == {path.name for path in (tmp_path / "kept").iterdir()}
    assert all(name.startswith("quillmoor-20") for name in names)


def test_what_a_killed_backup_left_is_tidied(loaded: Config, tmp_path: Path) -> None:
    """After a day; one of today may be at work still."""
    old, young = (tmp_path / "kept" / f".{name}.unfinished" for name in ("old", "young"))
    for folder in (old, young):
        folder.mkdir(parents=True)
        (folder / "history.lots.parquet").write_bytes(b"PAR1")
    two_days_ago = time.time() - 2 * 86_400
    os.utime(old, (two_days_ago, two_days_ago))
    backup = keep(loaded, tmp_path / "kept")
    assert set((tmp_path / "kept").iterdir()) == {young, backup}


def test_the_inbox_is_kept_when_asked_for(loaded: Config, tmp_path: Path) -> None:
    """Not by itself, and the message says so."""
    said = Said()
    without = back_up(loaded, loaded.folder / "stalecurve.toml", tmp_path / "kept", said)
    assert not (without / "inbox").exists()
    assert said[-1] == "the files of the inbox are not in it: --with-inbox keeps them too"
    kept = keep(loaded, tmp_path / "kept", with_inbox=True)
    assert filecmp.dircmp(kept / "inbox", loaded.paths.inbox).diff_files == []
    assert len(list((kept / "inbox").iterdir())) == len(list(loaded.paths.inbox.iterdir()))


def test_files_of_the_inbox_are_never_overwritten(loaded: Config, tmp_path: Path) -> None:
    """What is missing comes back; what was changed since stays, and that is said."""
    backup = keep(loaded, tmp_path / "kept", with_inbox=True)
    (loaded.paths.inbox / "beers.csv").unlink()
    (loaded.paths.inbox / "lots.csv").write_text("newer", encoding="utf-8")
    said = Said()
    restore(loaded.folder / "stalecurve.toml", backup, said, replace=True)
    assert (loaded.paths.inbox / "beers.csv").exists()
    assert (loaded.paths.inbox / "lots.csv").read_text("utf-8") == "newer"
    assert sum("lots.csv is there already with another content" in line for line in said) == 1
    assert f"1 files put back into {loaded.paths.inbox}" in said


def test_a_writer_is_waited_for(loaded: Config, tmp_path: Path) -> None:
    """The backup holds what the writer wrote last."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(loaded.paths.database)], stdout=subprocess.PIPE
    )
    with writer:
        assert writer.stdout is not None
        writer.stdout.readline()
        backup = keep(loaded, tmp_path / "kept")
    assert "intake.written_last.parquet" in read_manifest(backup).files


def test_what_a_killed_writer_committed_is_kept(loaded: Config, tmp_path: Path) -> None:
    """Changes that stand in the log of the database alone are in the backup."""
    killed = WRITER.replace("sleep(1)", "sleep(0)") + "    import os; os._exit(9)\n"
    subprocess.run([sys.executable, "-c", killed, str(loaded.paths.database)], check=False)
    assert loaded.paths.database.with_name("stalecurve.duckdb.wal").exists()
    backup = keep(loaded, tmp_path / "kept")
    assert "intake.written_last.parquet" in read_manifest(backup).files


@pytest.mark.parametrize(
    ("folder", "reason"),
    [
        ("pages/kept", "lies in the folder of the pages"),
        ("inbox", "lies in the folder of the inbox"),
        ("stalecurve.toml", "is a file: name a folder"),
        (
            "stalecurve.toml/kept",
            "could not be written, and nothing of it is left: Not a directory",
        ),
    ],
)
def test_a_folder_that_cannot_hold_backups_is_refused(
    loaded: Config, folder: str, reason: str
) -> None:
    """In a sentence, before anything is written."""
    before = sorted(loaded.folder.rglob("*"))
    with pytest.raises(StoreError, match=reason):
        keep(loaded, loaded.folder / folder)
    assert sorted(loaded.folder.rglob("*")) == before


def test_before_the_first_load_there_is_nothing_to_keep(brewery: Config, tmp_path: Path) -> None:
    """Neither without a store nor with an empty one."""
    with pytest.raises(StoreError, match=r"no stalecurve\.duckdb yet: run stalecurve load first"):
        keep(brewery, tmp_path / "kept")
    with open_store(brewery.paths.database):
        pass
    with pytest.raises(StoreError, match="empty: run stalecurve load first"):
        keep(brewery, tmp_path / "kept")
    assert list((tmp_path / "kept").iterdir()) == []


def test_a_store_that_is_there_is_kept(loaded: Config, tmp_path: Path) -> None:
    """It is refused without being asked to, and with it the old one stands beside, whole."""
    backup = keep(loaded, tmp_path / "kept")
    (loaded.paths.inbox / "beers.csv").write_text(
        "beer,style,abv_pct\nFen Pale,pale ale,5.5\n", encoding="utf-8"
    )
    ingest(loaded, Said())
    newer = rows_of(loaded)
    with pytest.raises(StoreError, match="is there already: with --replace"):
        restore(loaded.folder / "stalecurve.toml", backup, Said())
    assert rows_of(loaded) == newer
    said = Said()
    restore(loaded.folder / "stalecurve.toml", backup, said, replace=True)
    assert rows_of(loaded) != newer
    (old,) = loaded.folder.glob("stalecurve-until-*.duckdb")
    assert f"the store that was there is kept as {old.name}" in said
    shutil.copy(old, loaded.paths.database)
    assert rows_of(loaded) == newer


def test_a_broken_store_with_its_log_is_replaced(loaded: Config, tmp_path: Path) -> None:
    """It need not open, and its log does not stay to be read into the restored one."""
    backup = keep(loaded, tmp_path / "kept")
    before = rows_of(loaded)
    loaded.paths.database.write_bytes(b"no store")
    log = loaded.paths.database.with_name("stalecurve.duckdb.wal")
    log.write_bytes(b"no log")
    restore(loaded.folder / "stalecurve.toml", backup, Said(), replace=True)
    assert rows_of(loaded) == before
    (old,) = loaded.folder.glob("stalecurve-until-*.duckdb")
    assert old.read_bytes() == b"no store"
    assert old.with_name(f"{old.name}.wal").read_bytes() == b"no log"


def test_the_newest_of_several_is_taken(loaded: Config, tmp_path: Path) -> None:
    """One that cannot be read is passed over with a word, unfinished ones silently."""
    older, newest, garbled = (keep(loaded, tmp_path / "kept") for _ in range(3))
    for path, year in ((older, 2020), (newest, 2031)):
        text = (path / MANIFEST).read_text("utf-8")
        made_at = f'"{year}-01-01T00:00:00+00:00"'
        again = text.replace(f'"{read_manifest(path).made_at.isoformat()}"', made_at)
        (path / MANIFEST).write_text(again, encoding="utf-8")
    (garbled / MANIFEST).write_text("{", encoding="utf-8")
    shutil.copytree(older, tmp_path / "kept" / ".cut-off.unfinished")
    (tmp_path / "kept" / "holiday photos").mkdir()
    said = Said()
    restore(tmp_path / "new" / "stalecurve.toml", tmp_path / "kept", said)
    assert said[0].startswith("passed over: ")
    assert said[1] == f"taking the backup {newest}, made 2031-01-01 00:00"


def test_another_brewery_is_not_restored_by_mistake(loaded: Config, tmp_path: Path) -> None:
    """Of several breweries the own one is taken, and one named is refused."""
    own = keep(loaded, tmp_path / "kept")
    other_file = tmp_path / "other" / "stalecurve.toml"
    other_file.parent.mkdir()
    other_file.write_text('[brewery]\nname = "Hollinweir"\n', encoding="utf-8")
    other = load_config(other_file)
    shutil.copytree(loaded.paths.inbox, other.paths.inbox)
    ingest(other, Said())
    keep(other, tmp_path / "kept")
    said = Said()
    restore(loaded.folder / "stalecurve.toml", tmp_path / "kept", said, replace=True)
    assert f"the backup {own}," in said[0]
    with pytest.raises(StoreError, match=r"is a backup of Quillmoor, but .* of Hollinweir"):
        restore(other_file, own, Said(), replace=True)


@pytest.mark.parametrize(
    ("folder", "reason"),
    [("nowhere", "there is no folder"), (".", "no backup in .* that can be read")],
)
def test_without_a_backup_nothing_is_restored(
    loaded: Config, tmp_path: Path, folder: str, reason: str
) -> None:
    """The message says what was looked for."""
    with pytest.raises(StoreError, match=reason):
        restore(loaded.folder / "stalecurve.toml", tmp_path / folder, Said(), replace=True)
    assert not list(loaded.folder.glob("*-until-*"))


def test_a_damaged_backup_changes_nothing(loaded: Config, tmp_path: Path) -> None:
    """The store stays, and in a new folder not even a configuration is put."""
    backup = keep(loaded, tmp_path / "kept")
    with (backup / "history.lots.parquet").open("ab") as file:
        file.write(b"0")
    before = rows_of(loaded)
    for config_file in (loaded.folder / "stalecurve.toml", tmp_path / "new" / "stalecurve.toml"):
        with pytest.raises(StoreError, match=r"damaged.*\n  history\.lots\.parquet has"):
            restore(config_file, backup, Said(), replace=True)
    assert rows_of(loaded) == before
    assert not (tmp_path / "new").exists()


def test_a_configuration_of_the_backup_with_faults_is_not_put(
    loaded: Config, tmp_path: Path
) -> None:
    """One that this code does not understand is told like any other."""
    file = loaded.folder / "stalecurve.toml"
    file.write_text('[brewery]\nname = "Quillmoor"\n[brewing]\n', encoding="utf-8")
    keep(loaded, tmp_path / "kept")
    with pytest.raises(ConfigError, match="brewing is no known"):
        restore(tmp_path / "new" / "stalecurve.toml", tmp_path / "kept", Said())
    assert not (tmp_path / "new").exists()


def test_a_restore_that_fails_leaves_the_store(loaded: Config, tmp_path: Path) -> None:
    """A backup of a newer stalecurve is refused in words, and nothing is left lying about."""
    backup = keep(loaded, tmp_path / "kept")
    text = (backup / MANIFEST).read_text("utf-8")
    newer = text.replace('"0001_intake.sql"', '"9999_towns.sql": "", "0001_intake.sql"')
    (backup / MANIFEST).write_text(newer, encoding="utf-8")
    before = rows_of(loaded)
    with pytest.raises(StoreError, match=r"backup was made by a newer stalecurve"):
        restore(loaded.folder / "stalecurve.toml", backup, Said(), replace=True)
    assert rows_of(loaded) == before
    assert {path.name for path in loaded.folder.glob("*stalecurve*")} == {
        "stalecurve.duckdb",
        "stalecurve.duckdb.lock",
        "stalecurve.duckdb.lock.txt",
        "stalecurve.toml",
    }
