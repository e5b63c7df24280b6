"""What the documents tell a reader to type is there."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from dataclasses import asdict, fields
from pathlib import Path

import pytest

from pipelines.config import load_config
from pipelines.config.customers import Customer

ROOT = Path(__file__).parents[1]
COMMAND = Path(sys.executable).with_name("stalecurve")
DOCUMENTS = [path for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md") if path.exists()]


def code_of(text: str) -> list[str]:
    """Give every line of code of a document: fenced, and between single backticks."""
    fenced = re.findall(r"^```[^\n]*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    prose = re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)
    lines = [line for block in fenced for line in block.splitlines()]
    return [*lines, *re.findall(r"`([^`\n]+)`", prose)]


def commands_in(text: str) -> set[tuple[str, frozenset[str]]]:
    """Give every `stalecurve` command of a document with the options it is shown with."""
    calls = (
        re.match(r"\s*(?:\$ )?(?:\.venv/bin/)?stalecurve ([a-z-]+)\b(.*)", line)
        for line in code_of(text)
    )
    return {(call[1], frozenset(re.findall(r"--[a-z-]+", call[2]))) for call in calls if call}


def targets_in(text: str) -> set[str]:
    """Give every target that a document tells the reader to make."""
    calls = (re.match(r"\s*(?:\$ )?make((?: [a-z]+)+)\s*(?:#.*)?$", line) for line in code_of(text))
    return {target for call in calls if call for target in call[1].split()}


def targets_of_makefile() -> set[str]:
    """Give every target that the Makefile has."""
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    return set(re.findall(r"^([a-z]+):(?!=)", text, flags=re.MULTILINE))


def help_of(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Ask the command for its help."""
    command = [str(COMMAND), *arguments, "--help"]
    return subprocess.run(command, capture_output=True, text=True, check=False)


SAMPLE = """
First `make demo`, then, with `stalecurve load --config brewery.toml`, your own; make haste.

```sh
$ make check test   # everything
.venv/bin/stalecurve check FILE
stalecurve 0.1.0
```
"""


def test_commands_and_targets_are_found_in_a_document() -> None:
    """In a fence and in a sentence, with their options, and not where it is only prose."""
    assert targets_in(SAMPLE) == {"demo", "check", "test"}
    assert commands_in(SAMPLE) == {("load", frozenset({"--config"})), ("check", frozenset())}


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_command_named_has_help_and_the_options_shown(document: Path) -> None:
    """A reader who types what stands there is understood."""
    for command, options in sorted(commands_in(document.read_text(encoding="utf-8"))):
        shown = help_of(command)
        assert shown.returncode == 0, f"{document.name} names stalecurve {command}"
        missing = {option for option in options if option not in shown.stdout}
        assert not missing, f"{document.name} shows stalecurve {command} with {missing}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_target_named_exists(document: Path) -> None:
    """No document sends a reader to a target that is gone."""
    named = targets_in(document.read_text(encoding="utf-8"))
    assert named <= targets_of_makefile(), f"{document.name} names an unknown target"


def test_every_command_has_a_sentence_of_help() -> None:
    """The list of commands says what each is for, in full."""
    lines = help_of().stdout.partition("Commands:\n")[2].splitlines()
    assert {line.split()[0] for line in lines} == {
        "run",
        "load",
        "fit",
        "publish",
        "check",
        "schedule",
        "demo",
        "backup",
        "restore",
        "template",
        "group",
        "history",
        "forget",
        "lot",
        "label",
        "trade",
        "complaint",
        "sheets",
        "difference",
        "compare",
        "assessors",
        "plan",
        "new-format",
        "decide",
        "record",
        "review",
        "action",
    }
    assert all(line.endswith(".") and not line.endswith("...") for line in lines)


def test_the_demo_configuration_shows_every_key() -> None:
    """A brewer copies it and finds all that can be set, each with a comment."""
    path = ROOT / "data_demo" / "stalecurve.toml"
    shown = tomllib.loads(path.read_text(encoding="utf-8"))
    config = load_config(path)
    for section, held in config.settings().items():
        assert section in shown, section
        if section in {"attributes", "columns", "files", "words"}:
            assert shown[section], section
        else:
            assert held.keys() <= shown[section].keys(), section
    assert shown["paths"].keys() == {"inbox", "database", "pages", "set_aside"}
    assert shown["intake"].keys() == asdict(config.site.limits).keys()
    (layout,) = config.site.layouts
    assert shown["files"][layout.files].keys() == asdict(layout).keys() - {"files"}
    assert {key for of in shown["customers"].values() for key in of} == {
        field.name for field in fields(Customer)
    }
    assert shown["complaints"].keys() == {field.name for field in fields(config.complaints)}
    assert shown["complaints"]["priors"].keys() == config.complaints.priors.keys()
    assert shown["labels"].keys() == {"rule", "form", "markets"}
    assert shown["compute"].keys() == {"runner", "workers", "scheduler"}
    assert shown["schedule"].keys() == {field.name for field in fields(config.schedule)}
