"""Write the pages of the newest run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.build import build
from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config


def publish(config: Config, say: Callable[[str], None]) -> tuple[Path, ...]:
    """Write every page and file anew and return them.

    Raises:
        StoreError: There is no database yet.
    """
    if not config.paths.database.exists():
        message = f"there is no {config.paths.database.name} yet: run stalecurve load first"
        raise StoreError(message)
    written = build(config.paths.database, config.paths.pages)
    say(f"{len(written)} files of pages written")
    return written
