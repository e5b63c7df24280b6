"""The daily work: take files in, fit, publish; and the same for the demo brewery."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipelines.commands.options import (
    DEFAULT_CONFIG,
    ConfigFile,
    configuration,
    configuration_or_defaults,
)

if TYPE_CHECKING:
    from pipelines.config import Config


def run(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Take new files in, fit, write the pages: the whole job."""
    _whole_job(config_file, "run")


def load(
    confirm: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FILE",
            help="Take in a file that waits because it would change much; all: every such file.",
        ),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Take new files of the inbox in.

    Good rows are stored, faulty ones are said and set aside; no file is moved or changed.
    """
    config = configuration(config_file)
    from pipelines.flows.ingest import ingest
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "load"), step("taking files in"):
        ingest(config, say, confirm or ())


def fit(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Work the dates out of what was taken in."""
    config = configuration(config_file)
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "fit"), step("fitting"):
        from pipelines.flows.fit import fit as fit_dates

        fit_dates(config, say)


def publish(
    owner: Annotated[
        str | None,
        typer.Option(
            "--owner", metavar="OWNER", help="Pages of the beers brewed for one partner alone."
        ),
    ] = None,
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="DIR", readable=False, help="With --owner: their folder."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Write the pages of the newest dates."""
    if to is not None and owner is None:
        message = "only pages for a partner go elsewhere: name it with --owner"
        raise typer.BadParameter(message, param_hint="--to")
    config = configuration(config_file)
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import from_here, say, step

    with writers_lock(config.paths.database, "publish"), step("writing the pages"):
        if owner is not None:
            from pipelines.flows.partner import publish_partner

            folder = publish_partner(config, owner, to, say)
            typer.echo(f"Pages: {from_here(folder / 'index.html')}")
            return
        from pipelines.flows.publish import publish as write_pages

        write_pages(config, say)
    _say_where(config)


def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", readable=False, help="Files, wherever.")
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say every fault of some files, store nothing.

    Exit code 1 when there is a fault.
    """
    config = configuration_or_defaults(config_file)
    from pipelines.flows.check import check_files
    from pipelines.flows.progress import say, step

    with step("reading"):
        sound = check_files(files, config, say)
    if not sound:
        raise typer.Exit(1)


def demo(
    config_file: Annotated[
        Path | None,
        typer.Option(
            "--config",
            metavar="FILE",
            readable=False,
            help="Another configuration than the demo brewery's.",
        ),
    ] = None,
) -> None:
    """Do the whole job for an invented brewery."""
    import data_demo

    _whole_job(config_file or Path(data_demo.__path__[0]) / DEFAULT_CONFIG, "demo")


def _whole_job(config_file: Path, purpose: str) -> None:
    config = configuration(config_file)
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.prefect_home import start_prefect
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, purpose):
        with step("starting Prefect"):
            start_prefect(config.folder)
            from pipelines.flows.nightly import nightly
        nightly(str(config_file.resolve()))

    from pipelines.flows.dates import dates_table

    for line in dates_table(config.paths.database):
        say(line)
    _say_where(config)


def _say_where(config: Config) -> None:
    from pipelines.flows.progress import from_here

    for what, path in (
        ("Pages", config.paths.pages / "index.html"),
        ("Dates as a file", config.paths.pages / "data" / "best_before.csv"),
    ):
        typer.echo(f"{what}: {from_here(path)}")
