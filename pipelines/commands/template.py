"""Workbooks to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration_or_defaults


def template(
    config_file: ConfigFile = DEFAULT_CONFIG,
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE", readable=False, help="What to write.")
    ] = Path("stalecurve template.xlsx"),
) -> None:
    """Write a workbook to fill in, a sheet for each table."""
    config = configuration_or_defaults(config_file)
    from pipelines.flows.progress import say
    from pipelines.flows.template import make_template

    make_template(config, to, say)
