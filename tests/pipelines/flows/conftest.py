"""A small brewery with an inbox of its own."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest

from pipelines.config import Config, load_config
from pipelines.flows.ingest import IngestSummary, ingest
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pathlib import Path

CONFIGURATION = """
[brewery]
name = "Quillmoor"
"""

INBOX = {
    "beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\n",
    "formats.csv": "format,kind,volume_ml,headspace_ml\ncan 330,can,330,12\n",
    "lots.csv": "lot,format,beer,packaged_on\n001,can 330,Fen Pale,2026-01-05\n",
    "samples.csv": (
        "sample,lot,storage_temp_c,placed_on,pulled_on\n"
        "S1,001,20,2026-01-06,2026-02-05\nS2,001,30,2026-01-06,2026-02-05\n"
    ),
    "tastings.csv": (
        "session,tasted_on,assessor,sample,verdict\n"
        "T1,2026-02-05,A1,S1,accept\nT1,2026-02-05,A1,S2,reject\n"
    ),
    "routes.csv": "route\nshop\n",
    "route_stages.csv": "route,stage_no,stage,temp_c,days\nshop,1,van,8,3\nshop,2,shelf,19,\n",
}


@pytest.fixture
def brewery(tmp_path: Path) -> Config:
    """A configuration whose inbox holds one beer in one format with two tastings."""
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    for name, text in INBOX.items():
        (inbox / name).write_text(text, encoding="utf-8")
    file = tmp_path / "stalecurve.toml"
    file.write_text(CONFIGURATION, encoding="utf-8")
    return load_config(file)


class Desk:
    """What a person does at that brewery: put files in, take them in, look."""

    def __init__(self, config: Config) -> None:
        """Begin with the brewery as it is."""
        self.config = config
        self.said: list[str] = []

    def put(self, name: str, *rows: str) -> Path:
        """Put a CSV file of these rows, headings first, into the inbox."""
        path = self.config.paths.inbox / name
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        return path

    def load(self, *confirm: str) -> IngestSummary:
        """Take the inbox in; what was said is kept."""
        self.said = []
        return ingest(self.config, self.said.append, confirm)

    def ask(self, query: str) -> list[tuple[object, ...]]:
        """Ask the store."""
        with open_store(self.config.paths.database, read_only=True) as connection:
            return connection.sql(query).fetchall()

    def aside(self, table: str, suffix: str = "") -> list[dict[str, str]]:
        """The rows to mend of a table, as a spreadsheet shows them; none without the file."""
        path = self.config.paths.set_aside / f"{table}{suffix}.csv"
        if not path.exists():
            return []
        with path.open(encoding="utf-8-sig", newline="") as handle:
            return list(csv.DictReader(handle))

    def drop_in(self, name: str, rows: list[dict[str, str]]) -> Path:
        """Put rows to mend into the inbox as a person saves them."""
        path = self.config.paths.inbox / name
        with path.open("w", encoding="utf-8", newline="") as handle:
            writer = csv.DictWriter(handle, rows[0].keys())
            writer.writeheader()
            writer.writerows(rows)
        return path


@pytest.fixture
def desk(brewery: Config) -> Desk:
    """The brewery with its files taken in."""
    desk = Desk(brewery)
    desk.load()
    return desk
