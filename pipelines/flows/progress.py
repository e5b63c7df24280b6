"""What a person at the terminal sees while a command works.

Results go to standard output, a line at a time; that something is still going on goes to
standard error, so that a pipe gets results alone.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

QUIET_FOR = 2.0


def say(line: str) -> None:
    """Write one line to standard output at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def from_here(path: Path) -> Path:
    """The path as short as it can be typed from where the person stands."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


@contextmanager
def step(doing: str) -> Iterator[None]:
    """Show that something is going on, and for how long.

    On a terminal a spinner that leaves nothing behind; elsewhere a plain line after two seconds,
    and again at twice that time, and so on.
    """
    if sys.stderr.isatty():
        from rich.console import Console
        from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        # Lines said meanwhile must pass through the spinner, but never from a pipe to the screen.
        with Progress(
            SpinnerColumn(),
            TextColumn("{task.description}", markup=False),
            TimeElapsedColumn(),
            console=Console(stderr=True),
            transient=True,
            redirect_stdout=sys.stdout.isatty(),
        ) as spinner:
            spinner.add_task(doing, total=None)
            yield
        return
    done = Event()
    reminder = Thread(target=_remind, args=(doing, done), daemon=True)
    reminder.start()
    try:
        yield
    finally:
        done.set()
        reminder.join()


def _remind(doing: str, done: Event) -> None:
    began = monotonic()
    pause = QUIET_FOR
    while not done.wait(pause):
        seconds = monotonic() - began
        sys.stderr.write(f"still {doing}, {seconds:.0f} s so far\n")
        sys.stderr.flush()
        pause = seconds
