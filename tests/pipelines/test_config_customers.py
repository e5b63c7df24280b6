"""What the configuration says of customers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.config.customers import Customer
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path


def config_of(folder: Path, text: str) -> Path:
    """Write a configuration with this text below the brewery's name."""
    file = folder / "stalecurve.toml"
    file.write_text(f'[brewery]\nname = "Quillmoor"\n{text}', encoding="utf-8")
    return file


def test_a_customer_asks_for_days_or_for_a_share(tmp_path: Path) -> None:
    """By name, and none by default; no result depends on it."""
    text = (
        '[customers."Mill & Sons"]\nminimum_days = 60\n'
        '[customers.Corner]\nminimum_share = 0.5\nmarket = "shops"\n'
    )
    config = load_config(config_of(tmp_path, text))
    assert config.customers == {
        "Mill & Sons": Customer(60, None, None),
        "Corner": Customer(None, 0.5, "shops"),
    }
    plain = load_config(config_of(tmp_path, ""))
    assert plain.customers == {}
    assert config.settings() == plain.settings()


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[customers.Mill]\n", "customers.Mill needs one of minimum_days and minimum_share"),
        (
            "[customers.Mill]\nminimum_days = 60\nminimum_share = 0.5\n",
            "customers.Mill needs one of",
        ),
        ("[customers.Mill]\nminimum_days = 0\n", "customers.Mill.minimum_days is 0, expected"),
        ("[customers.Mill]\nminimum_days = 1.5\n", "minimum_days is 1.5, expected a whole number"),
        ("[customers.Mill]\nminimum_share = 50\n", "minimum_share is 50, expected a number from"),
        ("[customers.Mill]\nminimum = 60\n", "customers.Mill.minimum is no known key"),
        ("[customers]\nMill = 60\n", r"customers.Mill is 60, expected a table \[customers.Mill\]"),
    ],
)
def test_a_faulty_customer_is_refused(tmp_path: Path, text: str, fault: str) -> None:
    """With the key, what stands there, and what was expected."""
    with pytest.raises(ConfigError, match=fault):
        load_config(config_of(tmp_path, text))
