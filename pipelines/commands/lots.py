"""A lot on its day, what to print on it, and what is out in the trade."""

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


def label(
    lot: Annotated[str, typer.Option("--lot", metavar="LOT", help="As the table lots has it.")],
    format_: Annotated[
        str | None,
        typer.Option("--format", metavar="FORMAT", help="One of its formats; usual: all."),
    ] = None,
    market: Annotated[
        str | None,
        typer.Option("--market", metavar="MARKET", help="As the table routes has it; usual: all."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say which date to print on a lot, why, and how to keep it.

    Exit code 1 where nothing may be printed.
    """
    config = configuration(config_file)
    from pipelines.flows.label_lot import answer_label
    from pipelines.flows.progress import say, step

    with step("looking at the lot"):
        printable = answer_label(lot, format_, market, config, say)
    if not printable:
        raise typer.Exit(1)


def trade(
    beer: Annotated[str, typer.Option("--beer", metavar="BEER", help="As the table beers has it.")],
    format_: Annotated[
        str, typer.Option("--format", metavar="FORMAT", help="As the table formats has it.")
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say what is in the trade of a beer that was dated too long.

    The question is kept, and stands on the page of the stock.
    """
    config = configuration(config_file)
    from pipelines.flows.progress import from_here, say, step
    from pipelines.flows.trade import answer_trade

    with step("looking at the trade"):
        page = answer_trade(beer, format_, config, say)
    typer.echo(f"Page: {from_here(page)}")
