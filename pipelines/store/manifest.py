"""What a backup says of itself: when it was made, of what, and what every file of it must be."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime
from hashlib import file_digest
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

MANIFEST = "manifest.json"
_LAYOUT = 1


@dataclass(frozen=True)
class Kept:
    """One file of a backup.

    Attributes:
        sha256: SHA-256 of its bytes.
        size_bytes: Its size.
        rows: Rows of a table; None for a file that is no table.
    """

    sha256: str
    size_bytes: int
    rows: int | None = None


@dataclass(frozen=True)
class Manifest:
    """All that a backup says of itself.

    Attributes:
        brewery: Whose it is.
        made_at: When it was made, with the zone of the brewery's clock.
        code_version: The stalecurve that made it.
        migrations: Schema files of the store, to their checksums.
        files: Every file by its path in the backup, forward slashes, the manifest left out.
    """

    brewery: str
    made_at: datetime
    code_version: str
    migrations: Mapping[str, str]
    files: Mapping[str, Kept]


def kept(path: Path, rows: int | None = None) -> Kept:
    """Describe a file as it stands on the disk.

    Raises:
        OSError: It cannot be read.
    """
    with path.open("rb") as handle:
        return Kept(file_digest(handle, "sha256").hexdigest(), path.stat().st_size, rows)


def write_manifest(folder: Path, manifest: Manifest) -> None:
    """Write the manifest into a backup's folder.

    Raises:
        OSError: It cannot be written.
    """
    values = {
        "layout": _LAYOUT,
        **asdict(manifest),
        "made_at": manifest.made_at.isoformat(timespec="seconds"),
    }
    text = json.dumps(values, indent=1, ensure_ascii=False)
    (folder / MANIFEST).write_text(f"{text}\n", encoding="utf-8")


def read_manifest(folder: Path) -> Manifest:
    """Read the manifest of a backup.

    Raises:
        StoreError: There is none, it cannot be read, or a newer stalecurve wrote it.
    """
    place = folder / MANIFEST
    try:
        values = json.loads(place.read_text(encoding="utf-8"))
        if isinstance(values, dict) and values.get("layout", 0) > _LAYOUT:
            message = f"The backup {folder} was made by a newer stalecurve: install that one."
            raise StoreError(message)
        return _manifest(values)
    except FileNotFoundError:
        message = f"There is no backup in {folder}: it has no {MANIFEST}."
        raise StoreError(message) from None
    except OSError as error:
        message = f"{place} cannot be read: {error.strerror}"
        raise StoreError(message) from error
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        message = f"{place} is damaged, so nothing can be restored from it: take another backup."
        raise StoreError(message) from error


def _manifest(values: Mapping[str, Any]) -> Manifest:
    files = {
        name: Kept(str(held["sha256"]), int(held["size_bytes"]), _rows(name, held["rows"]))
        for name, held in values["files"].items()
    }
    made_at = datetime.fromisoformat(values["made_at"])
    if made_at.tzinfo is None or not all(_stays_inside(name) for name in files):
        raise ValueError
    migrations = {str(name): str(checksum) for name, checksum in values["migrations"].items()}
    return Manifest(str(values["brewery"]), made_at, str(values["code_version"]), migrations, files)


def _rows(name: str, rows: int | None) -> int | None:
    if (rows is not None) != name.endswith(".parquet") and "/" not in name:
        raise ValueError
    return None if rows is None else int(rows)


def _stays_inside(name: str) -> bool:
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and not set(name) & set("\\:")


def check_files(folder: Path, manifest: Manifest) -> None:
    """Hold every file of a backup against its manifest.

    Raises:
        StoreError: The message names each file that is missing or damaged.
    """
    faults = [
        f"{name} {fault}"
        for name, expected in manifest.files.items()
        if (fault := _fault(folder / name, expected))
    ]
    if faults:
        message = "\n  ".join(
            [f"The backup {folder} is damaged and was not used:", *faults, "Take another backup."]
        )
        raise StoreError(message)


def _fault(path: Path, expected: Kept) -> str:
    try:
        found = kept(path, expected.rows)
        if found.size_bytes != expected.size_bytes:
            return f"has {found.size_bytes} bytes instead of {expected.size_bytes}"
        if found.sha256 != expected.sha256:
            return "has another content than when it was made: its checksum differs"
        if expected.rows is None:
            return ""
        rows = pl.scan_parquet(path, glob=False).select(pl.len()).collect().item()
    except FileNotFoundError:
        return "is missing"
    except OSError as error:
        return f"cannot be read ({error.strerror})"
    return "" if rows == expected.rows else f"has {rows} rows instead of {expected.rows}"
