"""What the configuration says of routes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path


def config_of(folder: Path, text: str) -> Path:
    """Write a configuration with this text below the brewery's name."""
    file = folder / "stalecurve.toml"
    file.write_text(f'[brewery]\nname = "Quillmoor"\n{text}', encoding="utf-8")
    return file


def test_a_summer_is_four_degrees_warmer_unless_said(tmp_path: Path) -> None:
    """It is kept with a run's settings, for a page shows it."""
    usual = load_config(config_of(tmp_path, ""))
    assert usual.settings()["routes"] == {"summer_warmer_c": 4.0}
    own = load_config(config_of(tmp_path, "[routes]\nsummer_warmer_c = 6.5\n"))
    assert own.routes.summer_warmer_c == 6.5


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("summer_warmer_c = -1", "routes.summer_warmer_c is -1, expected a number from 0 to 20"),
        ("summer_warm_c = 4", "routes.summer_warm_c is no known key: did you mean"),
    ],
)
def test_a_faulty_summer_is_refused(tmp_path: Path, text: str, fault: str) -> None:
    """With the key, what stands there, and what was expected."""
    with pytest.raises(ConfigError) as caught:
        load_config(config_of(tmp_path, f"[routes]\n{text}\n"))
    assert fault in str(caught.value)
