"""The configuration file."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

import pytest

from pipelines.config import DEFAULT_QUESTION, default_config, load_config
from pipelines.config.compute import Compute
from pipelines.config.schedule import Schedule
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path

WHOLE = """
as_of = 2026-10-27
[brewery]
name = "Quillmoor"
timezone = "Europe/Dublin"
[paths]
inbox = "in"
database = "kept/store.duckdb"
pages = "out"
[panel]
question = "Still good?"
taste_within_days = 10
[policy]
share_rejected = 0.10
confidence = 0.95
rounding = "day"
cap_days = 270
cap_at_oldest_tasted = false
[policy.styles."strong ale"]
cap_days = 1095
[policy.markets.export]
share_rejected = 0.1
rounding = "month"
[storage]
before_placing_c = 2
[oxygen]
shaken_temperature_c = 18.5
late_after_minutes = 60
[schedule]
nightly = "30 3 * * MON-SAT"
quarterly_at = "06:15"
port = 4200
[safety.validated]
"Quiet Table" = "report 7"
[pulls]
tolerance_days = 3
tolerance_share = 0.2
missed_after_days = 30
[pulls.plan]
"4" = [90, 30, 90]
20 = [14, 28]
[pulls.styles."strong ale"]
"20" = [90, 365]
"4" = []
[meters]
check_every_days = 14
[retained]
keep_days_past_date = 60
[expected]
oxygen = 7
"fridge log*" = 1
[compute]
runner = "dask"
workers = 3
scheduler = "tcp://10.1.2.3:8786"
[attributes.stale]
low = 0
high = 10
worse = "high"
cut_off = 4
[columns.oxygen]
"O2 total" = "total"
[words]
accept = ["ok", "pass"]
"""


def written(folder: Path, text: str) -> Path:
    """Write a configuration file."""
    path = folder / "stalecurve.toml"
    path.write_text(text, encoding="utf-8")
    return path


def refusal(folder: Path, text: str) -> list[str]:
    """Load a faulty configuration and give the lines of what is said."""
    with pytest.raises(ConfigError) as caught:
        load_config(written(folder, text))
    return [line.strip() for line in str(caught.value).splitlines()]


def test_every_key_is_read(tmp_path: Path) -> None:
    """What the file says is what the configuration holds."""
    config = load_config(written(tmp_path, WHOLE))
    assert (config.brewery.name, config.brewery.timezone) == ("Quillmoor", "Europe/Dublin")
    assert config.panel.question == "Still good?"
    assert (config.policy.share_rejected, config.policy.confidence) == (0.10, 0.95)
    assert (config.policy.rounding, config.policy.cap_at_oldest_tasted) == ("day", False)
    assert (config.policy.cap_days, config.policy.margin_days) == (270, 0)
    assert config.policy.styles == {"strong ale": {"cap_days": 1095}}
    assert config.policy.markets == {"export": {"share_rejected": 0.1, "rounding": "month"}}
    assert config.storage.before_placing_c == 2.0
    assert (config.oxygen.shaken_temperature_c, config.oxygen.late_after_minutes) == (18.5, 60.0)
    assert (config.as_of, config.panel.taste_within_days) == (date(2026, 10, 27), 10)
    assert (config.pulls.tolerance_days, config.pulls.tolerance_share) == (3, 0.2)
    assert config.pulls.missed_after_days == 30
    assert config.pulls.of_style("pale ale") == {4.0: (30, 90), 20.0: (14, 28)}
    assert config.pulls.of_style("strong ale") == {4.0: (), 20.0: (90, 365)}
    assert (config.meters.check_every_days, config.retained.keep_days_past_date) == (14, 60)
    assert config.expected == {"oxygen": 7, "fridge log*": 1}
    assert config.schedule == Schedule("30 3 * * MON-SAT", "06:15", "Europe/Dublin", 4200)
    assert config.safety.validated == {"Quiet Table": "report 7"}
    assert config.compute == Compute("dask", 3, "tcp://10.1.2.3:8786")
    assert config.site.columns == {"oxygen": {"O2 total": "total"}}
    assert config.site.words == {"accept": ["ok", "pass"]}
    assert config.site.attributes["stale"].cut_off == 4.0


def test_a_name_is_enough(tmp_path: Path) -> None:
    """Everything but the brewery's name has a default."""
    config = load_config(written(tmp_path, '[brewery]\nname = "Quillmoor"'))
    assert config.panel.question == DEFAULT_QUESTION
    assert (config.policy.share_rejected, config.policy.confidence) == (0.25, 0.90)
    assert (config.policy.rounding, config.policy.cap_days) == ("week", 365)
    assert config.policy.cap_at_oldest_tasted
    assert (config.as_of, config.pulls.plan, config.expected) == (None, {}, {})
    assert (config.panel.taste_within_days, config.meters.check_every_days) == (14, 7)
    assert config.paths.inbox == tmp_path / "inbox"
    assert config.compute.runner == "threads"


def test_paths_are_taken_from_the_folder_of_the_file(tmp_path: Path) -> None:
    """It does not matter from where the command is started."""
    paths = load_config(written(tmp_path, WHOLE)).paths
    assert paths.database == tmp_path / "kept" / "store.duckdb"
    assert (paths.inbox, paths.pages) == (tmp_path / "in", tmp_path / "out")


def test_settings_are_json_and_leave_paths_out(tmp_path: Path) -> None:
    """A run keeps its settings, and moving the folder is no change of them."""
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    settings = load_config(written(here, WHOLE)).settings()
    assert json.loads(json.dumps(settings)) == settings
    assert settings == load_config(written(there, WHOLE)).settings()
    assert settings["policy"]["styles"] == {"strong ale": {"cap_days": 1095}}
    assert str(tmp_path) not in json.dumps(settings)
    assert not settings.keys() & {"as_of", "pulls", "retained", "expected"}
    assert settings["meters"] == {"leave_out_suspect": False}


def test_no_configuration_file_says_what_to_do(tmp_path: Path) -> None:
    """A command started in the wrong folder says how to name the file."""
    with pytest.raises(ConfigError, match=r"there is no configuration file.*--config"):
        load_config(tmp_path / "stalecurve.toml")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"[brewery\nname = 1", "is not TOML: .*line 1"),
        (b'[brewery]\nname = "caf\xe9"', "is not UTF-8 text"),
        (b'[paths]\ninbox = "C:\\Brewery"', "write paths with / or between single quotes"),
    ],
)
def test_a_file_that_is_no_toml_is_refused(tmp_path: Path, content: bytes, said: str) -> None:
    """The message names the file and the line."""
    path = tmp_path / "stalecurve.toml"
    path.write_bytes(content)
    with pytest.raises(ConfigError, match=said):
        load_config(path)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[polcy]\n", "polcy is no known key: did you mean policy?"),
        ("[policy]\nroundin = 3", "policy.roundin is no known key: did you mean rounding?"),
        ("[policy]\nzzz = 3", "policy.zzz is no known key"),
        (
            "[policy]\nconfidence = 90",
            "policy.confidence is 90, expected a number from 0.5 to 0.99",
        ),
        ("[policy]\ncap_days = 1.5", "policy.cap_days is 1.5, expected a whole number from 1 to"),
        ("[policy]\ncap_days = true", "policy.cap_days is True, expected a whole number"),
        ('[policy]\nrounding = "year"', 'policy.rounding is \'year\', expected "day" or "week" or'),
        ("[policy]\nmargin_share = 7", "policy.margin_share is 7, expected a number from 0 to"),
        ("[policy.markets]\nexport = 3", "policy.markets.export is 3, expected a table [policy."),
        (
            '[policy.beers."Pale No. 2"]\nconfidence = 2',
            'policy.beers."Pale No. 2".confidence is 2, expected a number',
        ),
        ("[policy]\ncap_at_oldest_tasted = 1", "policy.cap_at_oldest_tasted is 1, expected true"),
        ("policy = 3", "policy is 3, expected a table [policy]"),
        (
            '[policy.styles."strong ale"]\ncap_day = 3',
            'policy.styles."strong ale".cap_day is no known key: did you mean cap_days?',
        ),
        (
            "[policy.styles.sour]",
            "policy.styles.sour says nothing, expected a key such as cap_days",
        ),
        ('[panel]\nquestion = " "', "panel.question is ' ', expected a text"),
        ("[columns.oxigen]\n", "columns.oxigen is no known table: did you mean oxygen?"),
        (
            '[columns.oxygen]\n"O2" = "totl"',
            "columns.oxygen.O2 is 'totl', expected a column of oxygen: did you mean total?",
        ),
        ('[words]\naccpt = ["ok"]', "words.accpt is no known word: did you mean accept?"),
        ('[words]\naccept = "ok"', "words.accept is 'ok', expected a list of texts"),
        ("[attributes.stale]\nlow = 0\nhigh = 0\ncut_off = 0", "attributes.stale has low not"),
        (
            "[attributes.Tasted_On]\nlow = 0\nhigh = 9\nworse = 'high'\ncut_off = 4",
            "attributes.Tasted_On: Tasted_On is a column of tastings already",
        ),
        ("[attributes.stale]\nlow = 0", "attributes.stale.high is missing, expected the highest"),
        (
            '[attributes.stale]\nlow = 0\nhigh = 5\nworse = "high"\ncut_off = 9',
            "attributes.stale has cut_off outside low to high",
        ),
        ('as_of = "today"', "as_of is 'today', expected a day such as 2026-04-07"),
        ('[pulls.plan]\n"warm" = [7]', "pulls.plan.warm is no storage temperature, expected °C"),
        ('[pulls.plan]\n"200" = [7]', "pulls.plan.200 is no storage temperature, expected °C"),
        ('[pulls.plan]\n"20" = [7.5]', "pulls.plan.20 is [7.5], expected a list of days"),
        ('[pulls.plan]\n"20" = [-1]', "pulls.plan.20 is [-1], expected a list of days"),
        ('[pulls.plan]\n"20" = 7', "pulls.plan.20 is 7, expected a list of days"),
        ("[pulls]\ntolerence_days = 1", "pulls.tolerence_days is no known key: did you mean tol"),
        ('[pulls.styles.sour]\n"20" = [true]', "pulls.styles.sour.20 is [True], expected a list"),
        (
            "[meters]\nleave_out_suspect = 1",
            "meters.leave_out_suspect is 1, expected true or false",
        ),
        ("[meters]\ncheck_every_days = 0", "meters.check_every_days is 0, expected a whole number"),
        ("[expected]\noxigen = 7", "expected.oxigen is no known table: did you mean oxygen?"),
        ('[expected]\n"oxygen*" = "weekly"', "expected.\"oxygen*\" is 'weekly', expected a whole"),
        ('[compute]\nrunner = "dsk"', 'compute.runner is \'dsk\', expected "here" or "threads" or'),
        ('[compute]\nrunner = "dask"', "compute.scheduler is missing, expected the address"),
        ('[compute]\nscheduler = "10.0.0.5"', "compute.scheduler is '10.0.0.5', expected the addr"),
        ("[compute]\nworkers = 0", "compute.workers is 0, expected a whole number from 1 to"),
        ('[schedule]\nnightly = "4:00"', "schedule.nightly is '4:00', expected five fields"),
        ('[schedule]\nnightly = "0 4 31 2 *"', "schedule.nightly is '0 4 31 2 *', expected five"),
        ('[schedule]\nnightly = "0 0 4 * * *"', "schedule.nightly is '0 0 4 * * *', expected five"),
        ('[schedule]\nnightly = "0 4 L * *"', "schedule.nightly is '0 4 L * *', expected five"),
        ('[schedule]\nquarterly_at = "25:00"', "schedule.quarterly_at is '25:00', expected a time"),
        ('[schedule]\ntimezone = "UCT+1"', "schedule.timezone is 'UCT+1', expected a time zone"),
        ('[safety.validated]\n"Quiet Table" = 7', 'safety.validated."Quiet Table" is 7, expected'),
    ],
)
def test_a_fault_is_said_with_its_key_and_what_was_expected(
    tmp_path: Path, text: str, fault: str
) -> None:
    """A misspelt or impossible setting never becomes a silent default."""
    lines = refusal(tmp_path, f"{text}\n[brewery]\nname = 'Quillmoor'")
    assert any(line.startswith(fault) for line in lines), lines


def test_an_unknown_time_zone_is_refused(tmp_path: Path) -> None:
    """A clock that does not exist is told once, though the schedule would go by it too."""
    lines = refusal(tmp_path, '[brewery]\nname = "Quillmoor"\ntimezone = "Europe/Quillmoor"')
    assert lines[1].startswith("brewery.timezone is 'Europe/Quillmoor', expected a time zone")
    assert len(lines) == 2


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """A file is mended in one go, and a missing name is among its faults."""
    lines = refusal(tmp_path, "[policy]\nconfidence = 2\nroundin = 'day'\n[stor]\n")
    assert lines[0].endswith("has 4 faults:")
    assert [line.split(" ")[0] for line in lines[1:]] == [
        "brewery.name",
        "policy.confidence",
        "policy.roundin",
        "stor",
    ]


def test_a_folder_without_a_file_has_defaults(tmp_path: Path) -> None:
    """Files can be checked before anything is set up."""
    config = default_config(tmp_path)
    assert config.paths.database == tmp_path / "stalecurve.duckdb"
    assert config.site.words == {}
