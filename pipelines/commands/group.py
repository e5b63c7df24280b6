"""A group of breweries: all run at once, one page that compares them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

GROUP_CONFIG = Path("group.toml")


def group(
    config_file: Annotated[
        Path,
        typer.Option("--config", metavar="FILE", readable=False, help="The group's configuration."),
    ] = GROUP_CONFIG,
) -> None:
    """Run a group of breweries at once and compare them on one page.

    Exit code 1 when one of them failed; the page says which and why.
    """
    from pipelines.config.group import load_group
    from pipelines.flows.progress import say, step

    loaded = load_group(config_file)
    with step("running the group"):
        from pipelines.flows.group import run_group

        problems = run_group(loaded, say)
    say(f"The breweries compared: {loaded.pages / 'index.html'}")
    for name, problem in problems.items():
        typer.echo(f"stalecurve: {name}: {problem}", err=True)
    if problems:
        raise typer.Exit(1)
