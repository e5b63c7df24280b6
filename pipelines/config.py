"""The configuration: one TOML file, checked whole before anything runs.

Every fault of the file is told in one error: its key path, what stands there, what was expected.
An unknown key is a fault, because a misspelt policy that is silently the default ends on a label.
"""

from __future__ import annotations

import tomllib
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from pipelines.errors import ConfigError
from pipelines.readers.contract import TABLES
from pipelines.readers.names import did_you_mean, fold
from pipelines.readers.site import Attribute, Site

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

FILE_NAME = "stalecurve.toml"
DEFAULT_QUESTION = "Would this still be served as the beer it is meant to be, for its age?"


@dataclass(frozen=True)
class Brewery:
    """Whose beer it is, and in which time zone its clocks stand."""

    name: str
    timezone: str


@dataclass(frozen=True)
class Paths:
    """Where files come in, where they are kept, where pages go (absolute)."""

    inbox: Path
    database: Path
    pages: Path


@dataclass(frozen=True)
class Panel:
    """The one question that every verdict answers, and since when it is worded so."""

    question: str
    asked_since: date | None


@dataclass(frozen=True)
class StylePolicy:
    """What one style does otherwise: its cap, days."""

    cap_days: int


@dataclass(frozen=True)
class Policy:
    """When shelf life ends and how a date is made of it; shares from 0 to 1, caps in days."""

    share_rejected: float
    confidence: float
    rounding: str
    cap_days: int
    cap_at_oldest_tasted: bool
    styles: Mapping[str, StylePolicy]

    def cap_of(self, style: str) -> int:
        """The longest date of a style, days from packaging."""
        return self.styles[style].cap_days if style in self.styles else self.cap_days


@dataclass(frozen=True)
class Storage:
    """How beer is kept before a sample is placed in its storage, °C."""

    before_placing_c: float


@dataclass(frozen=True)
class Oxygen:
    """What is assumed of oxygen readings that do not say."""

    shaken_temperature_c: float
    late_after_minutes: float


@dataclass(frozen=True)
class Safety:
    """Beers below 2.5 % vol that may have a date: beer to the reference of its validation."""

    validated: Mapping[str, str]


@dataclass(frozen=True)
class Config:
    """The whole configuration; `folder` is where its file stands."""

    folder: Path
    brewery: Brewery
    paths: Paths
    panel: Panel
    policy: Policy
    storage: Storage
    oxygen: Oxygen
    safety: Safety
    site: Site

    def settings(self) -> dict[str, Any]:
        """Everything that bears on a result, as JSON would hold it; kept with each run.

        Paths are left out: moving the folder changes no date.
        """
        return {
            "brewery": asdict(self.brewery),
            "panel": {
                "question": self.panel.question,
                "asked_since": self.panel.asked_since and self.panel.asked_since.isoformat(),
            },
            "policy": asdict(self.policy),
            "storage": asdict(self.storage),
            "oxygen": asdict(self.oxygen),
            "safety": asdict(self.safety),
            "attributes": {name: asdict(a) for name, a in self.site.attributes.items()},
            "columns": {table: dict(names) for table, names in self.site.columns.items()},
            "words": {word: list(written) for word, written in self.site.words.items()},
        }


@dataclass
class _Section:
    """One table of the file: hands out checked values, notes every fault, knows what was asked."""

    path: str
    values: Mapping[str, Any]
    faults: list[str]
    asked: list[str] = field(default_factory=list)

    def where(self, key: str) -> str:
        shown = key if key.replace("_", "").replace("-", "").isalnum() else f'"{key}"'
        return f"{self.path}.{shown}" if self.path else shown

    def fault(self, key: str, expected: str) -> None:
        self.faults.append(f"{self.where(key)} is {self.values[key]!r}, expected {expected}")

    def checked(
        self, key: str, default: object, expected: str, holds: Callable[[Any], bool]
    ) -> Any:  # noqa: ANN401 - the check is what gives the value its type
        self.asked.append(key)
        if key not in self.values:
            return default
        if not holds(self.values[key]):
            self.fault(key, expected)
            return default
        return self.values[key]

    def text(self, key: str, default: str) -> str:
        return str(
            self.checked(key, default, "a text", lambda v: isinstance(v, str) and bool(v.strip()))
        )

    def number(self, key: str, default: float, low: float, high: float) -> float:
        expected = f"a number from {low:g} to {high:g}"
        return float(
            self.checked(key, default, expected, lambda v: _is_number(v) and low <= v <= high)
        )

    def whole(self, key: str, default: int, low: int, high: int) -> int:
        expected = f"a whole number from {low} to {high}"
        return int(
            self.checked(
                key,
                default,
                expected,
                lambda v: _is_number(v) and isinstance(v, int) and low <= v <= high,
            )
        )

    def flag(self, key: str, *, default: bool) -> bool:
        return bool(self.checked(key, default, "true or false", lambda v: isinstance(v, bool)))

    def choice(self, key: str, default: str, choices: tuple[str, ...]) -> str:
        expected = " or ".join(f'"{choice}"' for choice in choices)
        return str(self.checked(key, default, expected, lambda v: v in choices))

    def day(self, key: str) -> date | None:
        found = self.checked(
            key,
            None,
            "a day such as 2026-04-07, without quotes",
            lambda v: isinstance(v, date) and not isinstance(v, datetime),
        )
        return None if found is None else date.fromisoformat(str(found))

    def section(self, key: str) -> _Section:
        values = self.checked(
            key, {}, f"a table [{self.where(key)}]", lambda v: isinstance(v, dict)
        )
        return _Section(self.where(key), values, self.faults)

    def sections(self) -> dict[str, _Section]:
        """Every key as a table of its own, where the keys are names that the site chose."""
        return {key: self.section(key) for key in self.values}

    def close(self) -> None:
        """Note every key that was never asked for, with the nearest that was."""
        for key in self.values:
            if key not in self.asked:
                self.unknown(key, self.asked)

    def unknown(self, key: str, known: Iterable[str], what: str = "key") -> None:
        self.faults.append(f"{self.where(key)} is no known {what}{did_you_mean(key, known)}")


def load_config(path: Path) -> Config:
    """Read and check a configuration file.

    Args:
        path: The TOML file; relative paths in it are taken from its folder.

    Returns:
        The configuration, defaults filled in.

    Raises:
        ConfigError: The file is missing or not TOML, or holds faults; the text lists all of them.
    """
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
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
        message = f"{path} is not TOML: {error}"
        raise ConfigError(message) from error

    faults: list[str] = []
    config = _config(_Section("", values, faults), path.resolve().parent)
    if not config.brewery.name and not any(fault.startswith("brewery") for fault in faults):
        faults.insert(0, "brewery.name is missing, expected the brewery's name")
    if faults:
        count = "a fault" if len(faults) == 1 else f"{len(faults)} faults"
        message = "\n  ".join([f"{path} has {count}:", *faults])
        raise ConfigError(message)
    return config


def default_config(folder: Path) -> Config:
    """What holds in a folder without a configuration file: defaults alone, no name."""
    return _config(_Section("", {}, []), folder.resolve())


def _config(top: _Section, folder: Path) -> Config:
    brewery, paths, panel = top.section("brewery"), top.section("paths"), top.section("panel")
    storage, oxygen, safety = top.section("storage"), top.section("oxygen"), top.section("safety")
    attributes = _attributes(top.section("attributes"))
    config = Config(
        folder=folder,
        brewery=Brewery(name=brewery.text("name", ""), timezone=_timezone(brewery)),
        paths=Paths(
            inbox=folder / paths.text("inbox", "inbox"),
            database=folder / paths.text("database", "stalecurve.duckdb"),
            pages=folder / paths.text("pages", "pages"),
        ),
        panel=Panel(
            question=panel.text("question", DEFAULT_QUESTION),
            asked_since=panel.day("asked_since"),
        ),
        policy=_policy(top.section("policy")),
        storage=Storage(before_placing_c=storage.number("before_placing_c", 4.0, -5.0, 40.0)),
        oxygen=Oxygen(
            shaken_temperature_c=oxygen.number("shaken_temperature_c", 20.0, -2.0, 40.0),
            late_after_minutes=oxygen.number("late_after_minutes", 120.0, 1.0, 10_080.0),
        ),
        safety=Safety(validated=_validated(safety.section("validated"))),
        site=Site(
            columns=_columns(top.section("columns"), attributes),
            words=_words(top.section("words")),
            attributes=attributes,
        ),
    )
    for section in (top, brewery, paths, panel, storage, oxygen, safety):
        section.close()
    return config


def _policy(section: _Section) -> Policy:
    overriding = section.section("styles").sections()
    policy = Policy(
        share_rejected=section.number("share_rejected", 0.25, 0.01, 0.90),
        confidence=section.number("confidence", 0.90, 0.50, 0.99),
        rounding=section.choice("rounding", "week", ("day", "week")),
        cap_days=section.whole("cap_days", 365, 1, 7300),
        cap_at_oldest_tasted=section.flag("cap_at_oldest_tasted", default=True),
        styles={
            style: StylePolicy(cap_days=own.whole("cap_days", 365, 1, 7300))
            for style, own in overriding.items()
        },
    )
    for closed in (section, *overriding.values()):
        closed.close()
    for own in overriding.values():
        if not own.values:
            section.faults.append(f"{own.path} says nothing, expected cap_days")
    return policy


def _timezone(section: _Section) -> str:
    name = section.text("timezone", "Europe/Berlin")
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        section.fault("timezone", 'a time zone such as "Europe/Berlin"')
    return name


def _validated(section: _Section) -> dict[str, str]:
    return {beer: section.text(beer, "") for beer in section.values}


def _columns(section: _Section, attributes: Mapping[str, Attribute]) -> dict[str, dict[str, str]]:
    mapped: dict[str, dict[str, str]] = {}
    for table, own in section.sections().items():
        if table not in TABLES:
            section.unknown(table, TABLES, "table")
            continue
        mapped[table] = {heading: own.text(heading, "") for heading in own.values}
        known = {*TABLES[table].headings, *(attributes if table == "tastings" else ())}
        for heading, column in mapped[table].items():
            if column and column not in known:
                own.fault(heading, f"a column of {table}{did_you_mean(column, known)}")
    return mapped


def _words(section: _Section) -> dict[str, list[str]]:
    known = {choice for t in TABLES.values() for c in t.columns for choice in c.choices}
    known |= {"yes", "no"}
    mapped: dict[str, list[str]] = {}
    for word in section.values:
        if word not in known:
            section.unknown(word, known, "word")
        else:
            mapped[word] = section.checked(word, [], "a list of texts", _is_texts)
    return mapped


def _attributes(section: _Section) -> dict[str, Attribute]:
    attributes = {}
    taken = {fold(heading) for heading in TABLES["tastings"].headings}
    for name, own in section.sections().items():
        if fold(name) in taken:
            section.faults.append(f"{own.path}: {name} is a column of tastings already")
        attribute = Attribute(
            low=own.number("low", 0.0, -1e6, 1e6),
            high=own.number("high", 10.0, -1e6, 1e6),
            worse=own.choice("worse", "high", ("high", "low")),
            cut_off=own.number("cut_off", 4.0, -1e6, 1e6),
        )
        own.close()
        section.faults.extend(
            f"{own.path}.{key} is missing, expected {what}"
            for key, what in (
                ("low", "the lowest score"),
                ("high", "the highest score"),
                ("worse", '"high" or "low"'),
                ("cut_off", "the score that ends the beer's life"),
            )
            if key not in own.values
        )
        if not attribute.low < attribute.high:
            section.faults.append(f"{own.path} has low not below high")
        elif not attribute.low <= attribute.cut_off <= attribute.high:
            section.faults.append(f"{own.path} has cut_off outside low to high")
        attributes[name] = attribute
    return attributes


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_texts(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) and item for item in value)
