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
