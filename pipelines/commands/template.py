"""Workbooks to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration_or_defaults


def template(
    config_file: ConfigFile = DEFAULT_CONFIG,
    *,
    session: Annotated[
        bool, typer.Option("--session", help="One sheet for a tasting session.")
    ] = False,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", readable=False, help="What to write.")
    ] = None,
) -> None:
    """Write a workbook to fill in, a sheet for each table.

    The one for a session has a row for each glass that waits for a taster.
    """
    config = configuration_or_defaults(config_file)
    from pipelines.flows.progress import say
    from pipelines.flows.template import make_session, make_template

    if session:
        make_session(config, to or Path("stalecurve session.xlsx"), say)
    else:
        make_template(config, to or Path("stalecurve template.xlsx"), say)
