"""When something was wrong: who said what of a row, and taking a load back."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def history(
    table: Annotated[str, typer.Argument(metavar="TABLE", help="Such as lots or tastings.")],
    key: Annotated[
        list[str],
        typer.Argument(metavar="KEY", help="What identifies the row; its beginning will do."),
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say who said what of a row, and when."""
    config = configuration(config_file)
    from pipelines.flows.history import history_lines
    from pipelines.flows.progress import say

    for line in history_lines(table, key, config):
        say(line)


def forget(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A file of the inbox.")],
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Take back what the newest load of a file said.

    Nothing is deleted: stalecurve load --confirm FILE takes it in again.
    """
    config = configuration(config_file)
    from pipelines.flows.forget import forget as take_back
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "forget"), step("taking it back"):
        take_back(file, config, say)
