"""A group of breweries through the command."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl
import pytest

from pipelines.config.group import load_group
from pipelines.errors import ConfigError
from pipelines.flows.group import run_group

if TYPE_CHECKING:
    from collections.abc import Callable

COMMAND = Path(sys.executable).with_name("stalecurve")
INBOX = {
    "beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\n",
    "formats.csv": "format,kind,volume_ml,headspace_ml\ncan 440,can,440,12\n",
    "lots.csv": (
        "lot,format,beer,packaged_on,best_before\n1,can 440,Fen Pale,2026-01-05,2026-05-05\n"
    ),
    "oxygen.csv": (
        "lot,format,measured_at,quantity,value,unit\n1,can 440,2026-01-05T12:00,total,60,ppb\n"
    ),
}


@pytest.fixture
def group_file(tmp_path: Path, make_brewery: Callable[..., Path]) -> Path:
    """A group of a whole brewery, one that has tasted nothing yet, and one that is not there."""
    make_brewery(tmp_path / "quillmoor", "Quillmoor", 3)
    inbox = tmp_path / "ashwater" / "inbox"
    inbox.mkdir(parents=True)
    for name, text in INBOX.items():
        (inbox / name).write_text(text, encoding="utf-8")
    (tmp_path / "ashwater" / "stalecurve.toml").write_text('[brewery]\nname = "Ashwater"', "utf-8")
    path = tmp_path / "group.toml"
    path.write_text(
        'name = "Fenland"\n[breweries]\n"Quillmoor" = "quillmoor/stalecurve.toml"\n'
        '"Ashwater" = "ashwater/stalecurve.toml"\n"Lost Mill" = "mill/stalecurve.toml"\n',
        encoding="utf-8",
    )
    return path


def test_one_that_fails_does_not_stop_the_others(group_file: Path) -> None:
    """The others have runs, pages and their place on the group's page, which says what failed."""
    folder = group_file.parent
    command = [str(COMMAND), "group", "--config", str(group_file)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert re.search(r"Quillmoor: run 1: \d+ verdicts on 1\d lots, \d+ dates", done.stdout)
    assert "Ashwater: run 1: not estimated, because no aged beer has a verdict" in done.stdout
    assert "stalecurve: Lost Mill: there is no configuration file" in done.stderr
    assert "Traceback" not in done.stderr
    for name in ("quillmoor", "ashwater"):
        assert (folder / name / "pages" / "index.html").is_file()
    page = (folder / "group_pages" / "index.html").read_text(encoding="utf-8")
    assert "Lost Mill could not be brought up to date, and nothing of it is known" in page
    assert 'href="../quillmoor/pages/index.html"' in page
    compared = pl.read_csv(folder / "group_pages" / "data" / "breweries.csv")
    assert compared["brewery"].to_list() == ["Ashwater", "Lost Mill", "Quillmoor"]
    printed = dict(compared.select("brewery", "printed").rows())
    assert printed["Ashwater"] == printed["Lost Mill"] == 0  # no route, no date to compare
    assert printed["Quillmoor"] > 5

    again = subprocess.run(command, capture_output=True, text=True, check=False)
    assert "Quillmoor: nothing new: the dates of run 1 stand" in again.stdout


def test_two_breweries_may_not_share_a_store(group_file: Path) -> None:
    """One would take the other's dates for its own; nothing is written then."""
    mill = group_file.parent / "mill"
    mill.mkdir()
    (mill / "stalecurve.toml").write_text(
        '[brewery]\nname = "Lost Mill"\n[paths]\ndatabase = "../ashwater/stalecurve.duckdb"\n',
        encoding="utf-8",
    )
    with pytest.raises(ConfigError, match="Lost Mill and Ashwater would both write"):
        run_group(load_group(group_file), [].append)
    assert not (group_file.parent / "group_pages").exists()
