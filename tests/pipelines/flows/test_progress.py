"""Lines and signs of life."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from pipelines.flows import progress

if TYPE_CHECKING:
    import pytest


def test_a_quick_step_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """What is over at once leaves both outputs to the results."""
    with progress.step("fitting"):
        progress.say("done")
    output = capsys.readouterr()
    assert (output.out, output.err) == ("done\n", "")


def test_a_slow_step_says_so_in_plain_lines(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a terminal a line on standard error says what is still going on."""
    monkeypatch.setattr(progress, "QUIET_FOR", 0.02)
    with progress.step("fitting"):
        time.sleep(0.2)
    output = capsys.readouterr()
    assert output.out == ""
    assert output.err.startswith("still fitting, 0 s so far\n")
    assert "\x1b" not in output.err
