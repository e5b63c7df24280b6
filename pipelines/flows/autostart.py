"""What starts the work: the schedule with the machine, and the whole job with a double-click.

Every text is made from where things are, on any system. `install` writes those of this system into
the brewery's folder and changes nothing else: switching the schedule on is one command, said there.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from dataclasses import dataclass
from getpass import getuser
from pathlib import Path, PurePath
from typing import TYPE_CHECKING
from unicodedata import normalize
from xml.etree import ElementTree as ET

from pipelines.errors import PipelineError

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipelines.config import Config

CLICK = "Take in and publish"
# The brewery's folder may hold one named as a package of ours: -P keeps it from hiding that.
_MODULE = ("-P", "-m", "pipelines.cli")
_TASK = "http://schemas.microsoft.com/windows/2004/02/mit/task"


@dataclass(frozen=True)
class Place:
    """Where things are: the interpreter, the configuration, and for whom both are.

    Attributes:
        python: The interpreter that has stalecurve.
        config_file: The brewery's configuration, absolute.
        brewery: Its name.
        user: Whose rights the schedule has.
    """

    python: PurePath
    config_file: PurePath
    brewery: str
    user: str

    @property
    def unit(self) -> str:
        """A name for the schedule in the system's own list of services."""
        plain = normalize("NFKD", self.brewery).encode("ascii", "ignore").decode().lower()
        return re.sub("[^a-z0-9]+", "-", f"stalecurve {plain}").strip("-")

    @property
    def schedule(self) -> list[str]:
        """The command that serves the schedule."""
        return [str(self.python), *_MODULE, "schedule", "--config", str(self.config_file)]


def install(config: Config, config_file: Path, say: Callable[[str], None]) -> None:
    """Write the files of this system into the brewery's folder, say them and how to switch on.

    Raises:
        PipelineError: The folder cannot be written.
    """
    place = Place(Path(sys.executable), config_file.resolve(), config.brewery.name, getuser())
    windows = os.name == "nt"
    service = config.folder / f"{place.unit}.{'xml' if windows else 'service'}"
    click = config.folder / f"{CLICK}.{'cmd' if windows else 'sh'}"
    text = windows_task(place) if windows else systemd_unit(place)
    try:
        service.write_text(text, encoding="utf-16" if windows else "utf-8")
        script = windows_click(place) if windows else linux_click(place)
        click.write_text(script, encoding="utf-8", newline="")
        click.chmod(0o755)
    except OSError as error:
        message = f"{config.folder} cannot be written: {error.strerror}"
        raise PipelineError(message) from error
    say(text)
    say(f"This is written to {service}. To start the schedule now and with the machine:")
    say(f"  {switch_on(place, service, windows=windows)}")
    say(f"To take files in and publish with a double-click: {click}")


def switch_on(place: Place, service: PurePath, *, windows: bool) -> str:
    """Give the command, for an administrator, that registers the schedule and starts it."""
    if windows:
        return f'schtasks /Create /TN "{place.unit}" /XML "{service}"'
    return f"sudo systemctl enable --now {shlex.quote(str(service))}"


def systemd_unit(place: Place) -> str:
    """Give the unit that starts the schedule with a Linux machine."""
    folder = str(place.config_file.parent)
    return f"""\
[Unit]
Description={_percent(f"stalecurve for {place.brewery}, every night and every quarter")}
RequiresMountsFor={_quoted(folder)}

[Service]
User={place.user}
WorkingDirectory={_percent(folder)}
ExecStart={" ".join(_quoted(part).replace("$", "$$") for part in place.schedule)}
# The schedule itself ends what it started.
KillMode=mixed
Restart=on-failure
RestartSec=60

[Install]
WantedBy=multi-user.target
"""


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{_percent(escaped)}"'


def _percent(text: str) -> str:
    return text.replace("%", "%%")


def windows_task(place: Place) -> str:
    """Give the task that starts the schedule with a Windows machine, for its Task Scheduler."""
    task = ET.Element("Task", version="1.2", xmlns=_TASK)
    told = f"stalecurve for {place.brewery}, every night and every quarter"
    command, *arguments = place.schedule
    _fill(
        task,
        {
            "RegistrationInfo": {"Description": told},
            # At once when it is registered, and with the machine.
            "Triggers": {"RegistrationTrigger": {}, "BootTrigger": {}},
            # Without anybody at the keyboard, and without a stored password.
            "Principals": {"Principal": {"UserId": place.user, "LogonType": "S4U"}},
            "Settings": {
                "MultipleInstancesPolicy": "IgnoreNew",
                "DisallowStartIfOnBatteries": "false",
                "StopIfGoingOnBatteries": "false",
                "ExecutionTimeLimit": "PT0S",
                "RestartOnFailure": {"Interval": "PT1M", "Count": "60"},
            },
            "Actions": {
                "Exec": {
                    "Command": command,
                    "Arguments": subprocess.list2cmdline(arguments),
                    "WorkingDirectory": str(place.config_file.parent),
                }
            },
        },
    )
    ET.indent(task)
    return f'<?xml version="1.0" encoding="UTF-16"?>\n{ET.tostring(task, encoding="unicode")}\n'


def _fill(element: ET.Element, content: dict[str, object]) -> None:
    for name, inner in content.items():
        child = ET.SubElement(element, name)
        if isinstance(inner, dict):
            _fill(child, inner)
        else:
            child.text = str(inner)


def windows_click(place: Place) -> str:
    """Give the batch file that does the whole job; it lies beside the configuration."""
    python, config_file = (_percent(text) for text in (str(place.python), place.config_file.name))
    return "\r\n".join(
        (
            "@echo off",
            "rem Names in the lines below may have letters of any language.",
            "chcp 65001 >nul",
            'pushd "%~dp0"',
            f'"{python}" {" ".join(_MODULE)} run --config "{config_file}"',
            "popd",
            "pause",
            "",
        )
    )


def linux_click(place: Place) -> str:
    """Give the script that does the whole job; it lies beside the configuration."""
    command = shlex.join([str(place.python), *_MODULE, "run", "--config", place.config_file.name])
    return f"""\
#!/bin/sh
cd "$(dirname "$0")" || exit 1
{command}
printf 'Press Enter to close. '
read -r _
"""
