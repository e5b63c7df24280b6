"""Prefect's server on this machine, as a child process of the schedule.

Run as a program it is that child. It ends when its standard input does, so however its parent
ends, killed or stopped, on Linux or Windows, no server is left behind.
"""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing, contextmanager, suppress
from http import HTTPStatus
from http.client import HTTPConnection, HTTPException
from socket import socket
from threading import Thread
from time import monotonic, sleep
from typing import TYPE_CHECKING

from pipelines.errors import PipelineError

if TYPE_CHECKING:
    from collections.abc import Iterator

HOST = "127.0.0.1"
_START_SECONDS = 180.0
_STOP_SECONDS = 10.0


def free_port(wanted: int) -> int:
    """Give the wanted port if it is free, any free one where 0 is wanted.

    Raises:
        PipelineError: Another program has it.
    """
    with closing(socket()) as probe:
        try:
            probe.bind((HOST, wanted))
        except OSError as error:
            message = (
                f"port {wanted} cannot be used ({error.strerror}): "
                "set another under schedule.port, or 0 for any that is free"
            )
            raise PipelineError(message) from error
        return int(probe.getsockname()[1])


@contextmanager
def running_server(port: int) -> Iterator[None]:
    """Run the server while the block does; it has the environment of this process.

    Raises:
        PipelineError: It does not start.
    """
    with subprocess.Popen(  # noqa: S603 - our own module
        [sys.executable, "-P", "-m", __name__, str(port)],
        stdin=subprocess.PIPE,
        # Ctrl-C is for the parent, which ends the runs before the server.
        start_new_session=True,
        creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
    ) as server:
        assert server.stdin is not None  # noqa: S101 - a pipe was asked for
        try:
            _wait_until_healthy(server, port)
            yield
        finally:
            server.stdin.close()
            try:
                server.wait(_STOP_SECONDS)
            except subprocess.TimeoutExpired:
                server.kill()


def _wait_until_healthy(server: subprocess.Popen[bytes], port: int) -> None:
    deadline = monotonic() + _START_SECONDS
    while server.poll() is None and monotonic() < deadline:
        with suppress(OSError, HTTPException), closing(HTTPConnection(HOST, port, timeout=5)) as to:
            to.request("GET", "/api/health")
            if to.getresponse().status == HTTPStatus.OK:
                return
        sleep(0.2)
    message = f"Prefect's server did not start on port {port}"
    raise PipelineError(message)


def _serve(port: int) -> None:
    import uvicorn
    from prefect.server.api.server import create_app

    server = uvicorn.Server(
        uvicorn.Config(create_app(final=True), host=HOST, port=port, log_level="critical")
    )

    def end_with_parent() -> None:
        sys.stdin.buffer.read()
        server.should_exit = True

    Thread(target=end_with_parent, daemon=True).start()
    server.run()


if __name__ == "__main__":
    _serve(int(sys.argv[1]))
