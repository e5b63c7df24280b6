"""The work done by itself, every night and every quarter."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def schedule(
    config_file: ConfigFile = DEFAULT_CONFIG,
    *,
    install: Annotated[
        bool,
        typer.Option(
            "--install",
            help="Write the files that start it with the machine, and the job with a double-click.",
        ),
    ] = False,
) -> None:
    """Do the whole job every night and every quarter, until stopped."""
    config = configuration(config_file)
    if install:
        from pipelines.flows.autostart import install as write_files

        write_files(config, config_file, typer.echo)
        return
    from pipelines.flows.schedule import serve_schedule

    serve_schedule(config, config_file)
