"""Which code ran."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path


@cache
def code_version() -> str:
    """The release, and a digest of the code that bears on a result: `0.1.0+3f2a9c1b`.

    The release alone would call a changed working copy the same code, and a run would be left
    out that the change had made due.
    """
    root = Path(__file__).parents[2]
    digest = sha256()
    for package in ("analysis", "pipelines"):
        for path in sorted((root / package).rglob("*")):
            if path.suffix in {".py", ".sql"}:
                digest.update(path.relative_to(root).as_posix().encode())
                digest.update(path.read_bytes())
    return f"{version('stalecurve')}+{digest.hexdigest()[:8]}"
