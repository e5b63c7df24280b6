"""A million tastings and a million oxygen readings taken in, beside DuckDB's own `read_csv`.

`python -m tests.bench_intake` prints the ratio, the most memory, and what a second load takes;
`make bench` runs it. DuckDB guesses the types, fills one table a file in a database on disk, and
writes it out whole; so does a load, after every cell was checked.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import resource
import shutil
import sys
import tempfile
import time
from datetime import date, datetime, timedelta
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from pipelines.config import load_config
from pipelines.flows.ingest import ingest

ROWS = 1_000_000
LOTS = 2_000
SAMPLES = 20_000
ASSESSORS = 12
RUNS = 5


def write_inbox(inbox: Path, seed: int = 1) -> None:
    """Write what the million rows refer to, in files of their own."""
    rng = np.random.default_rng(seed)
    inbox.mkdir()
    lots = [f"{number:06d}" for number in range(LOTS)]
    samples = [f"S{number:06d}" for number in range(SAMPLES)]
    first = date(2020, 1, 1)
    packaged = [first + timedelta(days=int(day)) for day in rng.integers(0, 1500, LOTS)]
    _write(inbox, "beers", {"beer": ["Fen Pale"], "style": ["pale ale"], "abv_pct": [5.0]})
    _write(inbox, "formats", {"format": ["can 330"], "kind": ["can"], "volume_ml": [330]})
    _write(inbox, "assessors", {"assessor": [f"A{n:02d}" for n in range(ASSESSORS)]})
    _write(
        inbox,
        "lots",
        {"lot": lots, "format": "can 330", "beer": "Fen Pale", "packaged_on": packaged},
    )
    of_lot = rng.integers(0, LOTS, SAMPLES)
    placed = [packaged[lot] + timedelta(days=1) for lot in of_lot]
    pulled = [day + timedelta(days=60) for day in placed]
    _write(
        inbox,
        "samples",
        {
            "sample": samples,
            "lot": [lots[lot] for lot in of_lot],
            "storage_temp_c": rng.choice([4, 20, 30], SAMPLES),
            "placed_on": placed,
            "pulled_on": pulled,
        },
    )


def write_million(folder: Path, rows: int = ROWS, seed: int = 2) -> tuple[Path, Path]:
    """Write the tastings and the oxygen readings, and return their files."""
    rng = np.random.default_rng(seed)
    of_sample = np.arange(rows) // ASSESSORS % SAMPLES
    tasted = np.datetime64("2024-06-01") + rng.integers(0, 600, rows)
    _write(
        folder,
        "tastings",
        {
            "session": [f"T{number // 60:05d}" for number in range(rows)],
            "tasted_on": tasted,
            "assessor": [f"A{number % ASSESSORS:02d}" for number in range(rows)],
            "sample": [f"S{number:06d}" for number in of_sample],
            "code": [f"{number:03d}" for number in rng.integers(100, 999, rows)],
            "verdict": rng.choice(["accept", "reject", "not sure"], rows, p=[0.6, 0.35, 0.05]),
        },
    )
    at = np.datetime64("2024-02-10T06:00:00") + rng.integers(0, 86_400 * 600, rows)
    _write(
        folder,
        "oxygen",
        {
            "lot": [f"{number:06d}" for number in rng.integers(0, LOTS, rows)],
            "measured_at": [datetime.fromisoformat(str(moment)) for moment in at],
            "unit": "ppb",
            "quantity": rng.choice(["total", "shaken"], rows),
            "value": np.round(60 * np.exp(rng.normal(0, 0.4, rows)), 1),
            "reading": [f"R{number:07d}" for number in range(rows)],
            "minutes_after_fill": rng.integers(5, 110, rows),
            "temperature_c": np.round(rng.normal(12, 3, rows), 1),
            "head": [f"H{number:02d}" for number in rng.integers(1, 13, rows)],
            "meter": "M1",
        },
    )
    return folder / "tastings.csv", folder / "oxygen.csv"


def _write(inbox: Path, table: str, columns: dict[str, object]) -> None:
    pl.DataFrame(columns).write_csv(inbox / f"{table}.csv", datetime_format="%Y-%m-%d %H:%M:%S")


def read_csv_alone(files: tuple[Path, ...], database: Path) -> float:
    """Return the seconds that DuckDB takes for the files as they are."""
    began = time.perf_counter()
    with duckdb.connect(database) as connection:
        for file in files:
            connection.execute(f"CREATE TABLE {file.stem} AS SELECT * FROM read_csv('{file}')")
        connection.execute("CHECKPOINT")
    return time.perf_counter() - began


def intake(rows: int = ROWS) -> None:
    """Take the files in, print the ratios, in a process of its own for its memory.

    The two take turns, and the best of each is told: a busy machine spoils the longer one more.
    """
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        files = write_million(root, rows)
        before = root / "before"
        before.mkdir()
        (before / "stalecurve.toml").write_text('[brewery]\nname = "Quillmoor"\n')
        write_inbox(before / "inbox")
        ingest(load_config(before / "stalecurve.toml"), lambda _line: None)
        alone, taken, again = [], [], []
        for run in range(RUNS):
            alone.append(read_csv_alone(files, root / f"alone{run}.duckdb"))
            place = shutil.copytree(before, root / f"brewery{run}")
            for file in files:
                (place / "inbox" / file.name).hardlink_to(file)
            config = load_config(place / "stalecurve.toml")
            for seconds in (taken, again):
                began = time.perf_counter()
                ingest(config, lambda _line: None)
                seconds.append(time.perf_counter() - began)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(
        f"{len(files) * rows:,} rows taken in: {min(taken):.1f} s, "
        f"{min(taken) / min(alone):.1f} times DuckDB's read_csv ({min(alone):.2f} s), "
        f"{memory:.1f} GB at most; the same files again: {min(again):.2f} s"
    )


if __name__ == "__main__":
    intake(int(sys.argv[1]) if len(sys.argv) > 1 else ROWS)
