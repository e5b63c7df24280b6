"""A lot on its day, and what is out in the trade."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def lot(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="As the table lots has it.")],
    format_: Annotated[
        str | None,
        typer.Option("--format", metavar="FORMAT", help="One of its formats; usual: all."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say whether a lot may carry its usual date, by its oxygen.

    New files of the inbox are taken in first; what came of that goes to standard error.
    """
    config = configuration(config_file)
    from pipelines.flows.lot_today import answer_lot
    from pipelines.flows.progress import from_here, say, step

    def remark(line: str) -> None:
        typer.echo(line, err=True)

    with step("looking at the lot"):
        page = answer_lot(lot, format_, config, say, remark)
    if page is not None:
        typer.echo(f"Page: {from_here(page)}")
