"""What starts the work by itself or with a double-click, on Linux and on Windows."""

from __future__ import annotations

import os
import shlex
import subprocess
from configparser import ConfigParser
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from pipelines.flows.autostart import (
    Place,
    install,
    linux_click,
    switch_on,
    systemd_unit,
    windows_click,
    windows_task,
)

if TYPE_CHECKING:
    from pipelines.config import Config

LINUX = Place(
    python=PurePosixPath("/opt/beer tools/bin/python"),
    config_file=PurePosixPath('/srv/Bräu 100% $Haus "neu"/stalecurve.toml'),
    brewery="Fährbräu & Söhne",
    user="cellar",
)
WINDOWS = Place(
    python=PureWindowsPath(r"C:\Program Files\Python 100%\python.exe"),
    config_file=PureWindowsPath(r"D:\Bräu & Söhne\stalecurve.toml"),
    brewery="Fährbräu & Söhne",
    user="cellar",
)
TASK = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def test_the_unit_starts_the_schedule_in_the_breweries_folder() -> None:
    """Read back by systemd's rules, the command has the paths with blanks, umlauts and signs."""
    unit = ConfigParser(interpolation=None)
    unit.optionxform = str  # type: ignore[assignment,method-assign]
    unit.read_string(systemd_unit(LINUX))
    command = unit["Service"]["ExecStart"].replace("%%", "%").replace("$$", "$")
    assert shlex.split(command) == LINUX.schedule
    folder = unit["Service"]["WorkingDirectory"].replace("%%", "%")
    assert folder == str(LINUX.config_file.parent)
    assert unit["Service"]["User"] == "cellar"
    assert unit["Service"]["KillMode"] == "mixed"
    assert unit["Install"]["WantedBy"] == "multi-user.target"


def test_the_task_starts_the_schedule_with_windows() -> None:
    """It is one that Windows' schema knows, without a time limit, at once and at every start."""
    task = ET.fromstring(windows_task(WINDOWS).encode("utf-16"))  # noqa: S314 - our own
    order = ["RegistrationInfo", "Triggers", "Principals", "Settings", "Actions"]
    assert [element.tag for element in task] == [f"{TASK}{name}" for name in order]
    run = task.find(f"{TASK}Actions/{TASK}Exec")
    assert run is not None
    assert run.findtext(f"{TASK}Command") == r"C:\Program Files\Python 100%\python.exe"
    assert run.findtext(f"{TASK}Arguments") == (
        r'-P -m pipelines.cli schedule --config "D:\Bräu & Söhne\stalecurve.toml"'
    )
    assert run.findtext(f"{TASK}WorkingDirectory") == r"D:\Bräu & Söhne"
    assert task.findtext(f"{TASK}Settings/{TASK}ExecutionTimeLimit") == "PT0S"
    triggers = task.find(f"{TASK}Triggers")
    assert triggers is not None
    assert {trigger.tag for trigger in triggers} == {
        f"{TASK}BootTrigger",
        f"{TASK}RegistrationTrigger",
    }


def test_one_command_switches_it_on() -> None:
    """It names the file, quoted as that system's shell wants it."""
    assert switch_on(LINUX, PurePosixPath("/srv/a b/x.service"), windows=False) == (
        "sudo systemctl enable --now '/srv/a b/x.service'"
    )
    assert switch_on(WINDOWS, PureWindowsPath(r"D:\a b\x.xml"), windows=True) == (
        r'schtasks /Create /TN "stalecurve-fahrbrau-sohne" /XML "D:\a b\x.xml"'
    )


def test_the_batch_file_goes_to_its_own_folder_and_stays_open() -> None:
    """A per cent sign is doubled, paths are quoted, and the window waits for a key."""
    lines = windows_click(WINDOWS).split("\r\n")
    assert 'pushd "%~dp0"' in lines
    assert (
        r'"C:\Program Files\Python 100%%\python.exe" -P -m pipelines.cli run '
        '--config "stalecurve.toml"'
    ) in lines
    assert lines.index("chcp 65001 >nul") < lines.index('pushd "%~dp0"')
    assert lines[-2:] == ["pause", ""]


def test_the_script_runs_beside_the_configuration(tmp_path: Path) -> None:
    """Started from anywhere, with a Python whose path has blanks, it runs the whole job."""
    folder = tmp_path / "Bräu $Haus"
    folder.mkdir()
    python = folder / "my python"
    python.write_text('#!/bin/sh\npwd\nprintf "%s\\n" "$@"\n', encoding="utf-8")
    python.chmod(0o755)
    script = folder / "Take in and publish.sh"
    place = Place(python, folder / "our brewery.toml", "Fährbräu", "cellar")
    script.write_text(linux_click(place), encoding="utf-8")
    done = subprocess.run(
        ["/bin/sh", str(script)], cwd="/", input="\n", capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines() == [
        str(folder),
        *("-P", "-m", "pipelines.cli", "run", "--config", "our brewery.toml"),
        "Press Enter to close. ",
    ]


@pytest.mark.parametrize("brewery_name", ["Fährbräu & Söhne", "醸造所"])
def test_the_name_of_the_service_is_plain(brewery_name: str) -> None:
    """Whatever letters a brewery's name has."""
    place = Place(LINUX.python, LINUX.config_file, brewery_name, "cellar")
    assert place.unit in {"stalecurve-fahrbrau-sohne", "stalecurve"}


def test_install_writes_into_the_breweries_folder_and_says_what(brewery: Config) -> None:
    """Two files, told with the one command; nothing else is changed."""
    before = set(brewery.folder.iterdir())
    said: list[str] = []
    install(brewery, brewery.folder / "stalecurve.toml", said.append)
    new = {path.name: path for path in set(brewery.folder.iterdir()) - before}
    assert set(new) == {"stalecurve-quillmoor.service", "Take in and publish.sh"}
    assert new["stalecurve-quillmoor.service"].read_text(encoding="utf-8") == said[0]
    assert os.access(new["Take in and publish.sh"], os.X_OK)
    assert f"  sudo systemctl enable --now {new['stalecurve-quillmoor.service']}" in said
