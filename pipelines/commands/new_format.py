"""The date of a format before the first lot of it is filled."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def new_format(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What it would be called.")],
    kind: Annotated[
        str, typer.Option("--kind", metavar="KIND", help="bottle, can, keg, … as in formats.")
    ],
    volume: Annotated[
        float, typer.Option("--volume", metavar="ML", min=10, max=1_000_000, help="Beer, mL.")
    ],
    headspace: Annotated[
        float | None,
        typer.Option("--headspace", metavar="ML", min=0, max=100_000, help="Headspace, mL."),
    ] = None,
    closure: Annotated[
        str | None, typer.Option("--closure", metavar="TEXT", help="As the table formats says it.")
    ] = None,
    ingress: Annotated[
        float | None,
        typer.Option(
            "--ingress-ppb-per-day",
            metavar="PPB",
            min=0,
            max=1_000,
            help="What the closure lets in at 20 °C; usual: as the same closure or kind.",
        ),
    ] = None,
    oxygen: Annotated[
        str,
        typer.Option(
            "--oxygen", metavar="PPB …", help="First readings of total package oxygen: 62 58 71."
        ),
    ] = "",
    style: Annotated[
        list[str] | None,
        typer.Option("--style", metavar="STYLE", help="Again for more; usual: all."),
    ] = None,
    more: Annotated[list[str] | None, typer.Argument(hidden=True)] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say which dates a format is lent before it is filled.

    The question is kept; its page is made anew with the others until the format is filled.
    """
    config = configuration(config_file)
    from analysis.dating.new_format import NewFormat
    from pipelines.flows.new_format import answer_new_format
    from pipelines.flows.progress import from_here, say, step
    from pipelines.readers.contract import PACKAGE_KINDS
    from pipelines.readers.names import did_you_mean

    if kind not in PACKAGE_KINDS:
        kinds, hint = ", ".join(PACKAGE_KINDS), did_you_mean(kind, PACKAGE_KINDS)
        message = f"{kind} is no kind of package; there are {kinds}{hint}"
        raise typer.BadParameter(message, param_hint="--kind")
    if more and not oxygen:
        message = f"{more[0]} stands alone: a name with spaces needs quotation marks"
        raise typer.BadParameter(message)
    readings = _readings(" ".join((oxygen, *(more or ()))))
    asked = NewFormat(name.strip(), kind, volume, closure, ingress, readings)
    with step("lending a date"):
        page = answer_new_format(asked, style or (), headspace, config, say)
    typer.echo(f"Page: {from_here(page)}")


def _readings(text: str) -> tuple[float, ...]:
    """Read ppb from `62 58 71`, or with commas between."""
    readings = []
    for part in text.replace(",", " ").split():
        try:
            value = float(part)
        except ValueError:
            value = float("nan")
        if not 0.0 < value <= MOST_PPB:
            message = f"{part} is no reading: expected ppb above 0 and up to {MOST_PPB:g}"
            raise typer.BadParameter(message, param_hint="--oxygen")
        readings.append(value)
    return tuple(readings)


MOST_PPB = 20_000.0
"""Above what beer holds under air, so that a wrong unit is noticed."""
