"""What the configuration says of charts and targets."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

import pytest

from analysis.control.rules import RULES, USUAL
from pipelines.config import Config, default_config, load_config
from pipelines.config.charts import LimitsPeriod
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path

WHOLE = """
[targets]
can = 70
"plastic keg" = 50
[targets.formats]
"can 440" = 45.5
[charts]
limits_from = 2026-01-01
rules = ["beyond limit", "six rising or falling"]
[charts.lines."canning"]
limits_from = 2026-02-01
limits_until = 2026-05-31
[charts.formats."keg 30"]
limits_until = 2026-04-30
"""


def loaded(folder: Path, text: str) -> Config:
    """The configuration that a file with a name and this text gives."""
    path = folder / "stalecurve.toml"
    path.write_text(f"{text}\n[brewery]\nname = 'Quillmoor'\n", encoding="utf-8")
    return load_config(path)


def test_periods_rules_and_targets_are_read(tmp_path: Path) -> None:
    """What the file says is what the configuration holds; the rest is assumed."""
    config = loaded(tmp_path, WHOLE)
    assert config.charts.period == LimitsPeriod(date(2026, 1, 1), None)
    assert config.charts.lines == {"canning": LimitsPeriod(date(2026, 2, 1), date(2026, 5, 31))}
    assert config.charts.formats == {"keg 30": LimitsPeriod(None, date(2026, 4, 30))}
    assert config.charts.rules == ("beyond limit", "six rising or falling")
    assert config.targets.of("can 440", "can") == (45.5, False)
    assert config.targets.of("can 330", "can") == (70.0, False)
    assert config.targets.of("keg 20", "plastic keg") == (50.0, False)
    assert config.targets.of("bottle 500", "bottle") == (100.0, True)


def test_nothing_said_is_what_is_usual(tmp_path: Path) -> None:
    """Two rules, the first lots, and assumed targets; a cask has none."""
    config = default_config(tmp_path)
    assert config.charts.rules == USUAL
    assert config.charts.period == LimitsPeriod(None, None)
    kinds = ("bottle", "can", "keg", "cask")
    assert [config.targets.of("any", kind)[0] for kind in kinds] == [100.0, 100.0, 60.0, None]


def test_moved_limits_are_a_recorded_decision(tmp_path: Path) -> None:
    """A run keeps periods, rules and targets among its settings, assumed ones too."""
    settings = loaded(tmp_path, WHOLE).settings()
    assert json.loads(json.dumps(settings)) == settings
    assert settings["charts"]["lines"]["canning"]["limits_until"] == "2026-05-31"
    assert settings["targets"]["bottle"] == 100.0
    moved = loaded(tmp_path, WHOLE.replace("2026-05-31", "2026-06-30")).settings()
    assert moved != settings


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[targets]\ncann = 70", "targets.cann is no known key: did you mean can?"),
        ("[targets]\ncan = 0", "targets.can is 0, expected a number from 1 to 10000"),
        ('[targets.formats]\n"can 440" = "low"', "targets.formats.\"can 440\" is 'low', expected"),
        (
            '[charts]\nrules = ["beyond limits"]',
            "charts.rules is ['beyond limits'], expected a list with some of beyond limit, eight",
        ),
        ("[charts]\nrules = []", "charts.rules is [], expected a list with some of"),
        ("[charts]\nrules = [3]", "charts.rules is [3], expected a list with some of"),
        ('[charts]\nlimits_from = "2026"', "charts.limits_from is '2026', expected a day such as"),
        (
            "[charts]\nlimits_from = 2026-05-01\nlimits_until = 2026-04-01",
            "charts.limits_until is datetime.date(2026, 4, 1), expected a day not before limits_f",
        ),
        ("[charts.lines.canning]", "charts.lines.canning says nothing, expected limits_from or"),
        ("[charts.lines.canning]\nfrom = 2026-05-01", "charts.lines.canning.from is no known key"),
        ("[charts]\nlimit_from = 2026-05-01", "charts.limit_from is no known key: did you mean l"),
    ],
)
def test_a_fault_is_said_with_its_key(tmp_path: Path, text: str, fault: str) -> None:
    """A misspelt rule or a period the wrong way round never becomes a silent default."""
    with pytest.raises(ConfigError) as caught:
        loaded(tmp_path, text)
    lines = [line.strip() for line in str(caught.value).splitlines()]
    assert any(line.startswith(fault) for line in lines), lines


def test_a_misspelt_rule_names_the_nearest(tmp_path: Path) -> None:
    """The list of rules is long: the message ends with the likely one."""
    with pytest.raises(ConfigError, match="did you mean beyond limit"):
        loaded(tmp_path, '[charts]\nrules = ["beyond limits"]')
    assert loaded(tmp_path, f"[charts]\nrules = {list(RULES)}").charts.rules == RULES
