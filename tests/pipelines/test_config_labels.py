"""What the configuration says of labels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.config.labels import LabelForm
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path

TEXT = """
[labels]
rule = "eu"
[labels.markets.export]
rule = "canada"
[labels.markets."on-trade"]
form = "month"
"""


def config_of(folder: Path, text: str) -> Path:
    """Write a configuration with this text below the brewery's name."""
    file = folder / "stalecurve.toml"
    file.write_text(f'[brewery]\nname = "Quillmoor"\n{text}', encoding="utf-8")
    return file


def test_a_market_takes_from_labels_what_it_leaves_out(tmp_path: Path) -> None:
    """A rule and a form for all, and others for some; no date depends on it."""
    config = load_config(config_of(tmp_path, TEXT))
    assert config.labels.of("shops") == LabelForm("eu", "day")
    assert config.labels.of("export") == LabelForm("canada", "day")
    assert config.labels.of("on-trade") == LabelForm("eu", "month")
    plain = load_config(config_of(tmp_path, ""))
    assert plain.labels.of("export") == LabelForm("plain", "day")
    assert config.settings() == plain.settings()


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[labels]\nrule = "mars"\n', 'labels.rule is \'mars\', expected "eu" or "uk" or'),
        ('[labels]\nform = "week"\n', 'labels.form is \'week\', expected "day" or "month" or'),
        ('[labels]\nrules = "eu"\n', "labels.rules is no known key: did you mean rule?"),
        ("[labels.markets]\nexport = 3\n", "labels.markets.export is 3, expected a table"),
        ('[labels.markets.export]\nfrom = "day"\n', "labels.markets.export.from is no known key"),
    ],
)
def test_a_faulty_label_is_refused(tmp_path: Path, text: str, fault: str) -> None:
    """With the key, what stands there, and what was expected."""
    with pytest.raises(ConfigError) as caught:
        load_config(config_of(tmp_path, text))
    assert fault in str(caught.value)
