"""The command `stalecurve`.

Everything heavy is imported inside the command that needs it, so that help comes at once and
`load`, `fit` and `publish` never import Prefect.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Annotated

import typer

from analysis.errors import AnalysisError
from dashboards.errors import DashboardError
from pipelines.commands import (
    assessors,
    backup,
    complaints,
    corrections,
    daily,
    decisions,
    group,
    lots,
    new_format,
    panel,
    plan,
    reviews,
    schedule,
    sheets,
    template,
)
from pipelines.errors import PipelineError

app = typer.Typer(
    name="stalecurve",
    help="Best-before dates for beer, from a brewery's own tastings, oxygen readings and storage.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def main() -> None:
    """Run the command; a foreseen failure is one message on standard error and exit code 1."""
    # One thread for small matrices: quicker beside other work, and the same digits every time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # A name in letters that a Windows pipe does not have must not end the night.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        app()
    except (PipelineError, AnalysisError, DashboardError) as error:
        typer.echo(f"stalecurve: {error}", err=True)
        sys.exit(1)


def _version(asked: bool) -> None:  # noqa: FBT001 - typer calls it so
    if asked:
        from pipelines.flows.version import code_version

        typer.echo(f"stalecurve {code_version()}")
        raise typer.Exit


@app.callback()
def _options(
    *,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which code.")
    ] = False,
) -> None:
    pass


for command in (
    daily.run,
    daily.load,
    daily.fit,
    daily.publish,
    daily.check,
    lots.lot,
    lots.label,
    lots.trade,
    complaints.complaint,
    panel.difference,
    panel.compare,
    assessors.assessors,
    plan.plan,
    new_format.new_format,
    decisions.decide,
    decisions.record,
    reviews.review,
    reviews.action,
    schedule.schedule,
    sheets.sheets,
    template.template,
    backup.backup,
    backup.restore,
    group.group,
    corrections.history,
    corrections.forget,
    daily.demo,
):
    app.command()(command)


if __name__ == "__main__":
    main()
