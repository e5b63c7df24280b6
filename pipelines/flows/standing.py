"""Whether a new run could say anything that the newest does not."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from pipelines.flows.version import code_version
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config


def standing_run(config: Config) -> int | None:
    """Give the newest run when it saw the same data, settings and code, else None.

    A load that changed no row, a file saved anew for instance, is no new data.

    Raises:
        StoreError: The store cannot be opened.
    """
    if not config.paths.database.exists():
        return None
    with open_store(config.paths.database, read_only=True) as connection:
        runs = connection.sql(
            """
            SELECT run_id, settings, code_version,
                   (SELECT coalesce(sum(rows_new + rows_corrected + rows_withdrawn), 0)
                    FROM intake.row_counts AS c
                    WHERE c.load_id > coalesce(r.load_id, 0))
                   + (SELECT count(*) FROM intake.forgotten AS f
                      WHERE f.load_id > coalesce(r.load_id, 0)) AS rows_changed
            FROM results.runs AS r
            ORDER BY run_id DESC LIMIT 1
            """
        ).fetchall()
    for run_id, settings, code, rows_changed in runs:
        if (
            json.loads(settings) == config.settings()
            and code == code_version()
            and not rows_changed
        ):
            return int(run_id)
    return None
