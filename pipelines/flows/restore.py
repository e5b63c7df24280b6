"""Take the brewery back from a backup, on this machine or another."""

from __future__ import annotations

import filecmp
import os
import shutil
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.backup import CONFIGURATION, INBOX, unused
from pipelines.flows.lock import writers_lock
from pipelines.flows.progress import step
from pipelines.store.backup import rebuild
from pipelines.store.connect import open_store
from pipelines.store.manifest import MANIFEST, check_files, read_manifest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config
    from pipelines.store.manifest import Manifest


def restore(
    config_file: Path, folder: Path, say: Callable[[str], None], *, replace: bool = False
) -> None:
    """Make the store of a backup again, and the configuration and the inbox where they are missing.

    Args:
        config_file: The brewery's configuration; where there is none, that of the backup is put.
        folder: A backup, or a folder of backups: the newest one of this brewery is taken then.
        say: Takes each line for the person who waits.
        replace: Put it in the place of a store that is there, which is kept under another name.

    Raises:
        StoreError: There is no sound backup, a newer stalecurve made it, it is another brewery's,
            or there is a store already. Nothing was changed then.
        ConfigError: The configuration holds faults.
    """
    own = load_config(config_file) if config_file.exists() else None
    backup, manifest = _chosen(folder, own.brewery.name if own else None, say)
    say(f"taking the backup {backup}, made {manifest.made_at:%Y-%m-%d %H:%M}")
    if own and own.brewery.name != manifest.brewery:
        message = (
            f"{backup} is a backup of {manifest.brewery}, but {config_file} is the configuration "
            f"of {own.brewery.name}: name another backup, or the right file with --config"
        )
        raise StoreError(message)
    with step("comparing the backup with its checksums"):
        check_files(backup, manifest)
    config = own or _put_configuration(backup, config_file, say)
    with writers_lock(config.paths.database, "restore"), step("restoring"):
        try:
            _put_store(config, backup, manifest, say, replace=replace)
            _put_inbox(config.paths.inbox, backup, manifest, say)
        except OSError as error:
            message = f"{error.filename2 or error.filename} cannot be written: {error.strerror}"
            raise StoreError(message) from error
    rows = sum(file.rows or 0 for file in manifest.files.values())
    say(f"{config.paths.database}: {rows} rows restored; stalecurve publish writes the pages")


def _chosen(folder: Path, brewery: str | None, say: Callable[[str], None]) -> tuple[Path, Manifest]:
    """The backup that a folder is, or the newest in it, of this brewery where there are others."""
    try:
        if not folder.is_dir():
            message = f"there is no folder {folder} to restore from"
            raise StoreError(message)
        if (folder / MANIFEST).exists():
            return folder, read_manifest(folder)
        inside = sorted(
            path
            for path in folder.iterdir()
            if not path.name.startswith(".") and (path / MANIFEST).exists()
        )
    except OSError as error:
        message = f"{folder} cannot be read: {error.strerror}"
        raise StoreError(message) from error
    found = []
    for path in inside:
        try:
            found.append((path, read_manifest(path)))
        except StoreError as error:
            say(f"passed over: {error}")
    if not found:
        message = f"there is no backup in {folder} that can be read: no folder with a {MANIFEST}"
        raise StoreError(message)
    of_this = [(path, manifest) for path, manifest in found if manifest.brewery == brewery]
    return max(of_this or found, key=lambda each: (each[1].made_at, each[0].name))


def _put_configuration(backup: Path, config_file: Path, say: Callable[[str], None]) -> Config:
    load_config(backup / CONFIGURATION)  # its faults are told before anything is written
    try:
        config_file.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(backup / CONFIGURATION, config_file)
    except OSError as error:
        message = f"{config_file} cannot be written: {error.strerror}"
        raise StoreError(message) from error
    say(f"{config_file} put back: look over its paths if this is another machine")
    return load_config(config_file)


def _put_store(
    config: Config,
    backup: Path,
    manifest: Manifest,
    say: Callable[[str], None],
    *,
    replace: bool,
) -> None:
    database = config.paths.database
    if database.exists() and not replace:
        message = (
            f"{database} is there already: with --replace the backup takes its place, "
            "and it is kept beside under another name"
        )
        raise StoreError(message)
    made = database.with_name(f".{database.name}.restoring")
    log = database.with_name(f"{database.name}.wal")
    try:
        made.unlink(missing_ok=True)  # what a restore left that was killed
        with open_store(made) as connection:
            rebuild(connection, backup, manifest)
        now = datetime.now(ZoneInfo(config.brewery.timezone))
        old = unused(database.with_stem(f"{database.stem}-until-{now:%Y-%m-%d-%H%M%S}"))
        if database.exists():
            _keep(database, old)
            say(f"the store that was there is kept as {old.name}")
        if log.exists():  # changes that a killed command left; they belong to the old store
            log.replace(old.with_name(f"{old.name}.wal"))
        made.replace(database)
    finally:
        made.unlink(missing_ok=True)


def _keep(database: Path, old: Path) -> None:
    """Give a store a second name, so that there is one under its first at every moment."""
    try:
        os.link(database, old)
    except OSError:  # a disk without links
        shutil.copyfile(database, old)


def _put_inbox(inbox: Path, backup: Path, manifest: Manifest, say: Callable[[str], None]) -> None:
    inbox.mkdir(parents=True, exist_ok=True)
    put = 0
    for name in manifest.files:
        if not name.startswith(f"{INBOX}/"):
            continue
        target = inbox / name.removeprefix(f"{INBOX}/")
        if target.exists():
            if not filecmp.cmp(backup / name, target, shallow=False):
                say(f"{target} is there already with another content, and was left as it is")
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(backup / name, target)
        put += 1
    if put:
        say(f"{put} files put back into {inbox}")
