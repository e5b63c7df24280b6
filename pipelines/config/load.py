"""The configuration: one TOML file, checked whole before anything runs.

Every fault of the file is told in one error: its key path, what stands there, what was expected.
An unknown key is a fault, because a misspelt policy that is silently the default ends on a label.
"""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from pipelines.config.charts import charts_of, targets_of
from pipelines.config.complaints import complaints_of
from pipelines.config.compute import compute_of
from pipelines.config.customers import customers_of
from pipelines.config.labels import labels_of
from pipelines.config.policy import policy_of
from pipelines.config.records import (
    Brewery,
    Config,
    Oxygen,
    Panel,
    Paths,
    Safety,
    Storage,
)
from pipelines.config.routes import routes_of
from pipelines.config.schedule import schedule_of
from pipelines.config.section import Section
from pipelines.config.site import site_of
from pipelines.config.week import expected_of, meters_of, pulls_of, retained_of
from pipelines.errors import ConfigError

if TYPE_CHECKING:
    from pathlib import Path

DEFAULT_QUESTION = "Would this still be served as the beer it is meant to be, for its age?"


def load_config(path: Path) -> Config:
    """Read and check a configuration file.

    Args:
        path: The TOML file; relative paths in it are taken from its folder.

    Returns:
        The configuration, defaults filled in.

    Raises:
        ConfigError: The file is missing or not TOML, or holds faults; the text lists all of them.
    """
    faults: list[str] = []
    config = _config(Section("", read_toml(path), faults), path.resolve().parent)
    if not config.brewery.name and not any(fault.startswith("brewery") for fault in faults):
        faults.insert(0, "brewery.name is missing, expected the brewery's name")
    refuse(path, faults)
    return config


def read_toml(path: Path) -> dict[str, Any]:
    """Read a configuration file as it stands.

    Raises:
        ConfigError: It is missing, cannot be read, or is not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        message = (
            f"there is no configuration file {path}: go to the brewery's folder, "
            "or name the file with --config"
        )
        raise ConfigError(message) from None
    except OSError as error:
        message = f"{path} cannot be read: {error.strerror}"
        raise ConfigError(message) from error
    except UnicodeDecodeError as error:
        message = f"{path} is not UTF-8 text: save it with that encoding"
        raise ConfigError(message) from error
    except tomllib.TOMLDecodeError as error:
        # As Windows writes a path, between double quotes.
        hint = ": write paths with / or between single quotes" if "'\\'" in str(error) else ""
        message = f"{path} is not TOML: {error}{hint}"
        raise ConfigError(message) from error


def refuse(path: Path, faults: list[str]) -> None:
    """Tell all faults of a configuration file at once, if there are any.

    Raises:
        ConfigError: There are.
    """
    if faults:
        count = "a fault" if len(faults) == 1 else f"{len(faults)} faults"
        message = "\n  ".join([f"{path} has {count}:", *faults])
        raise ConfigError(message)


def default_config(folder: Path) -> Config:
    """What holds in a folder without a configuration file: defaults alone, no name."""
    return _config(Section("", {}, []), folder.resolve())


def _config(top: Section, folder: Path) -> Config:
    brewery, paths, panel = top.section("brewery"), top.section("paths"), top.section("panel")
    storage, oxygen, safety = top.section("storage"), top.section("oxygen"), top.section("safety")
    timezone, schedule = _timezone(brewery, "Europe/Berlin"), top.section("schedule")
    config = Config(
        folder=folder,
        as_of=top.day("as_of"),
        brewery=Brewery(name=brewery.text("name", ""), timezone=timezone),
        paths=Paths(
            inbox=folder / paths.text("inbox", "inbox"),
            database=folder / paths.text("database", "stalecurve.duckdb"),
            pages=folder / paths.text("pages", "pages"),
            set_aside=folder / paths.text("set_aside", "set_aside"),
        ),
        panel=Panel(
            question=panel.text("question", DEFAULT_QUESTION),
            asked_since=panel.day("asked_since"),
            taste_within_days=panel.whole("taste_within_days", 14, 1, 365),
        ),
        policy=policy_of(top.section("policy")),
        routes=routes_of(top.section("routes")),
        storage=Storage(before_placing_c=storage.number("before_placing_c", 4.0, -5.0, 40.0)),
        oxygen=Oxygen(
            shaken_temperature_c=oxygen.number("shaken_temperature_c", 20.0, -2.0, 40.0),
            late_after_minutes=oxygen.number("late_after_minutes", 120.0, 1.0, 10_080.0),
        ),
        safety=Safety(validated=_validated(safety.section("validated"))),
        charts=charts_of(top.section("charts")),
        targets=targets_of(top.section("targets")),
        pulls=pulls_of(top.section("pulls")),
        meters=meters_of(top.section("meters")),
        retained=retained_of(top.section("retained")),
        expected=expected_of(top.section("expected")),
        customers=customers_of(top.section("customers")),
        labels=labels_of(top.section("labels")),
        complaints=complaints_of(top.section("complaints")),
        compute=compute_of(top.section("compute"), "threads"),
        schedule=schedule_of(schedule, _timezone(schedule, timezone)),
        site=site_of(top),
    )
    for section in (top, brewery, paths, panel, storage, oxygen, safety):
        section.close()
    return config


def _timezone(section: Section, default: str) -> str:
    name = section.text("timezone", default)
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        section.fault("timezone", 'a time zone such as "Europe/Berlin"')
        return default
    return name


def _validated(section: Section) -> dict[str, str]:
    return {beer: section.text(beer, "") for beer in section.values}
