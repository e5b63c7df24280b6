"""A small brewery with an inbox of its own, and a watch over what processes talk to."""

from __future__ import annotations

import csv
import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl
import pytest

from data_demo.simulate import simulate
from pipelines.config import Config, load_config
from pipelines.flows.fit import TABLES as FITTED
from pipelines.flows.ingest import IngestSummary, ingest
from pipelines.readers.contract import TABLES
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
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

# Python runs this in every process of the job, Prefect's server too: a look-up of a name or a
# connection that does not stay on this machine is written down.
WATCH = """
import os, sys
def watch(event, arguments):
    if event == "socket.getaddrinfo":
        host = arguments[0]
    elif event == "socket.connect" and isinstance(arguments[1], tuple):
        host = arguments[1][0]
    else:
        return
    host = host.decode() if isinstance(host, bytes) else host
    if host not in {None, "", "localhost", "127.0.0.1", "::1", "0.0.0.0"}:
        with open(os.environ["WATCHED"], "a") as log:
            log.write(f"{host}\\n")
sys.addaudithook(watch)
open(os.environ["WATCHED"] + ".on", "w").close()
"""


@dataclass(frozen=True)
class Watched:
    """A folder that Python looks into first, where every process notes the hosts it asks for."""

    folder: Path

    @property
    def environment(self) -> dict[str, str]:
        """What a process must be given to be watched."""
        path = os.pathsep.join(filter(None, (str(self.folder), os.environ.get("PYTHONPATH"))))
        return os.environ | {"PYTHONPATH": path, "WATCHED": str(self.folder / "hosts")}

    def at_work(self) -> bool:
        """Tell whether any process was watched."""
        return (self.folder / "hosts.on").exists()

    def strangers(self) -> str:
        """Give the hosts that are not this machine."""
        hosts = self.folder / "hosts"
        return hosts.read_text(encoding="utf-8") if hosts.exists() else ""


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Watched:
    """Watch over the processes that get its environment."""
    folder = tmp_path_factory.mktemp("watch")
    (folder / "sitecustomize.py").write_text(WATCH, encoding="utf-8")
    return Watched(folder)


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


def small_brewery(seed: int) -> dict[str, pl.DataFrame]:
    """Draw the tables that dates rest on, of three styles with a lot in each format."""
    tables = simulate(seed, lots_per_cell=1, assessors=5, packages=(3, 4))
    styles = ["pale ale", "pale lager", "stout"]
    tables["beers"] = tables["beers"].filter(pl.col("style").is_in(styles))
    for table, key in (
        ("lots", "beer"),
        ("oxygen", "lot"),
        ("samples", "lot"),
        ("tastings", "sample"),
    ):
        above = {"beer": "beers", "lot": "lots", "sample": "samples"}[key]
        tables[table] = tables[table].join(tables[above], on=key, how="semi", maintain_order="left")
    return {table: tables[table] for table in FITTED}


@pytest.fixture(scope="session")
def make_brewery() -> Callable[..., Path]:
    """Write an invented brewery of a dozen lots into a folder, and give its configuration."""

    def make(folder: Path, name: str, seed: int) -> Path:
        (folder / "inbox").mkdir(parents=True)
        for table, frame in small_brewery(seed).items():
            written = frame.select(column.name for column in TABLES[table].columns)
            written.write_parquet(folder / "inbox" / f"{table}.parquet")
        config = folder / "stalecurve.toml"
        config.write_text(f'[brewery]\nname = "{name}"\n', encoding="utf-8")
        return config

    return make


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
