"""What the configuration holds once it is checked: frozen records, one for each of its tables."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from pipelines.config.charts import Charts, Targets
    from pipelines.config.complaints import Complaints
    from pipelines.config.compute import Compute
    from pipelines.config.customers import Customer
    from pipelines.config.labels import Labels
    from pipelines.config.policy import Policy
    from pipelines.config.routes import Routes
    from pipelines.config.schedule import Schedule
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
    """The one question that every verdict answers, and since when it is worded so.

    A sample is to be tasted within `taste_within_days` of its pull.
    """

    question: str
    asked_since: date | None
    taste_within_days: int


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


PullDays = dict[float, tuple[int, ...]]


@dataclass(frozen=True)
class Pulls:
    """When samples are to be pulled, and which pull counts for a planned one.

    Attributes:
        plan: Days in storage by storage temperature, °C, for every style.
        styles: A style's own days at the temperatures that it names, in place of the plan's.
        tolerance_days: How far from its day a pull may be, days,
        tolerance_share: or as a share of its days in storage; the wider of the two counts.
        missed_after_days: A pull or a tasting overdue for longer is counted, no longer listed.
    """

    plan: PullDays
    styles: Mapping[str, PullDays]
    tolerance_days: int
    tolerance_share: float
    missed_after_days: int

    def of_style(self, style: str) -> PullDays:
        """The plan of a style: days in storage by °C."""
        return {**self.plan, **self.styles.get(style, {})}


@dataclass(frozen=True)
class Meters:
    """How often a meter is checked, days, and whether what it read while in doubt is left out."""

    check_every_days: int
    leave_out_suspect: bool


@dataclass(frozen=True)
class Retained:
    """How long retained samples are kept after the date of their lot, days."""

    keep_days_past_date: int


@dataclass(frozen=True)
class Config:
    """The whole configuration.

    `folder` is where its file stands; `as_of` a day to take for today, for trying things out;
    `expected` says of files that come regularly, by name or table, after how many days at most;
    `customers` what each asks to be left of the printed life; `labels` how a date is printed;
    `complaints` how complaints are answered.
    """

    folder: Path
    as_of: date | None
    brewery: Brewery
    paths: Paths
    panel: Panel
    policy: Policy
    routes: Routes
    storage: Storage
    oxygen: Oxygen
    safety: Safety
    charts: Charts
    targets: Targets
    pulls: Pulls
    meters: Meters
    retained: Retained
    expected: Mapping[str, int]
    customers: Mapping[str, Customer]
    labels: Labels
    complaints: Complaints
    compute: Compute
    schedule: Schedule
    site: Site

    def settings(self) -> dict[str, Any]:
        """Everything that bears on a result, as JSON would hold it; kept with each run.

        Paths, `compute`, the schedule, customers, labels, complaints and what is due in a week are
        left out: none of them changes a date.
        """
        return {
            "brewery": asdict(self.brewery),
            "panel": {
                "question": self.panel.question,
                "asked_since": self.panel.asked_since and self.panel.asked_since.isoformat(),
                "taste_within_days": self.panel.taste_within_days,
            },
            "policy": asdict(self.policy),
            "routes": asdict(self.routes),
            "storage": asdict(self.storage),
            "oxygen": asdict(self.oxygen),
            "meters": {"leave_out_suspect": self.meters.leave_out_suspect},
            "safety": asdict(self.safety),
            "charts": self.charts.settings(),
            "targets": self.targets.settings(),
            "attributes": {name: asdict(a) for name, a in self.site.attributes.items()},
            "columns": {table: dict(names) for table, names in self.site.columns.items()},
            "dates": {"day_first": self.site.day_first},
            "files": [asdict(layout) for layout in self.site.layouts],
            "words": {word: list(written) for word, written in self.site.words.items()},
        }
