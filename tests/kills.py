"""Kill commands at random moments and say what must hold: `make endurance` does it 200 times.

A state of a brewery's folder is copied, a command is killed in it, the pages are looked at as the
kill left them, the command is run again, and the store and the pages are held against those of a
folder in which nobody was killed. A few such kills stand in the ordinary tests.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb

if TYPE_CHECKING:
    from numpy.random import Generator

COMMAND = Path(sys.executable).with_name("stalecurve")
SHARES = {"load": 0.3, "fit": 0.25, "publish": 0.3, "run": 0.15}
_LEFT_OUT = {"started_at", "finished_at", "applied_at", "written_at"}  # a clock's reading

FIRST = {
    "stalecurve.toml": '[brewery]\nname = "Quillmoor"\n',
    "inbox/beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\n",
    "inbox/formats.csv": "format,kind,volume_ml,headspace_ml\ncan 330,can,330,12\n",
    "inbox/lots.csv": "lot,format,beer,packaged_on\n001,can 330,Fen Pale,2026-01-05\n",
    "inbox/samples.csv": (
        "sample,lot,storage_temp_c,placed_on,pulled_on\n"
        "S1,001,20,2026-01-06,2026-02-05\nS2,001,30,2026-01-06,2026-02-05\n"
    ),
    "inbox/tastings.csv": (
        "session,tasted_on,assessor,sample,verdict\n"
        "T1,2026-02-05,A1,S1,accept\nT1,2026-02-05,A1,S2,reject\n"
    ),
    "inbox/routes.csv": "route\nshop\n",
    "inbox/route_stages.csv": (
        "route,stage_no,stage,temp_c,days\nshop,1,van,8,3\nshop,2,shelf,19,\n"
    ),
}
# New rows, a correction, a row that must be mended and one that waits for its sample.
SECOND = {
    "inbox/lots february.csv": (
        "lot,format,beer,packaged_on\n002,can 330,Fen Pale,2026-02-02\n"
        "003,can 330,Fen Pale,2026-02-30\n"
    ),
    "inbox/samples february.csv": (
        "sample,lot,storage_temp_c,placed_on,pulled_on\nS3,002,30,2026-02-03,2026-03-05\n"
    ),
    "inbox/tastings february.csv": (
        "session,tasted_on,assessor,sample,verdict\nT1,2026-02-05,A1,S1,reject\n"
        "T2,2026-03-05,A1,S3,reject\nT2,2026-03-05,A2,S3,accept\nT2,2026-03-05,A2,S9,accept\n"
    ),
}


@dataclass(frozen=True)
class Kill:
    """One kill: what was killed, after how long, and what was wrong afterwards."""

    command: str
    after_seconds: float
    ended: bool
    faults: tuple[str, ...]


class States:
    """Folders in which each command has its work before it, and folders in which it was done."""

    def __init__(self, folder: Path, *, whole: bool = True) -> None:
        """Make the folders, those of the whole job through Prefect only if asked to."""
        self.folder = folder
        self.seconds: dict[str, float] = {}
        base = folder / "base"
        write(base, FIRST)
        for command in ("run",) if whole else ("load", "fit", "publish"):
            run(base, command)
        write(base, SECOND)
        loaded = self._after("load", base)
        fitted = self._after("fit", loaded)
        self._after("publish", fitted)
        self.before = {"load": base, "fit": loaded, "publish": fitted}
        if whole:
            self._after("run", base)
            self.before["run"] = base

    def done(self, command: str) -> Path:
        """Give the folder in which a command was left alone."""
        return self.folder / f"after {command}"

    def _after(self, command: str, before: Path) -> Path:
        after = self.done(command)
        shutil.copytree(before, after)
        began = time.monotonic()
        run(after, command)
        self.seconds[command] = time.monotonic() - began
        return after

    def kill(self, command: str, rng: Generator) -> Kill:
        """Kill a command somewhere in its work, run it again, and compare."""
        before, tried = self.before[command], self.folder / "tried"
        shutil.rmtree(tried, ignore_errors=True)
        shutil.copytree(before, tried)
        after = rng.uniform(0.0, self.seconds[command])
        process = subprocess.Popen(
            [str(COMMAND), command],
            cwd=tried,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        try:
            process.wait(after)
            ended = True
        except subprocess.TimeoutExpired:
            ended = False
        # Sometimes the command alone dies and what it started lives on, sometimes all at once.
        process.kill() if rng.integers(2) else _kill_group(process.pid)
        process.wait()
        faults = [*torn(tried / "pages", before / "pages", self.done("publish") / "pages")]
        try:
            run(tried, command)
            faults += different(tried, self.done(command))
            faults += torn(tried / "pages", self.done(command) / "pages")
            faults += [f"left over: {p.name}" for p in tried.glob(".*.*")]
            faults += [
                f"set_aside/{path.name} differs"
                for path in (self.done(command) / "set_aside").glob("*.csv")
                if path.read_bytes() != (tried / "set_aside" / path.name).read_bytes()
            ]
        except subprocess.CalledProcessError as error:
            faults.append(f"the next {command} failed: {error.stderr}")
        finally:
            _kill_group(process.pid)
        return Kill(command, after, ended, tuple(faults))


def write(folder: Path, files: dict[str, str]) -> None:
    """Write files, folders and all."""
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")


def run(folder: Path, command: str) -> None:
    """Let a command do its work.

    Raises:
        CalledProcessError: It failed.
    """
    subprocess.run([str(COMMAND), command], cwd=folder, capture_output=True, text=True, check=True)


def torn(pages: Path, *whole: Path) -> list[str]:
    """Say what is missing of pages that must be one of some whole ones, file by file."""
    names = {path.relative_to(pages) for path in pages.rglob("*") if path.is_file()}
    if names not in [
        {path.relative_to(other) for path in other.rglob("*") if path.is_file()} for other in whole
    ]:
        return [f"the pages are not whole: {sorted(map(str, names))}"]
    return [
        f"{page.name} is cut off"
        for page in pages.glob("*.html")
        if not page.read_text(encoding="utf-8").rstrip().endswith("</html>")
    ]


def different(folder: Path, undisturbed: Path) -> list[str]:
    """Say which tables of two stores differ in more than a clock's reading.

    Of the results the newest run counts: a fit that was done and killed before it could say so is
    a run more.
    """
    stores = [contents(place / "stalecurve.duckdb") for place in (folder, undisturbed)]
    return [f"{table} differs" for table in stores[1] if stores[0].get(table) != stores[1][table]]


def contents(database: Path) -> dict[str, list[tuple[object, ...]]]:
    """Give every table of a store but the clocks, rows sorted."""
    with duckdb.connect(database, read_only=True) as connection:
        columns: dict[str, list[str]] = {}
        for schema, table, column in connection.sql(
            """
            SELECT schema_name, table_name, column_name FROM duckdb_columns()
            WHERE schema_name IN ('intake', 'history', 'results') AND NOT internal
              AND (table_name, column_name) <> ('assessor_codes', 'code')  -- drawn by the clock
            ORDER BY ALL
            """
        ).fetchall():
            columns.setdefault(f"{schema}.{table}", []).append(column)
        return {
            table: connection.sql(
                f"SELECT {', '.join(kept(names))} FROM {table} {newest(names)} ORDER BY ALL"
            ).fetchall()
            for table, names in columns.items()
        }


def kept(names: list[str]) -> list[str]:
    """Columns that two stores have in common."""
    return [name for name in names if name not in {*_LEFT_OUT, "run_id"}]


def newest(names: list[str]) -> str:
    """Only the newest run of a table with runs."""
    if "run_id" not in names:
        return ""
    return "WHERE run_id = (SELECT max(run_id) FROM results.runs)"


def _kill_group(process: int) -> None:
    try:
        os.killpg(process, signal.SIGKILL)
    except ProcessLookupError:
        return
