"""The panel leader's key."""

from __future__ import annotations

from pipelines.commands.options import DEFAULT_CONFIG, ConfigFile, configuration


def assessors(config_file: ConfigFile = DEFAULT_CONFIG) -> None:
    """Say which assessor goes by which code, and what was found.

    The pages have the codes alone. This is for who leads the panel, not for the wall.
    """
    config = configuration(config_file)
    from pipelines.flows.assessors import key_lines
    from pipelines.flows.progress import say

    for line in key_lines(config):
        say(line)
