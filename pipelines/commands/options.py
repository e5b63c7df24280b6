"""What the commands have in common: which brewery they work for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from pipelines.config import Config

DEFAULT_CONFIG = Path("stalecurve.toml")
ConfigFile = Annotated[
    Path,
    # Whether it can be read is told with the other faults, not as wrong usage.
    typer.Option("--config", metavar="FILE", readable=False, help="The brewery's configuration."),
]


def configuration(config_file: Path) -> Config:
    """Read and check the brewery's configuration.

    Raises:
        ConfigError: It is missing or holds faults.
    """
    from pipelines.config import load_config

    return load_config(config_file)


def configuration_or_defaults(config_file: Path) -> Config:
    """Read the configuration; defaults hold in a folder without one, unless a file was named.

    Raises:
        ConfigError: The named file is missing, or there is one that holds faults.
    """
    from pipelines.config import default_config

    alone = config_file == DEFAULT_CONFIG and not config_file.exists()
    return default_config(Path()) if alone else configuration(config_file)
