"""The review of a quarter, and the actions agreed on in it."""

from __future__ import annotations

from datetime import datetime  # noqa: TC003 - typer reads it
from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def review(
    quarter: Annotated[
        str | None,
        typer.Argument(metavar="QUARTER", help="Such as 2026-Q3; usual: the last that has ended."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Make the report on a quarter, for a meeting.

    It knows the data as they stood on working day 8 of the next quarter and is kept as it was made.
    Asked for again, it is made again from the same data and held against the one that was kept.
    """
    config = configuration(config_file)
    from pipelines.flows.progress import from_here, say
    from pipelines.flows.review import review as make_review

    written = make_review(quarter, config, say)
    typer.echo(f"Review: {', '.join(str(from_here(path)) for path in written)}")


def action(
    quarter: Annotated[
        str | None, typer.Argument(metavar="QUARTER", help="Whose review agreed on it.")
    ] = None,
    what: Annotated[str | None, typer.Argument(metavar="WHAT", help="What is to be done.")] = None,
    who: Annotated[str, typer.Option(metavar="NAME", help="Who is to do it.")] = "",
    due: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="By when.")
    ] = None,
    done: Annotated[
        int | None, typer.Option(metavar="N", help="The number of an action that is done.")
    ] = None,
    dropped: Annotated[
        int | None, typer.Option(metavar="N", help="The number of one that is dropped.")
    ] = None,
    because: Annotated[
        str, typer.Option(metavar="REASON", help="What was found; needed to drop one.")
    ] = "",
    by: Annotated[str, typer.Option(metavar="NAME", help="Who records it.")] = "",
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Record an action of a review, or that it is done; list them.

    Without WHAT, --done and --dropped the actions of the quarter are listed, or all of them. The
    next review says which are done. Nothing is overwritten.
    """
    config = configuration(config_file)
    from pipelines.flows.actions import Word, list_actions, record_action
    from pipelines.flows.progress import say

    if what is None and done is None and dropped is None:
        list_actions(quarter, config, say)
        return
    word = Word(quarter, what, who, due and due.date(), done, dropped, because, by)
    record_action(word, config, say)
