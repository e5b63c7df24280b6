"""Keep a copy of the whole brewery somewhere else.

The store is held only while its file is copied on this machine's own disk; the tables go from there
to a stick or share, however slow, so that a night at work waits for a moment at most.
"""

from __future__ import annotations

import re
import shutil
import time
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import duckdb

from pipelines.errors import StoreError
from pipelines.flows.progress import step
from pipelines.flows.version import code_version
from pipelines.readers.files import inbox_files
from pipelines.store.backup import copy_store, export_tables
from pipelines.store.connect import need_store, open_store
from pipelines.store.manifest import Kept, Manifest, kept, write_manifest
from pipelines.store.migrate import recorded_migrations

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipelines.config import Config

CONFIGURATION = "stalecurve.toml"
INBOX = "inbox"
UNFINISHED = ".unfinished"
_AN_HOUR = 3600.0
_A_DAY = 24 * _AN_HOUR


def back_up(
    config: Config,
    config_file: Path,
    folder: Path,
    say: Callable[[str], None],
    *,
    with_inbox: bool = False,
) -> Path:
    """Write a new backup into a folder of backups, beside the older ones.

    Args:
        config: The configuration.
        config_file: Its file, kept too.
        folder: Where backups are kept; made when it is missing.
        say: Takes each line for the person who waits.
        with_inbox: Keep the files of the inbox too.

    Returns:
        The folder of this backup. It has this name only once it is whole.

    Raises:
        StoreError: There is no store, it was busy for an hour, or the folder cannot be written;
            no backup is left behind then.
        ReadError: The inbox is to be kept and is not there.
    """
    _refuse_place(config, folder)
    made_at = datetime.now(ZoneInfo(config.brewery.timezone))
    name = unused(folder / f"{_slug(config.brewery.name)}-{made_at:%Y-%m-%d-%H%M%S}")
    unfinished = folder / f".{name.name}{UNFINISHED}"
    others = {CONFIGURATION: config_file} | (_inbox(config.paths.inbox) if with_inbox else {})
    try:
        _tidy(folder)
        with TemporaryDirectory(prefix="stalecurve-") as near:
            copy = Path(near) / "store.duckdb"
            with step(f"waiting for whoever writes {config.paths.database.name}"):
                copy_store(config.paths.database, copy, _AN_HOUR)
            with step("writing the backup"), open_store(copy) as store:
                unfinished.mkdir(parents=True)
                migrations = _migrations(store)
                rows = export_tables(store, unfinished)
            files = {file: kept(unfinished / file, count) for file, count in rows.items()}
            files |= {file: _copied(path, unfinished / file) for file, path in others.items()}
            write_manifest(
                unfinished,
                Manifest(config.brewery.name, made_at, code_version(), migrations, files),
            )
            unfinished.rename(name)
    except (OSError, duckdb.IOException) as error:
        message = f"the backup could not be written, and nothing of it is left: {_why(error)}"
        raise StoreError(message) from error
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    size = sum(file.size_bytes for file in files.values()) / 1e6
    say(f"backup {name}: {sum(rows.values())} rows in {len(rows)} tables, {size:.1f} MB")
    if not with_inbox:
        say("the files of the inbox are not in it: --with-inbox keeps them too")
    return name


def unused(path: Path) -> Path:
    """Give the path itself, or with a number behind it where there is something already."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_stem(f"{path.stem}-{number}")
    return free


def _refuse_place(config: Config, folder: Path) -> None:
    need_store(config.paths.database)
    for what, place in (("pages", config.paths.pages), ("inbox", config.paths.inbox)):
        if folder.resolve().is_relative_to(place.resolve()):
            message = f"{folder} lies in the folder of the {what}: keep backups somewhere else"
            raise StoreError(message)
    if folder.exists() and not folder.is_dir():
        message = f"{folder} is a file: name a folder to keep backups in"
        raise StoreError(message)


def _tidy(folder: Path) -> None:
    """Remove what a backup left that was killed more than a day ago."""
    for left in folder.glob(f".*{UNFINISHED}"):
        if time.time() - left.stat().st_mtime > _A_DAY:
            shutil.rmtree(left)


def _migrations(store: duckdb.DuckDBPyConnection) -> dict[str, str]:
    migrations = recorded_migrations(store)
    if not migrations:
        message = "the store is empty: run stalecurve load first"
        raise StoreError(message)
    return migrations


def _inbox(inbox: Path) -> dict[str, Path]:
    return {f"{INBOX}/{p.relative_to(inbox).as_posix()}": p for p in inbox_files(inbox)}


def _copied(source: Path, target: Path) -> Kept:
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    return kept(target)


def _slug(name: str) -> str:
    return re.sub(r"\W+", "-", name.lower()).strip("-")[:40] or "brewery"


def _why(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        return f"{error.strerror} ({error.filename2 or error.filename})"
    return str(error).partition("\n")[0]
