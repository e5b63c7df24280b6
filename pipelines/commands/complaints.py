"""Complaints from the trade."""

from __future__ import annotations

from datetime import datetime  # noqa: TC003 - typer reads it
from typing import TYPE_CHECKING, Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration

if TYPE_CHECKING:
    from datetime import date

    from pipelines.config import Config


def complaint(
    complaint_: Annotated[
        str | None,
        typer.Argument(metavar="[ID]", help="As the table complaints has it; or type it in."),
    ] = None,
    category: Annotated[
        list[str] | None,
        typer.Option("--category", metavar="CATEGORY", help="What it is about: stale, flat, …"),
    ] = None,
    lot: Annotated[str | None, typer.Option("--lot", metavar="LOT", help="As told.")] = None,
    beer: Annotated[str | None, typer.Option("--beer", metavar="BEER", help="Which beer.")] = None,
    format_: Annotated[
        str | None, typer.Option("--format", metavar="FORMAT", help="Which package format.")
    ] = None,
    printed: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="The date printed on it."),
    ] = None,
    code: Annotated[
        str | None, typer.Option("--code", metavar="TEXT", help="Time or code printed on it.")
    ] = None,
    outlet: Annotated[
        str | None, typer.Option("--outlet", metavar="OUTLET", help="Where it was sold.")
    ] = None,
    market: Annotated[
        str | None, typer.Option("--market", metavar="MARKET", help="As the routes have it.")
    ] = None,
    received: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="When it was told; usual: today."),
    ] = None,
    bought: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="When it was bought."),
    ] = None,
    opened: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="When it was opened."),
    ] = None,
    kept_at: Annotated[
        float | None, typer.Option("--kept-at", metavar="C", help="How warm it was kept, °C.")
    ] = None,
    kept_for: Annotated[
        float | None, typer.Option("--for", metavar="DAYS", help="For how many days.")
    ] = None,
    note: Annotated[
        str | None,
        typer.Option("--note", metavar="TEXT", help="What was said; looked through for safety."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Answer a complaint: odds between causes, a draft reply.

    New files of the inbox are taken in first. What touches safety stops the answer and goes to the
    food-safety lead.
    """
    from pipelines.flows.complaint_work import beside
    from pipelines.flows.progress import from_here, say, step

    def remark(line: str) -> None:
        typer.echo(line, err=True)

    with step("looking at the complaint"), beside() as work:
        config = configuration(config_file)
        from pipelines.flows.complaint import answer_complaint
        from pipelines.flows.complaint_asked import Asked, checked_categories

        asked: Asked | str
        if complaint_ is not None:
            asked = complaint_
        else:
            asked = Asked(
                received_on=_day(received) or _today(config),
                categories=checked_categories(category or []),
                lot=lot,
                beer=beer,
                format=format_,
                printed_date=_day(printed),
                code_time=code,
                outlet=outlet,
                market=market,
                bought_on=_day(bought),
                opened_on=_day(opened),
                storage_temp_c=kept_at,
                storage_days=kept_for,
                note=note,
            )
        written = answer_complaint(asked, config, work, say, remark)
    if written:
        page, *files = written
        typer.echo(f"Page: {from_here(page)}")
        typer.echo(f"Beside the database: {', '.join(str(from_here(path)) for path in files)}")


def _day(given: datetime | None) -> date | None:
    return None if given is None else given.date()


def _today(config: Config) -> date:
    from pipelines.flows.week import day_of_brewery

    return config.as_of or day_of_brewery(config)
