"""`[complaints]`: whose words stop an answer, whether notes are shown, what is assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from analysis.cases.accounts import PRIORS
from pipelines.config import load_config
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path


def configured(folder: Path, text: str) -> Path:
    """Write a configuration."""
    file = folder / "stalecurve.toml"
    file.write_text(f'[brewery]\nname = "Quillmoor"\n{text}', encoding="utf-8")
    return file


def test_what_is_left_out_is_careful(tmp_path: Path) -> None:
    """All languages are looked through, and no note is shown."""
    complaints = load_config(configured(tmp_path, "")).complaints
    assert complaints.languages == ("en", "de", "fr", "es", "nl", "it")
    assert not complaints.show_notes
    assert complaints.safety_words == ()
    assert complaints.priors == PRIORS


def test_what_stands_there_is_taken(tmp_path: Path) -> None:
    """Languages, own words, notes, and the shares that are named; the others stay."""
    text = """
[complaints]
languages = ["de"]
safety_words = ["kronkorken*"]
show_notes = true
[complaints.priors]
"warm trade" = 60
"""
    complaints = load_config(configured(tmp_path, text)).complaints
    assert (complaints.languages, complaints.safety_words) == (("de",), ("kronkorken*",))
    assert complaints.show_notes
    assert complaints.priors == {**PRIORS, "warm trade": 60.0}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('languages = ["german"]', r"complaints\.languages is \['german'\], expected a list of"),
        ('safety_words = ["*"]', r"complaints\.safety_words is \['\*'\], expected a list of words"),
        ('show_notes = "no"', r"complaints\.show_notes is 'no', expected true or false"),
        ('priors = { "warm" = 3 }', r"complaints\.priors\.warm is no known key"),
        ("priors = { both = -1 }", r"complaints\.priors\.both is -1, expected a number from 0"),
    ],
)
def test_a_fault_is_told_with_its_key(tmp_path: Path, text: str, message: str) -> None:
    """What stands there, and what was expected."""
    with pytest.raises(ConfigError, match=message):
        load_config(configured(tmp_path, f"[complaints]\n{text}\n"))
