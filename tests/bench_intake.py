"""A million tastings and a million oxygen readings taken in, beside DuckDB's own reader.

Both sides read the same two CSV files into tables of a database file, to the checkpoint: DuckDB
with its types guessed and nothing checked, stalecurve as `stalecurve load` does it, into a store
that knows the lots, samples, assessors and meters. They take turns; each run is a process of its
own, whose largest memory is its own too, and the best of the runs counts for each. Processor time
is told beside the time waited for, because a busy machine spoils the longer run more.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import date, datetime
from datetime import time as clock
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from pipelines.config import load_config
from pipelines.flows.ingest import ingest

ROWS = 1_000_000
RUNS = 5
FILES = ("tastings.csv", "oxygen.csv")
LOTS, SAMPLES, ASSESSORS, GLASSES = 4_000, 20_000, 40, 100


def brewery(folder: Path) -> None:
    """Write a brewery's configuration and its inbox, the two large files beside it."""
    rng = np.random.default_rng(1)
    lots = pl.Series(range(LOTS)).cast(pl.String).str.zfill(6)
    tables = {
        "beers": pl.DataFrame({"beer": "Fen Pale", "style": "pale ale", "abv_pct": 5}),
        "formats": pl.DataFrame({"format": "can 330", "kind": "can", "volume_ml": 330}),
        "lots": pl.select(
            lot=lots,
            format=pl.lit("can 330"),
            beer=pl.lit("Fen Pale"),
            packaged_on=date(2024, 1, 5),
        ),
        "samples": pl.select(
            sample=_code("S", np.arange(SAMPLES)),
            lot=lots.gather(rng.integers(LOTS, size=SAMPLES)),
            storage_temp_c=20,
            placed_on=date(2024, 1, 6),
            pulled_on=date(2024, 2, 5),
        ),
        "assessors": pl.select(assessor=_code("A", np.arange(ASSESSORS))),
        "meter_checks": pl.select(
            meter=pl.Series(["M1", "M2"]),
            checked_at=date(2024, 1, 5),
            standard=pl.lit("air"),
            expected=100,
            observed=100,
            unit=pl.lit("% saturation"),
        ),
    }
    (folder / "inbox").mkdir()
    for name, table in tables.items():
        table.write_csv(folder / "inbox" / f"{name}.csv")
    _tastings(rng).write_csv(folder / "tastings.csv")
    _oxygen(rng, lots).write_csv(folder / "oxygen.csv")
    (folder / "stalecurve.toml").write_text('[brewery]\nname = "Quillmoor"\n', "utf-8")


def _code(letter: str, numbers: np.ndarray) -> pl.Series:
    return letter + pl.Series(numbers).cast(pl.String).str.zfill(6)


def _one_of(rng: np.random.Generator, shares: dict[str | None, float]) -> pl.Series:
    drawn = rng.choice(len(shares), size=ROWS, p=list(shares.values()))
    return pl.Series(list(shares), dtype=pl.String).gather(drawn)


def _tastings(rng: np.random.Generator) -> pl.DataFrame:
    """Every column of the contract, notes as seldom as they are written."""
    session = np.arange(ROWS) // GLASSES
    return pl.select(
        session=_code("T", session),
        tasted_on=pl.lit(date(2024, 2, 6)) + pl.duration(days=pl.Series(session % 700)),
        assessor=_code("A", rng.integers(ASSESSORS, size=ROWS)),
        sample=_code("S", rng.integers(SAMPLES, size=ROWS)),
        code=pl.Series(np.arange(ROWS)),
        verdict=_one_of(rng, {"accept": 0.7, "reject": 0.25, "not sure": 0.05}),
        note=_one_of(rng, {None: 0.8, "papery": 0.1, "a little sweet, like honey": 0.1}),
    )


def _oxygen(rng: np.random.Generator, lots: pl.Series) -> pl.DataFrame:
    """Every column of the contract but `filled_at`, for which minutes stand."""
    minutes = pl.Series(np.arange(ROWS))
    return pl.select(
        reading=_code("R", np.arange(ROWS)),
        lot=lots.gather(rng.integers(LOTS, size=ROWS)),
        format=pl.lit("can 330"),
        measured_at=(
            pl.lit(datetime.combine(date(2024, 1, 5), clock(6))) + pl.duration(minutes=minutes)
        ).dt.strftime("%Y-%m-%d %H:%M"),
        quantity=_one_of(rng, {"shaken": 0.6, "dissolved": 0.2, "headspace": 0.2}),
        value=pl.Series(rng.lognormal(4, 0.5, ROWS).round(1)),
        unit=pl.lit("ppb"),
        minutes_after_fill=pl.Series(rng.integers(5, 90, ROWS)),
        temperature_c=pl.Series(rng.normal(18, 2, ROWS).round(1)),
        headspace_ml=pl.Series(rng.normal(12, 1, ROWS).round(1)),
        head=pl.Series(rng.integers(1, 13, ROWS)),
        run_position=_one_of(rng, {"start": 0.2, "middle": 0.6, "end": 0.2}),
        meter=_one_of(rng, {"M1": 0.5, "M2": 0.5}),
    )


@dataclass(frozen=True)
class Watch:
    """Seconds waited and processor seconds since it was made."""

    waited: float = field(default_factory=time.perf_counter)
    processor: float = field(default_factory=time.process_time)

    def read(self) -> tuple[float, float]:
        """Give both."""
        return time.perf_counter() - self.waited, time.process_time() - self.processor


def take_in(folder: Path) -> tuple[float, ...]:
    """Take the large files in after the small ones, then find nothing new; seconds of each."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        shutil.copytree(folder / "inbox", Path(place, "inbox"))
        config = load_config(Path(shutil.copy(folder / "stalecurve.toml", place)))
        ingest(config, lambda _: None)
        for name in FILES:
            Path(place, "inbox", name).hardlink_to(folder / name)
        watch = Watch()
        summary = ingest(config, lambda _: None)
        taken = watch.read()
        if summary.rows_new != ROWS * len(FILES):
            raise ValueError(summary)
        watch = Watch()
        ingest(config, lambda _: None)
        return *taken, watch.read()[0]


def read_csv(folder: Path) -> tuple[float, ...]:
    """Let DuckDB read the large files into tables of their own; seconds."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        watch = Watch()
        with duckdb.connect(Path(place, "plain.duckdb")) as connection:
            for name in FILES:
                table = Path(name).stem
                connection.execute(f"CREATE TABLE {table} AS FROM read_csv('{folder / name}')")
            connection.execute("CHECKPOINT")
        return watch.read()


def _alone(side: str, folder: Path) -> list[float]:
    """Give what a side prints in a process of its own."""
    program = [sys.executable, "-m", "tests.bench_intake", side, str(folder)]
    printed = subprocess.run(program, check=True, capture_output=True, text=True).stdout
    return [float(figure) for figure in printed.split()]


def _largest_memory() -> float:
    """Give the largest memory of this process so far, GB."""
    status = Path("/proc/self/status").read_text("utf-8")
    (line,) = (line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 2**20


def intake() -> None:
    """Print how many times as long as DuckDB's reader it takes, and how much memory."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        brewery(folder)
        runs = [(_alone("take_in", folder), _alone("read_csv", folder)) for _ in range(RUNS)]
    ours, theirs = (
        [min(figures) for figures in zip(*side, strict=True)] for side in zip(*runs, strict=True)
    )
    waited, processor, again, _ = ours
    memory = max(run[-1] for run, _ in runs)
    print(
        f"taking in {ROWS:,} tastings and {ROWS:,} oxygen readings: {waited / theirs[0]:.1f} times"
        f" DuckDB's read_csv: {waited:.2f} s, {theirs[0]:.2f} s; {processor / theirs[1]:.1f} times"
        f" its processor time: {processor:.1f} s, {theirs[1]:.1f} s; at most {memory:.1f} GB;"
        f" the same files again {again:.2f} s, {again / waited:.0%} of the first time"
    )


if __name__ == "__main__":
    if len(sys.argv) == 1:
        intake()
    else:
        side, folder = {"take_in": take_in, "read_csv": read_csv}[sys.argv[1]], Path(sys.argv[2])
        print(*side(folder), _largest_memory())
