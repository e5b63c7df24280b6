"""The command `stalecurve`.

Everything heavy is imported inside the command that needs it, so that help comes at once and
`load`, `fit` and `publish` never import Prefect.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analysis.errors import AnalysisError
from dashboards.errors import DashboardError
from pipelines.errors import PipelineError

if TYPE_CHECKING:
    from pipelines.config import Config

app = typer.Typer(
    name="stalecurve",
    help="Best-before dates for beer, from a brewery's own tastings, oxygen readings and storage.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

DEFAULT_CONFIG = Path("stalecurve.toml")
ConfigFile = Annotated[
    Path,
    # Whether it can be read is told with the other faults, not as wrong usage.
    typer.Option("--config", metavar="FILE", readable=False, help="The brewery's configuration."),
]


def main() -> None:
    """Run the command; a foreseen failure is one message on standard error and exit code 1."""
    # One thread for small matrices: quicker beside other work, and the same digits every time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
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


@app.command()
def run(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Take new files in, fit, write the pages: the whole job."""
    _whole_job(config_file, "run")


@app.command()
def load(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Take new files of the inbox in.

    Good rows are stored, faulty ones are said and set aside; no file is moved or changed.
    """
    config = _config(config_file)
    from pipelines.flows.ingest import ingest
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "load"), step("taking files in"):
        ingest(config, say)


@app.command()
def fit(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Work the dates out of what was taken in."""
    config = _config(config_file)
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "fit"), step("fitting"):
        from pipelines.flows.fit import fit as fit_dates

        fit_dates(config, say)


@app.command()
def publish(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Write the pages of the newest dates."""
    config = _config(config_file)
    from pipelines.flows.lock import writers_lock
    from pipelines.flows.progress import say, step

    with writers_lock(config.paths.database, "publish"), step("writing the pages"):
        from pipelines.flows.publish import publish as write_pages

        write_pages(config, say)
    _say_where(config)


@app.command()
def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", readable=False, help="Files, wherever.")
    ],
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say every fault of some files, store nothing.

    Exit code 1 when there is a fault.
    """
    from pipelines.config import default_config
    from pipelines.flows.check import check_files
    from pipelines.flows.progress import say, step

    alone = config_file == DEFAULT_CONFIG and not config_file.exists()
    config = default_config(Path()) if alone else _config(config_file)
    with step("reading"):
        sound = check_files(files, config, say)
    if not sound:
        raise typer.Exit(1)


@app.command()
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


def _config(config_file: Path) -> Config:
    from pipelines.config import load_config

    return load_config(config_file)


def _whole_job(config_file: Path, purpose: str) -> None:
    config = _config(config_file)
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
    for what, path in (
        ("Pages", config.paths.pages / "index.html"),
        ("Dates as a file", config.paths.pages / "data" / "best_before.csv"),
    ):
        typer.echo(f"{what}: {_from_here(path)}")


def _from_here(path: Path) -> Path:
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
