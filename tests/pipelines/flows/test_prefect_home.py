"""Prefect kept at home."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pipelines.flows.prefect_home import prefect_environment

if TYPE_CHECKING:
    import pytest


def test_prefect_lives_in_the_brewerys_folder_and_tells_nobody(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Its home is where it is told, its analytics are off, no proxy sees it."""
    monkeypatch.setenv("NO_PROXY", "cellar.example")
    monkeypatch.delenv("no_proxy", raising=False)
    environment = prefect_environment(Path("cellar/.prefect"))
    assert environment["PREFECT_HOME"] == str(Path("cellar/.prefect"))
    assert environment["PREFECT_SERVER_ANALYTICS_ENABLED"] == "false"
    assert environment["DO_NOT_TRACK"] == "1"
    assert environment["no_proxy"] == "cellar.example,127.0.0.1,localhost"
