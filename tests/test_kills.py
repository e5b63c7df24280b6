"""A command that is killed leaves whole pages and a store that its next run brings to the end."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.kills import States, torn

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def states(tmp_path_factory: pytest.TempPathFactory) -> States:
    """Folders before and after each command."""
    return States(tmp_path_factory.mktemp("killed"), whole=False)


@pytest.mark.parametrize(
    ("command", "seed"), [("load", 1), ("load", 2), ("fit", 3), ("publish", 4), ("publish", 5)]
)
def test_a_kill_does_no_harm(states: States, command: str, seed: int) -> None:
    """After the next run the store and the pages are those of a folder that was left alone."""
    assert not states.kill(command, np.random.default_rng(seed)).faults


def test_torn_pages_would_be_seen(states: States, tmp_path: Path) -> None:
    """The check finds a page that is cut off, and one that is missing."""
    whole = states.done("publish") / "pages"
    for name in ("index.html", "data.html"):
        (tmp_path / name).write_bytes((whole / name).read_bytes())
    alike = tmp_path.with_name("alike")
    alike.mkdir()
    for name in ("index.html", "data.html"):
        (alike / name).touch()
    assert not torn(tmp_path, alike)
    (tmp_path / "data.html").write_text("<html>")
    assert torn(tmp_path, alike) == ["data.html is cut off"]
    (tmp_path / "data.html").unlink()
    assert torn(tmp_path, alike)[0].startswith("the pages are not whole")
