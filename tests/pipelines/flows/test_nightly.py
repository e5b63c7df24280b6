"""The whole job once through Prefect, from an empty folder, and again."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import data_demo

if TYPE_CHECKING:
    from conftest import Watched

DEMO = Path(data_demo.__path__[0])
COMMAND = Path(sys.executable).with_name("stalecurve")


@dataclass(frozen=True)
class Job:
    """A folder in which the job ran three times, the last without an inbox, and what was said.

    Between the second and the third a complaint was answered.
    """

    folder: Path
    first: subprocess.CompletedProcess[str]
    second: subprocess.CompletedProcess[str]
    answer: subprocess.CompletedProcess[str]
    third: subprocess.CompletedProcess[str]


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory, watched: Watched) -> Job:
    """Run the demo brewery's files twice in a folder of their own, then take them away."""
    folder = tmp_path_factory.mktemp("brewery")
    shutil.copytree(DEMO / "inbox", folder / "inbox")
    shutil.copy(DEMO / "stalecurve.toml", folder)

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(COMMAND), *words],
            cwd=folder,
            env=watched.environment,
            capture_output=True,
            text=True,
            check=False,
        )

    first, second, answer = run("run"), run("run"), run("complaint", "K026")
    (folder / "inbox").rename(folder / "away")
    shutil.rmtree(folder / "pages")
    return Job(folder, first, second, answer, run("run"))


def test_files_become_dates_and_pages(job: Job) -> None:
    """The first run ends with the dates and where to open the pages."""
    assert job.first.returncode == 0, job.first.stderr
    lines = job.first.stdout.splitlines()
    assert any(line.startswith("load 1: ") for line in lines)
    assert any(line.startswith("run 1: ") for line in lines)
    assert any(line.startswith("pale ale") for line in lines)
    assert lines[-2:] == [
        "Pages: pages/index.html",
        "Dates as a file: pages/data/best_before.csv",
    ]
    assert (job.folder / "pages" / "index.html").is_file()
    assert (job.folder / "pages" / "data" / "best_before.csv").is_file()


def test_the_second_run_changes_nothing(job: Job) -> None:
    """Nothing new came, so the dates stand, and the table is the same."""
    assert job.second.returncode == 0, job.second.stderr
    first, second = job.first.stdout.splitlines(), job.second.stdout.splitlines()
    assert second[:4] == [
        "no new file in the inbox: nothing changed",
        "rows of earlier files that still stand aside: 24, see the data page",
        "to mend them: set_aside (lots.csv, oxygen.csv, samples.csv, tastings.csv, changes.csv)",
        "nothing new: the dates of run 1 stand",
    ]
    table = next(i for i, line in enumerate(first) if line.startswith("Style"))
    assert second[-len(first[table:]) :] == first[table:]


def test_pages_are_written_also_when_nothing_can_be_taken_in(job: Job) -> None:
    """The week goes on while a shared folder is away; the run fails, and says why."""
    assert job.third.returncode == 1
    assert job.third.stderr.splitlines()[-1].startswith("stalecurve: there is no inbox ")
    assert (job.folder / "pages" / "this-week.html").is_file()


def test_a_brewer_sees_our_lines_and_not_prefects(job: Job) -> None:
    """Standard error has the plain progress and nothing else."""
    for done in (job.first, job.second):
        assert all(line.startswith("still ") for line in done.stderr.splitlines()), done.stderr


def test_nothing_leaves_the_machine(job: Job, watched: Watched) -> None:
    """No process of the job looks up or connects to a host that is not this one."""
    assert watched.at_work()
    assert watched.strangers() == ""


def test_prefect_keeps_a_record_in_plain_names(job: Job) -> None:
    """Its database lies in the brewery's folder, with a night and its steps."""
    record = sqlite3.connect(job.folder / ".prefect" / "prefect.db")
    try:
        nights = record.execute("SELECT name, state_name FROM flow_run").fetchall()
        steps = record.execute("SELECT name, state_name FROM task_run").fetchall()
    finally:
        record.close()
    assert [state for _, state in nights] == ["Completed", "Completed", "Failed"]
    assert all(name.startswith("Hollinweir Brewery, ") for name, _ in nights)
    assert sorted(set(steps)) == [
        ("fit and date", "Completed"),
        ("take new files in", "Completed"),
        ("take new files in", "Failed"),
        ("write the pages", "Completed"),
    ]


def test_the_readme_shows_what_the_demo_prints(job: Job) -> None:
    """Every line of the demo's output in README.md is a line of the first run's output."""
    readme = (DEMO.parent / "README.md").read_text(encoding="utf-8")
    shown = readme.split("$ make demo\n")[1].split("```")[0].splitlines()
    asked = [line for line in shown if line != "…" and ": data_demo/" not in line]
    assert len(asked) > 8
    assert not set(asked) - set(job.first.stdout.splitlines())


def test_the_readme_shows_what_a_complaint_is_answered(job: Job) -> None:
    """So is every line of the complaint that it shows answered."""
    readme = (DEMO.parent / "README.md").read_text(encoding="utf-8")
    shown = readme.split("stalecurve complaint K026")[1].split("```")[0].splitlines()[1:]
    asked = [line for line in shown if line != "…"]
    assert len(asked) == 3
    assert not set(asked) - set(job.answer.stdout.splitlines())
