"""That brewery taken in and fitted once, and a copy of it for each test."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from tests.pipelines.flows.complaints.brewery import FILES, written
from tests.pipelines.flows.conftest import INBOX

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config


@pytest.fixture(scope="session")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of that brewery, fitted once."""
    folder = tmp_path_factory.mktemp("complained")
    config = written(folder, {**INBOX, **FILES})
    ingest(config, [].append)
    fit(config, [].append)
    return folder


@pytest.fixture
def config(fitted: Path, tmp_path: Path) -> Config:
    """A copy of it."""
    copy = shutil.copytree(fitted, tmp_path / "brewery")
    return load_config(copy / "stalecurve.toml")
