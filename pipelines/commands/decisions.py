"""What was decided about dates, by whom, on what evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


def decide(
    beer: Annotated[str, typer.Option("--beer", metavar="BEER", help="As the table beers has it.")],
    format_: Annotated[
        str, typer.Option("--format", metavar="FORMAT", help="As the table formats has it.")
    ],
    days: Annotated[int, typer.Option(metavar="N", help="Days from packaging.")],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who records it.")],
    because: Annotated[
        str, typer.Option(metavar="REASON", help="Needed above what the data support.")
    ] = "",
    market: Annotated[
        str | None, typer.Option(metavar="MARKET", help="For this one; usual: all markets.")
    ] = None,
    route: Annotated[
        str | None, typer.Option(metavar="ROUTE", help="For this route alone; usual: all of them.")
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Record a date that was decided, with its evidence.

    A record sheet of one page is written, as PDF, HTML and JSON. A newer decision takes the place
    of an older one; none is overwritten.
    """
    config = configuration(config_file)
    from pipelines.flows.decide import decide as record_decision
    from pipelines.flows.decision_record import Wanted
    from pipelines.flows.progress import say, step

    wanted = Wanted(beer, format_, days, by.strip(), because.strip(), market, route)
    with step("gathering the evidence"):
        written = record_decision(wanted, config, say)
    _say_where(written)


def record(
    number: Annotated[
        int | None, typer.Argument(metavar="N", help="Of the decision; usual: list them all.")
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say a decision as it was recorded; write its sheet again."""
    config = configuration(config_file)
    from pipelines.flows.progress import say
    from pipelines.flows.record_sheets import list_decisions, show_record

    if number is None:
        list_decisions(config, say)
    else:
        _say_where(show_record(number, config, say))


def _say_where(written: Iterable[Path]) -> None:
    from pipelines.flows.progress import from_here

    typer.echo(f"Record sheet: {', '.join(str(from_here(path)) for path in written)}")
