"""What the configuration says of files: how they are laid out, and how large they may be."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.errors import ConfigError
from pipelines.readers.site import Layout, Limits

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

ATTRIBUTE = '[attributes.stale]\nlow = 0\nhigh = 10\nworse = "high"\ncut_off = 4\n'


def loaded(folder: Path, text: str) -> Config:
    """Load a configuration of these lines."""
    path = folder / "stalecurve.toml"
    path.write_text(f'[brewery]\nname = "Quillmoor"\n{text}', encoding="utf-8")
    return load_config(path)


def test_every_key_is_read(tmp_path: Path) -> None:
    """What the file says of a layout is what the readers go by."""
    config = loaded(
        tmp_path,
        """
        [dates]
        day_first = true
        [intake]
        largest_file_mb = 2.5
        most_cells = 1000
        [files."Panel*.xlsx"]
        table = "tastings"
        sheet = "Blatt1"
        first_row = 4
        across = "assessor"
        aside = ["Beer"]
        fill = { session = "2026-10", tasted_on = 2026-10-05, code = 7 }
        day_first = false
        """,
    )
    assert config.site.day_first is True
    assert config.site.limits == Limits(largest_file_mb=2.5, most_cells=1000)
    assert config.site.layouts == (
        Layout(
            "Panel*.xlsx",
            sheet="Blatt1",
            table="tastings",
            first_row=4,
            across="assessor",
            value="verdict",
            aside=["Beer"],
            fill={"session": "2026-10", "tasted_on": "2026-10-05", "code": "7"},
            day_first=False,
        ),
    )
    settings = config.settings()
    assert json.loads(json.dumps(settings)) == settings


def test_nothing_need_be_said(tmp_path: Path) -> None:
    """Without a word files are laid out as the contract says, and no order of dates is assumed."""
    site = loaded(tmp_path, "").site
    assert (site.layouts, site.day_first, site.limits) == ((), None, Limits())


def test_several_sheets_of_one_file(tmp_path: Path) -> None:
    """Double brackets may stand several times, and each is a layout of its own."""
    site = loaded(
        tmp_path,
        f"""{ATTRIBUTE}
        [[files."book.xlsx"]]
        sheet = "a*"
        table = "oxygen"
        across = "head"
        [[files."book.xlsx"]]
        table = "tastings"
        across = "assessor"
        value = "stale"
        """,
    ).site
    assert [(layout.sheet, layout.value) for layout in site.layouts] == [
        ("a*", "value"),
        ("*", "stale"),
    ]
    assert site.layout_of("2026/BOOK.xlsx", "A1").table == "oxygen"
    assert site.layout_of("book.xlsx", "b").table == "tastings"
    assert site.layout_of("other.xlsx", "b").table == ""


WHERE = 'files."x*"'


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (f"[{WHERE}]", f"{WHERE} says nothing, expected table, first_row or day_first"),
        (
            '[files]\n"x*" = 3',
            f"{WHERE} is 3, expected a table [{WHERE}], or several [[{WHERE}]]",
        ),
        (f'[{WHERE}]\ntabel = "lots"', f"{WHERE}.tabel is no known key: did you mean table?"),
        (
            f'[{WHERE}]\ntable = "lot"',
            f"{WHERE}.table is 'lot', expected a table: did you mean lots?",
        ),
        (f"[{WHERE}]\nfirst_row = 0", f"{WHERE}.first_row is 0, expected a whole number from 1"),
        (
            f'[{WHERE}]\ntable = "tastings"\nacross = "asessor"',
            f"{WHERE}.across is 'asessor', expected a column of tastings: did you mean assessor?",
        ),
        (
            f'[{WHERE}]\nacross = "assessor"',
            f"{WHERE}.across is 'assessor', expected a key table beside it",
        ),
        (
            f'[{WHERE}]\ntable = "samples"\nacross = "place"',
            f"{WHERE}.value is missing, expected the column of the cells",
        ),
        (
            f'[{WHERE}]\ntable = "tastings"\nacross = "verdict"',
            f"{WHERE}.across is 'verdict', expected another column than value",
        ),
        (
            f'[{WHERE}]\ntable = "tastings"\naside = ["x"]',
            f"{WHERE}.aside stands without across, which it belongs to",
        ),
        (
            f'[{WHERE}]\ntable = "lots"\nfill = {{ bear = "x" }}',
            f"{WHERE}.fill.bear is no known column of lots: did you mean beer?",
        ),
        (
            f'[{WHERE}]\ntable = "lots"\nfill = {{ beer = true }}',
            f"{WHERE}.fill.beer is True, expected a text, a number or a day",
        ),
        (
            f'[[{WHERE}]]\ntable = "lots"\n[[{WHERE}]]\nday_first = 1',
            f"{WHERE}[2].day_first is 1, expected true or false",
        ),
        ('[dates]\nday_first = "yes"', "dates.day_first is 'yes', expected true or false"),
        ("[dates]\nday_frist = true", "dates.day_frist is no known key: did you mean day_first?"),
        ("[intake]\nmost_cells = 1", "intake.most_cells is 1, expected a whole number from 100"),
    ],
)
def test_a_fault_is_said_with_its_key(tmp_path: Path, text: str, fault: str) -> None:
    """A layout that says what cannot be meant is refused, with the nearest that can."""
    with pytest.raises(ConfigError) as caught:
        loaded(tmp_path, text)
    lines = [line.strip() for line in str(caught.value).splitlines()]
    assert any(line.startswith(fault) for line in lines), lines
