"""What lies in the inbox that no load has taken in.

A file is known by its content: what was loaded once is not read again, wherever it lies, and what
was taken back stays out until its content changes or a person confirms it.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from hashlib import file_digest
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipelines.errors import ReadError
from pipelines.readers.files import FileContent, Mention, RawTable, read_file
from pipelines.readers.grids import unopened
from pipelines.readers.names import did_you_mean
from pipelines.store.forgotten import forgotten_contents
from pipelines.store.intake import known_files

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    import duckdb

    from pipelines.config import Config
    from pipelines.readers.site import Site

ALL = "all"
_TRIES = 3
_PAUSE_SECONDS = 0.5
_SETTLED_AFTER_SECONDS = 10.0
_SEEN = {
    "file": pl.String,
    "sha256": pl.String,
    "size_bytes": pl.Int64,
    "outcome": pl.String,
    "reason": pl.String,
}
_NEWEST = """
    SELECT file, arg_max(coalesce(sha256, ''), load_id), arg_max(outcome, load_id)
    FROM intake.files GROUP BY file
"""


@dataclass(frozen=True)
class Seen:
    """One file: its content, what became of it, and what became of it before."""

    file: str
    sha256: str | None
    size_bytes: int | None
    outcome: str
    reason: str | None = None
    before: tuple[str, str] = ("", "")
    same_as: str = ""

    @property
    def again(self) -> bool:
        """Whether a load has recorded just this; it is told again, not counted as new."""
        told = (self.sha256 or "", self.outcome)
        return self.outcome != "loaded" and self.before == told


@dataclass
class Inbox:
    """What the inbox holds that no load has taken in."""

    files: list[Seen] = field(default_factory=list)
    tables: list[RawTable] = field(default_factory=list)
    mentions: list[Mention] = field(default_factory=list)

    def without(self, waits: Mapping[str, str]) -> Inbox:
        """The same without the files that wait for a person's word; those keep why they wait.

        A copy of a file that waits is no duplicate of anything taken in: it waits too.
        """
        return Inbox(
            [_waiting(seen, waits) for seen in self.files],
            [table for table in self.tables if table.file not in waits],
            [mention for mention in self.mentions if mention.file not in waits],
        )

    @property
    def taken_in(self) -> set[str]:
        """The files whose rows are read now."""
        return {seen.file for seen in self.files if seen.outcome == "loaded"}

    @property
    def news(self) -> list[Seen]:
        """The files that were not recorded before with this content and outcome."""
        return [seen for seen in self.files if not seen.again]

    def frame(self) -> pl.DataFrame:
        """The files as the store records them."""
        rows = [{name: getattr(seen, name) for name in _SEEN} for seen in self.files]
        return pl.DataFrame(rows, schema=_SEEN)


def look_through(
    paths: Sequence[Path],
    config: Config,
    connection: duckdb.DuckDBPyConnection,
    named: Sequence[str],
    say: Callable[[str], None],
) -> Inbox:
    """Read every file of the inbox whose content is news, and say which cannot be read.

    Args:
        paths: Every file of the inbox.
        config: The configuration.
        connection: A migrated store.
        named: Files that are read although what they hold was taken back.
        say: Takes each line.
    """
    inbox = config.paths.inbox
    known = known_files(connection)
    forgotten = forgotten_contents(connection)
    newest = {file: (sha, outcome) for file, sha, outcome in connection.sql(_NEWEST).fetchall()}
    found = Inbox()
    files = {path.relative_to(inbox).as_posix(): path for path in paths}
    # What a person names comes first, so that a copy is the duplicate of it and not the reverse.
    for file in sorted(files, key=lambda file: file not in named):
        path = files[file]
        before = newest.get(file, ("", ""))
        try:
            digest, size = digest_of(path), path.stat().st_size
        except OSError as error:
            reason = unopened(file, error)
            say(reason)
            found.files.append(Seen(file, None, None, "not readable", reason, before))
            continue
        seen = Seen(file, digest, size, "loaded", None, before)
        first = known.get(digest, file)
        taken_back = file in named and digest in forgotten
        if before in {(digest, "loaded"), (digest, "duplicate")} and not taken_back:
            continue
        if first != file and not taken_back:
            reason = f"duplicate of {first}" + (", which was forgotten" * (digest in forgotten))
            say(f"{file}: {reason}, not read again")
            found.files.append(replace(seen, outcome="duplicate", reason=reason, same_as=first))
            continue
        content, reason = _read(path, inbox, config.site)
        if content.tables:
            known[digest] = file
            found.tables += content.tables
            found.mentions += content.mentions
            found.files.append(seen)
            continue
        became = "not recognised" if content.mentions else "not readable"
        # Said every time, for the file lies there still; no load is recorded for it alone.
        say(f"{file}: {reason}" if content.mentions else reason)
        found.files.append(replace(seen, outcome=became, reason=reason))
    return found


def named_files(names: Sequence[str], paths: Sequence[Path], config: Config) -> tuple[str, ...]:
    """The files of the inbox that a person has named one by one, as paths relative to it.

    Raises:
        ReadError: There is no such file.
    """
    files = [path.relative_to(config.paths.inbox).as_posix() for path in paths]
    found = {name: file_named(name, files, config) for name in names if name != ALL}
    for name, file in found.items():
        if file is None:
            message = f"there is no file {name} in the inbox{did_you_mean(name, files)}"
            raise ReadError(message)
    return tuple(file for file in found.values() if file)


def file_named(name: str, files: Collection[str], config: Config) -> str | None:
    """The file that a person means, by its path in the inbox or by a path from here, if any."""
    inbox = config.paths.inbox.resolve()
    here = Path(name).resolve()
    relative = here.relative_to(inbox).as_posix() if here.is_relative_to(inbox) else name
    return next((file for file in (Path(name).as_posix(), relative) if file in files), None)


def digest_of(path: Path) -> str:
    """SHA-256 of a file's bytes."""
    with path.open("rb") as handle:
        return file_digest(handle, "sha256").hexdigest()


def _waiting(seen: Seen, waits: Mapping[str, str]) -> Seen:
    if seen.file in waits:
        return replace(seen, outcome="waiting", reason=waits[seen.file])
    if seen.same_as in waits:
        return replace(seen, outcome="waiting", reason=f"the same as {seen.same_as}, which waits")
    return seen


def _read(path: Path, inbox: Path, site: Site) -> tuple[FileContent, str]:
    """Read a file; where it has no tables, the text says why.

    A file that changed while it was read, or that was saved seconds ago and cannot be read, is
    being written: it gets a moment and another try.
    """
    for left in reversed(range(_TRIES)):
        before = path.stat()
        try:
            content = read_file(path, inbox, site)
            reason = "; ".join(mention.text for mention in content.mentions)
            fresh = False
        except ReadError as error:
            content = FileContent(path.relative_to(inbox).as_posix(), (), ())
            reason = str(error)
            fresh = time.time() - before.st_mtime < _SETTLED_AFTER_SECONDS
        after = path.stat()
        changed = (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns)
        if not left or not (fresh or changed):
            break
        time.sleep(_PAUSE_SECONDS)
    return content, reason
