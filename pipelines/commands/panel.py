"""What tests and tastings prove: difference tests, and before and after."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def difference(
    method: Annotated[
        str, typer.Argument(metavar="METHOD", help="triangle, duo-trio, paired, tetrad or 3-afc.")
    ],
    counts: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="ANSWERS RIGHT",
            help="Answers, then how many were right; of several tests one after the other. "
            "Without the second: what so many could show.",
        ),
    ] = None,
    *,
    two_sided: Annotated[
        bool,
        typer.Option("--two-sided", help="Paired: either beer may turn out the stronger one."),
    ] = False,
    noticed_by: Annotated[
        float,
        typer.Option("--noticed-by", metavar="PER CENT", help="Of people, from which it matters."),
    ] = 30.0,
    power: Annotated[
        float,
        typer.Option("--power", metavar="PER CENT", help="Chance wanted of finding that."),
    ] = 80.0,
    similar: Annotated[
        bool, typer.Option("--similar", help="Ask whether fewer than that notice.")
    ] = False,
) -> None:
    """Say what a difference test shows, such as triangle 36 18."""
    from pipelines.flows.difference import answer_difference
    from pipelines.flows.progress import say

    answer_difference(
        method,
        counts or (),
        two_sided=two_sided,
        noticed_by=noticed_by,
        power=power,
        similar=similar,
        say=say,
    )


def compare(
    first: Annotated[str, typer.Argument(metavar="A", help="A lot, a format or a beer.")],
    second: Annotated[str, typer.Argument(metavar="B", help="Another one.")],
    kind: Annotated[
        str | None,
        typer.Option("--as", metavar="KIND", help="lot, format or beer, where it is not plain."),
    ] = None,
    config_file: ConfigFile = DEFAULT_CONFIG,
) -> None:
    """Say how two lots, formats or beers compare on one panel."""
    config = configuration(config_file)
    from pipelines.flows.before_after import answer_compare
    from pipelines.flows.progress import say, step

    with step("comparing"):
        answer_compare(first, second, kind, config, say)
