"""Sheets for a tasting session."""

from __future__ import annotations

from datetime import datetime  # noqa: TC003 - typer reads it
from pathlib import Path
from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def sheets(
    sample: Annotated[
        list[str] | None,
        typer.Option("--sample", metavar="SAMPLE", help="Taste this one; usual: all that wait."),
    ] = None,
    assessor: Annotated[
        list[str] | None,
        typer.Option("--assessor", metavar="NAME", help="Who tastes; usual: the shelf-life panel."),
    ] = None,
    seats: Annotated[
        int | None,
        typer.Option("--seats", min=1, max=60, help="How many taste, names to be written in."),
    ] = None,
    on: Annotated[
        datetime | None,
        typer.Option("--on", metavar="DAY", formats=["%Y-%m-%d"], help="Usual: today."),
    ] = None,
    session: Annotated[
        str, typer.Option("--session", metavar="NAME", help="Its name; usual: its day.")
    ] = "",
    pour: Annotated[
        float, typer.Option("--pour", min=10, max=500, metavar="ML", help="Beer in a glass.")
    ] = 60.0,
    *,
    twice: Annotated[
        bool, typer.Option("--twice/--no-twice", help="Serve one sample twice.")
    ] = True,
    to: Annotated[
        Path, typer.Option("--to", metavar="FOLDER", readable=False, help="Where they go.")
    ] = Path(),
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Write the sheets of a tasting session.

    Ballots to print and a workbook to fill in: blind codes, balanced orders, a fresh control and
    one sample twice. Six glasses at most, else several sessions. --sample and --assessor can be
    given several times.
    """
    config = configuration(config_file)
    from pipelines.flows.progress import say
    from pipelines.flows.sheets import make_sheets
    from pipelines.flows.sheets_choice import Wanted

    wanted = Wanted(
        on=None if on is None else on.date(),
        session=session,
        samples=tuple(sample or ()),
        assessors=tuple(assessor or ()),
        seats=seats,
        pour_ml=pour,
        twice=twice,
    )
    make_sheets(config, wanted, to, say)
