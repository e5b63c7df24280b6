"""The configuration of a group."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.config.compute import Compute
from pipelines.config.group import load_group
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path


def test_every_key_is_read(tmp_path: Path) -> None:
    """Paths are taken from the file's folder, breweries come by name."""
    path = tmp_path / "group.toml"
    path.write_text(
        'name = "Fenland"\npages = "out"\n'
        '[breweries]\n"Quillmoor" = "q/stalecurve.toml"\n"Ashwater" = "a.toml"\n'
        '[compute]\nrunner = "threads"\nworkers = 3\n',
        encoding="utf-8",
    )
    group = load_group(path)
    assert (group.name, group.folder, group.pages) == ("Fenland", tmp_path, tmp_path / "out")
    assert list(group.breweries.items()) == [
        ("Ashwater", tmp_path / "a.toml"),
        ("Quillmoor", tmp_path / "q" / "stalecurve.toml"),
    ]
    assert group.compute == Compute("threads", 3, "")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[breweries]\nA = "a.toml"', "name is missing, expected the group's name"),
        ('name = "F"', 'breweries is missing, expected lines such as "Name" = "folder/stale'),
        ('name = "F"\n[breweries]\nA = 3', "breweries.A is 3, expected a text"),
        ('name = "F"\npage = "x"', "page is no known key: did you mean pages?"),
        ('name = "F"\n[compute]\nrunner = "all"', "compute.runner is 'all', expected"),
        (
            'name = "F"\n[breweries]\nA = "a.toml"\nB = "x/../a.toml"',
            "breweries.B is the configuration of A too",
        ),
    ],
)
def test_a_fault_is_said_with_its_key(tmp_path: Path, text: str, fault: str) -> None:
    """As in a brewery's own file."""
    path = tmp_path / "group.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError) as caught:
        load_group(path)
    lines = [line.strip() for line in str(caught.value).splitlines()]
    assert any(line.startswith(fault) for line in lines), lines
