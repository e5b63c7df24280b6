"""Keep the brewery safe, and move it."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer resolves it
from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def backup(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="DIR", readable=False, help="A folder of backups, best on another disk."
        ),
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
    *,
    with_inbox: Annotated[
        bool, typer.Option("--with-inbox", help="Keep the files of the inbox too.")
    ] = False,
) -> None:
    """Keep a copy of the store and the configuration.

    It may be made at any time, also while the night runs.
    """
    config = configuration(config_file)
    from pipelines.flows.backup import back_up
    from pipelines.flows.progress import say

    back_up(config, config_file, folder, say, with_inbox=with_inbox)


def restore(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="DIR", readable=False, help="A backup, or a folder of them: the newest."
        ),
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
    *,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Also where there is a store; that one is kept beside."),
    ] = False,
) -> None:
    """Make the store of a backup again.

    Every checksum is compared first.
    """
    from pipelines.flows.progress import say
    from pipelines.flows.restore import restore as put_back

    put_back(config_file, folder, say, replace=replace)
