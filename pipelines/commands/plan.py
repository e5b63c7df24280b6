"""The next study."""

from __future__ import annotations

from datetime import datetime  # noqa: TC003 - typer resolves it
from pathlib import Path  # noqa: TC003 - likewise
from typing import TYPE_CHECKING, Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration

if TYPE_CHECKING:
    from collections.abc import Iterable

_MOST = 20
_LONGEST = 3650


def plan(
    style: Annotated[
        str, typer.Option("--style", metavar="STYLE", help="As the table beers has it.")
    ],
    format_: Annotated[
        str, typer.Option("--format", metavar="FORMAT", help="As the table formats has it.")
    ],
    temperatures: Annotated[
        str | None,
        typer.Option(metavar="°C,…", help="Storages: 4,20,30; usual: those of [pulls.plan]."),
    ] = None,
    pulls: Annotated[
        list[str] | None,
        typer.Option(
            metavar="DAYS",
            help="Days in storage, for one storage 20:28,56,84 or for all 28,56,84; may be "
            "repeated; usual: those of [pulls.plan].",
        ),
    ] = None,
    lots: Annotated[int, typer.Option(min=1, max=_MOST, help="Number of lots.")] = 3,
    lot: Annotated[
        list[str] | None,
        typer.Option(metavar="LOT", help="One that is packed already; may be repeated."),
    ] = None,
    assessors: Annotated[
        int | None,
        typer.Option(min=1, max=60, help="Number of tasters; usual: the panel."),
    ] = None,
    attendance: Annotated[
        float | None,
        typer.Option(
            min=0.05, max=1.0, help="Share of them that comes; usual: as in the last year."
        ),
    ] = None,
    pour: Annotated[
        float, typer.Option(min=10.0, max=1000.0, metavar="ML", help="Beer in a glass.")
    ] = 80.0,
    wish: Annotated[
        int | None, typer.Option(min=1, metavar="DAYS", help="The date that is wished for.")
    ] = None,
    route: Annotated[
        str | None, typer.Option(metavar="ROUTE", help="Kept as it says; usual: the main route.")
    ] = None,
    begin: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], help="First day in storage; usual: tomorrow."),
    ] = None,
    studies: Annotated[
        int, typer.Option(min=20, max=1000, help="How many simulated studies.")
    ] = 200,
    calendar: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", readable=False, help="Write the pulls into a workbook for the inbox."
        ),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Plan the next study of a style in a format.

    It is simulated under what is known today: how far it narrows the date, what one thing more
    would do, and which storage the packages can take.
    """
    config = configuration(config_file)
    from pipelines.flows.plan import make_plan
    from pipelines.flows.progress import say
    from pipelines.flows.study import Asked

    asked = Asked(
        style=style,
        format=format_,
        temperatures=None if temperatures is None else _temperatures(temperatures),
        pulls=_all_pulls(pulls or ()),
        lots=lots,
        named=tuple(lot or ()),
        assessors=assessors,
        attendance=attendance,
        pour_ml=pour,
        wish_days=wish,
        route=route,
        begins=None if begin is None else begin.date(),
        studies=studies,
        calendar=calendar,
    )
    make_plan(config, asked, say)


def _temperatures(written: str) -> tuple[float, ...]:
    try:
        return tuple(_degrees(part) for part in written.split(","))
    except ValueError:
        message = f"{written!r}: expected storages in °C from -5 to 60, such as 4,20,30"
        raise typer.BadParameter(message, param_hint="--temperatures") from None


def _degrees(written: str) -> float:
    degrees = float(written)
    if not -5.0 <= degrees <= 60.0:  # noqa: PLR2004 - storages of the configuration
        raise ValueError
    return degrees


def _all_pulls(lists: Iterable[str]) -> dict[float | None, tuple[int, ...]]:
    """Days by storage; None: every storage that is not named."""
    found: dict[float | None, tuple[int, ...]] = {}
    for written in lists:
        temp_c, days = _pulls(written)
        if temp_c in found:
            message = f"{written!r}: days of that storage stand before: name each storage once"
            raise typer.BadParameter(message, param_hint="--pulls")
        found[temp_c] = days
    return found


def _pulls(written: str) -> tuple[float | None, tuple[int, ...]]:
    where, found, days = written.rpartition(":")
    try:
        return _degrees(where) if found else None, _days(days)
    except ValueError:
        message = (
            f"{written!r}: expected days from 1 to {_LONGEST}, such as 28,56,84 or 20:28,56,84"
        )
        raise typer.BadParameter(message, param_hint="--pulls") from None


def _days(written: str) -> tuple[int, ...]:
    listed = sorted({int(day) for day in written.split(",")})
    if listed[0] < 1 or listed[-1] > _LONGEST:
        raise ValueError
    return tuple(listed)
