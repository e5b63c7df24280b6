"""The configuration of a group: the breweries in it, each with a configuration of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipelines.config.compute import Compute, compute_of
from pipelines.config.load import read_toml, refuse
from pipelines.config.section import Section

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


@dataclass(frozen=True)
class Group:
    """Breweries that are run together and compared on one page.

    Attributes:
        name: at the top of the page.
        folder: where the file stands.
        pages: the folder of the page, absolute.
        breweries: name to configuration file, absolute, by name.
        compute: how the fits are spread; each brewery's own holds when it runs alone.
    """

    name: str
    folder: Path
    pages: Path
    breweries: Mapping[str, Path]
    compute: Compute


def load_group(path: Path) -> Group:
    """Read and check a group's configuration file.

    Args:
        path: The TOML file; relative paths in it are taken from its folder.

    Raises:
        ConfigError: It is missing or not TOML, or holds faults; the text lists all of them.
    """
    faults: list[str] = []
    top, folder = Section("", read_toml(path), faults), path.resolve().parent
    named = top.section("breweries")
    files = {name: folder / named.text(name, "") for name in sorted(named.values)}
    group = Group(
        name=top.text("name", ""),
        folder=folder,
        pages=folder / top.text("pages", "group_pages"),
        breweries=files,
        compute=compute_of(top.section("compute"), "processes"),
    )
    top.close()
    if "name" not in top.values:
        faults.insert(0, "name is missing, expected the group's name")
    if not named.values:
        expected = 'lines such as "Name" = "folder/stalecurve.toml"'
        faults.append(f"breweries is missing, expected {expected}")
    faults.extend(
        f"{named.where(name)} is the configuration of {other} too"
        for number, (name, file) in enumerate(files.items())
        for other, earlier in list(files.items())[:number]
        if file.resolve() == earlier.resolve() and named.values[name]
    )
    refuse(path, faults)
    return group
