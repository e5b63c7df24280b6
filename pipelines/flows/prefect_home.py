"""Prefect kept to this machine and to the brewery's own folder."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from pipelines.errors import PipelineError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

HOME = ".prefect"
LOOPBACK = ("127.0.0.1", "localhost")


def prefect_environment(home: Path) -> dict[str, str]:
    """The environment Prefect must find before it is first imported.

    It reads its own settings from the current directory only, which may be any, so they are
    given as variables, which come before every file.

    Args:
        home: Where it keeps its record and everything else.
    """
    proxy_free = os.environ.get("no_proxy") or os.environ.get("NO_PROXY") or ""
    local = ",".join(filter(None, (proxy_free, *LOOPBACK)))
    return {
        "PREFECT_HOME": str(home),
        "PREFECT_SERVER_ALLOW_EPHEMERAL_MODE": "true",
        "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
        "DO_NOT_TRACK": "1",
        "PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS": "120",
        # A brewer sees our lines; what failed is raised to the command, which says it once.
        "PREFECT_LOGGING_LEVEL": "CRITICAL",
        # A proxy for the internet is of no use on the way to this machine itself.
        "NO_PROXY": local,
        "no_proxy": local,
    }


def settle(environment: Mapping[str, str]) -> None:
    """Give this process and its children the environment, and none that points elsewhere."""
    for elsewhere in ("PREFECT_API_URL", "PREFECT_API_KEY", "PREFECT_PROFILE"):
        os.environ.pop(elsewhere, None)
    os.environ.update(environment)


def start_prefect(folder: Path) -> None:
    """Set the environment and start Prefect's temporary server, which ends with this process.

    Raises:
        PipelineError: Prefect is set to a server elsewhere, or its own does not start.
    """
    settle(prefect_environment(folder / HOME))

    from prefect.client.orchestration import get_client

    try:
        with get_client(sync_client=True) as client:
            if client.api_url.host not in LOOPBACK:
                message = (
                    f"Prefect is set to the server {client.api_url}, and stalecurve sends nothing "
                    "out: take api.url out of prefect.toml or pyproject.toml in this folder"
                )
                raise PipelineError(message)
            client.hello()
    except RuntimeError as error:
        message = f"Prefect's server did not start: {error}"
        raise PipelineError(message) from error
