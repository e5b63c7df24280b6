"""What the configuration holds once it is checked: frozen records, one for each of its tables."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from pipelines.readers.site import Site


@dataclass(frozen=True)
class Brewery:
    """Whose beer it is, and in which time zone its clocks stand."""

    name: str
    timezone: str


@dataclass(frozen=True)
class Paths:
    """Where files come in, are kept, where pages and rows to mend go (absolute)."""

    inbox: Path
    database: Path
    pages: Path
    set_aside: Path


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
