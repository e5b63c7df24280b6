"""The same fit in this thread, on threads, on processes and on a Dask cluster."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from analysis.dating.assessment import Assumptions, assess
from analysis.dating.policy import Policy
from analysis.staling.checks import back_test
from pipelines.config import load_config
from pipelines.config.compute import Compute
from pipelines.errors import ComputeError
from pipelines.flows.compute import computing
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.store.connect import open_store
from tests.pipelines.flows.conftest import small_brewery

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import polars as pl

    from analysis.dating.assessment import Assessment
    from analysis.staling.checks import BackTest

COMMAND = Path(sys.executable).with_name("stalecurve")
ENVIRONMENT = os.environ | {"OPENBLAS_NUM_THREADS": "1"}
WORKER = ("-m", "distributed.cli.dask_worker", "--nthreads", "1", "--no-dashboard", "--no-nanny")
SCHEDULER = ("-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0")

# Kills the first worker that is seen to have a part of the back-test in hand.
KILLER = """
import os, signal, sys, time
from distributed import Client
with Client(sys.argv[1], set_as_default=False) as client:
    pids = client.run(os.getpid)
    print("ready", flush=True)
    while True:
        for worker, keys in client.processing().items():
            if any(str(key).startswith("lot") for key in keys):
                os.kill(pids[worker], signal.SIGKILL)
                os._exit(0)
        time.sleep(0.01)
"""


@contextmanager
def program(
    log: Path, *arguments: str, until: str, environment: dict[str, str] | None = None
) -> Iterator[tuple[subprocess.Popen[bytes], str]]:
    """Start Python with arguments, wait for a line with a word, and end it after the block."""
    with (
        log.open("wb") as file,
        subprocess.Popen(
            [sys.executable, *arguments],
            env=environment or ENVIRONMENT,
            cwd=log.parent,  # what lies in the current folder comes before what is installed
            stdout=file,
            stderr=subprocess.STDOUT,
        ) as process,
    ):
        try:
            while not (said := [n for n in log.read_text("utf-8").splitlines() if until in n]):
                assert process.poll() is None, log.read_text("utf-8")
                time.sleep(0.05)
            yield process, said[0]
        finally:
            process.kill()


@pytest.fixture
def scheduler(tmp_path: Path) -> Iterator[str]:
    """A Dask scheduler on loopback without workers: its address."""
    log = tmp_path / "scheduler.log"
    with program(log, *SCHEDULER, "--no-dashboard", until="Scheduler at:") as (_, said):
        yield said.split()[-1]


def results(database: Path) -> dict[str, pl.DataFrame]:
    """Give every result table of a store's newest run, but for when it was made."""
    with open_store(database, read_only=True) as connection:
        names = connection.sql(
            "SELECT table_name FROM information_schema.columns"
            " WHERE table_schema = 'results' AND column_name = 'run_id'"
        ).fetchall()
        frames = {
            name: connection.sql(
                f"FROM results.{name} WHERE run_id = (SELECT max(run_id) FROM results.runs)"
                " ORDER BY ALL"
            ).pl()
            for (name,) in names
        }
    return frames | {"runs": frames["runs"].drop("started_at", "finished_at")}


@pytest.fixture(scope="module")
def one_after_the_other() -> tuple[Assessment, BackTest]:
    """A small brewery assessed and back-tested in this thread."""
    found = assess(small_brewery(3), Policy(), Assumptions())
    assert found.model is not None
    return found, back_test(found.model)


@pytest.mark.parametrize("runner", ["threads", "processes"])
def test_other_runners_give_the_same_digits(
    runner: str, one_after_the_other: tuple[Assessment, BackTest], tmp_path: Path
) -> None:
    """Two at once, every frame of dates and of the back-test equals that of one after the other."""
    alone, tested = one_after_the_other
    assert alone.model is not None
    with computing(Compute(runner, 2, ""), tmp_path, "Quillmoor") as each:
        spread = assess(small_brewery(3), Policy(), Assumptions(), each)
        tested_so = back_test(alone.model, each)
    assert all(spread.frames[name].equals(frame) for name, frame in alone.frames.items())
    assert tested_so.lots.equals(tested.lots)
    assert tested.lots.height > 8  # more than one part


def test_a_cluster_that_loses_a_worker_gives_the_same_digits(
    make_brewery: Callable[..., Path], scheduler: str, tmp_path: Path
) -> None:
    """Two workers, one killed in the middle of the back-test: every result equals those of here."""
    config_file = make_brewery(tmp_path / "brewery", "Quillmoor", 3)
    config = load_config(config_file)
    ingest(config, [].append)
    fit(config, [].append)
    here = results(config.paths.database)
    with config_file.open("a", encoding="utf-8") as file:
        file.write(f'[compute]\nrunner = "dask"\nscheduler = "{scheduler}"\n')
    logs = [tmp_path / f"worker{n}.log" for n in (1, 2)]
    with (
        program(logs[0], *WORKER, scheduler, until="Registered to:") as (one, _),
        program(logs[1], *WORKER, scheduler, until="Registered to:") as (two, _),
        program(tmp_path / "killer.log", "-c", KILLER, scheduler, until="ready") as (killer, _),
    ):
        command = [str(COMMAND), "fit", "--config", str(config_file)]
        done = subprocess.run(command, env=ENVIRONMENT, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert killer.wait(10) == 0
        assert sorted([one.poll() or 0, two.poll() or 0]) == [-9, 0]
    there = results(config.paths.database)
    assert there.keys() == here.keys()
    for name, frame in here.items():
        assert there[name].drop("run_id").equals(frame.drop("run_id")), name
    assert there["runs"]["run_id"].item() == 2
    with sqlite3.connect(config.folder / ".prefect" / "prefect.db") as history:
        tasks = [name for (name,) in history.execute("SELECT name FROM task_run")]
    history.close()
    assert {"law weibull", "law lognormal", "law loglogistic"} <= set(tasks)
    assert any(name.startswith("lots ") and name.endswith(" left out") for name in tasks)


def refusal(compute: Compute, folder: Path) -> str:
    """Ask for a cluster that is not fit, and give what is said."""
    with pytest.raises(ComputeError) as caught, computing(compute, folder, "Quillmoor"):
        pass
    return str(caught.value)


def test_without_the_extra_the_message_names_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Nothing is imported that is not there, and the fit does not begin."""
    monkeypatch.setitem(sys.modules, "prefect_dask", None)
    said = refusal(Compute("dask", 1, "tcp://127.0.0.1:1"), tmp_path)
    assert "install the project with .[dask]" in said


def test_a_scheduler_that_does_not_answer_is_said(tmp_path: Path) -> None:
    """The message has its address and what to do instead."""
    said = refusal(Compute("dask", 1, "tcp://127.0.0.1:1"), tmp_path)
    assert "tcp://127.0.0.1:1 does not answer" in said
    assert 'runner = "threads"' in said


def test_a_cluster_of_unfit_workers_is_refused(scheduler: str, tmp_path: Path) -> None:
    """None at all, one that calculates on more threads, one without this code: each is said."""
    compute = Compute("dask", 1, scheduler)
    assert "has no workers: start some with dask worker" in refusal(compute, tmp_path)
    more = ENVIRONMENT | {"OPENBLAS_NUM_THREADS": "2"}
    log = tmp_path / "worker.log"
    with program(log, *WORKER, scheduler, until="Registered to:", environment=more):
        assert "OPENBLAS_NUM_THREADS 2: set it to 1" in refusal(compute, tmp_path)
    other = tmp_path / "other" / "pipelines"
    other.mkdir(parents=True)
    (other / "__init__.py").write_text("", encoding="utf-8")
    bare = ENVIRONMENT | {"PYTHONPATH": str(other.parent)}
    with program(log, *WORKER, scheduler, until="Registered to:", environment=bare):
        assert "has another stalecurve" in refusal(compute, tmp_path)
