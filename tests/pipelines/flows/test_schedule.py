"""The schedule under a Prefect server of its own, as a person starts and stops it."""

from __future__ import annotations

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

import pytest

from pipelines.flows.lock import acquired
from pipelines.flows.schedule import quarterly_rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conftest import Watched

    from pipelines.config import Config

COMMAND = Path(sys.executable).with_name("stalecurve")
PATIENCE = 150.0

# What Prefect makes of a cron expression and of the rule, in a process of its own.
DAYS = """
import asyncio, json, sys
from datetime import datetime
from zoneinfo import ZoneInfo
from prefect.server.schemas.schedules import CronSchedule, RRuleSchedule
def days(text, start, count):
    kind, name = (CronSchedule, "cron") if "*" in text else (RRuleSchedule, "rrule")
    made = kind(timezone="Europe/Berlin", **{name: text})
    start = datetime.fromisoformat(start).replace(tzinfo=ZoneInfo("Europe/Berlin"))
    return [each.isoformat() for each in asyncio.run(made.get_dates(count, start=start))]
print(json.dumps([days(*asked) for asked in json.loads(sys.argv[1])]))
"""


@dataclass
class Running:
    """A schedule at work, and what it has said so far."""

    process: subprocess.Popen[str]
    said: list[str] = field(default_factory=list)

    def listen(self) -> None:
        """Keep every line as it comes."""
        assert self.process.stdout is not None
        self.said.extend(self.process.stdout)  # extend takes them one by one

    def wait_for(self, pattern: str, times: int = 1) -> list[str]:
        """Wait until a line has been said so many times."""
        deadline = monotonic() + PATIENCE
        while True:
            found = [line for line in self.said if re.search(pattern, line)]
            if len(found) >= times:
                return found
            if monotonic() > deadline or self.process.poll() is not None:
                pytest.fail(f"{pattern!r} was not said {times} times in {self.said}")
            sleep(0.1)

    @property
    def port(self) -> int:
        """Where its run history is."""
        return int(self.wait_for("^run history: ")[0].rpartition(":")[2])

    def ask(self, what: str) -> list[dict[str, Any]]:
        """Ask its server for all that it knows of a kind."""
        found: list[dict[str, Any]] = self.post(f"{what}/filter")
        return found

    def start(self, name: str) -> None:
        """Start a job, as a person does on the page of its run history."""
        (job,) = (job["id"] for job in self.ask("deployments") if job["name"] == name)
        self.post(f"deployments/{job}/create_flow_run", '{"state": {"type": "SCHEDULED"}}')

    def post(self, path: str, what: str = "{}") -> Any:  # noqa: ANN401 - of no one type
        """Send its server something, again while its record is busy, and give what it says."""
        deadline = monotonic() + PATIENCE
        while True:
            with closing(HTTPConnection("127.0.0.1", self.port, timeout=30)) as to:
                to.request("POST", f"/api/{path}", what, {"Content-Type": "application/json"})
                answer = to.getresponse()
                said = answer.read()
            if answer.status < HTTPStatus.BAD_REQUEST:
                return json.loads(said)
            if answer.status != HTTPStatus.SERVICE_UNAVAILABLE or monotonic() > deadline:
                pytest.fail(f"{path} was answered with {answer.status}: {said!r}")
            sleep(0.5)

    def kill_server(self) -> None:
        """Kill its server, its only child once no run is at work."""
        parent = self.process.pid
        children = Path(f"/proc/{parent}/task/{parent}/children")
        while len(found := children.read_text(encoding="ascii").split()) > 1:
            sleep(0.1)
        os.kill(int(found[0]), signal.SIGKILL)

    def runs(self, state: str, at_least: int) -> list[str]:
        """Wait for so many runs to end in a state and give the names of all that did."""
        deadline = monotonic() + PATIENCE
        while monotonic() < deadline:
            names = [run["name"] for run in self.ask("flow_runs") if run["state_name"] == state]
            if len(names) >= at_least:
                return names
            sleep(0.5)
        pytest.fail(f"there were no {at_least} runs that ended as {state}")


@contextmanager
def schedule(folder: Path, watched: Watched, *, ends_with: int = 0) -> Iterator[Running]:
    """Have the schedule of a brewery serve, and end it as a service is ended if it still runs."""
    with subprocess.Popen(
        [str(COMMAND), "schedule"],
        cwd=folder,
        env=watched.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        running = Running(process)
        listener = Thread(target=running.listen)
        listener.start()
        try:
            running.wait_for("^run history: ")
            yield running
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(60)
            listener.join()
    assert process.returncode == ends_with


def command(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run another command of the same brewery."""
    return subprocess.run(
        [str(COMMAND), *arguments], cwd=folder, capture_output=True, text=True, check=False
    )


def set_nightly(folder: Path, cron: str) -> None:
    """Write when the nightly job is due."""
    text = f'as_of = 2026-04-20\n[brewery]\nname = "Quillmoor"\n[schedule]\nnightly = "{cron}"\n'
    (folder / "stalecurve.toml").write_text(text, encoding="utf-8")


def put_back(record: Path) -> None:
    """Make every run that was to come one that was due, while the machine was off."""
    with closing(sqlite3.connect(record)) as connection, connection:
        for column in ("expected_start_time", "next_scheduled_start_time"):
            connection.execute(
                f"UPDATE flow_run SET {column} = datetime({column}, '-100 days') "
                "WHERE state_type = 'SCHEDULED'"
            )


def test_a_schedule_from_its_first_night_to_a_missed_one(brewery: Config, watched: Watched) -> None:
    """It fires, keeps to itself, stops whole, makes up once for what was missed, says all ends."""
    folder = brewery.folder
    set_nightly(folder, "* * * * *")
    with schedule(folder, watched) as running:
        # A second one is refused; a person's own run beside it is not.
        second = command(folder, "schedule")
        assert second.returncode == 1
        assert f"(process {running.process.pid}), since " in second.stderr
        assert f"run history at http://127.0.0.1:{running.port}" in second.stderr
        by_hand = command(folder, "run")
        assert by_hand.returncode == 0, by_hand.stderr
        running.wait_for("files of pages written$")
        assert all(name.startswith("Quillmoor, ") for name in running.runs("Completed", 1))
        assert {task["name"] for task in running.ask("task_runs")} == {
            "take new files in",
            "fit and date",
            "write the pages",
        }
        running.start("every quarter")
        running.wait_for("^2026-Q1: made from the data up to 10 Apr 2026, and kept$")
        assert any("quarter" in name for name in running.runs("Completed", 2))
        assert "review the quarter" in {task["name"] for task in running.ask("task_runs")}
    assert (brewery.paths.pages / "reviews" / "2026-Q1.html").is_file()
    with pytest.raises(ConnectionRefusedError):
        running.ask("flow_runs")
    lock = acquired(folder / "stalecurve.duckdb.lock", "test")
    assert lock is not None
    lock.release()

    record = folder / ".prefect" / "schedule" / "prefect.db"
    with closing(sqlite3.connect(record)) as connection:
        kept = {line for (line,) in connection.execute("SELECT message FROM log")}
    assert any(line.endswith("files of pages written") for line in kept)

    # The machine is off for some nights and a quarter's day, and somebody spoils the pages.
    put_back(record)
    set_nightly(folder, "0 4 * * *")
    (brewery.paths.pages / "index.html").write_text("mine", encoding="utf-8")
    with schedule(folder, watched, ends_with=1) as running:
        failed = running.wait_for("^Quillmoor, .* failed: pages holds files that are no", times=2)
        assert sum("quarter" in line for line in failed) == 1
        assert sum("nothing new: the dates of run 2 stand" in line for line in running.said) == 1
        assert sum(line.startswith("run 3: ") for line in running.said) == 1
        assert len(running.runs("Failed", 2)) == 2
        assert set(running.runs("Missed", 2)) == {"missed"}

        # Somebody's hand slips in the configuration, and the system ends the server.
        (folder / "stalecurve.toml").write_text("[brewery", encoding="utf-8")
        running.start("every night")
        running.wait_for(f"^{folder.name}, .* failed: .*stalecurve.toml is not TOML")
        assert len(running.runs("Failed", 3)) == 3
        assert running.runs("Crashed", 0) == []
        running.kill_server()
        running.process.wait(60)
    assert running.said[-1].startswith("stalecurve: Prefect's server ended, and the schedule")
    assert watched.at_work()
    assert watched.strangers() == ""


def days(*asked: tuple[str, str, int]) -> list[list[str]]:
    """Ask Prefect when expressions of cron, or rules, come due: from when, and how many times."""
    arguments = [sys.executable, "-c", DAYS, json.dumps(asked)]
    done = subprocess.run(arguments, capture_output=True, text=True, check=True)
    found: list[list[str]] = json.loads(done.stdout)
    return found


def test_a_night_of_changing_clocks_has_one_run() -> None:
    """Also at an hour that is left out in spring and there twice in autumn."""
    four, half_past_two = "0 4 * * *", "30 2 * * *"
    nights = days(
        (four, "2026-03-29T00:00", 2),
        (four, "2026-10-25T00:00", 2),
        (half_past_two, "2026-03-29T00:00", 2),
        (half_past_two, "2026-10-25T00:00", 2),
    )
    assert nights == [
        ["2026-03-29T04:00:00+02:00", "2026-03-30T04:00:00+02:00"],
        ["2026-10-25T04:00:00+01:00", "2026-10-26T04:00:00+01:00"],
        ["2026-03-29T03:30:00+02:00", "2026-03-30T02:30:00+02:00"],
        ["2026-10-25T02:30:00+02:00", "2026-10-26T02:30:00+01:00"],
    ]


def test_the_quarter_is_on_working_day_eight() -> None:
    """Counted from Monday to Friday, at the hour of the brewery's clock, summer and winter."""
    (found,) = days((quarterly_rule("05:30"), "2026-01-01T00:00", 5))
    assert found == [
        "2026-01-12T05:30:00+01:00",
        "2026-04-10T05:30:00+02:00",
        "2026-07-10T05:30:00+02:00",
        "2026-10-12T05:30:00+02:00",
        "2027-01-12T05:30:00+01:00",
    ]
